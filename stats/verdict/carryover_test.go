package verdict

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
)

// lettered is a factor whose levels are the letters of a text, one a row.
func lettered(name, text string) linmod.Factor {
	f := linmod.Factor{Name: name}
	for _, c := range text {
		f.Code = append(f.Code, int32(c-'A'))
	}
	for i := range slices.Max(f.Code) + 1 {
		f.Levels = append(f.Levels, string('A'+i))
	}
	return f
}

// cycled is a factor of n levels, each for so many rows in turn.
func cycled(name string, n, each, rows int) linmod.Factor {
	f := linmod.Factor{Name: name}
	for i := range n {
		f.Levels = append(f.Levels, strconv.Itoa(i+1))
	}
	for row := range rows {
		f.Code = append(f.Code, int32(row/each%n))
	}
	return f
}

func column(values string) *decimal.Column {
	c := &decimal.Column{}
	for _, v := range strings.Fields(values) {
		if v == "-" {
			c.AppendMissing()
		} else if err := c.Append([]byte(v)); err != nil {
			panic(err)
		}
	}
	return c
}

// feeding are the milk yields of Cochran & Cox 1957, 4.6a, from memory: six cows, three periods, in two squares.
func feeding() Data {
	d := Data{
		Treatments: []linmod.Factor{lettered("feed", "ABCBCACABACBBACCBA")},
		Blocks:     []linmod.Factor{cycled("cow", 6, 3, 18), cycled("period", 3, 1, 18)},
		Responses:  []Measured{{Name: "milk", Values: column("38 25 15 109 86 39 124 72 27 86 76 46 75 35 34 101 63 1")}},
	}
	periods := &d.Blocks[1]
	periods.Levels = append(periods.Levels, "4", "5", "6")
	for row := 9; row < 18; row++ {
		periods.Code[row] += 3
	}
	return d
}

// heated are the runs that carryover.R makes up: eight packs of four, one run lost.
func heated() Data {
	position := make([]float64, 32)
	for i := range position {
		position[i] = float64(i%4 + 1)
	}
	return Data{
		Treatments: []linmod.Factor{lettered("level", "ABDCBCADCDBADACBABDCBCADCDBADACB")},
		Blocks:     []linmod.Factor{cycled("pack", 8, 4, 32)},
		Covariates: []linmod.Covariate{{Name: "position", Value: position}},
		Responses: []Measured{{Name: "y", Values: column(`10.2 11.9 15.1 14.0 12.1 13.2 10.9 15.0 12.8 16.1 13.3 11.1 14.9 11.8 13.9 12.8
			10.0 12.2 15.3 14.6 11.8 13.7 11.4 14.8 13.1 15.7 13.0 11.5 15.2 12.1 13.5 -`)}},
	}
}

