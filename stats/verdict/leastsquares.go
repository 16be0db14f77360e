package verdict

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"fairrun/stats/compare"
	"fairrun/stats/law"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
)

// leastSquares is a model whose only random term is the run.
type leastSquares struct {
	*linmod.Result
	sigma2 float64 // 0 when there is no noise to speak of
}

func (leastSquares) method() (method, dfMethod string) { return "least squares", "residual" }

func (f leastSquares) means(factors ...int) (*adjusted, error) {
	m, err := f.Means(factors...)
	if err != nil {
		return nil, err
	}
	return &adjusted{levels: m.Levels, n: m.N, contrasts: func(rows [][]float64) *mixed.Estimates {
		return f.scaled(m.Contrasts(rows))
	}}, nil
}

func (f leastSquares) at(points []linmod.Point) (func([][]float64) *mixed.Estimates, error) {
	m, err := f.At(points)
	if err != nil {
		return nil, err
	}
	return func(rows [][]float64) *mixed.Estimates { return f.scaled(m.Contrasts(rows)) }, nil
}

// scaled puts the noise into estimates.
func (f leastSquares) scaled(e *linmod.Estimates) *mixed.Estimates {
	out := &mixed.Estimates{Value: e.Value, Cov: mat.NewSymDense(len(e.Value), nil), DF: make([]float64, len(e.Value)), Estimable: e.Estimable}
	out.Cov.ScaleSym(f.sigma2, e.Cov)
	for i := range out.DF {
		out.DF[i] = float64(f.DF)
	}
	return out
}

func (f leastSquares) anova() []ANOVARow {
	var rows []ANOVARow
	for _, r := range f.ANOVA() {
		rows = append(rows, f.row(r))
	}
	return rows
}

func (f leastSquares) sd() (sd, df float64) { return math.Sqrt(f.sigma2), float64(f.DF) }

func (f leastSquares) joint() ANOVARow { return f.row(f.Joint()) }

// row is one line of the analysis of variance; F and p are unknown where there
// is no noise or nothing to estimate.
func (f leastSquares) row(r linmod.Row) ANOVARow {
	df := float64(r.DF)
	out := ANOVARow{Factors: append(Factors{}, r.Factors...), Term: r.Name, DF: Number(df), DenDF: Unknown, SS: Number(r.SS),
		MS: Unknown, F: Unknown, P: Unknown, Eta2: Unknown, Omega2: Unknown, Omega2Partial: Unknown}
	if r.DF == 0 {
		return out
	}
	out.MS = Number(r.SS / df)
	if r.Kind == linmod.ResidualTerm || f.sigma2 == 0 {
		return out
	}
	x := r.SS / df / f.sigma2
	out.DenDF = Number(f.DF)
	out.F = Number(x)
	out.P = Number(law.F{D1: df, D2: float64(f.DF)}.Survival(x))
	out.Eta2 = Number(compare.EtaSquaredPartial(r.SS, f.RSS))
	out.Omega2 = Number(compare.OmegaSquared(r.SS, df, f.sigma2, f.TSS))
	out.Omega2Partial = Number(compare.OmegaSquaredPartial(x, df, f.N))
	return out
}

// noise is the run-to-run standard deviation, its interval by the chi-squared
// law, and the repeatability limit 1.96·√2·sd (ISO 5725-6: 2.8·sd).
func (f leastSquares) noise(alpha float64) Noise {
	u := Unknown
	out := Noise{SD: u, Low: u, High: u, DF: u, Repeatability: u, Reproducibility: u, Components: []Component{}, Differences: []Difference{}}
	if f.DF > 0 {
		out.DF = Number(f.DF)
	}
	if f.sigma2 == 0 {
		return out
	}
	df, sd := float64(f.DF), math.Sqrt(f.sigma2)
	chi := law.ChiSquared{DF: df}
	out.SD = Number(sd)
	out.Low = Number(sd * math.Sqrt(df/chi.UpperQuantile(alpha/2)))
	out.High = Number(sd * math.Sqrt(df/chi.Quantile(alpha/2)))
	out.Repeatability = Number(law.T{DF: math.Inf(1)}.UpperQuantile(0.025) * math.Sqrt2 * sd)
	out.Components = []Component{{Name: runPart, SD: out.SD, Low: out.Low, High: out.High, Share: 1}}
	return out
}
