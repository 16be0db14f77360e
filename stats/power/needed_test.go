package power

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"fairrun/stats/compare"
)

// referenceR is testdata/reference_r.json: values made by testdata/reference.R
// with R's own power.t.test, power.anova.test, qtukey and integrate.
type referenceR struct {
	TTest []struct {
		N               int
		Diff, SD, Power float64
	} `json:"t_test"`
	TTestN []struct {
		Diff, SD, Power float64
		N               int
	} `json:"t_test_n"`
	TTestDiff []struct {
		N               int
		SD, Power, Diff float64
	} `json:"t_test_diff"`
	ANOVA []struct {
		Groups, N   int
		Diff, Power float64
	}
	Blocks []struct {
		Family                             string
		Treatments, Replicates, Drift, Own int
		Efficiency, Margin, SD, Wanted     float64
		Blocks                             int
		Power, DF, Critical                float64
	}
	More []struct {
		Family                      string
		Treatments, Replicates, Own int
		SE, DF0, Margin, SD, Wanted float64
		More                        int
		Power, DF                   float64
	}
}

func readReferenceR(t *testing.T) *referenceR {
	t.Helper()
	var r referenceR
	readJSON(t, "reference_r.json", &r)
	if len(r.TTest) == 0 || len(r.TTestN) == 0 || len(r.TTestDiff) == 0 || len(r.ANOVA) == 0 || len(r.Blocks) == 0 || len(r.More) == 0 {
		t.Fatal("reference_r.json lacks a list")
	}
	return &r
}

// groups is a plain experiment of n runs at each of k levels, without blocks.
func groups(k, n int) Design { return Design{Treatments: k, Blocks: 1, Replicates: n} }

func TestAgainstPowerTTest(t *testing.T) {
	ref := readReferenceR(t)
	c := Test{Family: compare.Single{}, Alpha: 0.05}
	for _, r := range ref.TTest {
		got, err := c.Power(r.Diff, r.SD, groups(2, r.N).Precision())
		if err != nil || !near(got, r.Power, 1e-10) {
			t.Errorf("power of n = %d, difference %v, noise %v = %v, %v, want %v", r.N, r.Diff, r.SD, got, err, r.Power)
		}
	}
	for _, r := range ref.TTestN {
		a, err := c.Needed(Target{Margin: r.Diff, Noise: Scatter{SD: r.SD}, Power: r.Power}, groups(2, 1).ByReplicates(), 1000)
		if err != nil || a.N != r.N {
			t.Errorf("n for difference %v, noise %v, power %v = %v, %v, want %v", r.Diff, r.SD, r.Power, a.N, err, r.N)
		}
	}
	for _, r := range ref.TTestDiff {
		// uniroot in power.t.test was asked for 1e-12.
		got, err := c.Detectable(r.Power, r.SD, groups(2, r.N).Precision())
		if err != nil || !near(got, r.Diff, 1e-9) {
			t.Errorf("difference for n = %d, noise %v, power %v = %v, %v, want %v", r.N, r.SD, r.Power, got, err, r.Diff)
		}
	}
}

func TestNeededBlocksAgainstR(t *testing.T) {
	for _, r := range readReferenceR(t).Blocks {
		c := famref{r.Family, r.Treatments, 0.05}.comparison(t)
		d := Design{Treatments: r.Treatments, Blocks: 1, Replicates: r.Replicates, Drift: r.Drift, OwnDrift: r.Own, Efficiency: r.Efficiency}
		target := Target{Margin: r.Margin, Noise: Scatter{SD: r.SD}, Power: r.Wanted}
		a, err := c.Needed(target, d.ByBlocks(), 1000)
		if err != nil || a.N != r.Blocks || a.DF != r.DF || a.Short {
			t.Errorf("%+v: Needed = %+v, %v", r, a, err)
			continue
		}
		// qtukey is good to about 1e-9 here, and so is Dunnett's double integrate.
		if !near(a.Critical, r.Critical, 1e-7) || !near(a.Power, r.Power, 1e-7) {
			t.Errorf("%+v: critical %v, power %v", r, a.Critical, a.Power)
		}
		most := a.N - 1
		_, err = c.Needed(target, d.ByBlocks(), most)
		if short, ok := errors.AsType[*UnaffordableError](err); !ok {
			t.Errorf("%+v: with at most %d: %v, want an UnaffordableError", r, most, err)
		} else if short.Best.N != most || short.Best.Power >= r.Wanted || short.Best.Power < r.Wanted-0.2 || !short.Best.Short {
			t.Errorf("%+v: the best of at most %d is %+v", r, most, short.Best)
		}
	}
}

