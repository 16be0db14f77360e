package question

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"strconv"
	"testing"

	"fairrun/stats/verdict"
)

// results is a file of results with 8 levels, 50 blocks and a covariate.
func results(rows int) []byte {
	r := rand.New(rand.NewPCG(1, 2))
	var b bytes.Buffer
	b.WriteString("pack,start_temp,prop,thrust,note\n")
	for range rows {
		level, block, temp := r.IntN(8), r.IntN(50), 20+3*r.NormFloat64()
		fmt.Fprintf(&b, "%d,%.1f,prop %c,%.3f,ok\n", block+1, temp, 'A'+level, 100+0.1*float64(level)+0.2*float64(block)+0.05*temp+5*r.NormFloat64())
	}
	return b.Bytes()
}

// BenchmarkFile is "verdict --data" without the start of the process. What is
// promised for 100,000 rows is 0.7 s and 200 MB.
func BenchmarkFile(b *testing.B) {
	for _, rows := range []int{10_000, 100_000, 1_000_000} {
		b.Run(strconv.Itoa(rows), func(b *testing.B) {
			if rows > 100_000 && testing.Short() {
				b.Skip("short")
			}
			text := results(rows)
			q := File{Responses: []string{"thrust"}, Treatments: []string{"prop"}, Blocks: []string{"pack"}, Covariates: []string{"start_temp"},
				Margin: &verdict.Margin{Value: 0.02, Relative: true}, Better: "higher"}
			b.SetBytes(int64(len(text)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := q.Judge(b.Context(), "results.csv", bytes.NewReader(text)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
