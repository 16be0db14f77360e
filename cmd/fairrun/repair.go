package main

import (
	"fmt"
	"path/filepath"
	"time"

	"github.com/urfave/cli/v2"

	"fairrun/design/journal"
	"fairrun/design/sheet"
	"fairrun/stats/words"
)

func repairCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "repair",
		Usage:     "compare sheet, draw and journal, and put back what was lost",
		ArgsUsage: "[FOLDER]",
		Description: "Finishes or takes back what a killed command left, makes a run sheet that is gone again, and puts results back that were recorded " +
			"and have vanished from the sheet, as when an old copy of it is saved over it. What you changed in the sheet yourself stays.",
		Flags: []cli.Flag{
			&cli.BoolFlag{Name: "keep-sheet", Usage: "change nothing in the sheet: what vanished from it was taken out on purpose"},
		},
		Action: func(c *cli.Context) error { return repairAction(c, std) },
	}
}

func repairAction(c *cli.Context, std streams) error {
	dir, err := folder(c)
	if err != nil {
		return err
	}
	keep := c.Bool("keep-sheet")
	r, err := sheet.Repair(dir, keep, time.Now())
	if err != nil {
		return err
	}
	for _, w := range r.Warnings {
		say(std.Err, w)
	}
	complain(std.Err, r.Sheet.Warnings)
	path, w := filepath.Join(dir, sheet.File), std.Out
	if r.Rebuilt {
		fmt.Fprintf(w, "%s was gone: it is made again from %s and %s.\n", path, sheet.DrawFile, journal.File)
	}
	list := func(head string, lines []string) {
		if len(lines) == 0 {
			return
		}
		fmt.Fprintln(w, head)
		for _, line := range lines {
			fmt.Fprintf(w, "  %s\n", line)
		}
	}
	if keep {
		list("Vanished from the sheet, and left so:", r.Vanished)
	} else {
		list("Vanished from the sheet, and put back:", r.Vanished)
	}
	list("Changed in the sheet, and kept:", r.Edited)
	if n := len(r.Damaged); n > 0 {
		fmt.Fprintf(w, "%s of %s cannot be read and %s left as it is: the sheet has what it has.\n", words.Count(n, "line"), journal.File, words.Agree(n, "is", "are"))
	}
	if !r.Rebuilt && r.Vanished == nil && r.Edited == nil {
		fmt.Fprintln(w, "Sheet, draw and journal agree.")
	}
	return nil
}
