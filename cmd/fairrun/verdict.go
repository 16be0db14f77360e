package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design/analysis"
	"fairrun/design/measure"
	"fairrun/design/plan"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/design/size"
	"fairrun/stats/compare"
	"fairrun/stats/verdict"
)

func verdictCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "verdict",
		Usage:     "say which differences are real, which too small to matter, which open",
		ArgsUsage: "[FOLDER]",
		Description: "Judges the results in a campaign's run sheet, or with --data those in any CSV file:\n\n" +
			"  fairrun verdict --data FILE --response Y --factor T --margin 2%\n\n" +
			"The verdicts, each read off an interval that holds for all comparisons together:\n\n" +
			"  matters     real, and big enough to act on\n" +
			"  real        real; whether it is big enough is open\n" +
			"  trivial     real, but too small to matter\n" +
			"  equal       no difference that matters\n" +
			"  unresolved  cannot tell\n\n" +
			"Each response is answered on a page: which levels are best, a line a comparison with its\n" +
			"interval drawn against zero and the margin, the noise, what to do next, and the checks that\n" +
			"ask for attention. --full prints all tables and checks.\n\n" +
			"With --strict the exit code is 3 while a comparison is unresolved.",
		Flags: append([]cli.Flag{
			formatFlag(),
			fullFlag(),
			&cli.BoolFlag{Name: "strict", Usage: "exit with 3 while a comparison is unresolved"},
			&cli.StringFlag{Name: saveNoiseFlag, Usage: "keep the measured noise in a `FILE`, or without one in that which [rig] of the plan names, for the next campaigns on the rig"},
			&cli.IntFlag{Name: "orders", Value: analysis.Draws, Usage: "`N` orders that the randomisation test takes, all there are if they are no more; 0 leaves it out"},
		}, dataFlags()...),
		Action: func(c *cli.Context) error { return verdictAction(c, std) },
	}
}

// dataFlags are the flags of an analysis without a plan.
func dataFlags() []cli.Flag {
	const category = "Without a plan"
	return []cli.Flag{
		&cli.StringFlag{Category: category, Name: "data", Usage: "`FILE` results, one row a run; - reads standard input"},
		&cli.StringSliceFlag{Category: category, Name: "response", Usage: "`COLUMN` what was measured; several with commas"},
		&cli.StringSliceFlag{Category: category, Name: "factor", Usage: "`COLUMN` what is compared; several with commas"},
		&cli.BoolFlag{Category: category, Name: "interactions", Usage: "compare the combinations of the factors' levels"},
		&cli.StringSliceFlag{Category: category, Name: "block", Usage: "`COLUMN` packs, sessions, …; several with commas"},
		&cli.BoolFlag{Category: category, Name: "fixed-blocks", Usage: "judge for these blocks alone, not for others like them"},
		&cli.StringSliceFlag{Category: category, Name: "random", Usage: "`COLUMN` of specimens, packs or sessions of which those tested are a sample; 'B within A' for nested ones; several with commas"},
		&cli.StringSliceFlag{Category: category, Name: "covariate", Usage: "`COLUMN` numbers to adjust for; several with commas"},
		&cli.StringFlag{Category: category, Name: "margin", Usage: "`MARGIN` smallest difference that matters: 2% or a number in the response's unit"},
		&cli.StringFlag{Category: category, Name: "better", Usage: "`BETTER` higher or lower"},
		&cli.StringFlag{Category: category, Name: "scale", Usage: "`SCALE` raw or log (default: log for a margin in per cent)"},
		&cli.StringFlag{Category: category, Name: "compare", Value: string(verdict.Pairs), Usage: "`FAMILY` what is compared: pairs, baseline or best"},
		&cli.StringFlag{Category: category, Name: "family", Value: string(verdict.EachFactor), Usage: "`SPAN` what alpha is held over: factor (each, of each response) or table (all together)"},
		&cli.StringSliceFlag{Category: category, Name: "baseline", Usage: "`LEVEL` what the others are compared with; one a factor, with commas"},
		&cli.BoolFlag{Category: category, Name: "one-sided", Usage: "with --compare baseline: ask only which levels are better than it"},
		&cli.StringSliceFlag{Category: category, Name: "contrast", Usage: "`'NAME: LEVEL=WEIGHT, LEVEL=WEIGHT…'` a contrast, its weights adding to zero; 'NAME of FACTOR: …' with several factors"},
		&cli.Float64Flag{Category: category, Name: "alpha", Value: 0.05, Usage: "`CHANCE` chance of any false alarm"},
		&cli.Float64Flag{Category: category, Name: "power", Value: 0.9, Usage: "`CHANCE` chance to find a difference as large as the margin, for the replicates still needed"},
	}
}

