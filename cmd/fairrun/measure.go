package main

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design/fault"
	"fairrun/design/measure"
	"fairrun/design/sheet"
)

func measureCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "measure",
		Usage:     "turn the logs of runs into their results",
		ArgsUsage: "[FOLDER]",
		Description: "Measures the responses that have a measure in campaign.toml from the logs that the run sheet names, or that lie where files in [log] says. " +
			"Values go into the run sheet as record stores them; measured.json keeps each with its standard uncertainty, its definition and the log's SHA-256. " +
			"What a log cannot carry is not measured, and its cell stays empty.\n\n" +
			"To begin, let it look at a log: it says what the log holds, and proposes the section [log] of the plan.\n\n" +
			"  fairrun measure --inspect logs/01.csv\n" +
			"  fairrun measure --inspect logs/01.csv --write   puts it into the plan\n\n" +
			"With --watch it waits at the bench: each new log in the folder of logs is taken for its run by the plan's pattern, or for the next run in the order, " +
			"once it has not grown for two seconds.\n\n" +
			"Runs that were measured before, from the same log and by the same definition, are not measured again. " +
			"The exit code is 3 where something could not be measured.",
		Flags: []cli.Flag{
			formatFlag(),
			&cli.StringFlag{Name: "runs", Usage: "`RUNS` only these, such as 1-500 or 3,7,9-12: several machines can share a folder"},
			&cli.StringFlag{Name: "inspect", Usage: "look at a log: `FILE`; measures nothing"},
			&cli.BoolFlag{Name: "write", Usage: "with --inspect: put the proposed section into campaign.toml"},
			&cli.BoolFlag{Name: "watch", Usage: "wait for new logs and take each for the next run, until Ctrl-C"},
			&cli.BoolFlag{Name: "replace", Usage: "replace values that are there already and differ"},
		},
		Action: func(c *cli.Context) error { return measureAction(c, std) },
	}
}

func measureAction(c *cli.Context, std streams) error {
	f, dir, err := formatAndFolder(c)
	if err != nil {
		return err
	}
	if file := c.String("inspect"); file != "" {
		return inspectLog(c, std, dir, file, f)
	}
	if c.Bool("write") {
		return misuse("--write puts the section into the plan that --inspect FILE proposes")
	}
	s, err := sheet.Open(dir)
	if err != nil {
		return err
	}
	if err := measure.Check(s.Campaign); err != nil {
		return err
	}
	if c.Bool("watch") {
		w := &watcher{std: std, dir: dir, folder: logFolder(s), replace: c.Bool("replace"), quiet: quietTime, look: lookAgain}
		return w.watch(c.Context)
	}
	wanted, err := runNumbers(c.String("runs"), len(s.Runs))
	if err != nil {
		return err
	}
	sources, shared := measure.Sources(dir, s)
	if wanted != nil {
		sources = slices.DeleteFunc(sources, func(l measure.LogFile) bool { return !wanted[l.Run] })
	}
	if len(sources) == 0 && len(shared) == 0 {
		return fmt.Errorf("no run has a log; name it in the column log of %s, or say where logs lie with files = \"logs/{run:02}.csv\" in [log]", sheet.File)
	}
	runs, err := measureAll(c.Context, std, dir, s, sources, c.Bool("replace"))
	if err != nil {
		return err
	}
	return showMeasured(std, s, runs, shared, f)
}

// batch is how many runs are measured before they are stored, so that little is lost when it ends early.
const batch = 64

// measureAll measures and stores, some runs at a time.
func measureAll(ctx context.Context, std streams, dir string, s *sheet.Sheet, sources []measure.LogFile, replace bool) (all []measure.Stored, err error) {
	doing := fmt.Sprintf("measuring %d logs", len(sources))
	err = whileBusy(ctx, std.Err, doing, func() error {
		for some := range slices.Chunk(sources, batch) {
			var results []measure.Result
			if err := measure.All(ctx, dir, s, some, func(r measure.Result) { results = append(results, r) }); err != nil {
				return err
			}
			stored, err := measure.Store(dir, results, replace, time.Now())
			if err != nil {
				return err
			}
			all = append(all, stored...)
		}
		return nil
	})
	return all, err
}

// showMeasured prints what was measured and what was not.
func showMeasured(std streams, s *sheet.Sheet, runs []measure.Stored, shared fault.List, f render.Format) error {
	missing, notes := render.MeasuredNotes(runs)
	for i := range shared {
		missing = append(missing, shared[i].Error())
	}
	for _, line := range slices.Concat(notes, missing) {
		for text := range strings.SplitSeq(line, "\n") {
			say(std.Err, text)
		}
	}
	var err error
	switch f {
	case render.JSON:
		record := measure.Measured{Schema: measure.Schema, Runs: []measure.Run{}}
		for _, r := range runs {
			record.Runs = append(record.Runs, r.Run)
		}
		err = render.WriteJSON(std.Out, record)
	case render.CSV:
		head, rows := render.MeasuredRows(runs)
		err = render.WriteCSV(std.Out, head, rows)
	default:
		err = render.Measured(s.Campaign, runs).Write(std.Out, f, styleOf(std.Out))
	}
	if err == nil && len(missing) > 0 {
		return errAttention
	}
	return err
}

// runNumbers reads "1-500" or "3,7,9-12"; nil is all runs.
func runNumbers(text string, most int) (map[int]bool, error) {
	if text == "" {
		return nil, nil
	}
	wanted := map[int]bool{}
	for _, part := range list([]string{text}) {
		low, high, isRange := strings.Cut(part, "-")
		if !isRange {
			high = low
		}
		a, errA := strconv.Atoi(strings.TrimSpace(low))
		b, errB := strconv.Atoi(strings.TrimSpace(high))
		if errA != nil || errB != nil || a < 1 || b < a {
			return nil, misuse("--runs is %q; write numbers of runs, such as 1-500 or 3,7,9-12", text)
		}
		for n := a; n <= min(b, most); n++ {
			wanted[n] = true
		}
	}
	return wanted, nil
}
