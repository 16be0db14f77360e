package rehearse

import (
	"math"

	"fairrun/design/lot"
)

// stream keeps the bench's random numbers apart from those of the draw.
const stream = 1 << 33

// Simulator is a simulated bench with the things measured on it.
type Simulator struct {
	Bench       Bench
	Loads       []Load // of each treatment
	Responses   []Response
	Failing     float64 // chance that a run fails
	Outlying    float64 // chance that a run's noise is that of an outlier
	OutlierSize float64 // standard deviation of an outlier in units of the noise

	Packs    []int // number of the pack of each block; nil: each has its own
	Sessions []int // number of the session of each block, at whose start the bench has cooled down; nil: one

	// Alike, if not nil, is the load under which every run is measured. What the current of a treatment does
	// to its own run is then no difference between treatments; what it leaves to later runs, heat and
	// an emptier pack, still is.
	Alike *Load
}

// Run is one simulated run.
type Run struct {
	Conditions
	Values []float64 // one a response, to all digits
	Failed bool      // the motor did not start; Values is nil
}

// Do runs the treatments block by block, in the order given, each block on a
// full pack. The same seed gives the same runs.
func (c *Simulator) Do(blocks [][]int, seed uint64) [][]Run {
	source := lot.New(seed, stream)
	out := make([][]Run, len(blocks))
	z := make([]float64, len(c.Responses))
	c.each(blocks, source, z, func(b, t int, met Conditions, failed bool) {
		r := Run{Conditions: met, Failed: failed}
		if !failed {
			for k := range c.Responses {
				r.Values = append(r.Values, c.Responses[k].value(t, met, z[k]))
			}
		}
		out[b] = append(out[b], r)
	})
	return out
}

// each makes the runs and calls visit after each one with its block, its treatment, what it met
// and whether it failed; z then holds the noise of each response in units of its standard deviation.
func (c *Simulator) each(blocks [][]int, source *lot.Stream, z []float64, visit func(b, t int, met Conditions, failed bool)) {
	bench := c.Bench.fresh()
	packs := map[int][2]float64{}
	for b, block := range blocks {
		if b > 0 && c.Sessions != nil && c.Sessions[b] != c.Sessions[b-1] {
			bench = c.Bench.fresh()
		}
		share, known := [2]float64{}, false
		if c.Packs != nil {
			share, known = packs[c.Packs[b]]
		}
		if !known {
			share = [2]float64{normal(source), normal(source)}
		}
		if c.Packs != nil {
			packs[c.Packs[b]] = share
		}
		c.Bench.swap(bench, share)
		for _, t := range block {
			before := *bench
			met := c.Bench.run(bench, c.Loads[t])
			if c.Alike != nil {
				met = c.Bench.run(&before, *c.Alike)
			}
			failed := uniform(source) < c.Failing
			size := 1.0
			if c.Outlying > 0 && uniform(source) < c.Outlying {
				size = c.OutlierSize
			}
			for k := range z {
				z[k] = size * normal(source)
			}
			visit(b, t, met, failed)
		}
	}
}

// uniform returns a number strictly between 0 and 1.
func uniform(s *lot.Stream) float64 {
	return (float64(s.Uint64()>>12) + 0.5) / (1 << 52)
}

// normal returns a standard normal number (Box & Muller 1958).
func normal(s *lot.Stream) float64 {
	r := math.Sqrt(-2 * math.Log(uniform(s)))
	return r * math.Cos(2*math.Pi*uniform(s))
}
