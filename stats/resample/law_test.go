package resample

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"fairrun/stats/law"
)

// TestUniform asks whether p-values keep their promise, with no chance in it:
// over all orders that might have been drawn, the responses staying where they
// are, the share of orders with p ≤ v is v for every v that occurs. That is
// what makes a test exact when no treatment does anything.
func TestUniform(t *testing.T) {
	for _, c := range exactCases(t) {
		if len(c.Orders) > 300 {
			continue // the square of it is work
		}
		t.Run(c.Name, func(t *testing.T) {
			var overall []float64
			smallest := make([][]float64, len(c.Families))
			for order := range c.all() {
				d, y := c.design()
				d.Drawn = slices.Clone(order)
				d.Alpha = 0
				test, err := d.Test(y)
				if err != nil {
					t.Fatal(err)
				}
				results, err := Enumerate(context.Background(), c.all(), test)
				if err != nil {
					t.Fatal(err)
				}
				overall = append(overall, results[0].P)
				for i, f := range results[0].Families {
					p := 1.0
					for _, k := range f.Comparisons {
						if k.Estimable {
							p = min(p, k.PComplete)
						}
					}
					smallest[i] = append(smallest[i], p)
				}
			}
			uniform(t, "overall", overall)
			for _, s := range smallest {
				uniform(t, "smallest of a family", s)
			}
		})
	}
}

func uniform(t *testing.T, name string, p []float64) {
	t.Helper()
	slices.Sort(p)
	for i, v := range p {
		if i+1 < len(p) && p[i+1] == v {
			continue
		}
		if share := float64(i+1) / float64(len(p)); math.Abs(share-v) > 1e-12 {
			t.Errorf("%s: p ≤ %v in a share of %v", name, v, share)
		}
	}
}

// TestSampleApproachesEnumerate draws at random from the orders of each case. A
// p-value from 20,000 draws has a standard error of at most 0.0036; four of them are allowed.
func TestSampleApproachesEnumerate(t *testing.T) {
	const draws = 20_000
	for _, c := range exactCases(t) {
		t.Run(c.Name, func(t *testing.T) {
			d, y := c.design()
			d.Alpha = 0
			test, err := d.Test(y)
			if err != nil {
				t.Fatal(err)
			}
			all, err := Enumerate(context.Background(), c.all(), test)
			if err != nil {
				t.Fatal(err)
			}
			var orders [][]int32
			for order := range c.all() {
				orders = append(orders, slices.Clone(order))
			}
			some, err := Sample(context.Background(), draws, func(chunk int) func([]int32) {
				rng := rand.New(rand.NewPCG(11, uint64(chunk)))
				return func(order []int32) { copy(order, orders[rng.IntN(len(orders))]) }
			}, test)
			if err != nil {
				t.Fatal(err)
			}
			if some[0].Exact || some[0].Orders != draws {
				t.Errorf("exact %v, %d draws; want false, %d", some[0].Exact, some[0].Orders, draws)
			}
			got, want := pValues(some[0]), pValues(all[0])
			for i := range want {
				if tol := 4*math.Sqrt(want[i]*(1-want[i])/draws) + 1.0/draws; math.Abs(got[i]-want[i]) > tol {
					t.Errorf("p-value %d: %v, exactly %v", i, got[i], want[i])
				}
			}
		})
	}
}

// pValues lists all p-values of a result.
func pValues(r Result) []float64 {
	p := []float64{r.P}
	for _, f := range r.Families {
		p = append(p, f.P)
		for _, c := range f.Comparisons {
			p = append(p, c.P, c.PAdjusted, c.PComplete)
		}
	}
	return p
}

// TestApproachesF compares the test with the F and t laws, which it approaches
// for normal noise and many runs: 120 runs, 20,000 draws. The p-values of a single
// response differ by its own departure from normality, of order 1/n, too.
func TestApproachesF(t *testing.T) {
	d := campaign(3, 10, 4)
	d.Alpha = 0
	var tests []*Test
	for seed := range uint64(6) {
		y := normals(len(d.Drawn), seed)
		for i := range y {
			y[i] += 0.1 * float64(seed) * float64(d.Drawn[i])
		}
		test, err := d.Test(y)
		if err != nil {
			t.Fatal(err)
		}
		tests = append(tests, test)
	}
	results, err := Sample(context.Background(), 20_000, sampler(d, 12, 5), tests...)
	if err != nil {
		t.Fatal(err)
	}
	between := law.StudentizedRange{Groups: 3, DF: float64(results[0].DF2)}
	for i, r := range results {
		if want := (law.F{D1: float64(r.DF1), D2: float64(r.DF2)}).Survival(r.F); math.Abs(r.P-want) > 0.02 {
			t.Errorf("response %d: P = %v, by the F law %v", i, r.P, want)
		}
		for k, c := range r.Families[0].Comparisons {
			if want := 2 * (law.T{DF: float64(r.DF2)}).Survival(math.Abs(c.T)); math.Abs(c.P-want) > 0.02 {
				t.Errorf("response %d comparison %d: P = %v, by the t law %v", i, k, c.P, want)
			}
			if want := between.Survival(math.Abs(c.T) * math.Sqrt2); math.Abs(c.PAdjusted-want) > 0.02 {
				t.Errorf("response %d comparison %d: PAdjusted = %v, by the studentized range %v", i, k, c.PAdjusted, want)
			}
		}
	}
}

// TestIntervalWidth compares simultaneous intervals with Tukey's, in the same
// setting.
func TestIntervalWidth(t *testing.T) {
	d := campaign(3, 10, 4)
	test, err := d.Test(normals(len(d.Drawn), 3))
	if err != nil {
		t.Fatal(err)
	}
	results, err := Sample(context.Background(), 20_000, sampler(d, 12, 5), test)
	if err != nil {
		t.Fatal(err)
	}
	r := results[0]
	crit := (law.StudentizedRange{Groups: 3, DF: float64(r.DF2)}).UpperQuantile(d.Alpha) / math.Sqrt2
	for k, c := range r.Families[0].Comparisons {
		for _, reach := range []float64{c.Estimate - c.Low, c.High - c.Estimate} {
			if got := reach / c.SE; math.Abs(got-crit) > 0.05*crit {
				t.Errorf("comparison %d reaches %v standard errors; Tukey's interval %v", k, got, crit)
			}
		}
	}
}
