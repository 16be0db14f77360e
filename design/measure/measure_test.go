package measure

import (
	"context"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairrun/design/fault"
	"fairrun/design/log"
	"fairrun/design/plan"
	"fairrun/design/sheet"
	"fairrun/design/table"
	"fairrun/stats/verdict"
)

// head is a plan of six runs whose logs are in ms, gf and %.
const head = `title = "Thruster"
scope = "thruster no. 3"
seed = 41
[[factor]]
name = "weakening"
levels = [0, 8]
[block]
count = 3
replicates = 1
[log]
files = "logs/{run:02}.csv"
time = { header = "t", unit = "ms" }
[log.columns]
rpm = { header = "Speed", unit = "rpm" }
thrust = { header = "Pull", unit = "gf" }
throttle = { header = "Command", unit = "%" }
[[response]]
name = "spin_up"
unit = "ms"
better = "lower"
`

const spinUp = `measure = { what = "transition", of = "rpm", from = "10%", to = "90%", command = "throttle" }
`

// campaign draws a campaign from a plan in a folder of its own.
func campaign(t testing.TB, text string) (dir string, s *sheet.Sheet) {
	t.Helper()
	dir = t.TempDir()
	path := filepath.Join(dir, sheet.PlanFile)
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	c, err := plan.Read(path)
	if err != nil {
		t.Fatal(err)
	}
	drawn, err := sheet.NewOrder(c, 41)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := sheet.Write(dir, c, drawn, time.Now(), table.Dialect{}); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, "logs"), 0o777); err != nil {
		t.Fatal(err)
	}
	return dir, open(t, dir)
}

func open(t testing.TB, dir string) *sheet.Sheet {
	t.Helper()
	s, err := sheet.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func write(t testing.TB, dir, name, text string) {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, filepath.FromSlash(name)), []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
}

// steps is a log at 2 kHz, with a little noise that repeats, of a speed that follows a command with a time constant of τ ms: a command on
// for a second and off for a second, so many times. Pull is the square of the speed.
func steps(times int, τ float64) string {
	var b strings.Builder
	b.WriteString("t,Speed,Pull,Command\n")
	x, dt := 0.0, 0.5
	for i := range 2000 + times*4000 {
		command := 0
		if i >= 1000 && i < 1000+times*4000 && (i-1000)/2000%2 == 0 {
			command = 80
		}
		fmt.Fprintf(&b, "%.1f,%.5f,%.6f,%d\n", float64(i)*dt, 600+2400*x+float64(i*7919%101-50)/200, 1000*x*x+float64(i*6133%97-48)/800, command)
		target := 0.0
		if command > 0 {
			target = 1
		}
		x = target + (x-target)*math.Exp(-dt/τ)
	}
	return b.String()
}

// one measures the only run of a campaign that has a log.
func one(t testing.TB, dir string) Result {
	t.Helper()
	s := open(t, dir)
	sources, faults := Sources(dir, s)
	if len(faults) > 0 || len(sources) != 1 {
		t.Fatalf("logs %v, faults %v", sources, faults)
	}
	var r Result
	if err := All(context.Background(), dir, s, sources, func(got Result) { r = got }); err != nil {
		t.Fatal(err)
	}
	return r
}

