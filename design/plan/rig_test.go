package plan_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"fairrun/design"
	"fairrun/design/plan"
)

const rigPlan = `title = "Weakening"
scope = "pod thruster no. 3"
[[factor]]
name = "weakening"
levels = [0, 4, 8]
[block]
count = 2
replicates = 2
[[response]]
name = "spin_up"
better = "lower"
`

// The record of the rig lies where the plan says, seen from the plan's folder, and is needed only where the plan says
// nothing of the noise.
func TestRigRecord(t *testing.T) {
	top := t.TempDir()
	dir := filepath.Join(top, "campaigns", "may")
	if err := os.MkdirAll(dir, 0o777); err != nil {
		t.Fatal(err)
	}
	parsed := func(text string) *design.Plan {
		t.Helper()
		path := filepath.Join(dir, "campaign.toml")
		if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		c, err := plan.Read(path)
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	if n, err := plan.Rely(parsed(rigPlan)); n != nil || err != nil {
		t.Errorf("a plan without a rig relies on %v, %v", n, err)
	}
	rig := "[rig]\nname = \"tank 2\"\nnoise_file = \"../../tank.toml\"\n"
	c := parsed(rigPlan + rig)
	record := filepath.Join(top, "tank.toml")
	if c.Rig.Path != record || c.Rig.Name != "tank 2" || c.Rig.NoiseFile != "../../tank.toml" {
		t.Errorf("rig %+v, want the record %s", c.Rig, record)
	}
	if n, err := plan.Kept(c.Rig); n != nil || err != nil {
		t.Errorf("kept %v, %v before there is a record", n, err)
	}
	want := `the plan leaves the noise of "spin_up" to the record of tank 2, and there is no file ` + record
	if _, err := plan.Rely(c); err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("%v, want %s", err, want)
	}
	if n, err := plan.Rely(parsed(strings.Replace(rigPlan, "better", "noise = \"1%\"\nbetter", 1) + rig)); n != nil || err != nil {
		t.Errorf("a plan that states all noise relies on %v, %v", n, err)
	}
	if err := os.WriteFile(record, []byte("[[campaign]]\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	want = record + ":1:3: [[campaign]] has no [[campaign.response]]"
	if _, err := plan.Rely(c); err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("%v, want %s", err, want)
	}
	if err := os.WriteFile(record, (&plan.NoiseRecord{Campaigns: []plan.MeasuredCampaign{{Title: "a", Responses: []plan.MeasuredNoise{{Name: "spin_up", SD: 1, DF: 2}}}}}).Text(), 0o666); err != nil {
		t.Fatal(err)
	}
	if n, err := plan.Rely(c); err != nil || n.Campaigns[0].Responses[0].SD != 1 {
		t.Errorf("%+v, %v", n, err)
	}
	if got := parsed(rigPlan + "[rig]\nnoise_file = \"" + filepath.ToSlash(record) + "\"\n"); got.Rig.Path != record || got.Rig.Name != "the rig" {
		t.Errorf("rig %+v of an absolute path, want %s", got.Rig, record)
	}
}

// What is wrong with [rig] is said with its place.
func TestRigFaults(t *testing.T) {
	for text, want := range map[string]string{
		"[rig]\nname = \"tank\"\n": `campaign.toml:12:2: [rig] has no noise_file; add noise_file = "../noise.toml"`,
		"[rig]\nnoise_file = 2\n":  `campaign.toml:13:14: noise_file is the number 2; put it in quotes`,
		"[rig]\nrecord = \"a\"\n":  `campaign.toml:13:1: unknown key "record" in [rig]`,
	} {
		_, err := plan.Parse("campaign.toml", []byte(rigPlan+text))
		if err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v\nwant %s", text, err, want)
		}
	}
}
