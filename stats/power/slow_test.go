//go:build slow

package power

import (
	"math"
	"math/rand/v2"
	"testing"

	"fairrun/stats/compare"
	"fairrun/stats/law"
)

// within fails unless a frequency in n trials lies within 4 Monte-Carlo
// standard errors of the chance.
func within(t *testing.T, what string, count, n int, chance float64) {
	t.Helper()
	got := float64(count) / float64(n)
	se := math.Sqrt(chance * (1 - chance) / float64(n))
	if math.Abs(got-chance) > 4*se+1/float64(n) {
		t.Errorf("%s: %v in %d campaigns, computed %v, Monte-Carlo error %v", what, got, n, chance, se)
	}
	t.Logf("%s: %.4f simulated, %.4f computed, ± %.4f", what, got, chance, se)
}

// A bench simulates campaigns of complete blocks and analyses them by least
// squares for blocks and treatments.
type bench struct {
	d      Design
	effect []float64 // of each treatment
	sd     float64
	rng    *rand.Rand
	y      []float64 // blocks × treatments × replicates
}

// run returns the treatment means and the estimated noise of a new campaign.
func (b *bench) run() (mean []float64, s float64) {
	v, r, blocks := b.d.Treatments, b.d.Replicates, b.d.Blocks
	mean = make([]float64, v)
	block := make([]float64, blocks)
	b.y = b.y[:0]
	for i := range blocks {
		shift := 5 * b.rng.NormFloat64()
		for j := range v {
			for range r {
				y := shift + b.effect[j] + b.sd*b.rng.NormFloat64()
				b.y = append(b.y, y)
				mean[j] += y / float64(blocks*r)
				block[i] += y / float64(v*r)
			}
		}
	}
	grand := sum(mean) / float64(v)
	rss := 0.0
	for i, y := range b.y {
		e := y - block[i/(v*r)] - mean[i/r%v] + grand
		rss += e * e
	}
	return mean, math.Sqrt(rss / b.d.Precision().DF)
}

func TestSimulatedCampaigns(t *testing.T) {
	const campaigns = 100000
	const margin, sd = 2.0, 1.5
	for _, tt := range []struct {
		name string
		f    compare.Family
		d    Design
	}{
		{"pairs", compare.Pairs{Levels: 4}, Design{Treatments: 4, Blocks: 4, Replicates: 2}},
		{"baseline", compare.Baseline{Levels: 5}, Design{Treatments: 5, Blocks: 3, Replicates: 3}},
		{"single", compare.Single{}, Design{Treatments: 2, Blocks: 3, Replicates: 2}},
		{"pairs, few runs", compare.Pairs{Levels: 3}, Design{Treatments: 3, Blocks: 3, Replicates: 1}},
	} {
		c := Test{Family: tt.f, Alpha: 0.05}
		p := tt.d.Precision()
		x, err := c.Critical(p.DF)
		if err != nil {
			t.Fatal(err)
		}
		for _, truth := range []float64{0, 1, 2, 4} {
			b := bench{d: tt.d, effect: make([]float64, tt.d.Treatments), sd: sd, rng: rand.New(rand.NewPCG(7, uint64(10*truth)))}
			b.effect[0] = truth
			var n [5]int
			found, inside, family := 0, 0, 0
			for range campaigns {
				mean, s := b.run()
				h := x * s * p.SE
				d := math.Abs(mean[0] - mean[1])
				apart, closest, far := d > h, d-h, d+h
				switch {
				case apart && closest >= margin:
					n[0]++
				case apart && far <= margin:
					n[2]++
				case apart:
					n[1]++
				case far <= margin:
					n[3]++
				default:
					n[4]++
				}
				if apart {
					found++
				}
				if far <= margin {
					inside++
				}
				largest := 0.0
				for j := range mean {
					for k := range j {
						if _, ok := tt.f.(compare.Baseline); ok && k != 0 {
							continue
						}
						largest = math.Max(largest, math.Abs(mean[j]-mean[k]))
					}
				}
				if largest > h {
					family++
				}
			}
			power, err := c.Power(truth, sd, p)
			if err != nil {
				t.Fatal(err)
			}
			within(t, tt.name+": power", found, campaigns, power)
			w, err := c.Words(margin, truth, sd, p)
			if err != nil {
				t.Fatal(err)
			}
			for i, chance := range []float64{w.Matters, w.Real, w.Trivial, w.Equal, w.Unresolved} {
				within(t, tt.name+": word", n[i], campaigns, chance)
			}
			within(t, tt.name+": inside", inside, campaigns, w.Trivial+w.Equal)
			if truth == 0 {
				within(t, tt.name+": family's false alarms", family, campaigns, c.Alpha)
			}
		}
	}
}

func TestSimulatedCrossing(t *testing.T) {
	const campaigns = 200000
	for _, s := range []Spending{OBrienFleming, Pocock} {
		looks := Schedule{Spending: s, Alpha: 0.05, Fractions: []float64{0.25, 0.5, 0.75, 1}}.Looks()
		for _, delta := range []float64{0, 3} {
			rng := rand.New(rand.NewPCG(3, uint64(delta)))
			crossed := make([]int, len(looks))
			for range campaigns {
				path := 0.0
				for k, l := range looks {
					path += delta/4 + rng.NormFloat64()/2
					if 2*above(math.Abs(path)/math.Sqrt(l.Fraction)) < l.Level {
						crossed[k]++
						break
					}
				}
			}
			for k, chance := range Crossing(looks, delta) {
				within(t, "crossing", crossed[k], campaigns, chance)
			}
		}
	}
}

