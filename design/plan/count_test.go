package plan_test

import (
	"strings"
	"testing"

	"fairrun/design/plan"

	"github.com/google/go-cmp/cmp"
)

// Only the number changes, wherever and however the table is written.
func TestSetBlockCount(t *testing.T) {
	whole, _ := assemble(nil)
	for _, c := range []struct{ name, from, to string }{
		{"table", "[block]\nname = \"pack\"\ncount = 2\nreplicates = 2\n", "[block]\nname = \"pack\"\ncount = 12\nreplicates = 2\n"},
		{"comment and blanks", "[block]\ncount\t=  +2  # packs = 2\nreplicates = 2\n", "[block]\ncount\t=  12  # packs = 2\nreplicates = 2\n"},
		{"last in the file", "[block]\nreplicates = 2\ncount = 2", "[block]\nreplicates = 2\ncount = 12"},
	} {
		for _, mark := range []string{"", "\ufeff"} {
			text := mark + strings.Replace(whole, sound["block"], "", 1) + c.from
			want := mark + strings.Replace(whole, sound["block"], "", 1) + c.to
			got, err := plan.SetBlockCount("campaign.toml", []byte(text), 12)
			if err != nil {
				t.Errorf("%s: %v", c.name, err)
				continue
			}
			if diff := cmp.Diff(want, string(got)); diff != "" {
				t.Errorf("%s (-want +got):\n%s", c.name, diff)
			}
		}
	}
	inline := strings.Replace(whole, sound["block"], "", 1)
	for _, c := range [][2]string{
		{"block = {count = 2, replicates = 2}\n", "block = {count = 12, replicates = 2}\n"},
		{"block.replicates = 2\nblock.count = 2\n", "block.replicates = 2\nblock.count = 12\n"},
	} {
		got, err := plan.SetBlockCount("campaign.toml", []byte(c[0]+inline), 12)
		if err != nil || string(got) != c[1]+inline {
			t.Errorf("SetBlockCount in %q = %q, %v", c[0], got, err)
		}
	}
}

func TestSetBlockCountRefuses(t *testing.T) {
	whole, _ := assemble(nil)
	for _, c := range []struct {
		name, plan string
		blocks     int
		want       string
	}{
		{"no count", strings.Replace(whole, "count = 2\n", "", 1), 3, "campaign.toml: there is no count in [block] to change"},
		{"too many runs", whole, 2000, "campaign.toml:8:9: the plan asks for 2000 packs of 6 runs; a plan may have at most 10000 runs"},
		{"no plan", "= 3", 3, "campaign.toml:1:1: not TOML: "},
	} {
		got, err := plan.SetBlockCount("campaign.toml", []byte(c.plan), c.blocks)
		if err == nil || !strings.HasPrefix(err.Error(), c.want) || got != nil {
			t.Errorf("%s: SetBlockCount = %q, %v; want the error %q", c.name, got, err, c.want)
		}
	}
}
