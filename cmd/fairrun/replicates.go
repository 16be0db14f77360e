package main

import (
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design"
	"fairrun/design/plan"
	"fairrun/design/sheet"
	"fairrun/design/size"
	"fairrun/design/store"
)

func replicatesCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "replicates",
		Usage:     "say how many blocks it takes, before results and after",
		ArgsUsage: "[FOLDER]",
		Description: "Before there are results: from the noise that the plan assumes, that you state, or that a pilot measured. After: from the noise measured, " +
			"with its own uncertainty, and how many further blocks would settle what is unresolved. The chance is that of one given comparison whose true " +
			"difference is the margin, by the same simultaneous interval that the verdict uses; the chance of \"equal\" is that of showing levels that do not differ " +
			"to be so within the margin.\n\n" +
			"With --strict the exit code is 3 while the plan, or what is done, is not enough.",
		Flags: []cli.Flag{
			formatFlag(),
			fullFlag(),
			&cli.BoolFlag{Name: "before", Usage: "from the assumed noise, even when there are results"},
			&cli.IntFlag{Name: "blocks", Usage: "`N` blocks to answer for besides; further ones when there are results"},
			&cli.IntFlag{Name: "runs", Usage: "`N` runs to share out over specimens or whole plots and repeats, after results (default: those of the plan)"},
			&cli.IntFlag{Name: "most", Usage: "`N` blocks that could be afforded at the most (default: 20 times the runs, at least 200 runs and at most 500 blocks)"},
			&cli.StringSliceFlag{Name: "noise", Usage: "`RESPONSE=NOISE` in place of the plan's: 1.5% or a number in the unit; several with commas"},
			&cli.StringFlag{Name: "pilot", Usage: "`FOLDER` of a campaign whose measured noise to plan from, or the FILE that 'verdict --save-noise' wrote"},
			&cli.Float64Flag{Name: "whole-plot-noise", Usage: "`RATIO` of the noise between whole plots to that between runs (default: the pilot's, or 1)"},
			&cli.StringFlag{Name: "picture", Usage: "`FILE.svg` to draw the power curves into"},
			&cli.BoolFlag{Name: "strict", Usage: "exit with 3 when the plan, or what is done, is not enough"},
		},
		Action: func(c *cli.Context) error { return replicatesAction(c, std) },
	}
}

func replicatesAction(c *cli.Context, std streams) error {
	if path := c.String("picture"); path != "" && !strings.EqualFold(filepath.Ext(path), ".svg") {
		return misuse("--picture is %q; it writes SVG: name a file that ends in .svg", path)
	}
	f, dir, err := formatAndFolder(c)
	if err != nil {
		return err
	}
	r, err := enoughFor(c, dir, std)
	if err != nil {
		return err
	}
	if path := c.String("picture"); path != "" {
		if err := store.Put(store.Change{Path: path, Data: render.PowerCurves(r)}); err != nil {
			return err
		}
	}
	if err := writeReplicates(std.Out, r, layout{f, c.Bool("full"), argument(dir)}); err != nil {
		return err
	}
	if c.Bool("strict") && !r.Enough() {
		return errAttention
	}
	return nil
}

// enoughFor answers from the results, or from the plan when there are none.
func enoughFor(c *cli.Context, dir string, std streams) (r *size.Replicates, err error) {
	ask, err := askOf(c, std)
	if err != nil {
		return nil, err
	}
	if !c.Bool("before") {
		s, err := sheet.Open(dir)
		switch {
		case err == nil && hasResults(s):
			for _, name := range []string{"noise", "pilot", "whole-plot-noise"} {
				if c.IsSet(name) {
					return nil, misuse("--%s is for a campaign without results: those of %s tell the noise; add --before to plan from another", name, dir)
				}
			}
			complain(std.Err, s.Warnings)
			err = whileBusy(c.Context, std.Err, judging, func() (err error) {
				r, err = ask.After(c.Context, s)
				return err
			})
			return r, err
		case err != nil && !errors.Is(err, sheet.ErrNotDrawn):
			return nil, err
		}
	}
	if c.IsSet("runs") {
		return nil, misuse("--runs shares runs out by the noise that was measured: it is for a campaign with results")
	}
	plan, err := plan.Read(filepath.Join(dir, planFile))
	if err != nil {
		return nil, err
	}
	err = whileBusy(c.Context, std.Err, "searching for enough blocks", func() (err error) {
		r, err = ask.Before(c.Context, plan)
		return err
	})
	if unknown := (*size.UnknownResponseError)(nil); errors.As(err, &unknown) {
		return nil, misuse("--noise: %v", unknown)
	}
	return r, err
}