// The chance that a family makes a false statement at any of its looks, for
// each comparison judged at the levels of a schedule with Alpha = Alone, and for the
// family's critical value at the levels of a schedule with the family's alpha.
func TestSimulatedFamilyLooks(t *testing.T) {
	const campaigns = 100000
	for _, tt := range []struct {
		levels, looks, blocks int // blocks a look
		s                     Spending
		alone, family         float64 // bounds on the two rates
	}{
		{4, 5, 2, OBrienFleming, 0.0525, 0.055},
		{4, 5, 2, Pocock, 0.0525, 0.055},
		{8, 5, 2, Pocock, 0.0525, 0.0575},
		{4, 3, 1, Pocock, 0.0525, 0.055},
		{3, 3, 1, OBrienFleming, 0.0525, 0.055},
	} {
		c := Test{Family: compare.Pairs{Levels: tt.levels}, Alpha: 0.05}
		d := Design{Treatments: tt.levels, Blocks: tt.looks * tt.blocks, Replicates: 2}
		alone, err := c.Alone(d.Precision().DF)
		if err != nil {
			t.Fatal(err)
		}
		fractions := equalFractions(tt.looks)
		single := Schedule{Spending: tt.s, Alpha: alone, Fractions: fractions}.Looks()
		joint := Schedule{Spending: tt.s, Alpha: 0.05, Fractions: fractions}.Looks()
		// Critical ranges of the means, in estimated standard deviations of a run.
		bySingle := make([]float64, tt.looks)
		byJoint := make([]float64, tt.looks)
		precision := make([]Precision, tt.looks)
		for k := range tt.looks {
			precision[k] = d.ByBlocks().At((k + 1) * tt.blocks)
			df := precision[k].DF
			bySingle[k] = law.T{DF: df}.UpperQuantile(single[k].Level/2) * precision[k].SE
			byJoint[k] = c.Family.Critical(joint[k].Level, df) * precision[k].SE
		}
		rng := rand.New(rand.NewPCG(11, uint64(tt.levels)))
		alarms, jointAlarms := 0, 0
		v := float64(tt.levels)
		total := make([]float64, tt.levels)
		for range campaigns {
			clear(total)
			// Sums of squares about block means and treatment means, kept up to date.
			squares, blockSquares, n := 0.0, 0.0, 0
			hit, jointHit := false, false
			for k := range tt.looks {
				for range tt.blocks {
					block := 0.0
					for j := range total {
						for range 2 {
							y := rng.NormFloat64()
							total[j] += y
							block += y
							squares += y * y
						}
					}
					blockSquares += block * block / (2 * v)
					n += 2
				}
				all, treatment := 0.0, 0.0
				low, high := math.Inf(1), math.Inf(-1)
				for _, s := range total {
					all += s
					treatment += s * s / float64(n)
					low, high = math.Min(low, s/float64(n)), math.Max(high, s/float64(n))
				}
				rss := squares - blockSquares - treatment + all*all/(v*float64(n))
				s := math.Sqrt(rss / precision[k].DF)
				hit = hit || high-low > bySingle[k]*s
				jointHit = jointHit || high-low > byJoint[k]*s
			}
			if hit {
				alarms++
			}
			if jointHit {
				jointAlarms++
			}
		}
		se := math.Sqrt(0.05 * 0.95 / campaigns)
		got, joined := float64(alarms)/campaigns, float64(jointAlarms)/campaigns
		t.Logf("%d levels, %d looks, spending %d: false alarms %.4f by Alone, %.4f by the family's critical value, ± %.4f", tt.levels, tt.looks, tt.s, got, joined, se)
		if got > tt.alone+3*se || got < 0.05*0.9 {
			t.Errorf("%d levels, %d looks: false alarms %v by Alone, at most %v expected", tt.levels, tt.looks, got, tt.alone)
		}
		if joined > tt.family+3*se || joined < got-3*se {
			t.Errorf("%d levels, %d looks: false alarms %v by the family's critical value, at most %v expected", tt.levels, tt.looks, joined, tt.family)
		}
	}
}

// A campaign planned for assurance reaches its goal that often, over pilots
// and the campaigns planned from them, when the noise is drawn from what a
// pilot leaves open.
func TestSimulatedAssurance(t *testing.T) {
	const campaigns = 200000
	c := Test{Family: compare.Single{}, Alpha: 0.05}
	d := Design{Treatments: 2, Blocks: 4, Replicates: 3}
	p := d.Precision()
	target := Target{Margin: 2, Noise: Scatter{SD: 1.2, DF: 6}, Power: 0.9}
	want, err := c.Assurance(target, p)
	if err != nil {
		t.Fatal(err)
	}
	x, _ := c.Critical(p.DF)
	rng := rand.New(rand.NewPCG(5, 5))
	found := 0
	for range campaigns {
		chi := 0.0
		for range 6 {
			z := rng.NormFloat64()
			chi += z * z
		}
		b := bench{d: d, effect: []float64{2, 0}, sd: 1.2 * math.Sqrt(6/chi), rng: rng}
		mean, s := b.run()
		if math.Abs(mean[0]-mean[1]) > x*s*p.SE {
			found++
		}
	}
	within(t, "assurance", found, campaigns, want)
}
