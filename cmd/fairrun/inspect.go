package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design/log"
	"fairrun/design/plan"
	"fairrun/design/store"
)

// inspectLog says what a log holds and proposes the section of the plan that reads it.
func inspectLog(c *cli.Context, std streams, dir, file string, f render.Format) error {
	var d *log.Description
	err := whileBusy(c.Context, std.Err, "reading "+file, func() (err error) {
		d, err = log.Inspect(c.Context, file)
		return err
	})
	if err != nil {
		return err
	}
	section := d.Propose(seenFrom(dir, file))
	if c.Bool("write") {
		if err := addLog(filepath.Join(dir, planFile), section); err != nil {
			return err
		}
	}
	switch f {
	case render.JSON:
		return render.WriteJSON(std.Out, d)
	case render.CSV:
		head, rows := render.InspectedRows(d)
		return render.WriteCSV(std.Out, head, rows)
	}
	if err := render.Inspected(d).Write(std.Out, f, styleOf(std.Out)); err != nil {
		return err
	}
	says := "To measure it, put this into campaign.toml (--write does), and a measure into a [[response]]:"
	if c.Bool("write") {
		says = "This stands in campaign.toml now; go through it, and put a measure into a [[response]]:"
	}
	fmt.Fprintf(std.Out, "\n%s\n\n%s\n", says, section)
	fmt.Fprintf(std.Out, "measure = { what = \"transition\", of = \"…\", from = \"10%%\", to = \"90%%\", command = \"…\" }\n")
	return nil
}

// seenFrom is the path of a file seen from a folder, "" where it does not lie in it.
func seenFrom(dir, file string) string {
	from, errDir := filepath.Abs(dir)
	to, errFile := filepath.Abs(file)
	rel, err := filepath.Rel(from, to)
	if errDir != nil || errFile != nil || err != nil || !filepath.IsLocal(rel) {
		return ""
	}
	return filepath.ToSlash(rel)
}

// addLog puts the section into the plan in a file.
func addLog(path, section string) error {
	folder, err := store.Lock(filepath.Dir(path))
	if err != nil {
		return err
	}
	defer folder.Release()
	old, err := os.ReadFile(path)
	if err != nil {
		return fmt.Errorf("there is no plan to write into: %w", err)
	}
	data, err := plan.AddLog(path, old, section)
	if err != nil {
		return err
	}
	return folder.Replace(store.Change{Path: path, Old: old, Data: data})
}
