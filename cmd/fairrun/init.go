package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"fairrun/design"
	"fairrun/design/disk"
	"fairrun/design/plan"
	"fairrun/design/store"
)

// planFile is the plan's name in a campaign folder.
const planFile = "campaign.toml"

func initCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "init",
		Usage:     "start a campaign: write a commented " + planFile,
		ArgsUsage: "[FOLDER]",
		Description: "Asks a few questions when at a terminal and called without --factor and --response. Otherwise the flags say it all:\n\n" +
			"  fairrun init tank --scope 'pod thruster no. 3' \\\n" +
			"    --factor 'weakening [A] = 0, 4, 8, 12' --baseline 0 \\\n" +
			"    --response 'spin_up [ms] lower 2% noise 1.2%' \\\n" +
			"    --block pack --blocks 4 --replicates 2\n\n" +
			"An existing plan is never overwritten.",
		Flags: []cli.Flag{
			&cli.StringFlag{Name: "title", Usage: "`TEXT` heading of the campaign (default: what is measured by what is set)"},
			&cli.StringFlag{Name: "scope", Usage: "`TEXT` what is tested: verdicts speak of this only"},
			&cli.StringSliceFlag{Name: "factor", Usage: "`'NAME [UNIT] = LEVEL, LEVEL…'` what is set on purpose; once a factor"},
			&cli.StringSliceFlag{Name: "baseline", Usage: "`LEVEL` what the others are compared with; FACTOR=LEVEL when there are several factors"},
			&cli.StringSliceFlag{Name: "response", Usage: "`'NAME [UNIT] lower|higher [MARGIN] [noise NOISE]'` what is measured; once a response. A margin is 2% or a number in the unit"},
			&cli.StringFlag{Name: "block", Usage: "`NAME` what cannot last and is compared within, such as pack or session (default: block)"},
			&cli.IntFlag{Name: "blocks", Value: 8, Usage: "`NUMBER` how many blocks"},
			&cli.IntFlag{Name: "replicates", Value: 1, Usage: "`NUMBER` runs of each treatment in each block"},
			&cli.StringFlag{Name: "drift", Usage: "`MODEL` what heat and sag do over a block: none, linear, quadratic, curve, or position for any shape (default: position where there are as many blocks as treatments, otherwise curve)"},
			&cli.BoolFlag{Name: "own-drift", Usage: "each block drifts at its own rate"},
			&cli.StringFlag{Name: "compare", Value: design.ComparePairs, Usage: "`FAMILY` what is compared: pairs, baseline or best"},
			&cli.Float64Flag{Name: "alpha", Value: 0.05, Usage: "`CHANCE` chance of any false alarm"},
			&cli.Float64Flag{Name: "power", Value: 0.9, Usage: "`CHANCE` chance to find a difference as large as the margin"},
		},
		Action: func(c *cli.Context) error { return initAction(c, std) },
	}
}

func initAction(c *cli.Context, std streams) error {
	if c.NArg() > 1 {
		return misuse("one folder at a time; got %q", c.Args().Slice())
	}
	dir := "."
	if c.NArg() == 1 {
		dir = c.Args().First()
	}
	path := filepath.Join(dir, planFile)
	if _, err := os.Stat(path); err == nil {
		return fmt.Errorf("%s is there already; edit it, or start in another folder", path)
	}
	answers, err := answersFrom(c, std)
	if err != nil {
		return err
	}
	text, err := plan.Starter(answers)
	if err != nil {
		return misuse("%v", err)
	}
	if err := disk.MakeFolder(dir, true); err != nil {
		return err
	}
	if err := store.Put(store.Change{Path: path, Data: text, Absent: true}); err != nil {
		return err
	}
	fmt.Fprintf(std.Out, "Wrote %s. Read it through, then:\n  fairrun replicates%s   how many runs the margins take\n  fairrun sheet%s        draw the run sheet\n", path, argument(dir), argument(dir))
	return nil
}

// argument is a folder as it has to be typed after a command.
func argument(dir string) string {
	if dir == "." {
		return ""
	}
	if strings.ContainsAny(dir, " \t'\"") {
		return " " + strconv.Quote(dir)
	}
	return " " + dir
}