func TestMoreBlocksAgainstR(t *testing.T) {
	for _, r := range readReferenceR(t).More {
		c := famref{r.Family, r.Treatments, 0.05}.comparison(t)
		d := Design{Treatments: r.Treatments, Blocks: 1, Replicates: r.Replicates, OwnDrift: r.Own}
		a, err := c.Needed(Target{Margin: r.Margin, Noise: Scatter{SD: r.SD}, Power: r.Wanted}, d.MoreBlocks(Precision{SE: r.SE, DF: r.DF0}), 1000)
		if err != nil || a.N != r.More || a.DF != r.DF || !near(a.Power, r.Power, 1e-7) {
			t.Errorf("%+v: Needed = %+v, %v", r, a, err)
		}
	}
}

func TestNeededIsTheSmallest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Test{Family: compare.Single{}, Alpha: rapid.SampledFrom([]float64{0.01, 0.05, 0.2}).Draw(t, "alpha")}
		d := Design{
			Treatments: rapid.IntRange(2, 6).Draw(t, "treatments"),
			Blocks:     1,
			Replicates: rapid.IntRange(1, 3).Draw(t, "replicates"),
			Drift:      rapid.IntRange(0, 2).Draw(t, "drift"),
		}
		target := Target{
			Goal:   rapid.SampledFrom([]Goal{Find, Equal, Settle}).Draw(t, "goal"),
			Margin: rapid.Float64Range(0.3, 8).Draw(t, "margin"),
			Noise:  Scatter{SD: 1},
			Power:  rapid.Float64Range(0.5, 0.99).Draw(t, "power"),
		}
		g := d.ByBlocks()
		a, err := c.Needed(target, g, 5000)
		if err != nil {
			t.Fatal(err)
		}
		if a.Power < target.Power || a.Short {
			t.Errorf("%d blocks are said to do and reach %v of %v", a.N, a.Power, target.Power)
		}
		if a.N == g.Least {
			return
		}
		fewer, err := c.Reach(target, g.At(a.N-1))
		if !errors.Is(err, ErrNoDF) && (err != nil || fewer.Power >= target.Power) {
			t.Errorf("%d blocks needed, but %d reach %v of %v (%v)", a.N, a.N-1, fewer.Power, target.Power, err)
		}
	})
}

func TestUnaffordable(t *testing.T) {
	c := Test{Family: compare.Pairs{Levels: 4}, Alpha: 0.05}
	target := Target{Margin: 0.5, Noise: Scatter{SD: 1.5}, Power: 0.9}
	d := groups(4, 1)

	_, err := c.Needed(target, d.ByReplicates(), 12)
	short, ok := errors.AsType[*UnaffordableError](err)
	if !ok {
		t.Fatalf("Needed = %v, want an UnaffordableError", err)
	}
	if short.Most != 12 || short.Wanted != 0.9 || short.Best.N != 12 || short.Best.DF != 44 || short.Best.Detectable <= 0.5 {
		t.Errorf("error %+v", short)
	}
	if !strings.HasPrefix(err.Error(), "no affordable number would do: 12 reach power 0.0") {
		t.Errorf("error reads %q", err)
	}

	// One replicate leaves nothing to estimate the noise on.
	_, err = c.Needed(target, d.ByReplicates(), 1)
	if short, ok = errors.AsType[*UnaffordableError](err); !ok || short.Best.DF != 0 || short.Best.Power != 0 {
		t.Errorf("Needed = %v, want an UnaffordableError without power", err)
	} else if want := "no affordable number would do: 1 leave no degrees of freedom for the noise"; err.Error() != want {
		t.Errorf("error reads %q, want %q", err, want)
	}

	if _, err = c.Needed(Target{Margin: 1, Power: 0.9}, d.ByReplicates(), 5); !errors.Is(err, ErrNoNoise) {
		t.Errorf("Needed without noise = %v, want %v", err, ErrNoNoise)
	}
}

