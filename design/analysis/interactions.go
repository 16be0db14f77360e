package analysis

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"fairrun/design"
	"fairrun/design/question"
	"fairrun/design/sheet"
	"fairrun/stats/check"
	"fairrun/stats/linmod"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// interactionDoubt is the level, over all interactions of a response, at which one is called real: that
// of the other checks.
const interactionDoubt = 0.01

// interactions says, of each response of a screen, which interactions of two factors are real among
// those that its runs tell from main effects. The comparisons count them as noise, since a screen
// is read by its main effects; with them in the model the verdicts may be others, and those are reported.
//
// Interactions that the runs mix with each other stand together. Each is a column of the model, the
// product of two factors' levels as -1 and 1; their p-values are adjusted by Holm.
func interactions(ctx context.Context, s *sheet.Sheet, v *verdict.Verdict) []*verdict.Check {
	out := make([]*verdict.Check, len(v.Responses))
	d, q := question.Of(s)
	sets := toldApart(runSoFar(s))
	if len(sets) == 0 {
		return out
	}
	name := map[string]string{}
	for _, set := range sets {
		column := productOf(d.Treatments, set[0])
		name[column.Name] = set.words(s.Campaign)
		d.Covariates = append(d.Covariates, column)
	}
	d.Parts = nil
	with, err := verdict.Analyse(ctx, d, q)
	if err != nil {
		return out
	}
	for i := range out {
		out[i] = realInteractions(&v.Responses[i], &with.Responses[i], name)
	}
	return out
}

// pairs is a set of interactions, of two factors each, that cannot be distinguished from each other.
type pairs [][2]int

// words names the interactions: "nozzle and gearing (or prop and strut)".
func (p pairs) words(c *design.Plan) string {
	var names []string
	for _, pair := range p {
		names = append(names, c.Factors[pair[0]].Name+" and "+c.Factors[pair[1]].Name)
	}
	if len(names) == 1 {
		return names[0]
	}
	return fmt.Sprintf("%s (or of %s, which these runs cannot tell from it)", names[0], strings.Join(names[1:], ", of "))
}

// toldApart are the interactions of two factors that a regular fraction tells from main effects.
func toldApart(c *design.Plan) []pairs {
	f, err := c.Fraction()
	if err != nil || f == nil {
		return nil
	}
	var sets []pairs
	for _, a := range f.Aliases(2) {
		if len(a.Effects[0]) != 2 {
			continue
		}
		var set pairs
		for _, e := range a.Effects {
			set = append(set, [2]int{e[0], e[1]})
		}
		sets = append(sets, set)
	}
	return sets
}

// productOf is the product of the levels of two factors as a column.
func productOf(factors []linmod.Factor, pair [2]int) linmod.Covariate {
	a, b := &factors[pair[0]], &factors[pair[1]]
	c := linmod.Covariate{Name: linmod.TermName(a.Name, b.Name), Value: make([]float64, len(a.Code))}
	for i := range c.Value {
		c.Value[i] = float64((2*a.Code[i] - 1) * (2*b.Code[i] - 1))
	}
	return c
}

// realInteractions says which of the interactions named are real by the model with them, and which
// verdicts it would call otherwise; nil where it cannot tell.
func realInteractions(r, with *verdict.Response, name map[string]string) *verdict.Check {
	var terms []string
	var p []float64
	for _, row := range with.ANOVA {
		if _, ours := name[row.Term]; ours && row.P.Known() {
			terms, p = append(terms, row.Term), append(p, float64(row.P))
		}
	}
	if len(terms) == 0 {
		return nil
	}
	const title = "interactions"
	var real []string
	least := 1.0
	for i, adjusted := range check.Holm(p) {
		if least = min(least, adjusted); adjusted < interactionDoubt {
			real = append(real, fmt.Sprintf("%s (%s)", name[terms[i]], words.P(adjusted)))
		}
	}
	what := fmt.Sprintf("none of the %d interactions of two factors that these runs tell from main effects is clear of chance", len(terms))
	if len(terms) == 1 {
		what = "the one interaction of two factors that these runs tell from main effects is not clear of chance"
	}
	c := verdict.Remark(title, false, "%s", what)
	c.P = verdict.Number(least)
	if len(real) == 0 {
		return &c
	}
	c.Flag = true
	c.Message = "the interaction of " + strings.Join(real, ", that of ") + " is real, so an effect of one of these factors must not be read alone; the comparisons count it as noise"
	if others := calledOtherwise(r, with); len(others) > 0 {
		if len(others) > 5 {
			others = append(others[:5:5], fmt.Sprintf("and %d more", len(others)-5))
		}
		c.Message += ". With the interactions in the model " + strings.Join(others, "; ")
	}
	return &c
}

// calledOtherwise lists the comparisons that another verdict calls otherwise.
func calledOtherwise(r, with *verdict.Response) []string {
	var out []string
	for _, c := range r.Comparisons {
		k := slices.IndexFunc(with.Comparisons, func(o verdict.Comparison) bool {
			return o.Factors.Term() == c.Factors.Term() && o.Level == c.Level && o.Against == c.Against
		})
		if k >= 0 && with.Comparisons[k].Verdict != c.Verdict {
			out = append(out, fmt.Sprintf("%s: %s against %s would be %s, not %s", c.Factors.Term(), c.Level, c.Against, with.Comparisons[k].Verdict, c.Verdict))
		}
	}
	return out
}
