package verdict

import (
	"fmt"
	"math"
	"slices"

	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
	"fairrun/stats/words"
)

// CarryOver is what the treatment of a run leaves over for the next one: first-order residual effects, fitted
// beside the direct ones, which are then adjusted for them (Williams 1949; Cochran & Cox 1957, 4.6a).
type CarryOver struct {
	F           Number        `json:"f"` // of all residual effects together
	DF          Number        `json:"df"`
	DenDF       Number        `json:"den_df"`
	P           Number        `json:"p"`
	Efficiency  Number        `json:"efficiency"` // of the direct differences: their mean variance without residual effects in the model over that with them, noise alike
	Differences []CarriedOver `json:"differences"`
}

// CarriedOver is a comparison of two levels by what they leave over, and by what they do in the long run: the
// permanent effect, direct and residual, of a level that is run again and again. Low and High hold the permanent
// differences of a family together.
type CarriedOver struct {
	Factors     Factors `json:"factors"`
	Level       string  `json:"level"`
	Against     string  `json:"against"`
	Residual    Number  `json:"residual"`
	ResidualSE  Number  `json:"residual_se"`
	Permanent   Number  `json:"permanent"`
	PermanentSE Number  `json:"permanent_se"`
	DF          Number  `json:"df"` // of the permanent one
	Low         Number  `json:"low"`
	High        Number  `json:"high"`
}

// before is the level of each treatment factor in the run done before in the same block, from the
// order of the runs where the data do not say.
func (d *Data) before() []linmod.Factor {
	if d.Before != nil {
		return d.Before
	}
	var block *linmod.Factor
	if blocks := slices.Concat(d.Recovered, d.Blocks); len(blocks) > 0 {
		block = &blocks[0]
	}
	var out []linmod.Factor
	for _, f := range d.Treatments {
		out = append(out, linmod.Before(f, block, d.Order))
	}
	return out
}

// residualEffects are the columns of what runs take over, for the good runs: of each factor, or with
// interactions of the combinations.
func residualEffects(d *Data, q *Request, y []float64) *linmod.CarryOver {
	before := d.before()
	if q.Interactions && len(before) > 1 {
		before = []linmod.Factor{mixed.Combined(before)}
	}
	return linmod.NewCarryOver(before, func(row int) bool { return !math.IsNaN(y[row]) })
}

// carriedOver is what the fit says of the residual effects in it.
func carriedOver(f *fit, families []judgedFamily, y []float64, by yardstick, anova []ANOVARow) (c *CarryOver, said remarks) {
	const name = linmod.CarryOverTerm
	u := Unknown
	c = &CarryOver{F: u, DF: 0, DenDF: u, P: u, Efficiency: u, Differences: []CarriedOver{}}
	for _, row := range anova {
		if row.Term == name {
			c.F, c.DF, c.DenDF, c.P = row.F, row.DF, row.DenDF, row.P
		}
	}
	if c.DF == 0 {
		said.warn(name, "what runs take over from the one before cannot be distinguished from the other terms: the differences are not adjusted for it")
		return c, said
	}
	efficiency := f.efficiency(y)
	c.Efficiency = Number(efficiency)
	for _, family := range families {
		c.Differences = append(c.Differences, differencesCarried(f, family, by)...)
	}
	cost := ""
	if !math.IsNaN(efficiency) {
		cost = fmt.Sprintf("; that leaves them %.1f %% of the precision that they would have without", 100*efficiency)
	}
	found := "none is seen"
	if c.P < doubt {
		found = fmt.Sprintf("there is some: in the long run a setting makes its permanent difference, direct and carried over (%s)", words.P(float64(c.P)))
	}
	said = append(said, Check{Name: name, Statistic: c.F, P: c.P, Message: "the differences are adjusted for what a run takes over from the one before" + cost + "; " + found})
	return c, said
}

// after are the columns of carry-over behind level i of a family: those of factor k of the residual effects or, beside
// combinations, their average over the combinations with the level; nil where it came before no run.
func (f *fit) after(family judgedFamily, k, i int) []float64 {
	if !family.average {
		return f.carry.After(k, i)
	}
	var sum []float64
	n := 0
	within := 1 // combinations of the factors after this one
	for _, t := range f.model.Factors[k+1:] {
		within *= len(t.Levels)
	}
	for c := range combinations(f.model.Factors) {
		if c/within%len(family.labels) != i {
			continue
		}
		after := f.carry.After(0, c)
		if after == nil {
			return nil
		}
		if sum == nil {
			sum = make([]float64, len(after))
		}
		for j, x := range after {
			sum[j] += x
		}
		n++
	}
	for j := range sum {
		sum[j] /= float64(n)
	}
	return sum
}

// differencesCarried are the comparisons of a family by what its levels leave over.
func differencesCarried(f *fit, family judgedFamily, by yardstick) (out []CarriedOver) {
	n, k := len(family.labels), 0
	if len(family.factors) == 1 {
		k = family.factors[0]
	}
	points := make([]linmod.Point, 2*n)
	known := make([]bool, n)
	for i := range n {
		after := f.after(family, k, i)
		if known[i] = after != nil && family.n[i] > 0; !known[i] {
			continue
		}
		x := append(make([]float64, f.carried), after...)
		level := make([]int, len(f.model.Factors))
		for j := range level {
			level[j] = -1
		}
		for j, factor := range family.factors {
			level[factor] = family.means.levels[i][j]
		}
		points[i], points[n+i] = linmod.Point{Covariates: x}, linmod.Point{Levels: level, Covariates: x}
	}
	means, err := f.estimator.at(points)
	if err != nil {
		return nil
	}
	for _, l := range family.links {
		u := Unknown
		d := CarriedOver{Factors: family.of, Level: family.labels[l.i], Against: family.labels[l.j], Residual: u, ResidualSE: u, Permanent: u, PermanentSE: u, DF: u, Low: u, High: u}
		if known[l.i] && known[l.j] {
			d.estimate(means([][]float64{difference(2*n, l.i, l.j), difference(2*n, n+l.i, n+l.j)}), family, by)
		}
		out = append(out, d)
	}
	return out
}

