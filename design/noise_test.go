package design_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"fairrun/design"
)

// A record comes back from its file as it went in.
func TestNoiseRecordReturns(t *testing.T) {
	want := &design.NoiseRecord{Title: "Field weakening", Scope: `pod "no. 3"`, Responses: []design.MeasuredNoise{
		{Name: "spin_up", Unit: "ms", Relative: true, Mean: 812.5, SD: 0.012, Low: 0.009, High: 0.0171, DF: 31.4, Parts: []design.NoisePart{{Name: "pack", SD: 1e-7}, {Name: "whole plot", SD: 0}}},
		{Name: "pull", Mean: -3, SD: 2, DF: 4},
	}}
	path := filepath.Join(t.TempDir(), design.NoiseFile)
	if err := want.Write(path); err != nil {
		t.Fatal(err)
	}
	got, err := design.ReadNoise(path)
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
	const response = "[[response]]\nname = \"pull\"\nsd = 2\ndf = 4\n"
	for _, tt := range []struct{ text, want string }{
		{"title = \"a\"\n", `noise.toml: the noise record has no [[response]]; is this a file that "fairrun verdict --save-noise" wrote?`},
		{response + "mood = 1\n", `noise.toml:5:1: unknown key "mood" in [[response]]`},
		{response + response, `noise.toml:6:8: the response "pull" stands twice; keep the record of one campaign`},
		{"[[response]]\nname = \"pull\"\nsd = 0\n", "noise.toml:3:6: sd is 0; it must be above zero; measure the noise again\nnoise.toml:1:3: [[response]] has no df; measure the noise again"},
		{response + "sd_low = 3\n", `noise.toml:3:6: sd is outside its limits`},
		{response + "parts = [{name = \"pack\", sd = -1}]\n", `noise.toml:5:31: sd is -1; write 0 or more`},
	} {
		_, err := design.ParseNoise("noise.toml", []byte(tt.text))
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