// Closed forms, each in the unit of its response: a first-order lag of τ ms rises from 10 to 90 % in ln 9 of them.
func TestMeasures(t *testing.T) {
	t.Parallel()
	const τ = 40.0
	tests := []struct {
		unit, measure string
		want          float64
		within        float64 // relative
	}{
		{"ms", `{ what = "transition", of = "rpm", from = "10%", to = "90%", command = "throttle" }`, τ * math.Log(9), 1e-3},
		{"s", `{ what = "transition", of = "rpm", from = "10%", to = "90%" }`, τ * math.Log(9) / 1e3, 1e-3},
		{"ms", `{ what = "transition", of = "rpm", from = "1200 rpm", to = "2400 rpm", command = "throttle" }`, τ * math.Log(3), 1e-3},
		{"rpm/s", `{ what = "slope", of = "rpm", window = "20 ms", command = "throttle" }`, 2400 / τ * 1e3 * ofInitial(20/τ), 0.02},
		{"ms", `{ what = "transition", of = "rpm", from = "90%", to = "10%", edge = "falling", command = "throttle" }`, -τ * math.Log(9), 1e-3},
		{"ms", `{ what = "delay", of = "rpm", to = "50%", command = "throttle" }`, τ * math.Log(2), 0.02},
		{"ms", `{ what = "settling", of = "rpm", within = "2%", command = "throttle" }`, τ * math.Log(0.5/0.02), 2e-3},
		{"N", `{ what = "steady", of = "thrust", command = "throttle" }`, 9.80665, 1e-4},
		{"gf", `{ what = "highest", of = "thrust", hold = "50 ms", command = "throttle" }`, 1000, 1e-3},
		{"N s", `{ what = "integral", of = "thrust" }`, 9.80665 * (1 - 2*.04 + .02 + .02), 2e-3},
	}
	for _, test := range tests {
		t.Run(test.unit+" "+test.measure, func(t *testing.T) {
			t.Parallel()
			text := strings.Replace(head, `unit = "ms"
better`, `unit = "`+test.unit+`"
better`, 1)
			dir, _ := campaign(t, text+"measure = "+test.measure+"\n")
			write(t, dir, "logs/01.csv", steps(1, τ))
			v := one(t, dir).Values[0]
			if v.Value == nil {
				t.Fatalf("not measured: %s", *v.Reason)
			}
			want := math.Abs(test.want)
			if got := math.Abs(*v.Value); math.Abs(got-want) > test.within*want {
				t.Errorf("got %v, want %v", got, want)
			}
			if v.Unit != test.unit || v.Uncertainty == nil {
				t.Errorf("unit %q, uncertainty %v", v.Unit, v.Uncertainty)
			}
		})
	}
}

// ofInitial is the share of the initial rate of a first-order lag that a least-squares line has, over a window
// of a time constants from the start.
func ofInitial(a float64) float64 { return -12 / (a * a * a) * (1 - a/2 - math.Exp(-a)*(1+a/2)) }

// Signals are computed before they are measured: speed from seven pole pairs, power, thrust per watt with the zero taken
// off. The definition says from what.
func TestSignals(t *testing.T) {
	t.Parallel()
	const signals = `[[signal]]
name = "shaft"
unit = "rpm"
formula = "rpm / 7"
[[signal]]
name = "power"
unit = "W"
formula = "shaft * \"0.1 Nm\""
[[signal]]
name = "efficiency"
unit = "gf/W"
formula = "thrust / power"
`
	for _, test := range []struct {
		unit, of string
		want     float64
	}{
		{"rpm", "shaft", 3000.0 / 7},
		{"W", "power", 3000.0 / 7 * math.Pi / 30 * 0.1},
		{"mN/W", "efficiency", 9806.65 / (3000.0 / 7 * math.Pi / 30 * 0.1)},
	} {
		text := strings.Replace(head, "[[response]]", signals+"[[response]]", 1)
		text = strings.Replace(text, "unit = \"ms\"\nbetter", "unit = \""+test.unit+"\"\nbetter", 1)
		text = strings.Replace(text, `unit = "gf" }`, `unit = "gf", zero = "start" }`, 1)
		dir, _ := campaign(t, text+`measure = { what = "steady", of = "`+test.of+`", command = "throttle" }`+"\n")
		write(t, dir, "logs/01.csv", steps(1, 40))
		v := one(t, dir).Values[0]
		if v.Value == nil {
			t.Errorf("%s: %s", test.of, *v.Reason)
			continue
		}
		if math.Abs(*v.Value/test.want-1) > 1e-3 {
			t.Errorf("%s is %v %s, want %v", test.of, *v.Value, test.unit, test.want)
		}
		if !strings.Contains(v.Definition, `; shaft is rpm / 7 in rpm; `) || strings.Contains(v.Definition, "efficiency is") != (test.of == "efficiency") {
			t.Errorf("the definition is %s", v.Definition)
		}
		if noted := strings.Contains(fmt.Sprint(v.Notes), "the uncertainty of the zero of thrust"); noted != (test.of == "efficiency") {
			t.Errorf("%s: notes %q", test.of, v.Notes)
		}
	}
}

// Several steps give their mean; the spread between them is kept apart.
func TestSeveralSteps(t *testing.T) {
	t.Parallel()
	dir, _ := campaign(t, head+spinUp)
	write(t, dir, "logs/01.csv", steps(3, 40))
	v := one(t, dir).Values[0]
	if v.Steps != 3 || v.Spread == nil || len(v.Edges) != 6 {
		t.Errorf("%d steps, spread %v, edges %v", v.Steps, v.Spread, v.Edges)
	}
}

