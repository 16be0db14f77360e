package plan

import (
	"fairrun/design"
	"fmt"
	"math"
	"slices"
	"strconv"
)

// analysis reads [analysis] of a plan with the readings given.
func (r *planReader) analysis(t *table, readings []design.Reading) design.Analysis {
	a := design.Analysis{Alpha: 0.05, Power: 0.9, Compare: design.ComparePairs, Looks: 1, Spending: design.SpendingOBrienFleming}
	if t == nil {
		return a
	}
	s := r.section(t, "[analysis]")
	alpha, found, okAlpha := s.chance("alpha")
	if found {
		a.Alpha = alpha
	}
	power, found, okPower := s.chance("power")
	if found {
		a.Power = power
	}
	if okAlpha && okPower && a.Power <= a.Alpha {
		e := t.byKey["power"]
		if e == nil {
			e = t.byKey["alpha"]
		}
		s.add(e.value.at, fmt.Sprintf("power %v is no more than alpha %v", a.Power, a.Alpha), "the chance to find a real difference must exceed that of a false alarm")
	}
	if word, found, ok := s.word("compare"); found && ok {
		a.Compare = word
	}
	if word, found, ok := s.word("family"); found && ok && word != design.FamilyFactor {
		a.Family = word
	}
	if n, found, ok := s.count("looks"); found && ok {
		a.Looks = n
	}
	if word, found, ok := s.word("spending"); found && ok {
		if a.Spending = design.Spending(word); a.Looks == 1 {
			s.add(t.byKey["spending"].value.at, "spending says how looks share alpha, and the plan has one look", "write looks = 2 or more, or leave spending out")
		}
	}
	if word, found, ok := s.word("noise"); found && ok {
		if a.Noise = design.NoiseModel(word); a.Noise == design.NoiseByLevel && a.Compare == design.CompareBest {
			s.add(t.byKey["noise"].value.at, "levels with a noise of their own are not compared with the best", `write compare = "pairs" or "baseline", or leave noise out`)
		}
	}
	a.Covariates = s.covariates(readings)
	return a
}

// covariates returns the readings that are named as covariates.
func (s section) covariates(readings []design.Reading) []string {
	e := s.table.byKey["covariates"]
	if e == nil {
		return nil
	}
	if e.value.kind != kindList || e.value.tables {
		s.add(e.value.at, "covariates is "+e.value.describe(), `write a list of readings, such as ["start_temp"]`)
		return nil
	}
	var allowed, names []string
	for _, k := range readings {
		allowed = append(allowed, k.Name)
	}
	for _, v := range e.value.items {
		switch {
		case v.kind != kindText:
			s.add(v.at, "a covariate is "+v.describe(), "write the name of a reading in quotes")
		case !slices.Contains(allowed, v.text):
			s.add(v.at, fmt.Sprintf("the covariate %q is none of the readings", shorten(v.text)), oneOf(v.text, allowed...)+"; [readings.NAME] adds one")
		case slices.Contains(names, v.text):
			s.add(v.at, fmt.Sprintf("the covariate %q stands twice", v.text), "take one of them out")
		default:
			names = append(names, v.text)
		}
	}
	return names
}

// chance returns the probability under a key, strictly between 0 and 1.
func (s section) chance(key string) (p float64, found, ok bool) {
	p, found, ok = s.number(key)
	if !found || !ok || p > 0 && p < 1 {
		return p, found, ok
	}
	v := s.table.byKey[key].value
	do := "write a chance between 0 and 1"
	if p >= 1 && p < 100 {
		// Rounded from decimal: 5 is 0.05, not 0.050000000000000003.
		do += fmt.Sprintf(": for %s %% that is %s", v.text, strconv.FormatFloat(math.Round(p*1e8)/1e10, 'f', -1, 64))
	}
	s.add(v.at, fmt.Sprintf("%s is %s", key, v.text), do)
	return 0, true, false
}
