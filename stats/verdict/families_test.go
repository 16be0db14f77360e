package verdict

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"fairrun/stats/compare"
	"fairrun/stats/law"
)

// familyCase is one case of testdata/families.json, made by families.R.
type familyCase struct {
	CSV        string
	Response   string
	Treatments []string
	Covariates []string
	Factor     string
	Weights    map[string]map[string]float64
	Critical   float64
	Contrasts  []familyLine
	Effects    []familyLine
	Levels     []familyLine
}

// familyLine is one comparison or contrast.
type familyLine struct {
	Name, Factor, Level, Against, At string
	Estimate, SE, DF, T, P           float64
	Adjusted                         float64 `json:"p_adjusted"`
	Low, High                        float64
}

// read returns the case's data.
func (c familyCase) read(t *testing.T) Data {
	t.Helper()
	var r referenceCase
	r.Request.Response, r.Request.Treatments, r.Request.Covariates, r.Request.Scale = c.Response, c.Treatments, c.Covariates, Raw
	return dataFor(t, readColumns(t, filepath.Join(referenceDir, c.CSV)), r)
}

// ask answers a request on the case's data.
func (c familyCase) ask(t *testing.T, d Data, q Request) Response {
	t.Helper()
	v, err := Analyse(context.Background(), d, q)
	if err != nil {
		t.Fatal(err)
	}
	return v.Responses[0]
}

// agree fails unless two numbers agree to a relative 1e-9 of want or unit.
func agree(t *testing.T, what string, got Number, want, unit float64) {
	t.Helper()
	if !(math.Abs(float64(got)-want) <= 1e-9*max(math.Abs(want), unit)) {
		t.Errorf("%s = %.15g, want %.15g", what, float64(got), want)
	}
}

// lawUnit is the size against which R's multivariate t and ptukey are good to nine digits.
const lawUnit = 1.0

func readFamilies(t *testing.T) (ref struct {
	Trends                []familyCase
	Chosen, Simple, Table familyCase
	Best                  []familyCase
	Across                struct {
		CSV                   string
		Rows                  []int // from 1
		Treatments, Responses []string
		P, Holm, Hochberg     []float64
	}
}) {
	t.Helper()
	text, err := os.ReadFile("testdata/families.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &ref); err != nil {
		t.Fatal(err)
	}
	if len(ref.Trends) != 2 || len(ref.Best) != 2 || len(ref.Simple.Effects) != 9 || len(ref.Chosen.Contrasts) != 2 || len(ref.Across.P) != 4 {
		t.Fatal("families.json lacks a case")
	}
	return ref
}

func checkContrasts(t *testing.T, got []Contrast, factor string, want []familyLine) {
	t.Helper()
	for _, w := range want {
		k := slices.IndexFunc(got, func(c Contrast) bool { return c.Name == w.Name && inR(c.Factors) == factor })
		if k < 0 {
			t.Errorf("no contrast %q of %s", w.Name, factor)
			continue
		}
		c := got[k]
		agree(t, w.Name, c.Estimate, w.Estimate, 0)
		agree(t, w.Name+" se", c.SE, w.SE, 0)
		agree(t, w.Name+" df", c.DF, w.DF, 0)
		agree(t, w.Name+" t", c.T, w.T, 0)
		agree(t, w.Name+" p", c.P, w.P, 0)
		agree(t, w.Name+" adjusted p", c.PAdjusted, w.Adjusted, lawUnit)
		agree(t, w.Name+" low", c.Low, w.Low, w.SE)
		agree(t, w.Name+" high", c.High, w.High, w.SE)
	}
}

func TestTrends(t *testing.T) {
	for _, c := range readFamilies(t).Trends {
		factor := c.Treatments[0]
		checkContrasts(t, c.ask(t, c.read(t), Request{}).Contrasts, factor, c.Contrasts)
	}
}

func TestChosenContrasts(t *testing.T) {
	c := readFamilies(t).Chosen
	var q Request
	for _, w := range c.Contrasts {
		q.Contrasts = append(q.Contrasts, Chosen{Name: w.Name, Factors: Factors{"spray"}, Weights: c.Weights[w.Name]})
	}
	r := c.ask(t, c.read(t), q)
	checkContrasts(t, r.Contrasts, "spray", c.Contrasts)
}

