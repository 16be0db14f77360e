package design

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
)

// Budget says what one block can spend and what the runs cost, in supply and in time.
type Budget struct {
	Supply     *Supply       `json:"supply,omitempty"`     // nil: nothing runs out (a bench supply), only time is counted
	Run        time.Duration `json:"run"`                  // how long one run takes
	Rest       time.Duration `json:"rest,omitempty"`       // shortest pause between two runs; 0 for none. With RestUntil: about how long it takes to get there
	RestUntil  *float64      `json:"rest_until,omitempty"` // start_temp to which the thing under test cools before a run; nil: time alone counts
	Swap       time.Duration `json:"swap,omitempty"`       // from the last run of a block to readiness for the next: changing a pack
	Hours      time.Duration `json:"hours,omitempty"`      // the longest that the campaign may take at the bench; 0: no limit
	Changeover []Changeover  `json:"changeover,omitempty"` // factors that take time to change, in the plan's order
}

// Supply is what a block has to spend, in one unit throughout.
type Supply struct {
	Capacity float64 `json:"capacity"` // of a full pack
	Unit     string  `json:"unit"`     // "Ah" or "Wh"
	Usable   float64 `json:"usable"`   // share of the capacity that may be used, above 0 and at most 1
	PerRun   float64 `json:"per_run"`  // what one run takes
}

// Changeover is the time it takes to change a factor's level between two runs.
type Changeover struct {
	Factor string        `json:"factor"`
	Time   time.Duration `json:"time"` // nanoseconds in JSON, like all times of a plan
}

// defaultUsable is the share of a pack that is used when the plan does not say: the last fifth of a
// charge sags fastest and wears the pack most.
const defaultUsable = 0.8

// Runs returns the number of runs a block's supply lasts, usable capacity over what a run takes,
// at most MaxRuns+1. A part in 1e9 is forgiven, so that 0.8 of 5 Ah lasts 8 runs of 0.5 Ah.
func (s *Supply) Runs() int {
	return int(min(math.Floor(s.Capacity*s.Usable/s.PerRun*(1+1e-9)), MaxRuns+1))
}

// amount returns an amount of the supply in words, to three digits: "4.12 Ah".
func (s *Supply) amount(x float64) string {
	text := strconv.FormatFloat(x, 'g', 3, 64)
	if y, err := strconv.ParseFloat(text, 64); err == nil {
		text = strconv.FormatFloat(y, 'f', -1, 64)
	}
	return text + " " + s.Unit
}

// toLast says what to write for a block's supply to last so many runs, which it does not: shorter ones where they take what is drawn
// over their time, otherwise such as take less, or a larger supply. Numbers are rounded to the safe side.
func (b *Budget) toLast(runs int, drawn bool) string {
	s := b.Supply
	each := s.Capacity * s.Usable / float64(runs)
	do := fmt.Sprintf("write use = %q or less", s.amount(threeDigits(each, math.Floor)))
	if drawn {
		run := time.Duration(float64(b.Run) * each / s.PerRun * (1 + 1e-9))
		unit := time.Second
		switch {
		case run >= 10*time.Minute:
			unit = time.Minute
		case run < 10*time.Second:
			unit = time.Millisecond
		}
		do = fmt.Sprintf("write run = %q or less", timeText(run.Truncate(unit)))
	}
	larger := s.PerRun * float64(runs) / s.Usable
	return fmt.Sprintf("%s, or capacity = %q or more: then it lasts %d", do, s.amount(threeDigits(larger, math.Ceil)), runs)
}

// threeDigits rounds x > 0 to three significant digits, forgiving a part in 1e9.
func threeDigits(x float64, round func(float64) float64) float64 {
	unit := math.Pow(10, math.Floor(math.Log10(x))-2)
	if near := math.Round(x / unit); math.Abs(x/unit-near) < 1e-9*near {
		return near * unit
	}
	return round(x/unit) * unit
}

var (
	capacityUnits = []measure{{"Ah", "Ah", 1}, {"mAh", "Ah", 1e-3}, {"Wh", "Wh", 1}, {"kWh", "Wh", 1e3}}
	drawUnits     = []measure{{"A", "Ah", 1}, {"mA", "Ah", 1e-3}, {"W", "Wh", 1}, {"kW", "Wh", 1e3}}
)

