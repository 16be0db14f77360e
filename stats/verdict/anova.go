package verdict

// anova fills in the analysis of variance and the size of the effect, and says
// so when there is no noise to judge by.
func (s *subject) anova() {
	s.unused()
	if rows := s.fitted.anova(); rows != nil {
		s.out.ANOVA = rows
	}
	joint := s.fitted.joint()
	s.out.Effect = Effect{joint.Eta2, joint.Omega2}
	s.out.Overall = Overall{F: joint.F, DF: joint.DF, DenDF: joint.DenDF, P: joint.P, PHolm: joint.P, PHochberg: joint.P}
	s.out.Noise = s.fitted.noise(s.q.Alpha)
	switch r := s.fit; {
	case s.sigma2 > 0:
	case r.DF == 0:
		s.warn("residual degrees of freedom", "%d runs and %d terms to estimate leave nothing to judge noise by: repeat some runs", r.N, r.Rank)
	case r.TSS == 0:
		s.warn("noise", "every run gave the same value, so there is no noise to judge by: record more digits, or the response does not react")
	default:
		s.warn("noise", "the model fits every run to the last digit, so there is no noise to judge by: record more digits, or repeat some runs")
	}
}
