package verdict

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strconv"
	"testing"

	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
)

// bench draws readings of so many rows: levels in blocks with a covariate.
func bench(b testing.TB, rows, levels, blocks, responses int) Data {
	b.Helper()
	r := rand.New(rand.NewPCG(1, 2))
	prop, pack := linmod.Factor{Name: "prop"}, linmod.Factor{Name: "pack"}
	for l := range levels {
		prop.Levels = append(prop.Levels, string(rune('A'+l)))
	}
	for p := range blocks {
		pack.Levels = append(pack.Levels, strconv.Itoa(p+1))
	}
	temp := linmod.Covariate{Name: "start_temp"}
	for i := range rows {
		prop.Code = append(prop.Code, int32((i+i/levels)%levels))
		pack.Code = append(pack.Code, int32(i*blocks/rows))
		temp.Value = append(temp.Value, 20+3*r.NormFloat64())
	}
	d := Data{Treatments: []linmod.Factor{prop}, Blocks: []linmod.Factor{pack}, Covariates: []linmod.Covariate{temp}}
	for k := range responses {
		var y decimal.Column
		for i := range rows {
			v := 100 + 0.1*float64(prop.Code[i]) + 0.2*float64(pack.Code[i]) + 0.05*temp.Value[i] + r.NormFloat64()
			if err := y.Append(fmt.Appendf(nil, "%.3f", v)); err != nil {
				b.Fatal(err)
			}
		}
		d.Responses = append(d.Responses, Measured{Name: "y" + strconv.Itoa(k), Better: "higher", Scale: Log, Margin: &Margin{Value: 0.02, Relative: true}, Values: &y})
	}
	return d
}

// BenchmarkAnalyse judges 60 runs with 4 responses in each family, and files of 8 levels, 50
// blocks and a covariate: time grows with the rows, and what is allocated is some columns of them.
func BenchmarkAnalyse(b *testing.B) {
	for _, c := range []struct {
		name                            string
		rows, levels, blocks, responses int
		q                               Request
		parts                           bool // the noise in its parts, too
	}{
		{"60 runs/pairs", 60, 5, 6, 4, Request{}, false},
		{"60 runs/baseline", 60, 5, 6, 4, Request{Compare: Baseline, Baseline: []string{"A"}}, false},
		{"60 runs/best", 60, 5, 6, 4, Request{Compare: Best}, false},
		{"60 runs/parts", 60, 5, 6, 4, Request{}, true},
		{"10000 rows", 10_000, 8, 50, 1, Request{}, true},
		{"100000 rows", 100_000, 8, 50, 1, Request{}, true},
		{"1000000 rows", 1_000_000, 8, 50, 1, Request{}, true},
	} {
		b.Run(c.name, func(b *testing.B) {
			if c.rows > 100_000 && testing.Short() {
				b.Skip("short")
			}
			d := bench(b, c.rows, c.levels, c.blocks, c.responses)
			if c.parts {
				d.Parts = d.Blocks
			}
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Analyse(context.Background(), d, c.q); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