func TestStore(t *testing.T) {
	t.Parallel()
	dir, s := campaign(t, head+spinUp)
	for run := 1; run <= 3; run++ {
		write(t, dir, fmt.Sprintf("logs/%02d.csv", run), steps(1, 40+float64(run)))
	}
	write(t, dir, "logs/03.csv", "t,Speed,Pull,Command\n0,600,0,0\n1,600,0,0\n2,600,0,0\n")
	all := func(replace bool) []Stored {
		sources, _ := Sources(dir, open(t, dir))
		var results []Result
		if err := All(context.Background(), dir, s, sources, func(r Result) { results = append(results, r) }); err != nil {
			t.Fatal(err)
		}
		stored, err := Store(dir, results, replace, time.Now())
		if err != nil {
			t.Fatal(err)
		}
		return stored
	}
	if stored := all(false); len(stored) != 3 || !stored[0].Changed || stored[2].Changed || stored[2].Values[0].Reason == nil {
		t.Errorf("stored %+v", stored)
	}
	s = open(t, dir)
	if r := s.Runs[0]; r.Values[0] == "" || r.Log != "logs/01.csv" || r.Status != sheet.OK {
		t.Errorf("run 1 is %+v", r)
	}
	if r := s.Runs[2]; r.Values[0] != "" || r.Log != "" || r.Status != sheet.ToDo {
		t.Errorf("run 3, which was not measured, is %+v", r)
	}
	before, err := os.ReadFile(filepath.Join(dir, File))
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range all(false) {
		if r.Changed || !r.Known {
			t.Errorf("run %d was measured again", r.Run.Run)
		}
	}
	if err := os.Remove(filepath.Join(dir, File)); err != nil {
		t.Fatal(err)
	}
	all(false)
	if after, err := os.ReadFile(filepath.Join(dir, File)); err != nil || string(after) != string(before) {
		t.Errorf("measuring again gave other bytes, %v", err)
	}

	// A log that changed is measured again, and the cell kept until it may be replaced.
	write(t, dir, "logs/01.csv", steps(1, 80))
	if stored := all(false); stored[0].Refused == nil || stored[0].Known {
		t.Errorf("another log was stored over a value: %+v", stored[0])
	}
	if stored := all(true); !stored[0].Changed {
		t.Error("the value was not replaced")
	}
}

func TestSources(t *testing.T) {
	t.Parallel()
	dir, _ := campaign(t, head+spinUp)
	record := func(run int, set ...sheet.Assignment) {
		if _, err := sheet.Record(dir, run, set, true, time.Now()); err != nil {
			t.Fatal(err)
		}
	}
	record(1, sheet.Assignment{Name: "log", Value: "logs/a.csv"})
	record(2, sheet.Assignment{Name: "log", Value: "logs/../logs/a.csv"})
	record(4, sheet.Assignment{Name: "status", Value: "failed"})
	write(t, dir, "logs/03.csv.gz", "")
	write(t, dir, "logs/04.csv", "")
	sources, faults := Sources(dir, open(t, dir))
	if len(sources) != 1 || sources[0] != (LogFile{Run: 3, File: "logs/03.csv.gz"}) {
		t.Errorf("got %+v", sources)
	}
	if len(faults) != 1 || !strings.Contains(faults[0].Found, "runs 1, 2 name the same log") {
		t.Errorf("got %v", faults)
	}
}

// A log outside the folder is refused, and so is a link that leads out; the others are measured.
func TestOutside(t *testing.T) {
	t.Parallel()
	dir, _ := campaign(t, head+spinUp)
	out := t.TempDir()
	write(t, out, "a.csv", steps(1, 40))
	if err := os.Symlink(filepath.Join(out, "a.csv"), filepath.Join(dir, "logs", "link.csv")); err != nil {
		t.Skip("no links here")
	}
	for file, want := range map[string]string{"../a.csv": "outside", filepath.Join(out, "a.csv"): "outside", "logs/link.csv": "leads out"} {
		if _, err := within(dir, file); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: %v", file, err)
		}
	}
}