// Direct, residual and permanent differences, their standard errors and the tests are those of R's lm; of the milk yields the
// sums of squares are also those that Cochran & Cox print: direct 2854.55, carry-over 616.19, error 199.25.
func TestCarryOverAgreesWithR(t *testing.T) {
	text, err := os.ReadFile("testdata/carryover.json")
	if err != nil {
		t.Fatal(err)
	}
	var want map[string]struct {
		DF, SD            float64
		Direct, CarryOver []float64
		Carried           []float64 `json:"carry_over"`
		Pairs             []struct {
			Level, Against              string
			Direct, Residual, Permanent [2]float64
		}
	}
	if err := json.Unmarshal(text, &want); err != nil {
		t.Fatal(err)
	}
	const tolerance = 1e-8
	for name, d := range map[string]Data{"milk": feeding(), "heat": heated()} {
		t.Run(name, func(t *testing.T) {
			v, err := Analyse(t.Context(), d, Request{CarryOver: true})
			if err != nil {
				t.Fatal(err)
			}
			r, w := v.Responses[0], want[name]
			check := func(what string, got Number, want float64) {
				t.Helper()
				if !(math.Abs(float64(got)-want) <= tolerance*(1+math.Abs(want))) {
					t.Errorf("%s: %v, R has %v", what, got, want)
				}
			}
			check("df", r.Noise.DF, w.DF)
			check("sd", r.Noise.SD, w.SD)
			check("F of direct", r.Overall.F, w.Direct[1])
			check("p of direct", r.Overall.P, w.Direct[2])
			check("df of carry-over", r.CarryOver.DF, w.Carried[0])
			check("F of carry-over", r.CarryOver.F, w.Carried[1])
			check("p of carry-over", r.CarryOver.P, w.Carried[2])
			for k, p := range w.Pairs {
				c, m := r.Comparisons[k], r.CarryOver.Differences[k]
				if m.Level != c.Level || m.Against != c.Against {
					t.Fatalf("%s − %s beside %s − %s", m.Level, m.Against, c.Level, c.Against)
				}
				if c.Level != p.Level || c.Against != p.Against {
					t.Fatalf("%s − %s, R has %s − %s", c.Level, c.Against, p.Level, p.Against)
				}
				about := p.Level + " − " + p.Against
				check(about, c.Estimate, p.Direct[0])
				check(about+", se", c.SE, p.Direct[1])
				check(about+", residual", m.Residual, p.Residual[0])
				check(about+", residual se", m.ResidualSE, p.Residual[1])
				check(about+", permanent", m.Permanent, p.Permanent[0])
				check(about+", permanent se", m.PermanentSE, p.Permanent[1])
			}
			if name == "milk" {
				for _, row := range r.ANOVA {
					if ss, known := map[string]float64{"feed": 2854.55, "carry-over": 616.194444, "residual": 199.25}[row.Term]; known && math.Abs(float64(row.SS)-ss) > 1e-6 {
						t.Errorf("%s: %v, the book has %v", row.Term, row.SS, ss)
					}
				}
			}
		})
	}
}

// williams are the treatments of a Williams square, or of the two that an odd number needs, so many times over.
func williams(treatments, times int) (order []int32) {
	first := []int32{0}
	for k := 1; k < treatments; k++ {
		if k%2 == 1 {
			first = append(first, int32((k+1)/2))
		} else {
			first = append(first, int32(treatments-k/2))
		}
	}
	var square []int32
	for shift := range treatments {
		for _, v := range first {
			square = append(square, (v+int32(shift))%int32(treatments))
		}
	}
	if treatments%2 == 1 {
		for shift := range treatments {
			for _, v := range slices.Backward(first) {
				square = append(square, (v+int32(shift))%int32(treatments))
			}
		}
	}
	for range times {
		order = append(order, square...)
	}
	return order
}

// carried is the verdict over a Williams design with any values.
func carried(t *testing.T, treatments, times int, positions bool) *Response {
	t.Helper()
	rng := rand.New(rand.NewPCG(1, uint64(treatments)))
	order := williams(treatments, times)
	n := len(order)
	f := linmod.Factor{Name: "level", Code: order}
	for i := range treatments {
		f.Levels = append(f.Levels, string(rune('A'+i)))
	}
	d := Data{Treatments: []linmod.Factor{f}, Blocks: []linmod.Factor{cycled("pack", n/treatments, treatments, n)}}
	position := cycled("position", treatments, 1, n)
	if positions {
		d.Blocks = append(d.Blocks, position)
	} else {
		c := linmod.Covariate{Name: "position"}
		for _, at := range position.Code {
			c.Value = append(c.Value, float64(at))
		}
		d.Covariates = append(d.Covariates, c)
	}
	var values strings.Builder
	for range n {
		fmt.Fprintf(&values, "%.6f ", rng.NormFloat64())
	}
	d.Responses = []Measured{{Name: "y", Values: column(values.String())}}
	v, err := Analyse(t.Context(), d, Request{CarryOver: true})
	if err != nil {
		t.Fatal(err)
	}
	return &v.Responses[0]
}

