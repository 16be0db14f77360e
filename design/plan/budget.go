package plan

import (
	"fairrun/design"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// budget reads [budget], once the readings were read; nil after a fault.
func (r *planReader) budget(t *table, c *design.Plan) *design.Budget {
	s := r.section(t, "[budget]")
	b := &design.Budget{}
	before := len(r.found)
	run, found, okRun := s.duration("run")
	if !found {
		s.lacks("run")
		okRun = false
	}
	b.Run = run
	b.Rest, _, _ = s.duration("rest")
	b.RestUntil = s.restUntil(c)
	b.Swap, _, _ = s.duration("swap")
	b.Hours, _, _ = s.duration("hours")
	b.Supply = s.supply(run, okRun)
	if change := s.sub("changeover", "[budget.changeover]"); change != nil {
		b.Changeover = r.changeover(change, c.Factors)
	}
	if len(r.found) > before {
		return nil
	}
	return b
}

// restUntil reads the temperature to rest until, in the unit of the reading start_temp, which is given
// it as its upper limit unless the plan sets one: entering a warmer start then warns.
func (s section) restUntil(c *design.Plan) *float64 {
	e := s.table.byKey["rest_until"]
	if e == nil {
		return nil
	}
	i := slices.IndexFunc(c.Readings, func(k design.Reading) bool { return k.Name == "start_temp" })
	unit := c.Readings[i].Unit
	do := fmt.Sprintf("write a temperature in the unit of start_temp, such as %q", strings.TrimSpace("35 "+unit))
	text, kept := strings.CutSuffix(e.value.text, unit)
	text = strings.TrimSpace(text)
	x, err := strconv.ParseFloat(text, 64)
	if e.value.kind != kindText || !kept || err != nil || !plainDecimal(strings.TrimPrefix(text, "-")) {
		s.add(e.value.at, "rest_until is "+e.value.describe(), do)
		return nil
	}
	if c.Readings[i].High == nil {
		c.Readings[i].High = &x
	}
	return &x
}

// supply reads what a block has to spend and what a run takes of it; nil when nothing runs out or
// after a fault.
func (s section) supply(run time.Duration, okRun bool) *design.Supply {
	capacity, unit, found, ok := s.quantity("capacity")
	if !found {
		for _, key := range []string{"usable", "load", "use"} {
			if e := s.table.byKey[key]; e != nil {
				s.add(e.at, key+" stands without the capacity it is taken from", `add capacity = "5 Ah", of a full pack`)
			}
		}
		return nil
	}
	usable, okUsable := s.share("usable", design.DefaultUsable)
	load, loadUnit, hasLoad, okLoad := s.quantity("load")
	use, useUnit, hasUse, okUse := s.quantity("use")
	perRun, perUnit, key := use, useUnit, "use"
	switch {
	case hasLoad && hasUse:
		s.add(s.table.byKey["use"].at, "load and use both say what a run takes", "keep load, which is multiplied by the run time, or use, for the whole run")
		return nil
	case !hasLoad && !hasUse:
		s.missing("load", `add load = "10 A", the mean of a run, or use = "0.2 Ah", the whole of it`)
		return nil
	case hasLoad:
		perRun, perUnit, key = load*run.Hours(), loadUnit, "load"
	}
	if !ok || !okUsable || !okLoad || !okUse {
		return nil
	}
	if perUnit != unit {
		do := "write both in Ah and A, or both in Wh and W"
		s.add(s.table.byKey[key].value.at, fmt.Sprintf("capacity is in %s, but %s counts in %s", unit, key, perUnit), do)
		return nil
	}
	if hasLoad && !okRun {
		return nil
	}
	return &design.Supply{Capacity: capacity, Unit: unit, Usable: usable, PerRun: perRun}
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
func (r *planReader) changeover(t *table, factors []design.Factor) []design.Changeover {
	var known []string
	for _, f := range factors {
		known = append(known, f.Name)
	}
	s := r.sectionOf(t, "[budget.changeover]", "[budget.changeover]", known)
	var cs []design.Changeover
	for _, e := range t.entries {
		if !slices.Contains(known, e.key) {
			continue
		}
		if d, found, ok := s.duration(e.key); found && ok {
			cs = append(cs, design.Changeover{Factor: e.key, Time: d})
		}
	}
	slices.SortStableFunc(cs, func(a, b design.Changeover) int { return slices.Index(known, a.Factor) - slices.Index(known, b.Factor) })
	return cs
}
