package order_test

import (
	"math"
	"testing"

	"fairrun/design"
	"fairrun/design/order"
	"fairrun/stats/linmod"
)

// What an order loses to a curve is what the least-squares fit of design.Curve says, in blocks of six runs to thirty.
func TestCurveIsThatOfTheVerdict(t *testing.T) {
	for _, p := range []order.Spec{
		{Treatments: 3, Blocks: 3, Replicates: 2, Drift: order.Curve},
		{Treatments: 4, Blocks: 3, Replicates: 2, Drift: order.Curve},
		{Treatments: 5, Blocks: 2, Replicates: 6, Drift: order.Curve},
		{Treatments: 4, Blocks: 4, Replicates: 3, Drift: order.Curve, Own: true},
		{Treatments: 9, Blocks: 6, Runs: 7, Drift: order.Curve},
	} {
		o, err := order.Draw(p, 5)
		if err != nil {
			t.Fatal(err)
		}
		n := len(o.Blocks[0])
		f, b := linmod.Factor{Name: "treatment", Levels: make([]string, p.Treatments)}, linmod.Factor{Name: "block", Levels: make([]string, p.Blocks)}
		curve := make([]linmod.Covariate, 4)
		for i, block := range o.Blocks {
			for at, treatment := range block {
				f.Code, b.Code = append(f.Code, int32(treatment)), append(b.Code, int32(i))
				for k, v := range design.Curve(at+1, 1, n) {
					curve[k].Value = append(curve[k].Value, v)
				}
			}
		}
		if p.Own {
			for k := range curve {
				curve[k].By = &b
			}
		}
		y := make([]float64, len(f.Code))
		average := func(covariates []linmod.Covariate) (sum float64) {
			fit, err := linmod.Fit(linmod.Model{Blocks: []linmod.Factor{b}, Covariates: covariates, Factors: []linmod.Factor{f}}, y)
			if err != nil {
				t.Fatal(err)
			}
			means, err := fit.Means(0)
			if err != nil {
				t.Fatal(err)
			}
			for i := range p.Treatments {
				for j := range i {
					row := make([]float64, p.Treatments)
					row[i], row[j] = 1, -1
					sum += means.Contrasts([][]float64{row}).Cov.At(0, 0)
				}
			}
			return sum
		}
		if want := average(nil) / average(curve); math.Abs(o.Efficiency-want) > 1e-9 || want < 0.5 || want > 0.9999 {
			t.Errorf("%+v: efficiency %v, of the fit %v", p, o.Efficiency, want)
		}
	}
}