// budget reads [budget], once the checks were read; nil after a fault.
func (r *planReader) budget(t *table, c *Plan) *Budget {
	s := r.section(t, "[budget]", "capacity", "usable", "draw", "use", "run", "rest", "rest_until", "swap", "hours", "changeover")
	b := &Budget{}
	before := len(r.found)
	run, found, okRun := s.duration("run")
	if !found {
		s.missing("run", `add run = "40 s": how long one run takes`)
		okRun = false
	}
	b.Run = run
	b.Rest, _, _ = s.duration("rest")
	b.RestUntil = s.restUntil(c)
	b.Swap, _, _ = s.duration("swap")
	b.Hours, _, _ = s.durationTo("hours", longestHours)
	b.Supply = s.supply(run, okRun)
	if change := s.sub("changeover", "[budget.changeover]"); change != nil {
		b.Changeover = r.changeover(change, c.Factors)
	}
	if len(r.found) > before {
		return nil
	}
	return b
}

// restUntil reads the temperature to rest until, in the unit of the check start_temp, which is given
// it as its upper limit unless the plan sets one: entering a warmer start then warns.
func (s section) restUntil(c *Plan) *float64 {
	e := s.table.byKey["rest_until"]
	if e == nil {
		return nil
	}
	i := slices.IndexFunc(c.Checks, func(k Check) bool { return k.Name == "start_temp" })
	unit := c.Checks[i].Unit
	do := fmt.Sprintf("write a temperature in the unit of start_temp, such as %q", strings.TrimSpace("35 "+unit))
	text, kept := strings.CutSuffix(e.value.text, unit)
	text = strings.TrimSpace(text)
	x, err := strconv.ParseFloat(text, 64)
	if e.value.kind != kindText || !kept || err != nil || !plainDecimal(strings.TrimPrefix(text, "-")) {
		s.add(e.value.at, "rest_until is "+e.value.describe(), do)
		return nil
	}
	if c.Checks[i].High == nil {
		c.Checks[i].High = &x
	}
	return &x
}

// supply reads what a block has to spend and what a run takes of it; nil when nothing runs out or
// after a fault.
func (s section) supply(run time.Duration, okRun bool) *Supply {
	capacity, unit, found, ok := s.quantity("capacity", "5 Ah", capacityUnits)
	if !found {
		for _, key := range []string{"usable", "draw", "use"} {
			if e := s.table.byKey[key]; e != nil {
				s.add(e.at, key+" stands without the capacity it is taken from", `add capacity = "5 Ah", of a full pack`)
			}
		}
		return nil
	}
	usable, okUsable := s.share("usable", defaultUsable)
	draw, drawUnit, hasDraw, okDraw := s.quantity("draw", "18 A", drawUnits)
	use, useUnit, hasUse, okUse := s.quantity("use", "0.2 Ah", capacityUnits)
	perRun, perUnit, key := use, useUnit, "use"
	switch {
	case hasDraw && hasUse:
		s.add(s.table.byKey["use"].at, "draw and use both say what a run takes", "keep draw, which is multiplied by the run time, or use, for the whole run")
		return nil
	case !hasDraw && !hasUse:
		s.missing("draw", `add draw = "18 A", the mean of a run, or use = "0.2 Ah", the whole of it`)
		return nil
	case hasDraw:
		perRun, perUnit, key = draw*run.Hours(), drawUnit, "draw"
	}
	if !ok || !okUsable || !okDraw || !okUse {
		return nil
	}
	if perUnit != unit {
		do := "write both in Ah and A, or both in Wh and W"
		s.add(s.table.byKey[key].value.at, fmt.Sprintf("capacity is in %s, but %s counts in %s", unit, key, perUnit), do)
		return nil
	}
	if hasDraw && !okRun {
		return nil
	}
	return &Supply{Capacity: capacity, Unit: unit, Usable: usable, PerRun: perRun}
}

// share returns the share of a whole under a key: a percentage in quotes or a number up to 1.
func (s section) share(key string, otherwise float64) (x float64, ok bool) {
	e := s.table.byKey[key]
	if e == nil {
		return otherwise, true
	}
	v := e.value
	x, ok = parsePercent(v.text)
	if v.kind != kindText {
		var what string
		x, what, _ = v.number()
		ok = what == ""
	}
	if !ok || !(x > 0 && x <= 1) {
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.describe()), `write a percentage above 0 and up to 100, such as "80%"`)
		return 0, false
	}
	return x, true
}

// changeover reads [budget.changeover]: a time for each factor that takes time to change.
func (r *planReader) changeover(t *table, factors []Factor) []Changeover {
	var known []string
	for _, f := range factors {
		known = append(known, f.Name)
	}
	s := r.section(t, "[budget.changeover]", known...)
	var cs []Changeover
	for _, e := range t.entries {
		if !slices.Contains(known, e.key) {
			continue
		}
		if d, found, ok := s.duration(e.key); found && ok {
			cs = append(cs, Changeover{Factor: e.key, Time: d})
		}
	}
	slices.SortStableFunc(cs, func(a, b Changeover) int { return slices.Index(known, a.Factor) - slices.Index(known, b.Factor) })
	return cs
}
