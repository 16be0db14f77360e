package mixed

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"fairrun/stats/law"
	"fairrun/stats/linmod"
)

// plotCase is a case of testdata/plots.json, made by plots.R.
type plotCase struct {
	Y         []float64
	B, V, N   []string
	WithinSS  float64   `json:"within_ss"`
	WithinDF  float64   `json:"within_df"`
	BetweenSS float64   `json:"between_ss"`
	BetweenDF int       `json:"between_df"`
	MS        []float64 `json:"aov_ms"` // between and within, where no run is lost
	Name      []string
	SE        []float64
}

// TestPivotAgainstR has sums of squares agree with R's aov, lm and lme4 in whole and in part.
func TestPivotAgainstR(t *testing.T) {
	data, err := os.ReadFile("testdata/plots.json")
	if err != nil {
		t.Fatal(err)
	}
	var all []plotCase
	if err := json.Unmarshal(data, &all); err != nil {
		t.Fatal(err)
	}
	varieties := []string{"Golden.rain", "Marvellous", "Victory"}
	doses := []string{"0.0cwt", "0.2cwt", "0.4cwt", "0.6cwt"}
	for k, c := range all {
		near := func(what string, got, want float64) {
			t.Helper()
			if !(math.Abs(got-want) <= 1e-9*math.Abs(want)) {
				t.Errorf("case %d: %s = %.15g, want %.15g", k, what, got, want)
			}
		}
		b, v := coded("b", c.B, "I", "II", "III", "IV", "V", "VI"), coded("v", c.V, varieties...)
		m := Model{Fixed: linmod.Model{Blocks: []linmod.Factor{b}, Factors: []linmod.Factor{v, coded("n", c.N, doses...)}, Order: 2},
			Random: []linmod.Factor{Crossed(b, v)}}
		r, err := Fit(m, c.Y)
		if err != nil {
			t.Fatal(err)
		}
		means, err := r.Means(0, 1)
		if err != nil {
			t.Fatal(err)
		}
		p, ok := means.Pivot()
		if !ok {
			t.Fatalf("case %d: no pivot", k)
		}
		between := 0.0
		for _, z := range p.strata.Square {
			between += z
		}
		near("sum of squares within", p.strata.SS, c.WithinSS)
		near("degrees of freedom within", p.strata.DF, c.WithinDF)
		near("sum of squares between", between, c.BetweenSS)
		near("degrees of freedom between", float64(len(p.strata.Square)), float64(c.BetweenDF))
		if c.MS == nil {
			continue
		}
		within, plot := p.strata.Variances()
		near("mean square between", within+4*plot, c.MS[0])
		near("mean square within", within, c.MS[1])
		at := map[string]int{}
		for i, l := range means.Levels {
			at[varieties[l[0]]+" "+doses[l[1]]] = i
		}
		for i, name := range c.Name {
			first, second, _ := strings.Cut(name, " - ")
			se := p.SE(at[first], at[second])
			if math.Abs(se/c.SE[i]-1) > 1e-6 {
				t.Errorf("%s: standard error %v, lme4 has %v", name, se, c.SE[i])
			}
			if across := strings.Fields(first)[0] != strings.Fields(second)[0]; across != p.Across(at[first], at[second]) {
				t.Errorf("%s: across is %v", name, !across)
			}
		}
	}
}

// TestPivotWhere has only families that mix strata get one.
func TestPivotWhere(t *testing.T) {
	l := plotLayout{hard: 2, easy: 3, blocks: 3, runs: 2}
	m, y := l.make(rand.New(rand.NewPCG(1, 1)))
	r, err := Fit(m, y)
	if err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		factors []int
		want    bool
	}{"hard": {[]int{0}, false}, "easy": {[]int{1}, false}, "both": {[]int{0, 1}, true}, "turned": {[]int{1, 0}, true}} {
		means, err := r.Means(c.factors...)
		if err != nil {
			t.Fatal(err)
		}
		if _, got := means.Pivot(); got != c.want {
			t.Errorf("%s: %v", name, got)
		}
	}
	packs := Model{Fixed: linmod.Model{Factors: m.Fixed.Factors, Order: 2}, Random: []linmod.Factor{m.Fixed.Blocks[0], m.Random[0]}}
	if r, err = Fit(packs, y); err != nil {
		t.Fatal(err)
	}
	means, _ := r.Means(0, 1)
	if _, got := means.Pivot(); got {
		t.Error("two random factors have a pivot")
	}
}

// plotLayout is a split plot: in each block a whole plot of each hard level, in it each easy level some times.
type plotLayout struct {
	hard, easy, blocks, runs int
	sd                       float64 // between whole plots; runs have 1
	lost                     float64 // of the runs
}

// make makes the model and a response without effects.
func (l plotLayout) make(rng *rand.Rand) (Model, []float64) {
	named := func(name string, levels int) linmod.Factor {
		f := linmod.Factor{Name: name}
		for i := range levels {
			f.Levels = append(f.Levels, fmt.Sprint(i))
		}
		return f
	}
	block, hard, easy, plot := named("block", l.blocks), named("hard", l.hard), named("easy", l.easy), named("plot", l.blocks*l.hard)
	var y []float64
	for b := range l.blocks {
		for h := range l.hard {
			w := l.sd * rng.NormFloat64()
			for e := range l.easy {
				for range l.runs {
					if rng.Float64() < l.lost {
						continue
					}
					block.Code, hard.Code, easy.Code = append(block.Code, int32(b)), append(hard.Code, int32(h)), append(easy.Code, int32(e))
					plot.Code = append(plot.Code, int32(b*l.hard+h))
					y = append(y, w+rng.NormFloat64())
				}
			}
		}
	}
	return Model{Fixed: linmod.Model{Blocks: []linmod.Factor{block}, Factors: []linmod.Factor{hard, easy}, Order: 2}, Random: []linmod.Factor{plot}}, y
}

// pairsOf are all pairs that can be estimated.
func pairsOf(means *Means, p *Pivot) (of []law.Contrast, rows [][]float64) {
	for i := range means.N {
		for j := range i {
			row := make([]float64, len(means.N))
			row[i], row[j] = 1, -1
			if means.Contrasts([][]float64{row}).Estimable[0] {
				of, rows = append(of, p.Contrast(i, j)), append(rows, row)
			}
		}
	}
	return of, rows
}

// TestPivotInvariant has neither the unit of the response nor its offset move the law.
func TestPivotInvariant(t *testing.T) {
	m, y := plotLayout{hard: 3, easy: 2, blocks: 4, runs: 2, sd: 1, lost: 0.2}.make(rand.New(rand.NewPCG(3, 3)))
	critical := func(y []float64) (c [2]float64, se float64) {
		r, err := Fit(m, y)
		if err != nil {
			t.Fatal(err)
		}
		means, _ := r.Means(0, 1)
		p, ok := means.Pivot()
		if !ok {
			t.Fatal("no pivot")
		}
		of, _ := pairsOf(means, p)
		return p.Law(of, false, law.PivotPoints).Critical(0.05), of[0].SE
	}
	c, se := critical(y)
	scaled := make([]float64, len(y))
	for i, v := range y {
		scaled[i] = 1e4 + 1e-3*v
	}
	d, small := critical(scaled)
	if math.Abs(c[0]/d[0]-1) > 1e-5 || math.Abs(c[1]/d[1]-1) > 1e-5 || math.Abs(small/se*1e3-1) > 1e-6 {
		t.Errorf("critical values %v and %v, standard errors %v and %v", c, d, se, small)
	}
}
