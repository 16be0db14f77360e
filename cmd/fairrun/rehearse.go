package main

import (
	"io"
	"path/filepath"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design/plan"
	"fairrun/design/rehearse"
	"fairrun/design/size"
)

// mostCampaigns bounds a rehearsal: a hundred times more gives another digit of every rate.
const mostCampaigns = 10_000_000

func rehearseCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "rehearse",
		Usage:     "try the plan on a simulated bench: how often it cries wolf, how often it finds the margin",
		ArgsUsage: "[FOLDER]",
		Description: "Runs the plan thousands of times on a bench that heats and sags, each time in an order freshly drawn by the plan's rule, " +
			"and beside it the same runs sorted level after level and in plain random order. Every campaign is judged as \"fairrun verdict\" judges it: adjusted for the plan's covariates, for specimens like those tested if there are several, at each look that is planned. " +
			"[simulation] in the plan states the bench; what it leaves out has a default, which is printed. " +
			"The same plan, seed and number of campaigns give the same figures on any number of processors.",
		Flags: []cli.Flag{
			formatFlag(),
			fullFlag(),
			&cli.IntFlag{Name: "campaigns", Value: 10_000, Usage: "rehearse `N` campaigns of each order"},
			&cli.Uint64Flag{Name: "seed", Usage: "`SEED` of all random numbers (default: that of the plan)"},
		},
		Action: func(c *cli.Context) error { return rehearseAction(c, std) },
	}
}

func rehearseAction(c *cli.Context, std streams) error {
	f, err := format(c)
	if err != nil {
		return err
	}
	o := rehearse.Options{Campaigns: c.Int("campaigns"), Seed: c.Uint64("seed")}
	if o.Campaigns < 1 || o.Campaigns > mostCampaigns {
		return misuse("--campaigns is %d; write a number from 1 to %d", o.Campaigns, mostCampaigns)
	}
	dir, err := folder(c)
	if err != nil {
		return err
	}
	plan, err := plan.Read(filepath.Join(dir, planFile))
	if err != nil {
		return err
	}
	if plan, err = size.Assumed(plan); err != nil {
		return err
	}
	if !c.IsSet("seed") && plan.Seed != nil {
		o.Seed = *plan.Seed
	}
	bar := newProgress(std.Err, "rehearsing", o.Campaigns)
	o.Progress = bar.show
	r, err := rehearse.Rehearse(c.Context, plan, o)
	bar.clear()
	if err != nil {
		return err
	}
	return writeRehearsal(std.Out, r, layout{f, c.Bool("full"), argument(dir)})
}

// writeRehearsal prints how a plan fared.
func writeRehearsal(w io.Writer, r *rehearse.Rehearsal, as layout) error {
	switch {
	case as.format == render.JSON:
		return render.WriteJSON(w, r)
	case as.format == render.CSV:
		head, rows := render.RehearsalRows(r)
		return render.WriteCSV(w, head, rows)
	case as.full:
		return render.FullRehearsal(r).Write(w, as.format, styleOf(w))
	}
	return render.Rehearsal(r).Write(w, as.format, styleOf(w))
}

// progressPatience is how long a command works before it shows how far it is.
const progressPatience = time.Second

// progress is a bar at a terminal, shown once a command has kept a person waiting.
type progress struct {
	w     io.Writer // nil: not a terminal
	what  string
	total int
	start time.Time
	bar   *progressbar.ProgressBar
}

func newProgress(w io.Writer, what string, total int) *progress {
	p := &progress{what: what, total: total, start: time.Now()}
	if _, ok := terminal(w); ok {
		p.w = w
	}
	return p
}

// show says how much is done.
func (p *progress) show(done int) {
	if p.w == nil || p.bar == nil && time.Since(p.start) < progressPatience {
		return
	}
	if p.bar == nil {
		p.bar = progressbar.NewOptions(p.total, progressbar.OptionSetWriter(p.w), progressbar.OptionSetDescription(p.what),
			progressbar.OptionThrottle(100*time.Millisecond), progressbar.OptionClearOnFinish(), progressbar.OptionSetPredictTime(true))
	}
	// A bar that cannot be drawn is no reason to stop.
	_ = p.bar.Set(done)
}

// clear takes the bar away.
func (p *progress) clear() {
	if p.bar != nil {
		_ = p.bar.Finish()
	}
}