func TestCurve(t *testing.T) {
	c := Test{Family: compare.Single{}, Alpha: 0.05}
	target := Target{Margin: 1, Noise: Scatter{SD: 1}, Power: 0.9}
	var curve []Answer
	for n := 1; n <= 23; n++ {
		a, err := c.Reach(target, groups(2, 1).ByReplicates().At(n))
		if errors.Is(err, ErrNoDF) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		a.N, a.Short = n, !(a.Power >= target.Power)
		curve = append(curve, a)
	}
	if len(curve) != 22 || curve[0].N != 2 || curve[21].N != 23 {
		t.Fatalf("curve of %d points from %d: one run at each level has no degrees of freedom, the rest have", len(curve), curve[0].N)
	}
	for i, a := range curve {
		if i > 0 && a.Power <= curve[i-1].Power {
			t.Errorf("power falls at %d", a.N)
		}
		// power.t.test: 23 is the first n to reach 0.9, see reference_r.json.
		if a.Short != (a.N < 23) {
			t.Errorf("n = %d: short is %v", a.N, a.Short)
		}
		if (a.Detectable > target.Margin) != a.Short {
			t.Errorf("n = %d: detectable %v, short %v", a.N, a.Detectable, a.Short)
		}
	}
}

func TestAssuranceAgainstReference(t *testing.T) {
	for _, r := range readReference(t).Assurance {
		c := r.comparison(t)
		p := Precision{SE: 0.5, DF: r.DF}
		target := Target{Margin: r.Margin * 0.5 * 3, Noise: Scatter{SD: 3, DF: r.NoiseDF}, Power: 0.9}
		if got, err := c.Assurance(target, p); err != nil || !near(got, r.Assurance, 1e-11) {
			t.Errorf("%+v: Assurance = %v, %v", r, got, err)
		}
	}
}

func TestNoiseAgainstReference(t *testing.T) {
	for _, r := range readReference(t).Noise {
		n := Scatter{SD: 2, DF: r.DF}
		low, high := n.Interval(r.Confidence)
		if !relative(low, 2*r.Low, 1e-12) || !relative(high, 2*r.High, 1e-12) {
			t.Errorf("Interval(%v) with %v df = %v, %v, want %v, %v", r.Confidence, r.DF, low, high, 2*r.Low, 2*r.High)
		}
		if got := n.Upper(r.Confidence); !relative(got, 2*r.Upper, 1e-12) {
			t.Errorf("Upper(%v) with %v df = %v, want %v", r.Confidence, r.DF, got, 2*r.Upper)
		}
	}
	for _, df := range []float64{0, math.Inf(1)} {
		n := Scatter{SD: 2, DF: df}
		if low, high := n.Interval(0.9); low != 2 || high != 2 || n.Upper(0.8) != 2 {
			t.Errorf("noise assumed: interval %v, %v, upper %v, want 2", low, high, n.Upper(0.8))
		}
	}
}

func TestRange(t *testing.T) {
	c := Test{Family: compare.Pairs{Levels: 4}, Alpha: 0.05}
	d := Design{Treatments: 4, Blocks: 1, Replicates: 2, Drift: 1}
	target := Target{Margin: 2, Noise: Scatter{SD: 1.5, DF: 24}, Power: 0.9}
	r, err := c.Range(target, d.ByBlocks(), 200, 0.95)
	if err != nil {
		t.Fatal(err)
	}
	// reference_r.json: 9 blocks at the estimate.
	if r.Likely.N != 9 || !(r.Low.N < r.Likely.N && r.Likely.N < r.Assured.N && r.Assured.N < r.High.N) {
		t.Errorf("blocks %d, %d, %d, assured %d", r.Low.N, r.Likely.N, r.High.N, r.Assured.N)
	}
	// The assured number is the first whose average power suffices.
	for n, want := range map[int]bool{r.Assured.N: true, r.Assured.N - 1: false} {
		got, err := c.Assurance(target, d.ByBlocks().At(n))
		if err != nil || (got >= target.Power) != want {
			t.Errorf("assurance of %d blocks = %v, %v", n, got, err)
		}
	}

	// Noise that is assumed leaves nothing open.
	target.Noise.DF = 0
	if r, err = c.Range(target, d.ByBlocks(), 200, 0.95); err != nil || r.Low != r.Likely || r.High != r.Likely || r.Assured != r.Likely {
		t.Errorf("range for assumed noise %+v, %v", r, err)
	}
	// What cannot be afforded is said, not an error.
	target.Noise.DF = 24
	if r, err = c.Range(target, d.ByBlocks(), 9, 0.95); err != nil || r.Low.Short || r.Likely.Short || !r.High.Short || !r.Assured.Short || r.High.N != 9 {
		t.Errorf("range with at most 9: %+v, %v", r, err)
	}
}
