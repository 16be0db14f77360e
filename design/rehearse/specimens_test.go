package rehearse

import (
	"strings"
	"testing"
)

// apart is a plan of two levels on four specimens that answer differently, by twice the noise.
const apart = `title = "Pod thruster"
scope = "four thrusters"
[[factor]]
name = "weakening"
levels = [0, 8]
[block]
count = 4
replicates = 4
[specimens]
name = "motor"
count = 4
[drift]
model = "none"
[[response]]
name = "input"
unit = "W"
better = "lower"
margin = 6
noise = 1
` + quiet + "interplay = \"200%\"\n"

// Several specimens are judged by how far they agree: two levels by the paired comparison of the specimens' means, with 3
// degrees of freedom for 4 specimens, whatever the number of runs.
func TestUnitsAreJudgedForTheirType(t *testing.T) {
	t.Parallel()
	const n = 800
	e, err := newEngine(read(t, apart), 1)
	if err != nil {
		t.Fatal(err)
	}
	e.trials = e.trials[:1]
	counted, err := e.run(t.Context(), Options{Campaigns: n})
	if err != nil {
		t.Fatal(err)
	}
	o := e.outcome(&e.trials[0], counted.trials[0], n, e.responses[0], 0, 0)
	within(t, "false alarms", o.Alarms, n, 0.05)
	within(t, "coverage", o.Differing.Coverage, n, 0.95)
	// Variance 2 (2² + 1/4)/4 of the difference, noncentrality 6/√2.125: R 4.4, 1 - pt(q, 3, ncp) + pt(-q, 3, ncp) with q = qt(0.975, 3).
	within(t, "power", o.Differing.Found, n, 0.7760866)
}

// Specimens that answer alike are as good as one, but for what it takes to show it; those that differ much are not.
func TestInterplayCostsPower(t *testing.T) {
	t.Parallel()
	found := func(interplay string) float64 {
		plan := strings.Replace(strings.Replace(apart, "200%", interplay, 1), "margin = 6", "margin = 3", 1)
		return float64(rehearsed(t, plan, 200).Cases[0].Outcomes[0].Differing.Found.Value)
	}
	if alike, apart := found("0%"), found("200%"); alike < 0.9 || apart > 0.5 {
		t.Errorf("a difference of three times the noise is found in %.2f when specimens answer alike, in %.2f when they differ by twice the noise; want nearly always and less than half", alike, apart)
	}
}
