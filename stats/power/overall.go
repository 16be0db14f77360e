package power

import "fairrun/stats/law"

// Overall is the F test of all levels of a term together.
type Overall struct {
	Levels int     // 2 or more; the test has Levels − 1 numerator degrees of freedom
	Alpha  float64 // in (0, 1)
}

// Power returns the chance that the F test rejects when two levels differ by
// diff and the others lie halfway between them, which is the least favourable
// pattern for a largest difference of diff:
//
//	P(F > f),   F noncentral with Levels−1 and p.DF degrees of freedom and
//	            noncentrality λ = (diff / (sd · p.SE))²
//
// where f is the upper alpha point of the central law. The errors are those of
// p and sd. It panics if Levels < 2 or alpha is no level.
func (o Overall) Power(diff, sd float64, p Precision) (float64, error) {
	checkShare(o.Alpha)
	if o.Levels < 2 {
		panic("power: an F test is of two or more levels")
	}
	delta, err := noncentrality(diff, sd, p)
	if err != nil {
		return 0, err
	}
	d1 := float64(o.Levels - 1)
	f := law.F{D1: d1, D2: p.DF}.UpperQuantile(o.Alpha)
	return law.NoncentralF{D1: d1, D2: p.DF, Lambda: delta * delta}.Survival(f), nil
}