// The efficiencies of Williams squares: of direct, residual and permanent differences, over those of a difference with as
// many runs and no residual effects in the model. Methods 5, which agree with Cochran & Cox 4.6a.
func TestEfficiencyOfWilliamsSquares(t *testing.T) {
	for treatments, want := range map[int][3]float64{3: {80, 44.4, 20}, 4: {90.9, 62.5, 28.6}, 5: {94.7, 72, 33.3}, 6: {96.6, 77.8, 36.4}} {
		for _, positions := range []bool{true, false} {
			r := carried(t, treatments, 2, positions)
			ideal := float64(r.Noise.SD) * math.Sqrt(2*float64(treatments)/float64(r.Runs.OK))
			share := func(se Number) float64 { return 100 * math.Pow(ideal/float64(se), 2) }
			c, m := r.Comparisons[0], r.CarryOver.Differences[0]
			for k, got := range []float64{share(c.SE), share(m.ResidualSE), share(m.PermanentSE)} {
				if math.Abs(got-want[k]) > 0.051 {
					t.Errorf("%d treatments, positions %v, %s: %.2f %%, want %.1f", treatments, positions, []string{"direct", "residual", "permanent"}[k], got, want[k])
				}
			}
			if got := 100 * float64(r.CarryOver.Efficiency); math.Abs(got-want[0]) > 0.051 {
				t.Errorf("%d treatments, positions %v: stated efficiency %.2f %%, want %.1f", treatments, positions, got, want[0])
			}
		}
	}
}

// Four treatments in eight packs: variances in units of the noise's, with a line or positions (reference/methods/refs2.json, 5), and
// as many degrees of freedom less as there are treatments but one.
func TestVariancesWithCarryOver(t *testing.T) {
	for _, positions := range []bool{true, false} {
		r := carried(t, 4, 2, positions)
		noise := math.Pow(float64(r.Noise.SD), 2)
		m := r.CarryOver.Differences[0]
		for what, v := range map[string][2]float64{"direct": {float64(r.Comparisons[0].SE), 0.2750}, "residual": {float64(m.ResidualSE), 0.4}, "permanent": {float64(m.PermanentSE), 0.875}} {
			if got := v[0] * v[0] / noise; math.Abs(got-v[1]) > 1e-9 {
				t.Errorf("positions %v, %s: variance %v, want %v", positions, what, got, v[1])
			}
		}
		df := 32.0 - 8 - 1 - 3 - 3
		if positions {
			df -= 2
		}
		if float64(r.Noise.DF) != df {
			t.Errorf("positions %v: %v degrees of freedom, want %v", positions, r.Noise.DF, df)
		}
	}
}

// Carry-over of two fifths of what the setting before did is flagged with its size and what to do; none is not.
func TestCarryOverIsFlagged(t *testing.T) {
	for share, flag := range map[float64]bool{0: false, 0.4: true} {
		rng := rand.New(rand.NewPCG(3, 4))
		order := williams(4, 2)
		f := linmod.Factor{Name: "level", Levels: []string{"A", "B", "C", "D"}, Code: order}
		var values strings.Builder
		for i, now := range order {
			v := 3*float64(now) + rng.NormFloat64()
			if i%4 > 0 {
				v += share * 3 * float64(order[i-1])
			}
			fmt.Fprintf(&values, "%.6f ", v)
		}
		d := Data{Treatments: []linmod.Factor{f}, Blocks: []linmod.Factor{cycled("pack", 8, 4, 32), cycled("position", 4, 1, 32)}, Responses: []Measured{{Name: "y", Values: column(values.String())}}}
		v, err := Analyse(t.Context(), d, Request{})
		if err != nil {
			t.Fatal(err)
		}
		k := slices.IndexFunc(v.Responses[0].Checks, func(c Check) bool { return c.Name == "carry-over" })
		c := v.Responses[0].Checks[k]
		if c.Flag != flag || !c.P.Known() || flag && !strings.Contains(c.Message, "carry_over = true") {
			t.Errorf("carry-over of %v: %+v, want a flag: %v", share, c, flag)
		}
		if flag && !strings.Contains(c.Message, "takes over some 4") {
			t.Errorf("carry-over of 0.4 of the setting before: %s", c.Message)
		}
	}
}

