package order_test

import (
	"encoding/json"
	"flag"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design/order"
)

var update = flag.Bool("update", false, "rewrite testdata/golden.json; only together with a new order.Version")

// TestGolden pins the draws of a Version: the same plan and seed give the same record, to the last
// digit, on every platform.
func TestGolden(t *testing.T) {
	const file = "testdata/golden.json"
	var want []*order.Drawn
	read(t, "golden.json", &want)
	if len(want) == 0 {
		t.Fatal("no golden draws")
	}
	got := make([]*order.Drawn, len(want))
	for i, d := range want {
		got[i] = draw(t, d.Plan, d.Seed)
	}
	if *update {
		text := []byte("[")
		for i, d := range got {
			line, err := json.Marshal(d)
			if err != nil {
				t.Fatal(err)
			}
			if i > 0 {
				text = append(text, ',')
			}
			text = append(append(text, '\n'), line...)
		}
		if err := os.WriteFile(file, append(text, "\n]\n"...), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	for i := range want {
		if diff := cmp.Diff(want[i], got[i]); diff != "" {
			t.Errorf("%+v, seed %d (-golden +drawn):\n%s", want[i].Plan, want[i].Seed, diff)
		}
	}
}
