package plan

import (
	"regexp"
	"strings"
	"testing"

	"fairrun/design"
)

// measuredPlan is a plan whose response s, in some unit, has a measure.
func measuredPlan(unit, log, measure string) []byte {
	return []byte("title = \"a\"\nscope = \"b\"\n[[factor]]\nname = \"f\"\nlevels = [0, 4]\n[block]\ncount = 4\nreplicates = 2\n" + log +
		"[[response]]\nname = \"s\"\nbetter = \"lower\"\nunit = \"" + unit + "\"\nmeasure = " + measure + "\n")
}

const goodLog = `[log]
time = { header = "t" }
[log.columns]
rpm = { header = "Speed", unit = "rpm" }
pull = { header = "Pull", unit = "gf", zero = "start", delay = "4 ms" }
temp = { header = "T", unit = "°C" }
throttle = { header = "Command", unit = "%" }
`

func TestMeasure(t *testing.T) {
	for _, test := range []struct{ unit, measure, want string }{
		{"ms", `{ what = "transition", of = "rpm", from = "10 %", to = "2400 rpm", edge = "falling", command = "throttle" }`, "transition of rpm from 10% to 2400 rpm, falling, command throttle"},
		{"s", `{ what = "delay", of = "rpm", to = "50%", command = "throttle" }`, "delay of rpm to 50%, rising, command throttle"},
		{"rad/s²", `{ what = "slope", of = "rpm", window = "5 ms" }`, "slope of rpm over a window of 5 ms, rising"},
		{"%", `{ what = "overshoot", of = "rpm" }`, "overshoot of rpm, rising"},
		{"ms", `{ what = "settling", of = "rpm", within = "2%" }`, "settling of rpm within 2%, rising"},
		{"N", `{ what = "steady", of = "pull", command = "throttle" }`, "steady of pull, rising, command throttle"},
		{"N", `{ what = "highest", of = "pull", hold = "50 ms", command = "throttle" }`, "highest of pull held for 50 ms, command throttle"},
		{"1/min", `{ what = "value", of = "rpm", where = "throttle", at = "-0.5%" }`, "value of rpm where throttle is -0.5%"},
		{"rpm", `{ what = "value", of = "rpm", where = "throttle", at = "50%" }`, "value of rpm where throttle is 50%"},
		{"rpm/N", `{ what = "gradient", of = "rpm", over = "pull", from = "-1 N", to = "0.5 kgf", command = "throttle" }`, "gradient of rpm over pull from -1 N to 0.5 kgf, command throttle"},
		{"N s", `{ what = "integral", of = "pull", command = "throttle" }`, "integral of pull, command throttle"},
		{"K", `{ what = "change", of = "temp" }`, "change of temp"},
	} {
		c, err := Parse("x", measuredPlan(test.unit, goodLog, test.measure))
		if err != nil {
			t.Errorf("%s: %v", test.measure, err)
			continue
		}
		if got := c.Responses[0].Measure.String(); got != test.want {
			t.Errorf("got %q, want %q", got, test.want)
		}
	}
}

func TestLog(t *testing.T) {
	c, err := Parse("x", measuredPlan("ms", "[log]\nfiles = \"logs/{run:02}.csv\"\ntime = { rate = \"2 kHz\" }\n[log.columns]\nrpm = { header = \"Speed\", unit = \"rpm\", delay = \"4 ms\" }\n", `{ what = "settling", of = "rpm", within = "2%" }`))
	if err != nil {
		t.Fatal(err)
	}
	if l := c.Log; l.Files != "logs/{run:02}.csv" || l.Time.Rate != 2000 || l.Columns[0] != (design.LogColumn{Name: "rpm", Header: "Speed", Unit: "rpm", Delay: 0.004}) {
		t.Errorf("got %+v", l)
	}
}

// Where columns stand in a log is no part of a plan's meaning; what is measured is.
func TestMeasureInCanonical(t *testing.T) {
	form := func(log, measure string) string {
		c, err := Parse("x", measuredPlan("ms", log, measure))
		if err != nil {
			t.Fatal(err)
		}
		return string(c.Canonical())
	}
	a := form(goodLog, `{ what = "settling", of = "rpm", within = "2%" }`)
	if b := form(strings.Replace(goodLog, `"Speed"`, `"Speed el."`, 1), `{ what = "settling", of = "rpm", within = "2%" }`); a != b {
		t.Error("another heading makes another plan")
	}
	b := form(goodLog, `{ what = "settling", of = "rpm", within = "5%" }`)
	changes, err := design.Differences([]byte(a), []byte(b))
	if want := `response "s": measure was settling of rpm within 2%, rising and is settling of rpm within 5%, rising`; err != nil || len(changes) != 1 || changes[0] != want {
		t.Errorf("got %q, %v", changes, err)
	}
}

