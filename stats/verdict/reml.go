package verdict

import (
	"math"
	"slices"

	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
)

// reml is a model with random factors.
type reml struct{ *mixed.Result }

func (f reml) method() (method, dfMethod string) { return "REML", f.Method.String() }

func (f reml) means(factors ...int) (*adjusted, error) {
	m, err := f.Means(factors...)
	if err != nil {
		return nil, err
	}
	return &adjusted{m.Levels, m.N, m.Contrasts, m.Strata}, nil
}

func (f reml) anova() []ANOVARow {
	var rows []ANOVARow
	for _, r := range f.ANOVA() {
		rows = append(rows, remlRow(r))
	}
	return rows
}

// sd is that between runs that share nothing random.
func (f reml) sd() float64 {
	v := 0.0
	for _, c := range f.Components {
		v += c.Variance
	}
	return math.Sqrt(v)
}

func (f reml) joint() ANOVARow { return remlRow(f.Joint()) }

// remlRow is a row without sums of squares: under REML a term has none of its
// own. Its partial eta squared is the one that its F and degrees of freedom
// imply, F·df/(F·df + den_df).
func remlRow(r mixed.Row) ANOVARow {
	u := Unknown
	out := ANOVARow{Term: r.Name, DF: Number(r.DF), DenDF: u, SS: u, MS: u, F: u, P: u, Eta2: u, Omega2: u}
	if r.DF == 0 {
		return out
	}
	out.DenDF, out.F, out.P = Number(r.DenDF), Number(r.F), Number(r.P)
	explained := r.F * float64(r.DF)
	out.Eta2 = Number(explained / (explained + r.DenDF))
	return out
}

// noise of a mixed model: that of runs which share every random level, its
// parts, and the limits of ISO 5725-2 for runs that share all of them
// (repeatability) or none (reproducibility).
func (f reml) noise(alpha float64) Noise {
	p := f.Precision(1 - alpha)
	intervals, err := f.Intervals(1 - alpha)
	out := Noise{SD: Number(p.Repeatability.SD), Low: Number(p.Repeatability.Low), High: Number(p.Repeatability.High),
		DF: Number(p.Repeatability.DF), Repeatability: Number(p.Repeatability.Limit), Reproducibility: Number(p.Reproducibility.Limit), Differences: []Difference{}}
	for i, c := range f.Components {
		part := Component{Name: c.Name, SD: Number(c.SD), Low: Unknown, High: Unknown, Share: Number(p.Parts[i].Share)}
		if part.Name == residualPart {
			part.Name = runPart
		}
		if err == nil {
			part.Low, part.High = Number(intervals[i].Low), Number(intervals[i].High)
		}
		out.Components = append(out.Components, part)
	}
	return out
}

// random fits the model with its random factors. The fit by least squares with
// those factors as blocks stays beside it for the checks: what runs do within
// everything that is random. It also takes over where the runs do not tell how
// large the random part of the noise is: what can be compared within it still is.
func (s *subject) random() error {
	s.single()
	r, left, untold := mixed.FitInterplay(mixed.Model{Fixed: s.model, Random: slices.Concat(s.d.Recovered, s.d.Random)}, s.d.Interplay, s.y)
	if left != nil {
		s.warn("random factors", "%v; how differently units answer is left out: the comparisons hold for those that were tested, not for their type", left)
		s.d.Interplay = nil
	}
	s.within = mixed.Model{Fixed: s.model, Random: s.d.random()}.Within()
	var err error
	if s.fit, err = linmod.Fit(s.within, s.y); err != nil {
		return err
	}
	s.out.Model.Random = names(s.d.random())
	if r != nil {
		s.fitted, s.sigma2 = reml{r}, r.Sigma2
		return nil
	}
	if untold != nil {
		s.warn("random factors", "%v; they are taken as blocks: only what differs within them is compared, and for those that were tested", untold)
	}
	s.byLeastSquares()
	return nil
}

// random lists all random factors: blocks first.
func (d *Data) random() []linmod.Factor {
	return slices.Concat(d.Recovered, d.Random, d.Interplay)
}

// names are what factors are called.
func names(factors []linmod.Factor) []string {
	out := []string{}
	for _, f := range factors {
		out = append(out, f.Name)
	}
	return out
}

// single drops interplay of which every level has one run at the most: the noise
// between runs then holds it, and the comparisons are for units like these all the
// same.
func (s *subject) single() {
	s.d.Interplay = slices.DeleteFunc(slices.Clone(s.d.Interplay), func(f linmod.Factor) bool {
		repeats := mixed.Repeats(f, func(row int) bool { return !math.IsNaN(s.y[row]) })
		if !repeats {
			s.note("units", "%s: one run of each, so the noise from run to run holds how differently they answer", f.Name)
		}
		return !repeats
	})
}

// byLeastSquares takes the comparisons from the fit by least squares.
func (s *subject) byLeastSquares() {
	f := leastSquares{Result: s.fit}
	if s.fit.DF > 0 {
		f.sigma2 = s.fit.Sigma2
	}
	s.fitted, s.sigma2 = f, f.sigma2
}
