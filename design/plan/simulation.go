package plan

import (
	"fairrun/design"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
)

// simulation reads [simulation] of a plan whose factors, specimens, responses and budget were read.
func (r *planReader) simulation(t *table, c *design.Plan) *design.Simulation {
	sim := c.DefaultSimulation()
	s := r.section(t, "[simulation]")
	s.temperature("ambient", &sim.Ambient)
	s.temperature("heat", &sim.Heat)
	for _, d := range []struct {
		key string
		at  *time.Duration
	}{{"warm_up", &sim.WarmUp}, {"run", &sim.Run}, {"rest", &sim.Rest}, {"swap", &sim.Swap}} {
		if x, found, ok := s.duration(d.key); found && ok {
			*d.at = x
		}
	}
	s.portion("sag", &sim.Sag)
	s.portion("drop", &sim.Drop)
	s.portion("used", &sim.Used)
	s.portion("pack_scatter", &sim.PackScatter)
	s.portion("failures", &sim.Failures)
	s.portion("outliers", &sim.Outliers)
	s.between("outlier_size", &sim.OutlierSize)
	if s.portion("interplay", &sim.Interplay); t.byKey["interplay"] != nil && !c.Several() && !c.BlocksAgree() {
		s.add(t.byKey["interplay"].at, "interplay says how differently specimens or blocks answer, and the plan judges by one alone", "add [specimens], leave random = false out of [block], or leave interplay out")
	}
	if current := s.sub("current", "[simulation.current]"); current != nil {
		sim.Currents = r.currents(current, c.Factors)
	}
	if response := s.sub("response", "[simulation.response.NAME]"); response != nil {
		r.reactions(response, c, sim)
	}
	return sim
}

// temperature reads a number of degrees or kelvin, written as a text with its unit.
func (s section) temperature(key string, at *float64) {
	e := s.table.byKey[key]
	if e == nil {
		return
	}
	v, k := e.value, s.keys.key(key)
	x, ok := 0.0, false
	if v.kind == kindText {
		digits, hasUnit := strings.CutSuffix(v.text, k.unit)
		digits = strings.TrimSpace(digits)
		if hasUnit && plainDecimal(strings.TrimPrefix(digits, "-")) {
			var err error
			x, err = strconv.ParseFloat(digits, 64)
			ok = err == nil && x >= k.least && x <= k.most
		}
	}
	if !ok {
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.describe()), fmt.Sprintf("write a number from %v to %v and its unit, such as %s", k.least, k.most, k.example))
		return
	}
	*at = x
}

// portion reads a share from nothing up to a limit: a percentage in quotes or a number.
func (s section) portion(key string, at *float64) {
	e := s.table.byKey[key]
	if e == nil {
		return
	}
	v := e.value
	x, ok := parsePercent(v.text)
	if v.kind != kindText {
		var what string
		x, what, _ = v.number()
		ok = what == ""
	}
	if k := s.keys.key(key); !ok || !(x >= 0 && x <= k.most) {
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.describe()), fmt.Sprintf("write a percentage from 0 up to %v, such as %s", 100*k.most, k.example))
		return
	}
	*at = x
}

// between reads a number within limits.
func (s section) between(key string, at *float64) {
	x, found, ok := s.number(key)
	if !found || !ok {
		return
	}
	if k := s.keys.key(key); !(x >= k.least && x <= k.most) {
		v := s.table.byKey[key].value
		s.add(v.at, fmt.Sprintf("%s is %s", key, v.text), fmt.Sprintf("write a number from %v to %v", k.least, k.most))
		return
	}
	*at = x
}

// currents reads [simulation.current]: for each factor that changes the current, a number for each level.
func (r *planReader) currents(t *table, factors []design.Factor) []design.Current {
	var known []string
	for _, f := range factors {
		known = append(known, f.Name)
	}
	s := r.sectionOf(t, "[simulation.current]", "[simulation.current]", known)
	var all []design.Current
	for _, f := range factors {
		e := t.byKey[f.Name]
		if e == nil {
			continue
		}
		if x, ok := s.relative(e, len(f.Levels)); ok {
			all = append(all, design.Current{Factor: f.Name, Levels: x})
		}
	}
	return all
}

// relative returns the numbers under a key, one a level: currents relative to any one current.
func (s section) relative(e *entry, levels int) (x []float64, ok bool) {
	v := e.value
	do := fmt.Sprintf("write a list of %d numbers, one a level: its current relative to any one current, such as 1.05", levels)
	if v.kind != kindList {
		s.add(v.at, fmt.Sprintf("%s is %s", e.key, v.describe()), do)
		return nil, false
	}
	if len(v.items) != levels {
		s.add(v.at, fmt.Sprintf("%s has %d currents for %d levels", e.key, len(v.items), levels), do)
		return nil, false
	}
	for _, item := range v.items {
		current, what, _ := item.number()
		if what == "" && !(current > 0 && current <= 5) {
			what = item.text
		}
		if what != "" {
			s.add(item.at, "a current is "+what, "write a number above 0 and up to 5")
			return nil, false
		}
		x = append(x, current)
	}
	return x, true
}

// reactions reads [simulation.response], a table for each response that has something to say.
func (r *planReader) reactions(t *table, c *design.Plan, sim *design.Simulation) {
	var known []string
	for _, p := range c.Responses {
		known = append(known, p.Name)
	}
	s := r.sectionOf(t, "[simulation.response]", "[simulation.response]", known)
	for i, p := range c.Responses {
		if t.byKey[p.Name] == nil || slices.Index(known, p.Name) != i {
			continue
		}
		if own := s.sub(p.Name, "[simulation.response."+p.Name+"]"); own != nil {
			r.sectionNamed(own, "[simulation.response.NAME]", p.Name).reaction(p, &sim.Responses[i])
		}
	}
}

func (s section) reaction(p design.Response, at *design.Reaction) {
	s.between("volts", &at.Volts)
	s.between("copper", &at.Copper)
	for _, a := range []struct {
		key string
		at  *design.Amount
	}{{"noise", &at.Noise}, {"difference", &at.Difference}} {
		x, ok := s.amount(a.key, p.Unit)
		if !ok || !x.Set {
			continue
		}
		if p.Margin.Set && x.Relative != p.Margin.Relative {
			s.add(s.table.byKey[a.key].value.at, fmt.Sprintf("%s is %s and the margin %s: one is a percentage and the other is not", a.key, x, p.Margin),
				"write it as the margin is written, so that they can be compared")
			continue
		}
		*a.at = x
		at.Assumed = at.Assumed && a.key != "noise"
	}
	s.between("mean", &at.Mean)
}