func TestMeasureFaults(t *testing.T) {
	settling := `{ what = "settling", of = "rpm", within = "2%" }`
	for _, test := range []struct{ unit, log, measure, want string }{
		{"ms", "", settling, `add \[log\]`},
		{"ms", goodLog, `{ what = "spin", of = "rpm" }`, `what is "spin"`},
		{"ms", goodLog, `{ of = "rpm" }`, `has no what`},
		{"ms", goodLog, `{ what = "settling", within = "2%" }`, `has no of`},
		{"ms", goodLog, `{ what = "settling", of = "rpn", within = "2%" }`, `of is "rpn", which is no column of \[log.columns\] and no \[\[signal\]\]; did you mean "rpm"`},
		{"ms", goodLog, `{ what = "settling", of = "rpm" }`, `has no within; settling needs it`},
		{"ms", goodLog, `{ what = "settling", of = "rpm", within = "20 rpm" }`, `within is 20 rpm; write a share`},
		{"ms", goodLog, `{ what = "settling", of = "rpm", within = "2%", window = "5 ms" }`, `settling has no window; take it out; settling has what, of, within, command, edge`},
		{"N", goodLog, settling, `settling comes in s, and the unit of s is "N"`},
		{"furlong", goodLog, settling, `"furlong", which is no unit that is known`},
		{"K", goodLog, `{ what = "steady", of = "temp" }`, `steady comes in °C, and the unit of s is "K"`},
		{"ms", goodLog, `{ what = "transition", of = "rpm", from = "10%", to = "10%" }`, `from and to are the same`},
		{"ms", goodLog, `{ what = "transition", of = "rpm", from = "0%", to = "90%" }`, `from is "0%"; a share of the step lies between`},
		{"ms", goodLog, `{ what = "transition", of = "rpm", from = 10, to = "90%" }`, `from is the number 10`},
		{"ms", goodLog, `{ what = "transition", of = "rpm", from = "8 N", to = "90%" }`, `from is "8 N"; .*counted in rpm`},
		{"ms", goodLog, `{ what = "delay", of = "rpm", to = "50%" }`, `has no command; delay needs it`},
		{"rpm/s", goodLog, `{ what = "slope", of = "rpm", window = "0 ms" }`, `window is 0 ms; it must be above zero`},
		{"N", goodLog, `{ what = "steady", of = "pull" }`, `pull has zero = "start", and the measure has no command`},
		{"ms", "[log]\n", settling, `\[log\] has no time`},
		{"ms", "[log]\ntime = { header = \"t\" }\n", settling, `\[log\] has no \[log.columns\]`},
		{"ms", strings.Replace(goodLog, `{ header = "t" }`, `{ header = "t", rate = "2 kHz" }`, 1), settling, `both header and rate`},
		{"ms", strings.Replace(goodLog, `{ header = "t" }`, `{ header = "t", unit = "V" }`, 1), settling, `unit is "V"; write a unit that measures what s does`},
		{"ms", strings.Replace(goodLog, `{ header = "t" }`, `{ unit = "s" }`, 1), settling, `has no header`},
		{"ms", strings.Replace(goodLog, `{ header = "t" }`, `{ rate = "0 Hz" }`, 1), settling, `above zero`},
		{"ms", strings.Replace(goodLog, `unit = "rpm"`, `unit = "turns"`, 1), settling, `"turns" is no unit that is known`},
		{"ms", strings.Replace(goodLog, "[log]", "[log]\nfiles = \"logs/run.csv\"", 1), settling, `one file for all runs`},
		{"ms", strings.Replace(goodLog, "[log]", "[log]\nfiles = \"../{run}.csv\"", 1), settling, `outside the campaign's folder`},
		{"ms", strings.Replace(goodLog, "[log]", "[log]\nfiles = \"{RUN}.csv\"", 1), settling, `braces that mean nothing`},
		{"ms", strings.Replace(goodLog, "rpm =", "\"r p m\" =", 1), settling, `"r p m" cannot name a signal`},
	} {
		_, err := Parse("x", measuredPlan(test.unit, test.log, test.measure))
		if err == nil || !regexp.MustCompile(test.want).MatchString(err.Error()) {
			t.Errorf("%s %s: got %v, want %s", test.log, test.measure, err, test.want)
		}
	}
}

const powerSignal = `[[signal]]
name = "power"
unit = "W"
formula = "\"2 N\" * pull / \"1 N\" * \"1 m/s\""
[[signal]]
name = "twice"
unit = "mW"
formula = "2 * power"
`

// A signal may be measured like a column, and needs the columns of all signals in its formula.
func TestSignal(t *testing.T) {
	c, err := Parse("x", measuredPlan("kW", goodLog+powerSignal, `{ what = "steady", of = "twice", command = "throttle" }`))
	if err != nil {
		t.Fatal(err)
	}
	if got := c.Signals[1]; len(got.Columns) != 1 || got.Columns[0] != "pull" || got.Unit != "mW" {
		t.Errorf("got %+v", got)
	}
}

func TestSignalFaults(t *testing.T) {
	for _, test := range []struct{ log, measure, want string }{
		{powerSignal, `{ what = "steady", of = "power" }`, `add \[log\]`},
		{goodLog + strings.Replace(powerSignal, "pull /", "pul /", 1), `{ what = "steady", of = "power", command = "throttle" }`, `there is no signal "pul"; did you mean "pull"\?; mend it`},
		{goodLog + strings.Replace(powerSignal, `"W"`, `"V"`, 1), `{ what = "steady", of = "power", command = "throttle" }`, `formula comes in .*, and the unit of power is "V"`},
		{goodLog + strings.Replace(powerSignal, `"twice"`, `"pull"`, 1), `{ what = "steady", of = "power", command = "throttle" }`, `there is another signal or column "pull"`},
		{goodLog + strings.Replace(powerSignal, `"twice"`, `"2nd"`, 1), `{ what = "steady", of = "power", command = "throttle" }`, `"2nd" cannot name a signal`},
		{goodLog + powerSignal, `{ what = "steady", of = "power" }`, `pull has zero = "start", and the measure has no command`},
		{goodLog + "[[signal]]\n", `{ what = "steady", of = "rpm" }`, `\[\[signal\]\] has no name`},
		{goodLog + "[[signal]]\nname = \"a\"\n", `{ what = "steady", of = "rpm" }`, `\[\[signal\]\] has no formula`},
	} {
		_, err := Parse("x", measuredPlan("rpm", test.log, test.measure))
		if err == nil || !regexp.MustCompile(test.want).MatchString(err.Error()) {
			t.Errorf("%s %s: got %v, want %s", test.log, test.measure, err, test.want)
		}
	}
}
