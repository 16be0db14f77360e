package rehearse

import (
	"math"

	"fairrun/design/order"
)

// stream keeps the bench's random numbers apart from those of the draw.
const stream = 1 << 33

// Campaign is a simulated bench with the things measured on it.
type Campaign struct {
	Bench     Bench
	Loads     []Load // of each treatment
	Responses []Response
	Failing   float64 // chance that a run fails
}

// Run is one simulated run.
type Run struct {
	Conditions
	Values []float64 // one a response, to all digits
	Failed bool      // the motor did not start; Values is nil
}

// Do runs the treatments block by block, in the order given, each block on a
// fresh pack. The same seed gives the same runs.
func (c *Campaign) Do(blocks [][]int, seed uint64) [][]Run {
	source := order.NewSource(seed, stream)
	bench := c.Bench.fresh()
	out := make([][]Run, len(blocks))
	for b, block := range blocks {
		c.Bench.swap(bench, [2]float64{normal(source), normal(source)})
		for _, t := range block {
			r := Run{Conditions: c.Bench.run(bench, c.Loads[t])}
			r.Failed = uniform(source) < c.Failing
			for _, response := range c.Responses {
				v := response.value(t, r.Conditions, normal(source))
				if !r.Failed {
					r.Values = append(r.Values, v)
				}
			}
			out[b] = append(out[b], r)
		}
	}
	return out
}

// uniform returns a number strictly between 0 and 1.
func uniform(s *order.Source) float64 {
	return (float64(s.Uint64()>>12) + 0.5) / (1 << 52)
}

// normal returns a standard normal number (Box & Muller 1958).
func normal(s *order.Source) float64 {
	r := math.Sqrt(-2 * math.Log(uniform(s)))
	return r * math.Cos(2*math.Pi*uniform(s))
}
