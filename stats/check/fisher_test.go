package check

import (
	"errors"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

type fisherCase struct {
	Failed, Runs []int
	P, Chisq     float64
}

func TestFisherAgainstR(t *testing.T) {
	var ref struct{ Fisher []fisherCase }
	readReference(t, "r.json", &ref)
	if len(ref.Fisher) != 12 {
		t.Fatalf("%d tables, want 12", len(ref.Fisher))
	}
	for _, c := range ref.Fisher {
		got, err := Fisher(c.Failed, c.Runs)
		if err != nil || !got.Exact {
			t.Errorf("%v of %v: %v, %v", c.Failed, c.Runs, got, err)
			continue
		}
		wantNear(t, "P", got.P, c.P, 1e-10)
		wantNear(t, "chi-squared", got.Statistic, c.Chisq, 1e-12)
		if got.DF != float64(len(c.Runs)-1) {
			t.Errorf("%d levels have %v df", len(c.Runs), got.DF)
		}
	}
}

func TestFisherExactFractions(t *testing.T) {
	var ref struct{ Fisher []fisherCase }
	readReference(t, "exact.json", &ref)
	if len(ref.Fisher) != 13 {
		t.Fatalf("%d tables, want 13", len(ref.Fisher))
	}
	for _, c := range ref.Fisher {
		got, err := Fisher(c.Failed, c.Runs)
		if err != nil || !got.Exact {
			t.Errorf("%v of %v: %v, %v", c.Failed, c.Runs, got, err)
			continue
		}
		wantNear(t, "P", got.P, c.P, 1e-12)
	}
}

// Fisher's tea: 3 of 4 and 1 of 4. The Design of Experiments, 1935: 17 of 70 at
// least as good; both ends together 34/70 (exact arithmetic).
func TestFisherTea(t *testing.T) {
	got, err := Fisher([]int{3, 1}, []int{4, 4})
	if err != nil {
		t.Fatal(err)
	}
	wantNear(t, "P", got.P, 34.0/70, 1e-15)
}

func TestFisherEdges(t *testing.T) {
	for _, c := range []struct {
		failed, runs []int
	}{
		{[]int{0, 0, 0}, []int{5, 6, 7}},
		{[]int{5, 6}, []int{5, 6}},
	} {
		if got, err := Fisher(c.failed, c.runs); err != nil || got.P != 1 || !got.Exact || got.Statistic != 0 {
			t.Errorf("%v of %v: %v, %v, want P 1", c.failed, c.runs, got, err)
		}
	}
	if _, err := Fisher([]int{1, 0, 0}, []int{5, 0, 0}); !errors.Is(err, ErrOneGroup) {
		t.Errorf("one level with runs: %v", err)
	}
	large, err := Fisher([]int{900, 1000, 1100, 950}, []int{2000, 2100, 2200, 2050})
	if err != nil || large.Exact {
		t.Fatalf("four levels of 2000: %v, %v, want chi-squared", large, err)
	}
	// R 4.2.2: chisq.test(cbind(failed, runs-failed), correct = FALSE).
	wantNear(t, "chi-squared", large.Statistic, 11.519474338052589, 1e-12)
	wantNear(t, "P", large.P, 0.0092243138829883643, 1e-11)
	defer func() {
		if recover() != badCount {
			t.Error("6 failures of 5 runs did not panic")
		}
	}()
	_, _ = Fisher([]int{6, 1}, []int{5, 5})
}

// fisherByEnumeration goes through all tables with whole numbers.
func fisherByEnumeration(failed, runs []int) float64 {
	m, total := 0, 0
	seen := big.NewInt(1)
	for i := range runs {
		m, total = m+failed[i], total+runs[i]
		seen.Mul(seen, new(big.Int).Binomial(int64(runs[i]), int64(failed[i])))
	}
	among := new(big.Int)
	var walk func(i, left int, ways *big.Int)
	walk = func(i, left int, ways *big.Int) {
		if i == len(runs) {
			if left == 0 && ways.Cmp(seen) <= 0 {
				among.Add(among, ways)
			}
			return
		}
		for x := range min(runs[i], left) + 1 {
			walk(i+1, left-x, new(big.Int).Mul(ways, new(big.Int).Binomial(int64(runs[i]), int64(x))))
		}
	}
	walk(0, m, big.NewInt(1))
	p, _ := new(big.Rat).SetFrac(among, new(big.Int).Binomial(int64(total), int64(m))).Float64()
	return p
}

func TestFisherIsEnumeration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var failed, runs []int
		for range rapid.IntRange(2, 5).Draw(t, "levels") {
			n := rapid.IntRange(0, 9).Draw(t, "runs")
			runs = append(runs, n)
			failed = append(failed, rapid.IntRange(0, n).Draw(t, "failed"))
		}
		got, err := Fisher(failed, runs)
		if err != nil {
			return
		}
		if want := fisherByEnumeration(failed, runs); !near(got.P, want, 1e-11) || !got.Exact {
			t.Fatalf("P = %v, enumeration %v", got, want)
		}
		// Counting those that did not fail, or naming the levels otherwise, is the same.
		var ok, back []int
		for i := len(runs) - 1; i >= 0; i-- {
			ok, back = append(ok, runs[i]-failed[i]), append(back, runs[i])
		}
		if again, err := Fisher(ok, back); err != nil || !near(again.P, got.P, 1e-11) {
			t.Fatalf("turned over %v, %v, want %v", again, err, got)
		}
	})
}

func BenchmarkFisher(b *testing.B) {
	for _, c := range []struct {
		name         string
		failed, runs []int
	}{
		{"2 levels of 1000", []int{120, 80}, []int{1000, 1100}},
		{"6 levels of 40", []int{10, 14, 25, 31, 8, 19}, []int{40, 42, 45, 50, 41, 40}},
		{"12 levels of 5", []int{1, 0, 0, 0, 2, 0, 0, 1, 0, 4, 1, 1}, []int{5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 5, 5}},
		{"given up", []int{90, 80, 110, 95, 70, 101, 83, 99}, []int{201, 202, 203, 204, 205, 206, 207, 208}},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Fisher(c.failed, c.runs); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
