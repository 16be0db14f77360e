package verdict

import (
	"math"

	"fairrun/stats/compare"
	"fairrun/stats/dist"
	"fairrun/stats/linmod"
)

// anova fills in the analysis of variance and the size of the effect.
func (s *subject) anova() {
	r := s.fit
	if r.DF > 0 {
		s.sigma2 = r.Sigma2
	}
	for _, row := range r.ANOVA() {
		s.out.ANOVA = append(s.out.ANOVA, s.anovaRow(row))
	}
	joint := r.Joint()
	s.out.Effect = s.effect(joint)
	s.out.Overall = s.overall(joint)
	switch {
	case r.DF == 0:
		s.warn("residual degrees of freedom", "%d runs and %d terms to estimate leave nothing to judge noise by: repeat some runs", r.N, r.Rank)
	case s.sigma2 == 0 && r.TSS == 0:
		s.warn("noise", "every run gave the same value, so there is no noise to judge by: record more digits, or the response does not react")
	case s.sigma2 == 0:
		s.warn("noise", "the model fits every run to the last digit, so there is no noise to judge by: record more digits, or repeat some runs")
	}
}

// anovaRow is one line of the table; F and p are unknown where there is no
// noise or nothing to estimate.
func (s *subject) anovaRow(row linmod.Row) ANOVARow {
	df := float64(row.DF)
	out := ANOVARow{Term: row.Name, DF: Number(df), DenDF: Unknown, SS: Number(row.SS),
		MS: Unknown, F: Unknown, P: Unknown, Eta2: Unknown, Omega2: Unknown}
	if row.DF == 0 {
		return out
	}
	out.MS = Number(row.SS / df)
	if row.Kind == linmod.ResidualTerm || s.sigma2 == 0 {
		return out
	}
	f := row.SS / df / s.sigma2
	out.DenDF = Number(s.fit.DF)
	out.F = Number(f)
	out.P = Number(dist.F{D1: df, D2: float64(s.fit.DF)}.Survival(f))
	size := s.effect(row)
	out.Eta2, out.Omega2 = size.Eta2, size.Omega2
	return out
}

// overall is the F test of all treatment terms together.
func (s *subject) overall(joint linmod.Row) Overall {
	row := s.anovaRow(joint)
	return Overall{F: row.F, DF: row.DF, DenDF: row.DenDF, P: row.P, PHolm: row.P, PHochberg: row.P}
}

// effect is the share of the variance that a row explains.
func (s *subject) effect(row linmod.Row) Effect {
	if s.sigma2 == 0 || row.DF == 0 {
		return Effect{Unknown, Unknown}
	}
	return Effect{
		Eta2:   Number(compare.EtaSquaredPartial(row.SS, s.fit.RSS)),
		Omega2: Number(compare.OmegaSquared(row.SS, float64(row.DF), s.sigma2, s.fit.TSS)),
	}
}

// noise fills in the run-to-run standard deviation, its interval by the
// chi-squared law, and the repeatability limit 1.96·√2·sd (ISO 5725-6: 2.8·sd).
func (s *subject) noise() {
	if s.sigma2 == 0 {
		if s.fit.DF > 0 {
			s.out.Noise.DF = Number(s.fit.DF)
		}
		return
	}
	df := float64(s.fit.DF)
	sd := math.Sqrt(s.sigma2)
	law := dist.ChiSquared{DF: df}
	s.out.Noise = Noise{
		SD:            Number(sd),
		Low:           Number(sd * math.Sqrt(df/law.UpperQuantile(s.q.Alpha/2))),
		High:          Number(sd * math.Sqrt(df/law.Quantile(s.q.Alpha/2))),
		DF:            Number(df),
		Repeatability: Number(dist.T{DF: math.Inf(1)}.UpperQuantile(0.025) * math.Sqrt2 * sd),
		Components:    []Component{{Name: "run", SD: Number(sd)}},
	}
}
