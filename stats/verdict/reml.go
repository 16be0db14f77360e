package verdict

import (
	"fairrun/stats/compare"
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
	return &adjusted{levels: m.Levels, n: m.N, contrasts: m.Contrasts, strata: m.Strata, pivot: m.Pivot}, nil
}

func (f reml) at(points []linmod.Point) (func([][]float64) *mixed.Estimates, error) {
	m, err := f.At(points)
	if err != nil {
		return nil, err
	}
	return m.Contrasts, nil
}

func (f reml) anova() []ANOVARow {
	var rows []ANOVARow
	for _, r := range f.ANOVA() {
		rows = append(rows, f.row(r))
	}
	return rows
}

// sd is that between runs that share every random level.
func (f reml) sd() (sd, df float64) {
	p := f.Precision(0.95).Repeatability
	return p.SD, p.DF
}

func (f reml) joint() ANOVARow { return f.row(f.Joint()) }

// row is a row without sums of squares: under REML a term has none of its
// own. Its partial eta squared is the one that its F and degrees of freedom
// imply, F·df/(F·df + den_df).
func (f reml) row(r mixed.Row) ANOVARow {
	u := Unknown
	out := ANOVARow{Factors: append(Factors{}, r.Factors...), Term: r.Name, DF: Number(r.DF), DenDF: u, SS: u, MS: u, F: u, P: u, Eta2: u, Omega2: u, Omega2Partial: u}
	if r.DF == 0 {
		return out
	}
	out.DenDF, out.F, out.P = Number(r.DenDF), Number(r.F), Number(r.P)
	explained := r.F * float64(r.DF)
	out.Eta2 = Number(explained / (explained + r.DenDF))
	out.Omega2Partial = Number(compare.OmegaSquaredPartial(r.F, float64(r.DF), f.N))
	return out
}

// noise of a mixed model: that of runs which share every random level, its
// parts, and the limits of ISO 5725-2 for runs that share all of them
// (repeatability) or none of what differs on one rig (intermediate precision, ISO 5725-3; reproducibility is that of
// several laboratories).
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