// askOf reads the question from the flags.
func askOf(c *cli.Context, std streams) (size.Ask, error) {
	ask := size.Ask{Runs: c.Int("runs"), Blocks: c.Int("blocks"), Most: c.Int("most"), Noise: map[string]design.Amount{}, From: c.String("pilot")}
	switch {
	case c.IsSet("blocks") && (ask.Blocks < 1 || ask.Blocks > design.MaxRuns):
		return ask, misuse("--blocks is %d; it can be from 1 to %d", ask.Blocks, design.MaxRuns)
	case c.IsSet("runs") && (ask.Runs < 1 || ask.Runs > design.MaxRuns):
		return ask, misuse("--runs is %d; it can be from 1 to %d", ask.Runs, design.MaxRuns)
	case c.IsSet("most") && ask.Most < 1 || ask.Most > design.MaxRuns:
		return ask, misuse("--most is %d; it can be from 1 to %d", ask.Most, design.MaxRuns)
	}
	for _, text := range list(c.StringSlice("noise")) {
		name, value, found := strings.Cut(text, "=")
		noise, relative, ok := plan.ParseAmount(value)
		if found && ok && noise <= 0 {
			return ask, misuse("--noise is %q; noise must be above zero: write what you expect from run to run, a guess will do", text)
		}
		if !found || !ok {
			return ask, misuse("--noise is %q; write the response and its standard deviation from run to run, as in spin_up=1.5%% or thrust=0.4", text)
		}
		ask.Noise[strings.TrimSpace(name)] = design.Amount{Set: true, Value: noise, Relative: relative}
	}
	if c.IsSet("whole-plot-noise") {
		spread := c.Float64("whole-plot-noise")
		if !(spread >= 0) || math.IsInf(spread, 1) {
			return ask, misuse("--whole-plot-noise is %v; it is a ratio of two standard deviations, 0 or more", spread)
		}
		ask.WholePlotNoise = &spread
	}
	if ask.From == "" {
		return ask, nil
	}
	var err error
	if info, statErr := os.Stat(ask.From); statErr == nil && !info.IsDir() {
		if ask.Record, err = plan.ReadNoise(ask.From); err != nil && filepath.Ext(ask.From) != filepath.Ext(planFile) {
			return ask, misuse("--pilot is %q, which is neither a campaign's folder nor a noise record; give one of them (verdict --save-noise writes such a record)", ask.From)
		}
		return ask, err
	}
	if ask.Pilot, err = sheet.Open(ask.From); err != nil {
		return ask, err
	}
	complain(std.Err, ask.Pilot.Warnings)
	return ask, nil
}

// hasResults says whether some run is measured.
func hasResults(s *sheet.Sheet) bool {
	for i := range s.Runs {
		if s.Runs[i].Status == sheet.OK {
			return true
		}
	}
	return false
}

// writeReplicates prints how many blocks it takes.
func writeReplicates(w io.Writer, r *size.Replicates, as layout) error {
	switch {
	case as.format == render.JSON:
		return render.WriteJSON(w, r)
	case as.format == render.CSV:
		head, rows := render.ReplicatesRows(r)
		return render.WriteCSV(w, head, rows)
	case as.full:
		return render.FullReplicates(r).Write(w, as.format, styleOf(w))
	}
	return render.Replicates(r, as.in).Write(w, as.format, styleOf(w))
}
