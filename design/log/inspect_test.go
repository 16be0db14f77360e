package log

import (
	"context"
	"math"
	"strings"
	"testing"
)

func TestInspect(t *testing.T) {
	t.Parallel()
	path := write(t, "run.csv", sampleLog(5000)+"5")
	d, err := Inspect(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	if d.Rows != 5000 || !d.Cut || d.Heading != 1 || d.FirstRow != 3 || d.Separator != "semicolon" || d.Decimal != "point" || len(d.Columns) != 6 {
		t.Errorf("got %+v", d)
	}
	if w := d.Time; w == nil || w.Column != 1 || w.Unit != "s" || w.Guessed || math.Abs(w.Interval-0.001) > 1e-9 || math.Abs(w.To-4.999) > 1e-9 || w.Backward != 0 {
		t.Errorf("time is %+v", d.Time)
	}
	if c := d.Columns[5]; !c.Few || c.Low != 0 || c.High != 100 || c.Unit != "%" || len(c.Envelope) > mostPieces || len(c.Envelope) < mostPieces/2 {
		t.Errorf("the command is %+v", c)
	}
	want := `[log]
files = "logs/{run:02}.csv"
time = { header = "t", unit = "s" }
[log.columns]
speed_el = { header = "Speed el.", unit = "rpm" }
pull = { header = "Pull", unit = "gf" }
u = { header = "U", unit = "V" }
i = { header = "I", unit = "A" }
command = { header = "Command", unit = "%" }  # few values: a command?
`
	if got := d.Propose("logs/07.csv"); got != want {
		t.Errorf("proposed\n%s\nwant\n%s", got, want)
	}
}

func TestPropose(t *testing.T) {
	t.Parallel()
	for _, test := range []struct{ text, want string }{
		{"Zeit;Schub [gf];Schub [N]\n10:00:00,1;1;2\n10:00:00,2;2;3\n", "time = { header = \"Zeit\", clock = true }\n[log.columns]\nschub = { header = \"Schub [gf]\", unit = \"gf\" }  # few values: a command?\nschub_2 = { header = \"Schub [N]\", unit = \"N\" }  # few values: a command?\n"},
		{"t,a,mode\n0,5,x\n100,4,y\n200,4,y\n400,9,y\n", "time = { header = \"t\", unit = \"ms\" }  # the unit is a guess: check it\n[log.columns]\na = { header = \"a\", unit = \"1\" }  # the log does not say the unit: write it; few values: a command?\n"},
		{"a b,9\n5,1\n4,1\n4,1\n9,1\n", "time = { rate = \"1 kHz\" }  # no column goes on as time does: write the logger's rate\n[log.columns]\n"},
	} {
		d, err := Inspect(context.Background(), write(t, "a.csv", test.text))
		if err != nil {
			t.Error(err)
			continue
		}
		if got := d.Propose(""); !strings.HasPrefix(got, "[log]\n"+test.want) {
			t.Errorf("proposed\n%s\nwant\n%s", got, test.want)
		}
	}
}

func TestPatternOf(t *testing.T) {
	t.Parallel()
	for file, want := range map[string]string{"logs/07.csv": "logs/{run:02}.csv", "logs/7.csv.gz": "logs/{run}.csv", "day2/run_003_b.txt": "day2/run_{run:03}_b.txt", "logs/a.csv": "", "2026/a.csv": "", "logs/12.csv": "logs/{run}.csv"} {
		if got := patternOf(file); got != want {
			t.Errorf("%s gives %q, want %q", file, got, want)
		}
	}
}

func TestSignalName(t *testing.T) {
	t.Parallel()
	for heading, want := range map[string]string{"Speed el.": "speed_el", "Kühlung": "kuehlung", "2nd": "signal_2nd", "…": "signal", "U": "u"} {
		if got := signalName(heading); got != want {
			t.Errorf("%s gives %q, want %q", heading, got, want)
		}
	}
}
