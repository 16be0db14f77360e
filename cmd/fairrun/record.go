package main

import (
	"io"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design"
	"fairrun/design/sheet"
	"fairrun/design/table"
)

func recordCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "record",
		Usage:     "store the results of one run; alone, show the next run",
		ArgsUsage: "[RUN NAME=VALUE…]",
		Description: "For example:\n\n  fairrun record 7 spin_up=612.5 power=2731 start_volts=48.9\n" +
			"  fairrun record 8 status=failed note='did not start'\n" +
			"  fairrun record 9 status=void note='cable came off'\n\n" +
			"A run with a response is ok unless the status says otherwise. What is there already is replaced only with --replace.",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "in", Value: ".", Usage: "`FOLDER` the campaign's folder"},
			&cli.BoolFlag{Name: "replace", Usage: "replace values that are there already"},
		},
		Action: func(c *cli.Context) error { return recordAction(c, std) },
	}
}

func recordAction(c *cli.Context, std streams) error {
	dir := c.String("in")
	if c.NArg() == 0 {
		s, err := sheet.Open(dir)
		if err != nil {
			return err
		}
		complain(std.Err, s.Warnings)
		return render.Next(s, inFolder(dir)).Write(std.Out, render.Terminal, styleOf(std.Out))
	}
	run, assignments, err := parseRecord(c.Args().Slice())
	if err != nil {
		return err
	}
	recorded, err := sheet.Record(dir, run, assignments, c.Bool("replace"), time.Now())
	if err != nil {
		return err
	}
	complain(std.Err, recorded.Warnings)
	complain(std.Err, recorded.Faults)
	plan, err := design.Read(filepath.Join(dir, planFile))
	if err != nil {
		return err
	}
	return render.Recorded(plan, recorded, inFolder(dir)).Write(std.Out, render.Terminal, styleOf(std.Out))
}

// inFolder is what has to follow a command line to name the folder.
func inFolder(dir string) string {
	if folder := argument(dir); folder != "" {
		return " --in" + folder
	}
	return ""
}

// parseRecord reads "RUN NAME=VALUE…".
func parseRecord(args []string) (run int, assignments []sheet.Assignment, err error) {
	run, err = strconv.Atoi(args[0])
	if err != nil {
		return 0, nil, misuse("%q is no run number; write it as: fairrun record 7 spin_up=612.5", args[0])
	}
	if len(args) == 1 {
		return 0, nil, misuse("run %d: nothing to record; write it as: fairrun record %d NAME=VALUE", run, run)
	}
	for _, a := range args[1:] {
		name, value, found := strings.Cut(a, "=")
		if !found || strings.TrimSpace(name) == "" {
			return 0, nil, misuse("%q is no NAME=VALUE", a)
		}
		assignments = append(assignments, sheet.Assignment{Name: strings.TrimSpace(name), Value: strings.TrimSpace(value)})
	}
	return run, assignments, nil
}

// complain prints what a person should look at.
func complain(w io.Writer, faults table.Faults) {
	for i := range faults {
		say(w, faults[i].Error())
	}
}