// Time that does not go on is no time.
func TestBackward(t *testing.T) {
	t.Parallel()
	dir, _ := campaign(t, head+spinUp)
	write(t, dir, "logs/01.csv", strings.Repeat(steps(1, 40), 3))
	if v := one(t, dir).Values[0]; v.Reason == nil || !strings.Contains(*v.Reason, "time does not go on") {
		t.Errorf("got %+v", v)
	}
}

func TestPathOf(t *testing.T) {
	t.Parallel()
	for pattern, want := range map[string]string{"logs/{run}.csv": "logs/7.csv", "logs/{run:02}.csv": "logs/07.csv", "{run:03}/{run}.txt": "007/7.txt"} {
		if got := pathOf(pattern, 7); got != want {
			t.Errorf("%s gives %s, want %s", pattern, got, want)
		}
	}
}

func TestText(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		value, uncertainty float64
		want               string
	}{{612.4837, 0.8, "612.48"}, {612.4837, 8, "612.5"}, {0.00123456, 0.00001, "0.001235"}, {612.4837, 0, "612.4837"}, {26479.4, 120, "26479"}, {0, 0.1, "0.00"}} {
		if got := (&Value{Value: &c.value, Uncertainty: &c.uncertainty}).Text(); got != c.want {
			t.Errorf("%v ± %v is written %q, want %q", c.value, c.uncertainty, got, c.want)
		}
	}
}

// A fault of a log is the reason of all its values.
func TestFaultyLog(t *testing.T) {
	t.Parallel()
	dir, _ := campaign(t, head+spinUp)
	write(t, dir, "logs/01.csv", "t,Speed,Pull\n0,1,2\n1,2,3\n")
	r := one(t, dir)
	if len(fault.In(r.Fault)) != 1 || r.Values[0].Reason == nil || *r.Values[0].Reason != `there is no column "Command"` {
		t.Errorf("got %v, %+v", r.Fault, r.Values)
	}
}

// BenchmarkRun measures a transition in a log of 100,000 rows and six columns.
func BenchmarkRun(b *testing.B) {
	dir, s := campaign(b, head+spinUp)
	var text strings.Builder
	text.WriteString("t;Speed;Pull;U;I;Command\n")
	x := 0.0
	for i := range 100_000 {
		command := 0
		if i >= 20_000 {
			command = 80
			x += (1 - x) * 0.0025
		}
		fmt.Fprintf(&text, "%.2f;%.2f;%.3f;%.3f;%.3f;%d\n", float64(i)/10, 600+2400*x+float64(i*7919%101)/20, 1000*x*x, 24.5, 31.2, command)
	}
	write(b, dir, "logs/01.csv", text.String())
	w, err := newWorker(dir, s.Campaign)
	if err != nil {
		b.Fatal(err)
	}
	b.SetBytes(int64(text.Len()))
	for b.Loop() {
		if r, err := w.run(context.Background(), LogFile{Run: 1, File: "logs/01.csv"}); err != nil || r.Values[0].Value == nil {
			b.Fatal(err, r.Values)
		}
	}
	if _, err := log.Hash(context.Background(), filepath.Join(dir, "logs", "01.csv")); err != nil {
		b.Fatal(err)
	}
}

// Measuring that makes up half of the variance is reported, a hundredth is not; on the log scale by relative
// uncertainties.
func TestShares(t *testing.T) {
	t.Parallel()
	dir, _ := campaign(t, head+spinUp)
	value, u := 50.0, 1.0
	if err := keep(dir, []Run{{Run: 1, Values: []Value{{Response: "spin_up", Value: &value, Uncertainty: &u}}}}); err != nil {
		t.Fatal(err)
	}
	for _, test := range []struct {
		sd    float64
		scale verdict.Scale
		want  string
	}{{math.Sqrt2, verdict.Raw, "about 50 % of the variance"}, {10, verdict.Raw, ""}, {0.02, verdict.Log, "about 100 %"}, {0.2, verdict.Log, ""}} {
		v := &verdict.Verdict{Responses: []verdict.Response{{Name: "spin_up", Scale: test.scale, Noise: verdict.Noise{SD: verdict.Number(test.sd)}}}}
		texts, err := Shares(dir, v)
		if got := strings.Join(texts, " "); err != nil || (test.want == "") != (got == "") || !strings.Contains(got, test.want) {
			t.Errorf("sd %v: got %q, %v, want %q", test.sd, got, err, test.want)
		}
	}
}