func TestSimpleEffects(t *testing.T) {
	c := readFamilies(t).Simple
	r := c.ask(t, c.read(t), Request{Interactions: true})
	if len(r.Simple) != len(c.Effects) {
		t.Fatalf("%d simple effects, want %d", len(r.Simple), len(c.Effects))
	}
	for _, w := range c.Effects {
		k, sign := -1, Number(1)
		for i, e := range r.Simple {
			switch {
			case inR(e.Factors) != w.Factor || e.At != w.At:
			case e.Level == w.Level && e.Against == w.Against:
				k = i
			case e.Level == w.Against && e.Against == w.Level:
				k, sign = i, -1
			}
		}
		what := fmt.Sprintf("%s %s against %s at %s", w.Factor, w.Level, w.Against, w.At)
		if k < 0 {
			t.Errorf("no %s", what)
			continue
		}
		got := r.Simple[k]
		low, high := got.Low, got.High
		if sign < 0 {
			low, high = -got.High, -got.Low
		}
		agree(t, what, sign*got.Estimate, w.Estimate, 0)
		agree(t, what+" se", got.SE, w.SE, 0)
		agree(t, what+" p", got.P, w.P, 0)
		agree(t, what+" adjusted p", got.PAdjusted, w.Adjusted, lawUnit)
		// qtukey stops at 1e-4 of its quantile.
		if math.Abs(float64(low)-w.Low) > 1e-4*w.SE || math.Abs(float64(high)-w.High) > 1e-4*w.SE {
			t.Errorf("%s: [%v, %v], want [%v, %v]", what, low, high, w.Low, w.High)
		}
	}
}

// TestBest compares with the best, the larger and, by negated readings, the smaller.
func TestBest(t *testing.T) {
	for _, c := range readFamilies(t).Best {
		d := c.read(t)
		d.Responses[0].Better = "higher"
		r := c.ask(t, d, Request{Compare: Best})
		if len(r.Comparisons) != len(c.Levels) {
			t.Fatalf("%d comparisons, want %d", len(r.Comparisons), len(c.Levels))
		}
		var candidates []string
		for i, w := range c.Levels {
			got := r.Comparisons[i]
			if got.Level != w.Level {
				t.Fatalf("level %q, want %q", got.Level, w.Level)
			}
			agree(t, w.Level, got.Estimate, w.Estimate, 0)
			agree(t, w.Level+" low", got.Low, w.Low, float64(got.SE))
			agree(t, w.Level+" high", got.High, w.High, float64(got.SE))
			agree(t, w.Level+" adjusted p", got.PAdjusted, w.Adjusted, lawUnit)
			if w.High >= 0 {
				candidates = append(candidates, w.Level)
			}
		}
		if !slices.Equal(r.Best, candidates) {
			t.Errorf("best = %q, want %q", r.Best, candidates)
		}

		columns := readColumns(t, filepath.Join(referenceDir, c.CSV))
		for i, cell := range columns[c.Response] {
			columns[c.Response][i] = "-" + cell
		}
		d.Responses[0].Values, d.Responses[0].Better = decimals(t, columns[c.Response]), "lower"
		mirror := c.ask(t, d, Request{Compare: Best})
		for i, got := range r.Comparisons {
			m := mirror.Comparisons[i]
			agree(t, got.Level+" mirrored low", -m.High, float64(got.Low), float64(got.SE))
			agree(t, got.Level+" mirrored high", -m.Low, float64(got.High), float64(got.SE))
			if m.Verdict != got.Verdict {
				t.Errorf("%s is %q, mirrored %q", got.Level, got.Verdict, m.Verdict)
			}
		}
	}
}

// TestAcrossResponses adjusts the overall tests of four responses as p.adjust does.
func TestAcrossResponses(t *testing.T) {
	c := readFamilies(t).Across
	columns := readColumns(t, filepath.Join(referenceDir, c.CSV))
	for name, cells := range columns {
		var kept []string
		for _, row := range c.Rows {
			kept = append(kept, cells[row-1])
		}
		columns[name] = kept
	}
	var d Data
	d.Treatments = append(d.Treatments, factorOf("Species", columns["Species"]))
	for _, name := range c.Responses {
		d.Responses = append(d.Responses, Measured{Name: name, Scale: Raw, Values: decimals(t, columns[name])})
	}
	v, err := Analyse(context.Background(), d, Request{})
	if err != nil {
		t.Fatal(err)
	}
	for i, r := range v.Responses {
		agree(t, r.Name+" p", r.Overall.P, c.P[i], 0)
		agree(t, r.Name+" Holm", r.Overall.PHolm, c.Holm[i], 0)
		agree(t, r.Name+" Benjamini-Hochberg", r.Overall.PHochberg, c.Hochberg[i], 0)
	}
}

// TestMainEffectsNotAlone: with a real interaction the verdict says that main effects must not be
// read alone, names it, and compares within slices; with none it says so.
func TestMainEffectsNotAlone(t *testing.T) {
	c := readFamilies(t).Simple
	r := c.ask(t, c.read(t), Request{Interactions: true}) // R: p of wool:tension 0.0210
	got := checkNamed(t, r, "factors together")
	for _, part := range []string{"wool × tension (p = 0.021)", "must not be read alone", "with the others held"} {
		if !strings.Contains(got.Message, part) {
			t.Errorf("the message %q lacks %q", got.Message, part)
		}
	}
	if !got.Flag {
		t.Error("a real interaction is not flagged")
	}
	if r.Read == nil || r.Read.Of != ReadCombinations || !strings.Contains(r.Read.Why, "wool × tension (p = 0.021)") {
		t.Errorf("what to read: %+v", r.Read)
	}

	c.CSV, c.Response, c.Treatments = "npk.csv", "yield", []string{"N", "P"} // R: p of N:P 0.430
	r = c.ask(t, c.read(t), Request{Interactions: true})
	if got := checkNamed(t, r, "factors together"); got.Flag || !strings.Contains(got.Message, "add up") {
		t.Errorf("no interaction is clear of chance, but the check is %+v", got)
	}
	if r.Read == nil || r.Read.Of != ReadAverages || !strings.Contains(r.Read.Why, "smallest p = 0.430") {
		t.Errorf("what to read: %+v", r.Read)
	}
	if len(r.Simple) != 0 {
		t.Errorf("%d simple effects without an interaction", len(r.Simple))
	}
}