// answersFrom takes the answers from the flags, or asks at a terminal.
func answersFrom(c *cli.Context, std streams) (plan.Answers, error) {
	a := plan.Answers{
		Title: c.String("title"),
		Scope: c.String("scope"),
		Block: design.Block{Name: c.String("block"), Count: c.Int("blocks"), Replicates: c.Int("replicates")},
		Drift: design.Drift{Model: c.String("drift"), Own: c.Bool("own-drift")},
		Alpha: c.Float64("alpha"), Power: c.Float64("power"), Compare: c.String("compare"),
	}
	if err := checkChances(c); err != nil {
		return a, err
	}
	factors, responses := c.StringSlice("factor"), c.StringSlice("response")
	if len(factors) == 0 && len(responses) == 0 {
		if q, ok := questionnaire(std); ok {
			return a, q.ask(&a)
		}
	}
	if len(factors) == 0 || len(responses) == 0 {
		return a, misuse("say what is compared and measured: --factor 'weakening [A] = 0, 4, 8, 12' --response 'spin_up [ms] lower 2%%'")
	}
	for _, text := range factors {
		f, err := parseFactor(text)
		if err != nil {
			return a, err
		}
		a.Factors = append(a.Factors, f)
	}
	for _, text := range responses {
		r, err := parseResponse(text)
		if err != nil {
			return a, err
		}
		a.Responses = append(a.Responses, r)
	}
	for _, text := range c.StringSlice("baseline") {
		if err := setBaseline(a.Factors, text); err != nil {
			return a, err
		}
	}
	if a.Scope == "" {
		return a, misuse("say what is tested, since verdicts speak of this only: --scope 'pod thruster no. 3'")
	}
	if a.Title == "" {
		a.Title = usualTitle(a)
	}
	return a, nil
}

// usualTitle says what is measured by what is set.
func usualTitle(a plan.Answers) string {
	var measured, set []string
	for _, r := range a.Responses {
		measured = append(measured, r.Name)
	}
	for _, f := range a.Factors {
		set = append(set, f.Name)
	}
	return strings.Join(measured, ", ") + " by " + strings.Join(set, ", ")
}

// parseFactor reads "NAME [UNIT] = LEVEL, LEVEL…".
func parseFactor(text string) (plan.FactorAnswer, error) {
	name, levels, found := strings.Cut(text, "=")
	f := plan.FactorAnswer{}
	f.Name, f.Unit, _ = nameAndUnit(name)
	for _, l := range strings.Split(levels, ",") {
		if l = strings.TrimSpace(l); l != "" {
			f.Levels = append(f.Levels, l)
		}
	}
	if !found || f.Name == "" || len(f.Levels) == 0 {
		return f, misuse("factor %q: write it as 'NAME [UNIT] = LEVEL, LEVEL', e.g. 'weakening [A] = 0, 4, 8, 12'", text)
	}
	return f, nil
}

// parseResponse reads "NAME [UNIT] lower|higher [MARGIN] [noise NOISE]".
func parseResponse(text string) (plan.ResponseAnswer, error) {
	r := plan.ResponseAnswer{}
	var rest string
	r.Name, r.Unit, rest = nameAndUnit(text)
	if r.Unit == "" {
		r.Name, rest, _ = strings.Cut(strings.TrimSpace(text), " ")
	}
	words := strings.Fields(rest)
	wrong := misuse("response %q: write it as 'NAME [UNIT] lower|higher [MARGIN] [noise NOISE]', e.g. 'spin_up [ms] lower 2%% noise 1.2%%'", text)
	if len(words) == 0 || words[0] != design.BetterLower && words[0] != design.BetterHigher {
		return r, wrong
	}
	r.Better = words[0]
	if words = words[1:]; len(words) > 0 && words[0] != "noise" {
		r.Margin, words = words[0], words[1:]
	}
	switch {
	case len(words) == 2 && words[0] == "noise":
		r.Noise = words[1]
	case len(words) != 0:
		return r, wrong
	}
	return r, nil
}

// nameAndUnit reads "NAME [UNIT] rest".
func nameAndUnit(text string) (name, unit, rest string) {
	name, rest, found := strings.Cut(text, "[")
	if !found {
		return strings.TrimSpace(text), "", ""
	}
	unit, rest, _ = strings.Cut(rest, "]")
	return strings.TrimSpace(name), strings.TrimSpace(unit), rest
}

// setBaseline gives a factor its baseline from "LEVEL" or "FACTOR=LEVEL".
func setBaseline(factors []plan.FactorAnswer, text string) error {
	name, level, named := strings.Cut(text, "=")
	if !named && len(factors) == 1 {
		factors[0].Baseline = strings.TrimSpace(text)
		return nil
	}
	for i := range factors {
		if named && factors[i].Name == strings.TrimSpace(name) {
			factors[i].Baseline = strings.TrimSpace(level)
			return nil
		}
	}
	return misuse("baseline %q: say which factor it is of, as FACTOR=LEVEL", text)
}
