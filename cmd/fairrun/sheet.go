package main

import (
	"context"
	"crypto/rand"
	"encoding/binary"
	"fmt"
	"io"
	"path/filepath"
	"time"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design"
	"fairrun/design/analysis"
	"fairrun/design/order"
	"fairrun/design/plan"
	"fairrun/design/sheet"
	"fairrun/design/size"
	"fairrun/design/table"
)

func sheetCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "sheet",
		Usage:     "draw the run order and write the run sheet",
		ArgsUsage: "[FOLDER]",
		Description: "Draws an order that is random, and free of the plan's drift; writes runsheet.csv to fill in and draw.json, the record of the draw. " +
			"Prints what the plan costs and how good the order is. A sheet that holds results is never overwritten. A plan without a seed is given one.",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "format", Value: string(render.Terminal), Usage: "`FORMAT` table, json, csv, markdown, or html: a page to print and fill in by hand"},
			fullFlag(),
			&cli.BoolFlag{Name: "show", Usage: "show the sheet that was drawn, and draw nothing"},
			&cli.BoolFlag{Name: "explain", Usage: "show how precise each comparison is, and how each treatment lies in the order; as csv the comparisons alone"},
			&cli.BoolFlag{Name: "semicolons", Usage: "write the sheet with semicolons and decimal commas"},
		},
		Action: func(c *cli.Context) error { return sheetAction(c, std) },
	}
}

// printable is the format of a sheet to print, which other commands do not have.
const printable render.Format = "html"

func sheetAction(c *cli.Context, std streams) error {
	f := printable
	if c.String("format") != string(printable) {
		var err error
		if f, err = format(c); err != nil {
			return err
		}
	}
	if f == printable && c.Bool("explain") {
		return misuse("a page to print has no explanation: take --explain out, or choose another --format")
	}
	dir, err := folder(c)
	if err != nil {
		return err
	}
	as := layout{f, c.Bool("full"), argument(dir)}
	if c.Bool("show") || c.Bool("explain") && isDone(dir) {
		s, err := sheet.Open(dir)
		if err != nil {
			return err
		}
		complain(std.Err, s.Warnings)
		return writeSheet(std, s, as, c.Bool("explain"), "")
	}
	s, err := drawSheet(c.Context, dir, c.Bool("semicolons"), c.Bool("explain"), std.Err)
	if err != nil {
		return err
	}
	return stored(std, "the sheet is drawn", writeSheet(std, s, as, c.Bool("explain"), dir))
}

// isDone says whether a folder has a sheet with results, which is explained as it is.
func isDone(dir string) bool {
	s, err := sheet.Open(dir)
	return err == nil && hasResults(s)
}

// drawSheet draws the order of a campaign's plan and writes its files.
func drawSheet(ctx context.Context, dir string, semicolons, explain bool, errs io.Writer) (*sheet.Sheet, error) {
	dialect := table.Dialect{}
	if semicolons {
		dialect = table.Dialect{Separator: ';', DecimalComma: true}
	}
	rebuilt, warnings, err := sheet.Rebuild(dir, dialect, time.Now())
	if err != nil {
		return nil, err
	}
	if rebuilt {
		for _, w := range warnings {
			say(errs, w)
		}
		say(errs, fmt.Sprintf("%s was gone: it is made again from %s and the journal, and nothing was drawn", filepath.Join(dir, sheet.File), sheet.DrawFile))
		return sheet.Open(dir)
	}
	path := filepath.Join(dir, planFile)
	c, err := plan.Read(path)
	if err != nil {
		return nil, err
	}
	if explain { // which leans on the noise: nothing is drawn before that is known to be there
		if _, err := plan.Rely(c); err != nil {
			return nil, err
		}
	}
	seed, err := seedOf(c)
	if err != nil {
		return nil, err
	}
	var drawn *order.Drawn
	err = whileBusy(ctx, errs, "searching for the best order", func() (err error) {
		drawn, err = sheet.NewOrder(c, seed)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	warnings, err = sheet.Write(dir, c, drawn, time.Now(), dialect)
	if err != nil {
		return nil, err
	}
	for _, w := range warnings {
		say(errs, w)
	}
	return sheet.Open(dir)
}

// seedOf is the plan's seed, or a fresh one short enough to type.
func seedOf(c *design.Plan) (uint64, error) {
	if c.Seed != nil {
		return *c.Seed, nil
	}
	var b [8]byte
	if _, err := rand.Read(b[:]); err != nil {
		return 0, err
	}
	return 1 + binary.LittleEndian.Uint64(b[:])%999_999_999, nil
}

// writeSheet prints what was drawn, and where it was written; dir is "" for a sheet that was there.
func writeSheet(std streams, s *sheet.Sheet, as layout, explain bool, dir string) error {
	w, f := std.Out, as.format
	switch {
	case f == printable:
		return render.SheetPage(w, s)
	case f == render.CSV && !explain:
		head, rows := render.SheetRows(s)
		return render.WriteCSV(w, head, rows)
	}
	var e *analysis.Explanation
	if explain {
		var err error
		if e, err = analysis.Explain(s); err != nil {
			return err
		}
	}
	if f == render.CSV {
		head, rows := render.ExplainRows(e)
		return render.WriteCSV(w, head, rows)
	}
	finds, err := size.Sensitivities(s)
	if err != nil { // the order is drawn, whatever is known of the noise
		say(std.Err, err.Error())
	}
	if f == render.JSON {
		return render.WriteJSON(w, analysis.Summarise(s, finds, e))
	}
	d := render.Sheet(s, as.full || explain)
	render.Finds(d, s.Campaign, finds, as.full || explain, as.in)
	if explain {
		render.Explain(d, s, e)
	}
	if dir != "" {
		d.Text("Wrote %s and %s.", filepath.Join(dir, sheet.File), filepath.Join(dir, sheet.DrawFile))
	}
	return d.Write(w, f, styleOf(w))
}
