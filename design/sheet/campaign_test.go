package sheet

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"fairrun/design"
	"fairrun/design/journal"
	"fairrun/design/order"
	"fairrun/design/plan"
	"fairrun/design/store"
	"fairrun/design/table"
)

// bench is the zone of the tests' clock.
var bench = time.FixedZone("bench", 2*60*60)

// drawnAt is when the test campaign is drawn.
var drawnAt = time.Date(2026, 5, 9, 9, 0, 0, 0, bench)

// drawn is an order for testdata/campaign.toml: four treatments (0 A, 0 B, 2.5 A,
// 2.5 B) in two packs.
func drawn() *order.Drawn {
	return &order.Drawn{
		Version: order.Version,
		Seed:    41,
		Blocks:  [][]int{{0, 3, 1, 2}, {2, 1, 3, 0}},
	}
}

// testPlan is the plan of testdata/campaign.toml.
func testPlan(t testing.TB) *design.Plan {
	t.Helper()
	c, err := plan.Read("testdata/campaign.toml")
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// campaign makes a folder with the test campaign's plan, and makes it the current one, so
// that messages name files without a path.
func campaign(t testing.TB) *design.Plan {
	t.Helper()
	c := testPlan(t)
	plan := read(t, "testdata/campaign.toml")
	t.Chdir(t.TempDir())
	write(t, PlanFile, plan)
	return c
}

// drawnCampaign is campaign with its sheet drawn.
func drawnCampaign(t testing.TB) *design.Plan {
	t.Helper()
	c := campaign(t)
	_, err := Write(".", c, drawn(), drawnAt, table.Dialect{})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func write(t testing.TB, name, text string) {
	t.Helper()
	err := os.WriteFile(name, []byte(text), 0o644)
	if err != nil {
		t.Fatal(err)
	}
}

func read(t testing.TB, name string) string {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// edit replaces the one place in the sheet where old stands.
func edit(t testing.TB, name, old, new string) {
	t.Helper()
	text := read(t, name)
	if strings.Count(text, old) != 1 {
		t.Fatalf("%q stands %d times in %s:\n%s", old, strings.Count(text, old), name, text)
	}
	write(t, name, strings.Replace(text, old, new, 1))
}

// onlyCampaignFiles fails if anything but the files of a campaign was left in the
// folder.
func onlyCampaignFiles(t testing.TB) {
	t.Helper()
	entries, err := os.ReadDir(".")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		switch e.Name() {
		case PlanFile, File, DrawFile, journal.File, store.LockFile:
		default:
			t.Errorf("%s was left behind", filepath.Join(".", e.Name()))
		}
	}
}
