package mixed

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"fairrun/stats/linmod"
)

// In a balanced split plot the two parts are the mean squares of the classical analysis: between whole
// plots, here by least squares on their means, and within them.
func TestStrataOfASplitPlot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		hard, easy := rapid.Int32Range(2, 3).Draw(t, "hard"), rapid.Int32Range(2, 4).Draw(t, "easy")
		packs, repeats := rapid.Int32Range(2, 5).Draw(t, "packs"), rapid.Int32Range(1, 2).Draw(t, "repeats")
		var code, plotCode [4][]int32 // hard, easy, pack, whole plot
		var y, means []float64
		for p := range packs {
			for h := range hard {
				own, sum := 10*rapid.Float64Range(-1, 1).Draw(t, "plot"), 0.0
				for e := range easy {
					for range repeats {
						y = append(y, own+rapid.Float64Range(-1, 1).Draw(t, "run"))
						sum += y[len(y)-1]
						for k, c := range [...]int32{h, e, p, p*hard + h} {
							code[k] = append(code[k], c)
						}
					}
				}
				means = append(means, sum/float64(easy*repeats))
				for k, c := range [...]int32{h, 0, p, p*hard + h} {
					plotCode[k] = append(plotCode[k], c)
				}
			}
		}
		col := func(name string, codes []int32, levels int32) linmod.Factor {
			return linmod.Factor{Name: name, Levels: make([]string, levels), Code: codes}
		}
		treatments := []linmod.Factor{col("hard", code[0], hard), col("easy", code[1], easy)}
		pack, plot := col("pack", code[2], packs), col("plot", code[3], packs*hard)
		within, err := linmod.Fit(linmod.Model{Blocks: []linmod.Factor{plot}, Factors: treatments, Order: 2}, y)
		if err != nil || within.Sigma2 < 1e-4 {
			t.Skip(err)
		}
		between, err := linmod.Fit(linmod.Model{Blocks: []linmod.Factor{col("pack", plotCode[2], packs)}, Factors: []linmod.Factor{col("hard", plotCode[0], hard)}}, means)
		if err != nil {
			t.Skip(err)
		}
		m := float64(easy * repeats)
		if m*between.Sigma2 < 1.1*within.Sigma2 {
			t.Skip("the component is put at zero, where the mean squares are pooled")
		}
		r, err := Fit(Model{Fixed: linmod.Model{Blocks: []linmod.Factor{pack}, Factors: treatments, Order: 2}, Random: []linmod.Factor{plot}}, y)
		if err != nil {
			t.Fatal(err)
		}
		combinations, err := r.Means(0, 1)
		if err != nil {
			t.Fatal(err)
		}
		// the first combination of one hard level less another of the next: 2/b (w² + σ²/r)
		row := make([]float64, hard*easy)
		row[0], row[easy+1] = 1, -1
		got, ok := combinations.Strata(row)
		runs, plots := within.Sigma2*(1/float64(repeats)-1/m), between.Sigma2
		want := Strata{runs / (runs + plots), float64(within.DF), float64(between.DF)}
		near := func(a, b float64) bool { return math.Abs(a-b) <= 1e-5*b }
		if !ok || !near(got.Share, want.Share) || !near(got.ResidualDF, want.ResidualDF) || !near(got.RestDF, want.RestDF) {
			t.Errorf("across whole plots: %+v, want %+v", got, want)
		}
		e := combinations.Contrasts([][]float64{row})
		if df := 1 / (got.Share*got.Share/got.ResidualDF + (1-got.Share)*(1-got.Share)/got.RestDF); !near(df, e.DF[0]) {
			t.Errorf("degrees of freedom %v, of the parts %v", e.DF[0], df)
		}
		row[easy+1], row[1] = 0, -1 // within a whole plot
		if got, _ = combinations.Strata(row); got.Share != 1 || !near(got.ResidualDF, want.ResidualDF) {
			t.Errorf("within whole plots: %+v", got)
		}
		levels, err := r.Means(0)
		if err != nil {
			t.Fatal(err)
		}
		row = make([]float64, hard)
		row[0], row[1] = 1, -1
		if got, _ = levels.Strata(row); got.Share > 1e-6 || !near(got.RestDF, want.RestDF) {
			t.Errorf("hard levels: %+v", got)
		}
	})
}