// The check's p is uniform when nothing is carried over, whatever the settings do and whichever runs are lost.
func TestCarryOverCheckIsExact(t *testing.T) {
	if testing.Short() {
		t.Skip("thousands of fits")
	}
	const campaigns = 8000
	for _, c := range []heatedLevels{{}, {effect: 2}, {effect: 2, lost: 0.15}} {
		rng := rand.New(rand.NewPCG(5, uint64(100*c.effect+10*c.lost)))
		found, made := map[float64]int{}, 0
		for range campaigns {
			one, _ := c.carriedOver(rng)
			if !one.Known() {
				continue
			}
			made++
			for _, level := range []float64{0.01, 0.05, 0.5} {
				if float64(one) < level {
					found[level]++
				}
			}
		}
		for level, n := range found {
			if rate, se := float64(n)/float64(made), math.Sqrt(level*(1-level)/float64(made)); math.Abs(rate-level) > 4*se {
				t.Errorf("%+v: p below %v in %.2f %% of %d campaigns", c, level, 100*rate, made)
			}
		}
	}
}

// Where something is carried over the check is keener than the test of all residual effects: at 1 % it finds two fifths of
// levels two noises apart in 82 to 85 % of campaigns, that one in 58 to 63 (methods 5).
func TestCarryOverCheckIsKeen(t *testing.T) {
	if testing.Short() {
		t.Skip("thousands of fits")
	}
	const campaigns = 3000
	rng := rand.New(rand.NewPCG(5, 9))
	var found, all float64
	for range campaigns {
		one, joint := heatedLevels{effect: 2, share: 0.4}.carriedOver(rng)
		if one < doubt {
			found++
		}
		if joint < doubt {
			all++
		}
	}
	if found, all = 100*found/campaigns, 100*all/campaigns; found < 81 || found > 86 || all < 57 || all > 64 {
		t.Errorf("the check finds %.1f %%, the test of all residual effects %.1f %%", found, all)
	}
}

// heatedLevels are four levels so far apart, in eight packs, of which the next run takes over a share; some runs are lost.
type heatedLevels struct{ effect, share, lost float64 }

// carriedOver is the p of the check over a random campaign, and that of all residual effects.
func (c heatedLevels) carriedOver(rng *rand.Rand) (one, joint Number) {
	order := williams(4, 2)
	y := make([]float64, len(order))
	for i, now := range order {
		y[i] = c.effect*float64(now) + rng.NormFloat64()
		if i%4 > 0 {
			y[i] += c.share * c.effect * float64(order[i-1])
		}
		if rng.Float64() < c.lost {
			y[i] = math.NaN()
		}
	}
	d := Data{Treatments: []linmod.Factor{{Name: "level", Levels: []string{"A", "B", "C", "D"}, Code: order}}, Blocks: []linmod.Factor{cycled("pack", 8, 4, 32), cycled("position", 4, 1, 32)}}
	joint = Unknown
	f, _, err := fitModel(&d, &Request{}, y)
	if err != nil {
		return Unknown, Unknown
	}
	if c.share > 0 {
		g, _, err := fitModel(&d, &Request{CarryOver: true}, y)
		if err != nil {
			return Unknown, Unknown
		}
		for _, row := range g.estimator.anova() {
			if row.Term == linmod.CarryOverTerm {
				joint = row.P
			}
		}
	}
	return checkCarryOver(&d, f, y)[0].P, joint
}
