package law

import (
	"math"
	"testing"
)

// splitPlot is what all combinations of H hard and T easy levels in b blocks with n runs of each in a whole plot lean on, for
// mean squares ms1 between whole plots and ms2 within.
func splitPlot(h, t, b, n int, ms1, ms2 float64) (s *Strata, pairs []Contrast) {
	df1 := (b - 1) * (h - 1)
	df2 := b*h*t*n - b*h - (t - 1) - (t-1)*(h-1)
	size := float64(t * n)
	s = &Strata{SS: ms2 * float64(df2), DF: float64(df2), Runs: []float64{size}, Between: make([][][]float64, 1)}
	for range df1 {
		s.Square, s.Share = append(s.Square, ms1), append(s.Share, size)
	}
	for i := range h {
		for j := range t {
			within, between := make([]float64, h*t), make([]float64, h)
			for k := range t {
				within[i*t+k] = -1 / float64(t) / math.Sqrt(float64(b*n))
			}
			within[i*t+j] += 1 / math.Sqrt(float64(b*n))
			between[i] = 1 / math.Sqrt(float64(b*t*n))
			s.Within, s.Between[0] = append(s.Within, within), append(s.Between[0], between)
		}
	}
	v, w := s.Variances()
	for i := range h * t {
		for j := range i {
			c := Contrast{I: i, J: j, SE: s.SE(i, j, v, w)}
			if i/t == j/t {
				c.In = WithinPlots
			}
			pairs = append(pairs, c)
		}
	}
	return s, pairs
}

// Reference values: counts over 524,288 points, made in numpy apart from this project.
func TestPivots(t *testing.T) {
	for _, c := range []struct {
		layout [4]int
		ms     float64
		want   [2]float64
	}{
		{[4]int{2, 3, 3, 2}, 0.25, [2]float64{3.842, 3.041}},
		{[4]int{2, 3, 3, 2}, 1, [2]float64{4.905, 3.075}},
		{[4]int{2, 3, 3, 2}, 4, [2]float64{5.941, 3.080}},
		{[4]int{2, 3, 3, 2}, 16, [2]float64{6.325, 3.081}},
		{[4]int{3, 2, 4, 1}, 0.25, [2]float64{3.632, 3.113}},
		{[4]int{3, 2, 4, 1}, 1, [2]float64{3.807, 3.216}},
		{[4]int{3, 2, 4, 1}, 4, [2]float64{3.901, 3.291}},
		{[4]int{3, 2, 4, 1}, 16, [2]float64{3.848, 3.310}},
	} {
		s, pairs := splitPlot(c.layout[0], c.layout[1], c.layout[2], c.layout[3], c.ms, 1)
		p := NewPivots(s, pairs, false, PivotPoints)
		got := p.Critical(0.05)
		if math.Abs(got[0]-c.want[0]) > 0.03 || math.Abs(got[1]-c.want[1]) > 0.012 {
			t.Errorf("%v, ratio %v: %v, should be %v", c.layout, c.ms, got, c.want)
		}
		for in, x := range got {
			if adjusted := p.Adjust(Stratum(in), x); math.Abs(adjusted-0.05) > 1e-6 {
				t.Errorf("%v, ratio %v: p at the critical value of 5 %% is %v", c.layout, c.ms, adjusted)
			}
		}
		few := NewPivots(s, pairs, false, FewPivotPoints).Critical(0.05)
		if math.Abs(few[0]/c.want[0]-1) > 0.04 || math.Abs(few[1]/c.want[1]-1) > 0.03 {
			t.Errorf("%v, ratio %v: %v with few points, should be %v", c.layout, c.ms, few, c.want)
		}
	}
}