func verdictAction(c *cli.Context, std streams) error {
	f, err := format(c)
	if err != nil {
		return err
	}
	if err := checkNoiseFile(c); err != nil {
		return err
	}
	v, s, err := judged(c, std)
	if err != nil {
		return err
	}
	keep, err := noiseFile(c, s)
	if err != nil {
		return err
	}
	if err := writeVerdict(c.Context, std.Out, v, s, layout{f, c.Bool("full"), argument(c.Args().First())}); err != nil {
		return err
	}
	if s != nil {
		if err := remarkOnLogs(c.Context, std.Err, cmp.Or(c.Args().First(), "."), v, s); err != nil {
			return err
		}
	}
	if f == render.CSV { // which has no place for words
		for i := range v.Responses {
			if text := v.Responses[i].Unscaled(); text != "" {
				say(std.Err, fmt.Sprintf("no verdict on %s: %s", v.Responses[i].Name, text))
			}
		}
	}
	if keep != "" {
		if err := keepNoise(std.Err, keep, v, s); err != nil {
			return err
		}
	} else if f == render.Terminal {
		remindOfNoise(std.Err, c.Args().First(), v, s)
	}
	if c.Bool("strict") && unresolved(v) {
		return errAttention
	}
	return nil
}

// judged is the verdict on a campaign, with its sheet, or on a file of results without a plan.
func judged(c *cli.Context, std streams) (*verdict.Verdict, *sheet.Sheet, error) {
	if c.IsSet("data") {
		if c.NArg() > 0 {
			return nil, nil, misuse("--data takes its file alone; got %q besides", c.Args().Slice())
		}
		if c.IsSet("orders") {
			return nil, nil, misuse("--orders needs the record of a draw, which a file alone does not have; leave it out, or judge the campaign's folder")
		}
		v, err := judgedFile(c, std)
		return v, nil, err
	}
	for _, f := range dataFlags() {
		if name := f.Names()[0]; c.IsSet(name) {
			return nil, nil, misuse("--%s goes with --data; a campaign's own plan says it in %s", name, planFile)
		}
	}
	orders := c.Int("orders")
	if orders < 0 || orders > mostOrders {
		return nil, nil, misuse("--orders is %d; it can be from 0 to %d", orders, mostOrders)
	}
	dir, err := folder(c)
	if err != nil {
		return nil, nil, err
	}
	s, err := sheet.Open(dir)
	if err != nil {
		return nil, nil, err
	}
	complain(std.Err, s.Warnings)
	var v *verdict.Verdict
	err = whileBusy(c.Context, std.Err, judging, func() (err error) {
		v, err = analysis.VerdictOver(c.Context, s, orders)
		return err
	})
	return v, s, err
}

// mostOrders bounds the orders of a randomisation test: minutes of work.
const mostOrders = 10_000_000

// judging is what a command says that it is busy with.
const judging = "judging the results"

func judgedFile(c *cli.Context, std streams) (v *verdict.Verdict, err error) {
	margin, err := parseMargin(c.String("margin"))
	if err != nil {
		return nil, err
	}
	contrasts, err := parseContrasts(c.StringSlice("contrast"))
	if err != nil {
		return nil, err
	}
	if err := checkChances(c); err != nil {
		return nil, err
	}
	q := question.File{
		Responses:    list(c.StringSlice("response")),
		Treatments:   list(c.StringSlice("factor")),
		Interactions: c.Bool("interactions"),
		Blocks:       list(c.StringSlice("block")),
		FixedBlocks:  c.Bool("fixed-blocks"),
		Random:       list(c.StringSlice("random")),
		Covariates:   list(c.StringSlice("covariate")),
		Margin:       margin,
		Better:       c.String("better"),
		Scale:        verdict.Scale(c.String("scale")),
		Compare:      verdict.Compare(c.String("compare")),
		Baseline:     list(c.StringSlice("baseline")),
		OneSided:     c.Bool("one-sided"),
		Contrasts:    contrasts,
		Family:       verdict.Span(c.String("family")),
		Alpha:        c.Float64("alpha"),
		Power:        c.Float64("power"),
	}
	file, in := c.String("data"), std.In
	if file == "-" {
		file = "standard input"
	} else {
		r, err := os.Open(file)
		if errors.Is(err, os.ErrNotExist) {
			return nil, fmt.Errorf("there is no file %q", file)
		}
		if err != nil {
			return nil, err
		}
		defer r.Close()
		in = r
	}
	err = whileBusy(c.Context, std.Err, judging, func() (err error) {
		v, err = q.Judge(c.Context, file, in)
		return err
	})
	return v, err
}

