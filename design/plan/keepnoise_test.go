package plan_test

import (
	"strings"
	"testing"

	"fairrun/design/plan"
)

// What a person wrote into a record stays, wherever the noise of a campaign goes.
func TestKeepNoiseKeepsComments(t *testing.T) {
	of := func(title string, sd float64) plan.MeasuredCampaign {
		return plan.MeasuredCampaign{Title: title, Responses: []plan.MeasuredNoise{{Name: "spin_up", SD: sd, DF: 5}}}
	}
	text, _, err := plan.KeepNoise("noise.toml", nil, of("a", 1))
	if err != nil {
		t.Fatal(err)
	}
	text, _, err = plan.KeepNoise("noise.toml", text, of("b", 2))
	if err != nil {
		t.Fatal(err)
	}
	for _, eol := range []string{"\n", "\r\n"} {
		edited := strings.ReplaceAll(string(text), "\r\n", "\n")
		edited = strings.Replace(edited, "[[campaign]]", "# of the old bench\n[[campaign]]", 1)
		edited = strings.Replace(edited, "sd = 1 ", "sd = 1  # in the cold\n# see page 12\n", 1)
		edited = strings.Replace(edited, "\n[[campaign]]\ntitle = \"b\"", "\n# of the new bench\n[[campaign]]\ntitle = \"b\"", 1) + "# the end\n"
		if strings.Count(edited, "bench\n") < 1 || !strings.Contains(edited, "in the cold") {
			t.Fatalf("nothing was edited in\n%s", text)
		}
		edited = strings.ReplaceAll(edited, "\n", eol)
		for _, m := range []plan.MeasuredCampaign{of("a", 3), of("b", 4), of("c", 5)} {
			out, n, err := plan.KeepNoise("noise.toml", []byte(edited), m)
			if err != nil {
				t.Fatal(err)
			}
			for _, comment := range []string{"# of the old bench", "# in the cold", "# see page 12", "# the end"} {
				if strings.Count(string(out), comment) != 1 {
					t.Errorf("%s: %q stands %d times in\n%s", m.Title, comment, strings.Count(string(out), comment), out)
				}
			}
			if strings.Count(string(out), "\r\n") != 0 && eol == "\n" || eol == "\r\n" && strings.Count(string(out), "\n") != strings.Count(string(out), "\r\n") {
				t.Errorf("%s: line ends are mixed in %q", m.Title, out)
			}
			sds := map[string]float64{}
			for _, c := range n.Campaigns {
				sds[c.Title] = c.Responses[0].SD
			}
			want := map[string]float64{"a": 1, "b": 2}
			want[m.Title] = m.Responses[0].SD
			for title, sd := range want {
				if sds[title] != sd {
					t.Errorf("%s kept: %s has %v, want %v", m.Title, title, sds[title], sd)
				}
			}
		}
	}
}
