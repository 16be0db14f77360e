package mixed_test

import (
	"fmt"
	"log"

	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
)

// bench returns spin-up times in ms of three pod thrusters, each on two packs of
// its own, with three field-weakening currents on every pack. One run was spoiled.
func bench() (mixed.Model, []float64) {
	weakening := linmod.Factor{Name: "weakening", Levels: []string{"0", "4", "8"}}
	specimen := linmod.Factor{Name: "specimen", Levels: []string{"1", "2", "3"}}
	pack := linmod.Factor{Name: "pack", Levels: []string{"a", "b"}}
	for u := range int32(3) {
		for p := range int32(2) {
			for w := range int32(3) {
				specimen.Code = append(specimen.Code, u)
				pack.Code = append(pack.Code, p)
				weakening.Code = append(weakening.Code, w)
			}
		}
	}
	weakening.Code[7] = -1
	spinUp := []float64{412, 405, 391, 419, 408, 399, 398, 391, 377, 403, 392, 384, 425, 416, 407, 421, 415, 401}
	return mixed.Model{
		Fixed:  linmod.Model{Factors: []linmod.Factor{weakening}, Order: 1},
		Random: []linmod.Factor{specimen, mixed.Nested(specimen, pack)},
	}, spinUp
}

func Example() {
	r, err := mixed.Fit(bench())
	if err != nil {
		log.Fatal(err)
	}
	for _, c := range r.Components {
		fmt.Printf("%-20s  %2d levels  sd %.3f ms\n", c.Name, c.Levels, c.SD)
	}
	for _, row := range r.ANOVA() {
		fmt.Printf("%s: F(%d, %.2f) = %.2f, p = %.1e\n", row.Name, row.DF, row.DenDF, row.F, row.P)
	}
	means, err := r.Means(0)
	if err != nil {
		log.Fatal(err)
	}
	e := means.Contrasts([][]float64{{-1, 0, 1}})
	fmt.Printf("8 A - 0 A: %.2f ms, standard error %.2f ms on %.2f df\n", e.Value[0], e.SE(0), e.DF[0])
	// lme4 and pbkrtest say the same.
	//
	// Output:
	// specimen               3 levels  sd 11.740 ms
	// pack within specimen   6 levels  sd 3.433 ms
	// residual              17 levels  sd 1.531 ms
	// weakening: F(2, 9.03) = 252.40, p = 1.2e-08
	// 8 A - 0 A: -19.83 ms, standard error 0.88 ms on 9.00 df
}

// How much two runs may differ by, on the same thruster and pack and on any two.
func ExampleResult_Precision() {
	r, err := mixed.Fit(bench())
	if err != nil {
		log.Fatal(err)
	}
	p := r.Precision(0.95)
	fmt.Printf("repeatability    %.1f ms, limit %.0f ms\n", p.Repeatability.SD, p.Repeatability.Limit)
	fmt.Printf("reproducibility  %.1f ms, limit %.0f ms\n", p.Reproducibility.SD, p.Reproducibility.Limit)
	for _, part := range p.Parts {
		fmt.Printf("%-20s %3.0f %%\n", part.Name, 100*part.Share)
	}
	// Output:
	// repeatability    1.5 ms, limit 4 ms
	// reproducibility  12.3 ms, limit 34 ms
	// specimen              91 %
	// pack within specimen   8 %
	// residual               2 %
}

// Four settings are run on every pack; packs differ in how they answer to the
// setting, and runs scatter.
func ExampleSplit() {
	s := mixed.Split{Treatments: 4, Sources: []mixed.Source{
		{Name: "pack", Variance: 0.8, Shared: true},
		{Name: "run", Variance: 2.5},
	}}
	for i, share := range s.At(4, 2).Share {
		fmt.Printf("%s: %.0f %% of the variance of a difference\n", s.Sources[i].Name, 100*share)
	}
	// Output:
	// pack: 39 % of the variance of a difference
	// run: 61 % of the variance of a difference
}