// parseMargin reads "2%" or "0.5"; nil when there is none.
func parseMargin(text string) (*verdict.Margin, error) {
	if text == "" {
		return nil, nil
	}
	x, relative, ok := plan.ParseAmount(text)
	if !ok || x <= 0 {
		return nil, misuse("--margin is %q; write a share of the mean such as 2%%, or a number in the response's unit such as 0.5", text)
	}
	return &verdict.Margin{Value: x, Relative: relative}, nil
}

// parseContrasts reads "NAME: LEVEL=WEIGHT, LEVEL=WEIGHT…", the name perhaps
// followed by "of FACTOR".
func parseContrasts(texts []string) ([]verdict.Chosen, error) {
	var out []verdict.Chosen
	for _, text := range texts {
		wrong := misuse("contrast %q: write it as 'NAME: LEVEL=WEIGHT, LEVEL=WEIGHT', e.g. 'weakened: 4=0.5, 8=0.5, 0=-1'", text)
		name, weights, found := strings.Cut(text, ":")
		if !found {
			return nil, wrong
		}
		c := verdict.Chosen{Weights: map[string]float64{}}
		name, factor, of := strings.Cut(name, " of ")
		if c.Name = strings.TrimSpace(name); of {
			c.Factors = []string{strings.TrimSpace(factor)}
		}
		for _, part := range strings.Split(weights, ",") {
			i := strings.LastIndex(part, "=")
			if i < 0 {
				return nil, wrong
			}
			w, err := strconv.ParseFloat(strings.TrimSpace(part[i+1:]), 64)
			if err != nil || math.IsNaN(w) || math.IsInf(w, 0) {
				return nil, wrong
			}
			c.Weights[strings.TrimSpace(part[:i])] = w
		}
		out = append(out, c)
	}
	return out, nil
}

// writeVerdict prints a verdict; s is nil for that on a file of results without a plan.
func writeVerdict(ctx context.Context, w io.Writer, v *verdict.Verdict, s *sheet.Sheet, as layout) error {
	switch {
	case as.format == render.JSON:
		return render.WriteJSON(w, v)
	case as.format == render.CSV:
		head, rows := render.VerdictRows(v)
		return render.WriteCSV(w, head, rows)
	case as.full:
		return render.FullVerdict(v).Write(w, as.format, styleOf(w))
	}
	st := render.Standing{In: as.in}
	if s != nil {
		st.Plan = s.Campaign
		st.Further = func(r *verdict.Response) size.ResponseSize { return size.Ask{}.Further(ctx, s, r) }
	}
	return render.Verdict(v, st).Write(w, as.format, styleOf(w))
}

// unresolved says whether some comparison is open, or a response has no verdict.
func unresolved(v *verdict.Verdict) bool {
	for _, r := range v.Responses {
		if r.Unscaled() != "" {
			return true
		}
		for _, c := range r.Comparisons {
			if c.Verdict == compare.Unresolved {
				return true
			}
		}
	}
	return false
}

// remarkOnLogs says where the sheet and what was measured from logs part, and where measuring is a notable part of
// the noise.
func remarkOnLogs(ctx context.Context, w io.Writer, dir string, v *verdict.Verdict, s *sheet.Sheet) error {
	doubts, err := measure.Doubts(ctx, dir, s)
	if err != nil {
		return err
	}
	shares, err := measure.Shares(dir, v)
	if err != nil {
		return err
	}
	for _, text := range slices.Concat(doubts, shares) {
		say(w, text)
	}
	return nil
}