// TestAveragesBesideCombinations: in a balanced factorial the averages of a factor are plain means of its runs, compared as a
// family of the factor's levels by the noise of the full model. R: ?TukeyHSD has -10, -14.722 and -5.778 for these differences.
func TestAveragesBesideCombinations(t *testing.T) {
	c := readFamilies(t).Simple
	r := c.ask(t, c.read(t), Request{Interactions: true})
	want := map[[2]string]float64{{"L", "M"}: 10, {"H", "L"}: 14.7222222222222, {"A", "B"}: 5.77777777777778}
	seen := 0
	for _, m := range r.Comparisons {
		pair := []string{m.Level, m.Against}
		slices.Sort(pair)
		w, known := want[[2]string(pair)]
		if !known {
			continue
		}
		seen++
		agree(t, m.Level, Number(math.Abs(float64(m.Estimate))), w, 0)
		levels := 3
		if m.Factors[0] == "wool" {
			levels = 2
		}
		agree(t, m.Level+" se", m.SE, float64(r.Noise.SD)*math.Sqrt(2*float64(levels)/54), 0)
		q := law.StudentizedRange{Groups: levels, DF: 48}
		agree(t, m.Level+" p", m.PAdjusted, q.Survival(math.Sqrt2*math.Abs(float64(m.T))), 0)
	}
	if seen != 3 {
		t.Errorf("%d averages compared, want 3", seen)
	}
	if first := r.Comparisons[0].Factors; len(first) != 2 {
		t.Errorf("the combinations do not stand first, but %v", first)
	}
	for _, b := range r.Best {
		t.Errorf("without a direction %q is called best", b)
	}
}

// TestEmptyCells: a combination without a run is named, its comparisons are not made, no number
// stands for it, and the others are judged.
func TestEmptyCells(t *testing.T) {
	c := readFamilies(t).Simple
	c.CSV = "warpbreaks_empty.csv" // without B H
	r := c.ask(t, c.read(t), Request{Interactions: true})
	if got := checkNamed(t, r, "empty level"); !got.Flag || !strings.Contains(got.Message, `"B H" has no good run`) {
		t.Errorf("the empty cell is said as %+v", got)
	}
	for _, m := range r.Means {
		if lacking := m.Level == "B H" || m.Level == "B" || m.Level == "H"; m.Estimate.Known() == lacking {
			t.Errorf("mean of %s %s = %v", m.Factors.Term(), m.Level, m.Estimate)
		}
	}
	if len(r.Comparisons) != 11 { // pairs among five combinations, and the two levels of tension that average over both wools
		t.Errorf("%d comparisons, want 11", len(r.Comparisons))
	}
	for _, m := range r.Comparisons {
		if !m.Low.Known() || m.Level == "B H" || m.Against == "B H" || m.Level == "H" || m.Level == "B" {
			t.Errorf("%+v", m)
		}
	}
	// Without interactions every mean can be had.
	r = c.ask(t, c.read(t), Request{})
	for _, m := range r.Means {
		if !m.Estimate.Known() {
			t.Errorf("mean of %s %s is unknown", m.Factors.Term(), m.Level)
		}
	}
}

// TestConfoundedInteraction: in npk the interaction of all three factors is that between blocks:
// it is said to be inseparable, and no NaN stands for it.
func TestConfoundedInteraction(t *testing.T) {
	c := familyCase{CSV: "npk.csv", Response: "yield", Treatments: []string{"N", "P", "K"}}
	d := c.read(t)
	d.Blocks = append(d.Blocks, factorOf("block", readColumns(t, filepath.Join(referenceDir, c.CSV))["block"]))
	r := c.ask(t, d, Request{Interactions: true})
	if got := checkNamed(t, r, "interaction"); !strings.Contains(got.Message, "N × P × K cannot be distinguished from the blocks") {
		t.Errorf("confounding is said as %q", got.Message)
	}
	text, err := json.Marshal(r)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(text), "NaN") {
		t.Errorf("NaN in %s", text)
	}
	for _, m := range r.Comparisons {
		if m.Verdict == compare.Unresolved && !m.Low.Known() {
			t.Errorf("%s against %s has no interval", m.Level, m.Against)
		}
	}
}

func checkNamed(t *testing.T, r Response, name string) Check {
	t.Helper()
	k := slices.IndexFunc(r.Checks, func(c Check) bool { return c.Name == name })
	if k < 0 {
		t.Fatalf("no check %q among %+v", name, r.Checks)
	}
	return r.Checks[k]
}
