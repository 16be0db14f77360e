package order_test

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/stat/distuv"

	"fairrun/design/order"
)

// read reads a file, named from testdata; the script that made it stands beside it.
func read(t *testing.T, name string, into any) {
	t.Helper()
	data, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, into); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// drawReference is what design/lot/testdata/stream.py draws with its own ChaCha8.
type drawReference struct {
	Draw struct {
		Blocks     [][]int
		Threshold  float64
		Candidates int
	}
}

func TestDrawAgainstReference(t *testing.T) {
	t.Parallel()
	var want drawReference
	read(t, "../../lot/testdata/stream.json", &want)
	d, err := order.Draw(order.Spec{Treatments: 5, Blocks: 4, Replicates: 3, Drift: order.Linear}, 41)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(want.Draw.Blocks, d.Blocks); diff != "" {
		t.Errorf("order differs (-want +got):\n%s", diff)
	}
	if !near(d.Threshold, want.Draw.Threshold, 1e-13) {
		t.Errorf("threshold = %v, want %v", d.Threshold, want.Draw.Threshold)
	}
}

func near(got, want, relative float64) bool {
	d := got - want
	return d == 0 || max(d, -d) <= relative*max(want, -want)
}

// chiSquared returns the p value of counts against equal shares.
func chiSquared(counts []int) float64 {
	var n int
	for _, c := range counts {
		n += c
	}
	e := float64(n) / float64(len(counts))
	var x float64
	for _, c := range counts {
		x += (float64(c) - e) * (float64(c) - e) / e
	}
	return distuv.ChiSquared{K: float64(len(counts) - 1)}.Survival(x)
}

// unlikely is the p value under which a fixed seed's counts are taken for a fault.
const unlikely = 1e-4