// Differences in one stratum alone have the laws of one mean square: the studentised range.
func TestPivotsOfOneStratum(t *testing.T) {
	const hard, easy = 3, 4
	s, pairs := splitPlot(hard, easy, 4, 1, 2.5, 1)
	var within, across []Contrast
	v, w := s.Variances()
	for _, c := range pairs {
		if c.In == WithinPlots && c.I < easy {
			within = append(within, c)
		}
	}
	// Averages over the easy levels rest on the mean square between whole plots.
	means := &Strata{Square: s.Square, Share: s.Share, SS: s.SS, DF: s.DF, Runs: s.Runs, Between: make([][][]float64, 1)}
	for i := range hard {
		means.Within = append(means.Within, nil)
		means.Between[0] = append(means.Between[0], s.Between[0][i*easy])
	}
	for i := range hard {
		for j := range i {
			across = append(across, Contrast{I: i, J: j, SE: means.SE(i, j, v, w), In: AcrossPlots})
		}
	}
	for _, c := range []struct {
		name     string
		p        *Pivots
		in       Stratum
		groups   int
		df       float64
		pairwise Contrast
	}{
		{"within", NewPivots(s, within, false, PivotPoints), WithinPlots, easy, s.DF, within[0]},
		{"across", NewPivots(means, across, false, PivotPoints), AcrossPlots, hard, float64(len(s.Square)), across[0]},
	} {
		for _, alpha := range []float64{0.2, 0.05, 0.01} {
			want := StudentizedRange{Groups: c.groups, DF: c.df}.UpperQuantile(alpha) / math.Sqrt2
			if got := c.p.Critical(alpha)[c.in]; math.Abs(got/want-1) > 0.004 {
				t.Errorf("%s, alpha %v: %v, should be %v", c.name, alpha, got, want)
			}
		}
		for _, x := range []float64{0.5, 2, 4} {
			want := 2 * T{DF: c.df}.Survival(x)
			if got := c.p.Alone(c.pairwise, x); math.Abs(got/want-1) > 1e-3 {
				t.Errorf("%s: p of t = %v alone is %v, should be %v", c.name, x, got, want)
			}
		}
	}
}

// One-sided, half of the chance lies on either side.
func TestPivotsOneSided(t *testing.T) {
	s, pairs := splitPlot(2, 2, 3, 1, 2, 1)
	p := NewPivots(s, pairs[:1], true, PivotPoints)
	two := NewPivots(s, pairs[:1], false, PivotPoints)
	in := pairs[0].In
	if one, both := p.Critical(0.025)[in], two.Critical(0.05)[in]; math.Abs(one/both-1) > 5e-3 {
		t.Errorf("one-sided 2.5 %%: %v, two-sided 5 %%: %v", one, both)
	}
	if got := p.Adjust(in, -1); got != 1 {
		t.Errorf("p of a level that is worse: %v", got)
	}
}

// Where whole plots differ in their shares σw² makes the sum of squares what the odds say, and no variance is negative.
func TestStrataRatios(t *testing.T) {
	s := &Strata{Square: []float64{0.4, 3, 0.01, 7}, Share: []float64{2, 3.5, 4, 1.2}, SS: 10, DF: 9, Runs: []float64{5, 4}}
	odds := oddsAt(2, 4.5, 1<<10)
	for k, x := range s.ratios(odds) {
		sum := 0.0
		for i, z := range s.Square {
			sum += z / (1 + s.Share[i]*x)
		}
		switch {
		case x < -0.2:
			t.Fatalf("odds %v: %v makes a variance negative", odds[k], x)
		case x > -0.2 && math.Abs(sum/(s.SS*odds[k])-1) > 1e-6, x == -0.2 && sum > s.SS*odds[k]*(1+1e-6):
			t.Fatalf("odds %v: %v gives %v, should give %v", odds[k], x, sum, s.SS*odds[k])
		}
	}
}

func TestLogOdds(t *testing.T) {
	for _, c := range [][2]float64{{0.5, 0.5}, {1, 13}, {2.5, 60}, {12, 3}, {0.5, 200}} {
		table := newLogOdds(c[0], c[1])
		for _, p := range []float64{1e-9, 1e-4, 0.03, 0.5, 0.9, 0.999} {
			x := Beta{c[0], c[1]}.UpperQuantile(p)
			l := math.Log(x / (1 - x))
			if y := (Beta{c[1], c[0]}).Quantile(p); y < 1e-3 {
				l = math.Log((1 - y) / y)
			}
			got, _ := table.both(l)
			if math.Abs(got/p-1) > 1e-4 {
				t.Errorf("beta %v: %v beyond %v, should be %v", c, got, l, p)
			}
		}
		for k, odds := range table.quantiles(64) {
			want := Beta{c[0], c[1]}.CDF(odds / (1 + odds))
			if p := (float64(k) + 0.5) / 64; math.Abs(p-want) > 1e-7 {
				t.Errorf("beta %v: %v below odds %v, should be %v", c, want, odds, p)
			}
		}
	}
}
