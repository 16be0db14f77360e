package power

// Curve returns what each number from first to last achieves, for a table or a
// picture. Numbers that leave no degrees of freedom are left out. It
// panics if first is below g.Least.
func (c Test) Curve(t Target, g Growth, first, last int) ([]Answer, error) {
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
