package trace

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/interp"
)

// dwell is a stretch in which x stands still: the means of the last half of its rows.
type dwell struct {
	x, y   float64
	u      float64 // of y
	middle float64 // s
}

const (
	dwellBlocks = 200 // that the log is cut into to see whether x moves
	stillShare  = 0.2 // of the mean rate of the sweep: slower is standing still
	stairsShare = 0.5 // of the blocks that stand still in stairs
	minDwells   = 4
)

// dwells returns the stairs of a sweep that stands still most of the time.
func (p pairs) dwells() ([]dwell, bool) {
	n := len(p.t)
	blocks := min(dwellBlocks, n/4)
	if blocks < 8 {
		return nil, false
	}
	at := func(k int) int { return n * k / blocks }
	means := make([]float64, blocks)
	for k := range means {
		means[k] = average(p.x[at(k):at(k+1)])
	}
	low, high := rangeOf(means)
	// Up and down again over the whole log.
	rate := 2 * (high - low) / float64(blocks)
	still := make([]bool, blocks-1)
	count := 0
	for k := range still {
		still[k] = math.Abs(means[k+1]-means[k]) < stillShare*rate
		if still[k] {
			count++
		}
	}
	if float64(count) < stairsShare*float64(len(still)) {
		return nil, false
	}
	var stairs []dwell
	for k := 0; k < len(still); k++ {
		if !still[k] {
			continue
		}
		first := k
		for k < len(still) && still[k] {
			k++
		}
		if k-first < 2 {
			continue
		}
		a, b := at(first), at(k+1)
		a += (b - a) / 2
		noise, f := ambient(p.t[a:b], p.y[a:b])
		stairs = append(stairs, dwell{
			x: average(p.x[a:b]), y: average(p.y[a:b]),
			u: noise * math.Sqrt(f/float64(b-a)), middle: (p.t[a] + p.t[b-1]) / 2,
		})
	}
	return stairs, len(stairs) >= minDwells
}

// readStairs reads the monotone cubic through the dwells of each branch.
func (d Definition) readStairs(stairs []dwell) Value {
	top := 0
	for i := range stairs {
		if stairs[i].x > stairs[top].x {
			top = i
		}
	}
	down := slices.Clone(stairs[top:])
	slices.Reverse(down)
	var values []Value
	for _, branch := range [][]dwell{stairs[:top+1], down} {
		if v, ok := readBranch(branch, d.At); ok {
			values = append(values, v)
		}
	}
	if len(values) == 0 {
		return refused(refusedf("no two dwells on either side of %.4g", d.At))
	}
	return ofBranches(values, len(values) == 1)
}

func readBranch(branch []dwell, at float64) (Value, bool) {
	var x, y []float64
	k := -1
	for _, s := range branch {
		if len(x) > 0 && s.x <= x[len(x)-1] {
			continue
		}
		x, y = append(x, s.x), append(y, s.y)
	}
	for i := 1; i < len(x); i++ {
		if x[i-1] <= at && at <= x[i] {
			k = i
		}
	}
	if k < 0 || len(x) < 3 {
		return Value{}, false
	}
	var cubic interp.FritschButland
	if err := cubic.Fit(x, y); err != nil {
		return Value{}, false
	}
	value := cubic.Predict(at)
	e := (at - x[k-1]) / (x[k] - x[k-1])
	bend := value - (y[k-1] + e*(y[k]-y[k-1]))
	var u budget
	for _, s := range branch {
		switch s.x {
		case x[k-1]:
			u.add((1-e)*(1-e)*s.u*s.u, math.Inf(1))
		case x[k]:
			u.add(e*e*s.u*s.u, math.Inf(1))
		}
	}
	u.add(bend*bend/3, math.Inf(1))
	return measured(value, u.u(), branch[0].middle, branch[len(branch)-1].middle), true
}
