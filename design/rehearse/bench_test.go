package rehearse

import (
	"strings"
	"testing"

	"fairrun/design"
	"fairrun/design/plan"
)

func read(tb testing.TB, text string) *design.Plan {
	tb.Helper()
	c, err := plan.Parse("campaign.toml", []byte(text))
	if err != nil {
		tb.Fatal(err)
	}
	return c
}

// sixty is a plan of 60 runs: 5 levels, 4 packs, 3 replicates.
const sixty = `title = "Pod thruster"
scope = "pod thruster no. 3"
[[factor]]
name = "weakening"
levels = [0, 4, 8, 12, 16]
baseline = 0
[block]
name = "pack"
count = 4
replicates = 3
[[response]]
name = "spin_up"
unit = "ms"
better = "lower"
margin = "2%"
noise = "1.2%"
[analysis]
`

// responses adds three more responses.
const responses = `
[[response]]
name = "pull"
better = "higher"
margin = "2%"
noise = "1%"
[[response]]
name = "input"
better = "lower"
margin = 15
noise = 12
[[response]]
name = "rpm"
better = "higher"
margin = "1%"
noise = "0.5%"
`

func benchmark(b *testing.B, text string) {
	c := read(b, text)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Rehearse(b.Context(), c, Options{Campaigns: 10_000, Seed: 1}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkRehearse60(b *testing.B)           { benchmark(b, sixty) }
func BenchmarkRehearse60Responses4(b *testing.B) { benchmark(b, sixty+responses) }
func BenchmarkRehearse60Baseline(b *testing.B)   { benchmark(b, sixty+`compare = "baseline"`) }
func BenchmarkRehearse60Best(b *testing.B)       { benchmark(b, sixty+`compare = "best"`) }
func BenchmarkRehearse60Looks3(b *testing.B)     { benchmark(b, sixty+`looks = 3`) }
func BenchmarkRehearse60Covariates(b *testing.B) {
	benchmark(b, adjusted(sixty, `"start_temp", "start_volts"`))
}
func BenchmarkRehearse60OwnQuadratic(b *testing.B) {
	benchmark(b, sixty+"[drift]\nmodel = \"quadratic\"\nown = true\n")
}
func BenchmarkRehearse60Factorial(b *testing.B) {
	text := strings.Replace(sixty, "levels = [0, 4, 8, 12, 16]\nbaseline = 0", "levels = [0, 4, 8]\n[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\n", 1)
	benchmark(b, strings.Replace(text, "count = 4\nreplicates = 3", "count = 5\nreplicates = 2", 1))
}
func BenchmarkRehearse60WholePlots(b *testing.B) {
	text := strings.Replace(sixty, "levels = [0, 4, 8, 12, 16]\nbaseline = 0", "levels = [0, 4, 8]\n[[factor]]\nname = \"prop\"\nlevels = [\"A\", \"B\"]\nhard_to_change = true\n", 1)
	benchmark(b, strings.Replace(text, "count = 4\nreplicates = 3", "count = 5\nreplicates = 2", 1))
}
