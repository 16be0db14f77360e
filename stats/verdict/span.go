package verdict

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"fairrun/stats/compare"
	"fairrun/stats/words"
)

// Span says over what alpha, the chance of a false alarm, is held.
type Span string

// What holds alpha together.
const (
	EachFactor Span = "factor" // the comparisons of a factor, of each response by itself
	WholeTable Span = "table"  // all that is compared, of all factors and responses
)

// FalseAlarms says over what the chance of a false alarm is held, and what that makes of all families.
type FalseAlarms struct {
	Family   Span   `json:"family"`
	Families int    `json:"family_count"` // over all responses; 1 where the table is one
	Alpha    Number `json:"alpha"`        // of each family
	Any      Number `json:"any"`          // chance of any false alarm in all of them, at most, if nothing differs
	Message  string `json:"message"`      // in words
}

// laws hold what is asked of some families together.
type laws struct {
	of    []compare.Family // the comparisons of each; nil where there are none
	aside compare.Family   // contrasts that belong to none of them; nil: those of a factor hold together alone
}

// hold gives each family its law, and the yardstick its share of alpha. A table holds the families of a response by one
// critical value, since they share one estimate of the noise. Responses, and comparisons with the best, whose intervals have two
// constants, get equal shares of alpha; so do all families where something is random, as whole plots are, or levels have
// a noise of their own, since they lean on several estimates of it.
func (q *Request) hold(families []family, responses int, y yardstick) (laws, yardstick) {
	var l laws
	for _, f := range families {
		l.of = append(l.of, familyLaw(f, q, y))
	}
	if q.Family != WholeTable {
		return l, y
	}
	var all []compare.Family
	add := func(f compare.Family) {
		if f != nil {
			all = append(all, f)
		}
	}
	for i, f := range families {
		add(l.of[i])
		if !q.boundsTrends() && len(f.live) > 1 {
			add(alone(f, trends(f)))
		}
		if len(f.live) > 1 {
			add(alone(f, chosen(f, q.Contrasts, math.NaN())))
		}
	}
	y.shares = max(1, responses)
	switch {
	case q.Compare == Best || slices.ContainsFunc(families, func(f family) bool { return f.means.strata != nil || f.noise != nil }):
		y.shares *= max(1, len(all))
	case len(all) > 0:
		l.aside = compare.Keep(compare.OneTable(all))
		for i := range l.of {
			if l.of[i] != nil {
				l.of[i] = l.aside
			}
		}
	}
	y.alpha = q.Alpha / float64(y.shares)
	return l, y
}

// alone is the law of some contrasts of a family by themselves; nil where there are none.
func alone(f family, list []weighted) compare.Family {
	if len(list) == 0 {
		return nil
	}
	return together(f.means.contrasts(weights(list)))
}

// falseAlarms says what the families of all responses come to.
func (v *Verdict) falseAlarms(q *Request) *FalseAlarms {
	n := 0
	for i := range v.Responses {
		n += v.Responses[i].families(q)
	}
	if n == 0 {
		return nil
	}
	out := &FalseAlarms{Family: q.Family, Families: n, Alpha: Number(q.Alpha), Any: Number(q.Alpha)}
	percent := func(p float64) string { return strconv.FormatFloat(100*p, 'g', 3, 64) + " %" }
	responses := ""
	if k := len(v.Responses); k > 1 {
		responses = fmt.Sprintf(" of all %d responses", k)
	}
	switch {
	case q.Family == WholeTable:
		out.Families = 1
		out.Message = fmt.Sprintf("one family, the whole table%s: if nothing differs, anything is called different in at most %s of campaigns", responses, percent(q.Alpha))
	case n == 1:
		out.Message = fmt.Sprintf("one family: if nothing differs, anything is called different in at most %s of campaigns", percent(q.Alpha))
	default:
		out.Any = Number(-math.Expm1(float64(n) * math.Log1p(-q.Alpha)))
		out.Message = fmt.Sprintf("%s%s, each with false alarms in at most %s of campaigns: if nothing differs, anything is called different in up to %s, as of independent families",
			words.Count(n, "family"), responses, percent(q.Alpha), percent(float64(out.Any)))
	}
	return out
}

// families counts the families of a response: of comparisons, of contrasts that belong to none, and of factors with the others held.
func (r *Response) families(q *Request) int {
	var seen []string
	see := func(kind string, of Factors) {
		if name := kind + of.Term(); !slices.Contains(seen, name) {
			seen = append(seen, name)
		}
	}
	for _, c := range r.Comparisons {
		see("", c.Factors)
	}
	for _, c := range r.Contrasts {
		asked := slices.ContainsFunc(q.Contrasts, func(a Chosen) bool { return a.Name == c.Name && slices.Equal(a.Factors, c.Factors) })
		switch {
		case asked:
			see("asked ", c.Factors)
		case !q.boundsTrends():
			see("trends ", c.Factors)
		}
	}
	for _, c := range r.Simple {
		see("simple ", c.Factors)
	}
	return len(seen)
}