// estimate fills in a comparison from the estimates of its residual and its permanent difference.
func (d *CarriedOver) estimate(e *mixed.Estimates, family judgedFamily, by yardstick) {
	if e.Estimable[0] {
		if d.Residual = Number(e.Value[0]); by.noise {
			d.ResidualSE = Number(math.Sqrt(e.Cov.At(0, 0)))
		}
	}
	if !e.Estimable[1] {
		return
	}
	d.Permanent = Number(e.Value[1])
	if by.noise && family.law != nil {
		se, crit := math.Sqrt(e.Cov.At(1, 1)), by.critical(family.law, e.DF[1])
		d.PermanentSE, d.DF = Number(se), Number(e.DF[1])
		d.Low, d.High = Number(e.Value[1]-crit*se), Number(e.Value[1]+crit*se)
	}
}

// efficiency is the share of precision that residual effects in the model leave to the differences, by least squares; NaN
// where that cannot be had.
func (f *fit) efficiency(y []float64) float64 {
	plain, with := f.within, f.squares
	if f.cells != nil {
		plain, with, y = f.cells.Model, f.cells.Cells, f.cells.Mean
	}
	plain.Covariates = linmod.WithoutCarryOver(plain.Covariates)
	without, err := linmod.Fit(plain, y)
	if err != nil {
		return math.NaN()
	}
	return linmod.CarryOverEfficiency(without, with)
}

// checkCarryOver looks for carry-over that the model does not hold: the F test of one covariate, the fitted mean
// of the treatment before, as a deviation from the mean over treatments. The covariate depends on the runs by the fitted
// treatments only, which are independent of the residuals, so F with 1 and ν−1 degrees of freedom is exact (Milliken &
// Graybill 1970, Journal of the American Statistical Association 65: 797-807).
func checkCarryOver(d *Data, f *fit, y []float64) (said remarks) {
	const name = linmod.CarryOverTerm
	z, known := fittedBefore(d, f.squares, f.model.Order)
	if !known && f.isRandom() {
		if plain, err := linmod.Fit(f.model, y); err == nil {
			z, known = fittedBefore(d, plain, f.model.Order)
		}
	}
	if !known {
		said.note(name, "not checked: the runs do not tell what each setting does")
		return said
	}
	m := f.within
	m.Covariates = append(slices.Clone(m.Covariates), linmod.Covariate{Name: name, Value: z})
	r, err := linmod.Fit(m, y)
	switch {
	case err != nil:
		said.skip(name, err)
	case r.DF == f.squares.DF:
		said.note(name, "not checked: these runs do not tell it from the other terms")
	case r.DF == 0 || r.RSS == 0:
		said.note(name, "not checked: too few degrees of freedom are left")
	default:
		x, p := extra(f.squares, r)
		said.judge(name, x, p, "what a run does shows nothing of the setting before it", overCarried(m, r, p))
	}
	return said
}

// overCarried says what to do about carry-over.
func overCarried(m linmod.Model, r *linmod.Result, p float64) string {
	how := "a run shows something of the setting before it"
	moved := make([]float64, len(m.Covariates))
	moved[len(moved)-1] = 1
	if means, err := r.At([]linmod.Point{{Covariates: moved}, {}}); err == nil {
		share := means.Contrasts([][]float64{{1, -1}}).Value[0]
		if way := "takes over"; !math.IsNaN(share) {
			if share < 0 {
				way = "goes against"
			}
			how = fmt.Sprintf("a run %s some %.0f %% of what the setting before it did", way, 100*math.Abs(share))
		}
	}
	return fmt.Sprintf("%s (%s), and the differences between settings are off by a part of that: rest longer between runs, or draw the next sheet with carry_over = true under [order], which fits it", how, words.P(p))
}

// fittedBefore is the fitted mean of the treatment before each run, as a deviation from the mean over treatments; 0 in
// the first of a block. It is not known if some treatment has no fitted mean in the same terms as the others.
func fittedBefore(d *Data, fit *linmod.Result, order int) (z []float64, known bool) {
	before := d.before()
	z = make([]float64, len(before[0].Code))
	for _, set := range linmod.TermSets(len(before), order) {
		means, err := fit.Means(set...)
		if err != nil {
			return nil, false
		}
		effect, ok := deviations(means)
		if !ok {
			return nil, false
		}
		own := before[set[0]]
		if len(set) > 1 {
			own = mixed.Combined(before)
		}
		for row, code := range own.Code {
			if code >= 0 {
				z[row] += effect[code]
			}
		}
	}
	return z, true
}

// deviations are adjusted means less their mean, 0 for those without a run.
func deviations(means *linmod.Means) (out []float64, ok bool) {
	n := len(means.N)
	var live []int
	for i, runs := range means.N {
		if runs > 0 {
			live = append(live, i)
		}
	}
	out = make([]float64, n)
	if len(live) == 0 {
		return out, false
	}
	var rows [][]float64
	for _, i := range live[1:] {
		rows = append(rows, difference(n, i, live[0]))
	}
	var sum float64
	for a := range rows {
		e := means.Contrasts(rows[a : a+1])
		if !e.Estimable[0] {
			return out, false
		}
		out[live[a+1]] = e.Value[0]
		sum += e.Value[0]
	}
	for _, i := range live {
		out[i] -= sum / float64(len(live))
	}
	return out, true
}
