package main

import (
	"errors"
	"io"
	"path/filepath"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design"
	"fairrun/design/analysis"
	"fairrun/design/sheet"
)

func replicatesCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "replicates",
		Usage:     "say how many blocks it takes, before results and after",
		ArgsUsage: "[FOLDER]",
		Description: "Before there are results: from the noise that the plan assumes. After: from the noise measured, with its own uncertainty, " +
			"and how many further blocks would settle what is unresolved. The chance is that of one given comparison whose true difference is the margin, " +
			"by the same simultaneous interval that the verdict uses.\n\n" +
			"With --strict the exit code is 3 while the plan, or what is done, is not enough.",
		Flags: []cli.Flag{
			formatFlag(),
			&cli.BoolFlag{Name: "before", Usage: "from the assumed noise, even when there are results"},
			&cli.BoolFlag{Name: "strict", Usage: "exit with 3 when the plan, or what is done, is not enough"},
		},
		Action: func(c *cli.Context) error { return replicatesAction(c, std) },
	}
}

func replicatesAction(c *cli.Context, std streams) error {
	f, err := format(c)
	if err != nil {
		return err
	}
	dir, err := folder(c)
	if err != nil {
		return err
	}
	r, err := enoughFor(dir, c.Bool("before"), std)
	if err != nil {
		return err
	}
	if err := writeReplicates(std.Out, r, f); err != nil {
		return err
	}
	if c.Bool("strict") && !r.Enough() {
		return errAttention
	}
	return nil
}

// enoughFor answers from the results, or from the plan when there are none.
func enoughFor(dir string, before bool, std streams) (*analysis.Replicates, error) {
	if !before {
		s, err := sheet.Open(dir)
		switch {
		case err == nil && hasResults(s):
			complain(std.Err, s.Warnings)
			return analysis.ReplicatesAfter(s)
		case err != nil && !errors.Is(err, sheet.ErrNotDrawn):
			return nil, err
		}
	}
	plan, err := design.Read(filepath.Join(dir, planFile))
	if err != nil {
		return nil, err
	}
	return analysis.ReplicatesBefore(plan), nil
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

func writeReplicates(w io.Writer, r *analysis.Replicates, f render.Format) error {
	switch f {
	case render.JSON:
		return render.WriteJSON(w, r)
	case render.CSV:
		head, rows := render.ReplicatesRows(r)
		return render.WriteCSV(w, head, rows)
	}
	return render.Replicates(r).Write(w, f, styleOf(w))
}
