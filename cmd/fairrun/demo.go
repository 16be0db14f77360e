package main

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"fairrun/cmd/fairrun/internal/render"
	"fairrun/design/analysis"
	"fairrun/design/disk"
	"fairrun/design/plan"
	"fairrun/design/rehearse"
	"fairrun/design/sheet"
	"fairrun/design/size"
	"fairrun/design/store"
	"fairrun/design/table"
)

// demoFolder is where the demonstration goes when no folder is named.
const demoFolder = "fairrun-demo"

// demoStart is when the invented campaign begins.
var demoStart = time.Date(2026, time.May, 9, 9, 0, 0, 0, time.FixedZone("", 2*60*60))

// shownRuns is how many of the recorded runs the demonstration prints.
const shownRuns = 3

func demoCommand(std streams) *cli.Command {
	return &cli.Command{
		Name:      "demo",
		Usage:     "go through a whole invented campaign in seconds",
		ArgsUsage: "[FOLDER]",
		Description: "A student solar-boat team's pod thruster in a test tank. Plan and data are invented, the data by a small simulated bench " +
			"on which the motor heats and the packs sag. Leaves a campaign folder to go on with.",
		Action: func(c *cli.Context) error { return demoAction(c, std) },
	}
}

func demoAction(c *cli.Context, std streams) error {
	if c.NArg() > 1 {
		return misuse("one folder at a time; got %q", c.Args().Slice())
	}
	dir, err := demoDir(c.Args().First())
	if err != nil {
		return err
	}
	d := demo{std: std, dir: dir}
	for _, step := range []func(context.Context) error{d.plan, d.before, d.draw, d.record, d.verdict, d.after} {
		if err := step(c.Context); err != nil {
			return err
		}
	}
	fmt.Fprintf(std.Out, "\nThe campaign is in %s: look into its files, change the plan, or judge it in other forms:\n  fairrun verdict%s --format markdown\n", dir, argument(dir))
	return nil
}

// demoDir makes the folder: the one that was named, or the first free name.
func demoDir(name string) (string, error) {
	if name != "" {
		if _, err := os.Stat(filepath.Join(name, planFile)); err == nil {
			return "", fmt.Errorf("%s holds a campaign already; name another folder", name)
		}
		return name, disk.MakeFolder(name, true)
	}
	for n := 1; ; n++ {
		if name = demoFolder; n > 1 {
			name += "-" + strconv.Itoa(n)
		}
		err := disk.MakeFolder(name, false)
		if !os.IsExist(err) {
			return name, err
		}
	}
}

// demo is the demonstration at work.
type demo struct {
	std   streams
	dir   string
	sheet *sheet.Sheet
}

// step heads a step with the command that does it.
func (d *demo) step(what, command string, args ...any) {
	s := styleOf(d.std.Out)
	fmt.Fprintf(d.std.Out, "\n%s\n%s\n\n", s.Rule(what), s.Command(fmt.Sprintf(command, args...)))
}

func (d *demo) plan(context.Context) error {
	fmt.Fprintln(d.std.Out, "A campaign from plan to verdict. All of it is invented: a student solar-boat team's pod thruster in a test tank.")
	d.step("1  Say what is compared and what difference would matter", "fairrun init%s", argument(d.dir))
	path := filepath.Join(d.dir, planFile)
	if err := store.Put(store.Change{Path: path, Data: []byte(rehearse.ThrusterPlan), Absent: true}); err != nil {
		return err
	}
	fmt.Fprint(d.std.Out, rehearse.ThrusterPlan)
	return nil
}

func (d *demo) before(ctx context.Context) error {
	d.step("2  See how many packs that takes", "fairrun replicates%s", argument(d.dir))
	plan, err := plan.Read(filepath.Join(d.dir, planFile))
	if err != nil {
		return err
	}
	r, err := size.Ask{}.Before(ctx, plan)
	if err != nil {
		return err
	}
	return writeReplicates(d.std.Out, r, layout{render.Terminal, false, argument(d.dir)})
}

