package check

import (
	"errors"
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

func TestDurbinWatsonAgainstR(t *testing.T) {
	for _, f := range readFits(t) {
		got, err := DurbinWatson(f.Residuals, nil, f.basis())
		if err != nil {
			t.Fatal(err)
		}
		wantNear(t, f.Name+" d", got.Statistic, f.DW, 1e-11)
		// lmtest integrates by Farebrother's Pan algorithm at its default of 15 points a lobe.
		wantNear(t, f.Name+" positive", got.Positive, f.DWPositive, 1e-7)
		wantNear(t, f.Name+" negative", got.Negative, f.DWNegative, 1e-7)
		if f.Name == "mean only" {
			nilBasis, err := DurbinWatson(f.Residuals, nil, nil)
			if err != nil {
				t.Fatal(err)
			}
			wantNear(t, "nil basis", nilBasis.Positive, got.Positive, 1e-11)
			wantNear(t, "nil basis", nilBasis.Expected, got.Expected, 1e-12)
		}
	}
}

func TestDurbinWatsonExact(t *testing.T) {
	var ref struct {
		DurbinWatson []struct {
			Name               string
			Residuals          []float64
			Block              []int32
			Columns            [][]float64
			D                  float64
			Positive, Negative float64
		}
	}
	readReference(t, "exact.json", &ref)
	if len(ref.DurbinWatson) != 7 {
		t.Fatalf("%d cases, want 7", len(ref.DurbinWatson))
	}
	for _, c := range ref.DurbinWatson {
		basis := orthonormal(c.Columns)
		got, err := DurbinWatson(c.Residuals, c.Block, basis)
		if err != nil {
			t.Fatalf("%s: %v", c.Name, err)
		}
		wantNear(t, c.Name+" d", got.Statistic, c.D, 1e-12)
		wantNear(t, c.Name+" positive", got.Positive, c.Positive, 1e-9)
		wantNear(t, c.Name+" negative", got.Negative, c.Negative, 1e-9)
		if !got.Exact {
			t.Errorf("%s: not exact", c.Name)
		}
		if len(c.Columns) == 1 {
			again, err := DurbinWatson(c.Residuals, c.Block, nil)
			if err != nil {
				t.Fatal(err)
			}
			wantNear(t, c.Name+" positive, nil basis", again.Positive, c.Positive, 1e-9)
			wantNear(t, c.Name+" negative, nil basis", again.Negative, c.Negative, 1e-9)
		}
	}
}

// The moments that the beta law uses are those of the exact law: mean and
// variance of Σ λχ²/Σ χ² over the eigenvalues.
func TestDurbinWatsonMoments(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(6, 30).Draw(t, "n")
		e, block, trend, one := make([]float64, n), make([]int32, n), make([]float64, n), make([]float64, n)
		for i := range e {
			e[i] = rapid.Float64Range(-1, 1).Draw(t, "e") + 0.1
			block[i] = int32(i * rapid.IntRange(1, 3).Draw(t, "blocks") / n)
			trend[i], one[i] = float64(i*i), 1
		}
		var basis mat.Matrix
		if rapid.Bool().Draw(t, "trend in the model") {
			basis = orthonormal([][]float64{one, trend})
		}
		s, err := newSequence(e, block, basis)
		if err != nil {
			t.Skip(err)
		}
		lambda := s.eigenvalues()
		nu := float64(len(lambda))
		var sum, sum2 float64
		for _, l := range lambda {
			sum += l
			sum2 += l * l
		}
		mean, variance := s.moments()
		if !near(mean, sum/nu, 1e-10) || !near(variance, 2*(nu*sum2-sum*sum)/(nu*nu*(nu+2)), 1e-8) {
			t.Fatalf("mean %v, variance %v; eigenvalues say %v, %v", mean, variance, sum/nu, 2*(nu*sum2-sum*sum)/(nu*nu*(nu+2)))
		}
	})
}

// Where the exact law gives way to the beta law, the two agree as documented.
func TestDurbinWatsonBetaIsClose(t *testing.T) {
	const n = durbinWatsonExact + 1
	e := golden(n)
	for _, c := range []struct {
		columns   int // the first a mean, the second a trend, the others indicators
		tolerance float64
	}{{1, 1e-7}, {2, 1e-6}, {10, 3e-5}, {50, 3.5e-4}} {
		columns := make([][]float64, c.columns)
		for j := range columns {
			columns[j] = make([]float64, n)
			for i := range n {
				switch {
				case j == 0:
					columns[j][i] = 1
				case j == 1:
					columns[j][i] = float64(i)
				case i*j*j%(c.columns+3) < 3: // scattered over the rows
					columns[j][i] = 1
				}
			}
		}
		basis := orthonormal(columns)
		got, err := DurbinWatson(e, nil, basis)
		if err != nil || got.Exact {
			t.Fatalf("%v, %v: want the beta law", got, err)
		}
		s, err := newSequence(e, nil, basis)
		if err != nil {
			t.Fatal(err)
		}
		lambda := s.eigenvalues()
		mean, variance := s.moments()
		for z := -4.0; z <= 4; z += 0.5 {
			d := mean + z*math.Sqrt(variance)
			below, above := s.betaTails(d)
			exact, _ := exactTails(lambda, d)
			if math.Abs(below-exact) > c.tolerance || math.Abs(below+above-1) > 1e-12 {
				t.Errorf("%d columns, d = %v: beta %v, exact %v", c.columns, d, below, exact)
			}
		}
	}
}

func TestDurbinWatsonErrors(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		e     []float64
		block []int32
		want  error
	}{
		{[]float64{1, nan, -1}, nil, ErrNoDF},
		{[]float64{0, 0, 0, 0}, nil, ErrExactFit},
		{[]float64{1, -1, 2, -2}, []int32{0, 1, 2, 3}, ErrTooFew},
		{[]float64{1, math.Inf(1), 2, -2}, nil, ErrInfinite},
	} {
		if got, err := DurbinWatson(c.e, c.block, nil); !errors.Is(err, c.want) {
			t.Errorf("DurbinWatson(%v) = %v, %v, want error %v", c.e, got, err, c.want)
		}
	}
}

func BenchmarkDurbinWatson(b *testing.B) {
	for name, n := range map[string]int{"60 rows": 60, "250 rows": 250, "1000 rows, beta": 1000} {
		e, one, trend := golden(n), make([]float64, n), make([]float64, n)
		for i := range e {
			one[i], trend[i] = 1, float64(i)
		}
		basis := orthonormal([][]float64{one, trend})
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := DurbinWatson(e, nil, basis); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
