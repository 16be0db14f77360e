package power

// Detectable returns the smallest true difference that is found with the
// given power at precision p, in sd's unit: the diff at which
// [Comparison.Power] is power. It is 0 if chance alone reaches that power.
func (c Comparison) Detectable(power, sd float64, p Precision) (float64, error) {
	checkShare(power)
	if err := p.check(); err != nil {
		return 0, err
	}
	if err := checkNoise(sd); err != nil {
		return 0, err
	}
	x, err := c.Critical(p.DF)
	if err != nil {
		return 0, err
	}
	return sd * p.SE * c.detectable(power, p.DF, x), nil
}

// detectable is [Comparison.Detectable] in true standard errors.
func (c Comparison) detectable(power, df, x float64) float64 {
	short := func(delta float64) float64 { return c.found(delta, df, x) - power }
	if short(0) >= 0 {
		return 0
	}
	high := x + 1
	for short(high) < 0 {
		high *= 2
	}
	return solve(short, 0, high)
}

// Curve returns what each number from first to last achieves, for a table or a
// picture. Numbers that leave fewer than 1 degree of freedom are left out. It
// panics if first is below g.Least.
func (c Comparison) Curve(t Target, g Growth, first, last int) ([]Answer, error) {
	if g.At == nil || first < g.Least {
		panic("power: a curve needs a growth and starts no lower than its least")
	}
	if err := t.check(); err != nil {
		return nil, err
	}
	curve := []Answer{}
	for n := first; n <= last; n++ {
		p := g.At(n)
		if p.check() != nil {
			continue
		}
		a, err := c.Reach(t, p)
		if err != nil {
			return nil, err
		}
		a.N = n
		curve = append(curve, a)
	}
	return curve, nil
}