func (d *demo) draw(context.Context) error {
	d.step("3  Draw an order that heat and sag cannot fake", "fairrun sheet%s", argument(d.dir))
	plan, err := plan.Read(filepath.Join(d.dir, planFile))
	if err != nil {
		return err
	}
	drawn, err := sheet.NewOrder(plan, *plan.Seed)
	if err != nil {
		return err
	}
	if _, err := sheet.Write(d.dir, plan, drawn, demoStart, table.Dialect{}); err != nil {
		return err
	}
	if d.sheet, err = sheet.Open(d.dir); err != nil {
		return err
	}
	return writeSheet(d.std, d.sheet, layout{render.Terminal, false, argument(d.dir)}, false, d.dir)
}

func (d *demo) record(context.Context) error {
	d.step("4  Work through it at the bench (here: a simulated one)", "fairrun record RUN name=value… --in%s", argument(d.dir))
	bench := rehearse.Thruster()
	now := demoStart.Add(15 * time.Minute)
	run := 0
	for _, block := range bench.Do(d.sheet.Draw.Order.Blocks, rehearse.ThrusterSeed) {
		now = now.Add(time.Duration(bench.Bench.SwapTime) * time.Second)
		for _, r := range block {
			run++
			now = now.Add(time.Duration(bench.Bench.RestTime+bench.Bench.RunTime) * time.Second)
			set := d.measured(r)
			if _, err := sheet.Record(d.dir, run, set, false, now); err != nil {
				return err
			}
			if run <= shownRuns || r.Failed {
				fmt.Fprintf(d.std.Out, "  fairrun record %d %s\n", run, spoken(set))
			}
		}
	}
	fmt.Fprintf(d.std.Out, "  … and so on, %d runs in all\n", run)
	return nil
}

// measured is what a person would record of a simulated run.
func (d *demo) measured(r rehearse.Run) []sheet.Assignment {
	decimals := func(v float64, n int) string { return strconv.FormatFloat(v, 'f', n, 64) }
	set := []sheet.Assignment{
		{Name: "start_volts", Value: decimals(r.StartVolts, 1)},
		{Name: "start_temp", Value: decimals(r.StartTemp, 0)},
	}
	if r.Failed {
		return append(set, sheet.Assignment{Name: "status", Value: "failed"}, sheet.Assignment{Name: "note", Value: "did not start"})
	}
	for k, response := range d.sheet.Campaign.Responses {
		set = append(set, sheet.Assignment{Name: response.Name, Value: decimals(r.Values[k], rehearse.Thruster().Responses[k].Digits)})
	}
	return set
}

// spoken writes assignments as on a command line.
func spoken(set []sheet.Assignment) string {
	parts := make([]string, len(set))
	for i, a := range set {
		if parts[i] = a.Name + "=" + a.Value; strings.Contains(a.Value, " ") {
			parts[i] = a.Name + "='" + a.Value + "'"
		}
	}
	return strings.Join(parts, " ")
}

func (d *demo) verdict(ctx context.Context) error {
	d.step("5  Read the verdict", "fairrun verdict%s", argument(d.dir))
	s, err := sheet.Open(d.dir)
	if err != nil {
		return err
	}
	d.sheet = s
	v, err := analysis.Verdict(ctx, s)
	if err != nil {
		return err
	}
	return writeVerdict(ctx, d.std.Out, v, s, layout{render.Terminal, false, argument(d.dir)})
}

func (d *demo) after(ctx context.Context) error {
	d.step("6  See whether more replicates are needed", "fairrun replicates%s", argument(d.dir))
	r, err := size.Ask{}.After(ctx, d.sheet)
	if err != nil {
		return err
	}
	return writeReplicates(d.std.Out, r, layout{render.Terminal, false, argument(d.dir)})
}
