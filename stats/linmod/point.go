package linmod

import "fmt"

// Point is where the fitted model is asked for what it expects.
type Point struct {
	Levels     []int     // of each factor of the model: an index into its levels, -1: averaged over; nil: all are
	Covariates []float64 // how far each covariate lies from its mean over the used rows; nil: none does
}

const panicPoint = "linmod: a point needs a level of each factor and a distance for each covariate, which has one slope"

// At returns what the model expects at some points: adjusted means, like those of Means, with
// covariates elsewhere than at their means. Levels and N of the answer say nothing.
//
// The error is ErrTooLarge. At panics if a point is not of this model, or if it moves a covariate that
// has a slope in each level of a factor.
func (r *Result) At(points []Point) (*Means, error) {
	if err := r.design.checkPoints(points); err != nil {
		return nil, err
	}
	n := len(points)
	m := &Means{r: r, N: make([]int, n), size: make([]float64, n), unknown: make([]bool, n),
		u: newMatrix(r.tri.rank(), n), outside: newMatrix(len(r.tri.dependent), n)}
	centre := m.takeBase()
	for k, p := range points {
		m.locate(k, p, centre)
	}
	return m, nil
}

// checkPoints panics at a point of another model and returns an error if there are too many.
func (d *design) checkPoints(points []Point) error {
	for _, p := range points {
		if p.Levels != nil && len(p.Levels) != len(d.factors) || p.Covariates != nil && len(p.Covariates) != len(d.slopes) {
			panic(panicPoint)
		}
		for k, moved := range p.Covariates {
			if moved != 0 && d.slopes[k].by != nil {
				panic(panicPoint)
			}
		}
	}
	if n := len(points); n*max(n, d.cols) > maxEntries {
		return fmt.Errorf("%d points: %w", n, ErrTooLarge)
	}
	return nil
}

// point is that of some factors at the levels given, the other factors averaged over.
func (d *design) point(factors, at []int) Point {
	p := Point{Levels: make([]int, len(d.factors))}
	for f := range p.Levels {
		p.Levels[f] = -1
	}
	for i, f := range factors {
		p.Levels[f] = at[i]
	}
	return p
}

// at returns the columns of the design at a point, and whether all its levels have a row.
func (d *design) at(p Point) (l []float64, known bool) {
	level := make([]int, len(d.factors)) // in the numbers of category; -1: averaged over
	for f := range level {
		level[f] = -1
		if p.Levels == nil || p.Levels[f] < 0 {
			continue
		}
		if level[f] = int(d.factors[f].index[p.Levels[f]]); level[f] < 0 {
			return nil, false
		}
	}
	l = d.average(level)
	for k, moved := range p.Covariates {
		if s := &d.slopes[k]; moved != 0 && s.scale > 0 {
			l[d.slopeTerm(k).from] = moved / s.scale
		}
	}
	return l, true
}
