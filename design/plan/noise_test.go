package plan_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design/plan"
)

// A record comes back from its file as it went in.
func TestNoiseRecordReturns(t *testing.T) {
	seed := uint64(1<<63 - 1)
	want := &plan.NoiseRecord{Campaigns: []plan.MeasuredCampaign{
		{Title: "Field weakening", Scope: `pod "no. 3"`, Seed: &seed, Responses: []plan.MeasuredNoise{
			{Name: "spin_up", Unit: "ms", Relative: true, Mean: 812.5, SD: 0.012, Low: 0.009, High: 0.0171, DF: 31.4, Components: []plan.NoiseComponent{{Name: "pack", SD: 1e-7}, {Name: "whole plot", SD: 0}}},
			{Name: "pull", Mean: -3, SD: 2, DF: 4},
		}},
		{Title: "results.csv", Responses: []plan.MeasuredNoise{{Name: "pull", Mean: 3, SD: 1, DF: 5}}},
	}}
	path := filepath.Join(t.TempDir(), plan.NoiseFile)
	if err := os.WriteFile(path, want.Text(), 0o666); err != nil {
		t.Fatal(err)
	}
	got, err := plan.ReadNoise(path)
	if err != nil {
		text, _ := os.ReadFile(path)
		t.Fatalf("%v\n%s", err, text)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("record (-want +got):\n%s", diff)
	}
}

// What is wrong with a record is said with its place, all at once.
func TestNoiseRecordFaults(t *testing.T) {
	const response = "[[campaign]]\n[[campaign.response]]\nname = \"pull\"\nsd = 2\ndf = 4\n"
	for _, tt := range []struct{ text, want string }{
		{"title = \"a\"\n", `noise.toml: the noise record has no [[campaign]]; is this a file that "fairrun verdict --save-noise" wrote?`},
		{"[[campaign]]\ntitle = \"a\"\n", `[[campaign]] has no [[campaign.response]]; take the campaign out, or keep its noise again`},
		{response + "mood = 1\n", `noise.toml:6:1: unknown key "mood" in [[campaign.response]]`},
		{response + "[[campaign.response]]\nname = \"pull\"\nsd = 2\ndf = 4\n", `noise.toml:7:8: the response "pull" stands twice; keep one of them`},
		{response + response, `the campaign "" stands twice with this seed; keep one of them`},
		{"[[campaign]]\nseed = -1\n", `noise.toml:2:8: seed is -1`},
		{"[[campaign]]\n[[campaign.response]]\nname = \"pull\"\nsd = 0\n", "noise.toml:4:6: sd is 0; it must be above zero; measure the noise again\nnoise.toml:2:12: [[campaign.response]] has no df; measure the noise again"},
		{response + "sd_low = 3\n", `noise.toml:4:6: sd is outside its limits`},
		{response + "components = [{name = \"pack\", sd = -1}]\n", `noise.toml:6:36: sd is -1; write 0 or more`},
	} {
		_, err := plan.ParseNoise("noise.toml", []byte(tt.text))
		if err == nil {
			t.Errorf("%q: no fault, want %s", tt.text, tt.want)
			continue
		}
		for _, line := range strings.Split(tt.want, "\n") {
			if !strings.Contains(err.Error(), line) {
				t.Errorf("%q:\n%v\nwant\n%s", tt.text, err, line)
			}
		}
	}
}

// Keeping a campaign again replaces it; others stay.
func TestNoiseRecordKeeps(t *testing.T) {
	one, two := uint64(41), uint64(42)
	measured := func(title string, seed *uint64, sd float64) plan.MeasuredCampaign {
		return plan.MeasuredCampaign{Title: title, Seed: seed, Responses: []plan.MeasuredNoise{{Name: "pull", SD: sd, DF: 3}}}
	}
	var n plan.NoiseRecord
	n.Keep(measured("a", &one, 1))
	n.Keep(measured("a", &two, 2))
	n.Keep(measured("b", nil, 3))
	again := uint64(41)
	n.Keep(measured("a", &again, 4))
	want := plan.NoiseRecord{Campaigns: []plan.MeasuredCampaign{measured("a", &two, 2), measured("b", nil, 3), measured("a", &one, 4)}}
	if diff := cmp.Diff(want, n); diff != "" {
		t.Errorf("record (-want +got):\n%s", diff)
	}
	if n.Holds(measured("b", &one, 0)) || !n.Holds(measured("b", nil, 0)) {
		t.Error("campaigns are distinguished by title and seed")
	}
}
