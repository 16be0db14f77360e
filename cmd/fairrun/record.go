package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design/fault"
	"fairrun/design/plan"
	"fairrun/design/sheet"
)

// recordName is the command whose folder stands behind a flag, or before the run.
const recordName = "record"

func recordCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      recordName,
		Usage:     "store the results of one run; alone, show the next run",
		ArgsUsage: "[FOLDER] [RUN NAME=VALUE…]",
		Description: "For example:\n\n  fairrun record 7 spin_up=612.5 input=2731 start_volts=48.9\n" +
			"  fairrun record 8 status=failed note='did not start'\n" +
			"  fairrun record 9 status=void note='cable came off'\n\n" +
			"A run with a response is ok unless the status says otherwise. Numbers may be followed by the plan's unit. " +
			"What is there already is replaced only with --replace; an empty value takes it back:\n\n" +
			"  fairrun record 7 spin_up=621.5 --replace     a wrong value\n" +
			"  fairrun record 7 spin_up= input= --replace   the wrong run: to do again\n" +
			"  fairrun record 9 status=ok --replace         not spoiled after all\n" +
			"  fairrun record 9 spin_up=611 --replace       a void run made again\n\n" +
			"With its last response a run loses the status ok and its time; a failed or void run is to do again once its status is taken back: status=",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "in", Value: ".", Usage: "`FOLDER` the campaign's folder"},
			&cli.BoolFlag{Name: "replace", Usage: "replace values that are there already"},
			&cli.BoolFlag{Name: "undo", Usage: "take back what was recorded last; once more, what was recorded before that"},
			&cli.IntFlag{Name: "history", Usage: "show all that was ever entered for `RUN`"},
		},
		Action: func(c *cli.Context) error { return recordAction(c, std) },
	}
}

func recordAction(c *cli.Context, std streams) error {
	dir := c.String("in")
	if undo, history := c.Bool("undo"), c.IsSet("history"); undo || history {
		switch {
		case undo && history || c.NArg() > 0 || c.Bool("replace"):
			return misuse("--undo and --history stand alone, with --in FOLDER at most")
		case undo:
			return undoAction(dir, std)
		}
		return historyAction(dir, c.Int("history"), std)
	}
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
	if next := recorded.Skipped; next != nil {
		say(std.Err, skipped(next.Run, run, assignments, inFolder(dir)))
	}
	plan, err := plan.Read(filepath.Join(dir, planFile))
	if err == nil {
		err = render.Recorded(plan, recorded, inFolder(dir)).Write(std.Out, render.Terminal, styleOf(std.Out))
	}
	return stored(std, fmt.Sprintf("run %d is stored", run), err)
}

// undoAction takes back what was recorded last.
func undoAction(dir string, std streams) error {
	last, err := sheet.Undo(dir, time.Now())
	if err != nil {
		return err
	}
	fmt.Fprintf(std.Out, "Taken back, run %d as recorded at %s:\n", last.Run, last.Time.Local().Format(time.DateTime))
	for _, c := range last.Cells {
		fmt.Fprintf(std.Out, "  %s: %q, not %q\n", c.Column, c.Old, c.New)
	}
	return nil
}

// historyAction shows what was ever entered for a run.
func historyAction(dir string, run int, std streams) error {
	s, err := sheet.Open(dir)
	if err != nil {
		return err
	}
	if run < 1 || run > len(s.Runs) {
		return fmt.Errorf("there is no run %d; the runs are 1 to %d", run, len(s.Runs))
	}
	list := s.History(run)
	if len(list) == 0 {
		fmt.Fprintf(std.Out, "Nothing was entered for run %d.\n", run)
	}
	for _, e := range list {
		fmt.Fprintf(std.Out, "%s  %s\n", e.Time.Local().Format(time.DateTime), e.By)
		for _, c := range e.Cells {
			fmt.Fprintf(std.Out, "  %s: %q, before %q\n", c.Column, c.New, c.Old)
		}
	}
	return nil
}

// skipped says that another run than the next one was recorded as made now, and the way back if the
// number is wrong.
func skipped(next, run int, assignments []sheet.Assignment, in string) string {
	back := ""
	for _, a := range assignments {
		back += " " + argument(a.Name + "=")[1:]
	}
	return fmt.Sprintf("run %d was next, and run %d is recorded as made now; if it was, the verdict takes that into account; if the number is wrong, take it back: fairrun record %d%s --replace%s", next, run, run, back, in)
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
	switch {
	case err != nil && strings.Contains(args[0], "="):
		return 0, nil, misuse("the number of the run comes first: fairrun record RUN %s; \"fairrun record\" alone shows the next run", strings.Join(args, " "))
	case err != nil && isFolder(args[0]):
		rest := ""
		for _, a := range args[1:] {
			rest += argument(a)
		}
		return 0, nil, misuse("%q is a folder; write it as: fairrun record%s --in%s", args[0], rest, argument(args[0]))
	case err != nil && len(args) == 1:
		return 0, nil, misuse("%q is no run number; write it as: fairrun record 7 spin_up=612.5; a folder is named by --in FOLDER", args[0])
	case err != nil:
		return 0, nil, misuse("%q is no run number; write it as: fairrun record 7 spin_up=612.5", args[0])
	case len(args) == 1:
		return 0, nil, misuse("run %d: nothing to record; write it as: fairrun record %d NAME=VALUE", run, run)
	}
	for i, a := range args[1:] {
		name, value, found := strings.Cut(a, "=")
		if name = strings.TrimSpace(name); !found || name == "" {
			return 0, nil, misuse("%q is no NAME=VALUE; %s", a, insteadOf(args[1:], i))
		}
		assignments = append(assignments, sheet.Assignment{Name: name, Value: strings.TrimSpace(value)})
	}
	return run, assignments, nil
}

// isFolder says whether there is a folder of a name.
func isFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
}

// insteadOf says what was meant by argument i, which is no NAME=VALUE: one that blanks took apart, most
// likely.
func insteadOf(args []string, i int) string {
	next := func(k int) string {
		if k < len(args) {
			return args[k]
		}
		return ""
	}
	before := ""
	if i > 0 {
		before = args[i-1]
	}
	value := next(i + 1)
	if strings.HasPrefix(value, "=") {
		if value = value[1:]; value == "" {
			value = next(i + 2)
		}
	}
	_, err := strconv.ParseFloat(args[i], 64)
	switch number := err == nil; {
	case number && strings.HasSuffix(before, "="):
		return "write it without blanks: " + before + args[i]
	case number:
		return "say what it is: NAME=" + args[i]
	case strings.Contains(before, "="):
		text := before
		for _, word := range args[i:] {
			if strings.Contains(word, "=") {
				break
			}
			text += " " + word
		}
		return "put a text with blanks in quotes: '" + text + "'"
	case value == "" || strings.Contains(value, "="):
		return "write what it is, such as " + strings.TrimRight(args[i], ":") + "=612.5"
	}
	return "write it without blanks: " + strings.TrimRight(args[i], ":") + "=" + value
}

// complain prints what a person should look at.
func complain(w io.Writer, faults fault.List) {
	for i := range faults {
		say(w, faults[i].Error())
	}
}
