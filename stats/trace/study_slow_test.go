//go:build slow

package trace

import (
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
)

const logsSlow = 2000

const introduction = `# What a measure from a log is worth

Each row is one kind of simulated log, of which 2,000 were measured with a random phase of the rows, of held telemetry and
of the level between two quanta. Bias, spread (standard deviation) and stated uncertainty are in per cent of the true value.
The column "covers" is the share of logs whose value ± 1.96 u held the truth. The column "refused" is the share that was not
measured, with its reason.

Intervals should cover 95 %. They cover more where an error is bounded and its bound is what is stated. Such are the phase of
the rows with few of them on an edge, held rows, and a quantum without noise. They cover less where the text of a row says what
is wrong with its log. That is noise with a correlation of .95 from row to row, or an oscillation that still rings in the
settled state. A log that ends too soon is another such case.
T·f is the number of rows between 10 and 90 % of the step.

The page is written by the slow study of ` + "`stats/trace`" + `: UPDATE_DOCS=1 go test -tags slow ./stats/trace -run Study
`

// TestStudy measures 2,000 logs of each case, and holds or writes docs/measures.md.
func TestStudy(t *testing.T) {
	all := cases()
	rows := make([]string, len(all))
	work := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range work {
				rows[i] = all[i].row(all[i].run(t, logsSlow))
			}
		})
	}
	for i := range all {
		work <- i
	}
	close(work)
	wg.Wait()

	var b strings.Builder
	b.WriteString(introduction)
	group := ""
	for _, g := range groupsOf(all) {
		for i, c := range all {
			if c.group != g {
				continue
			}
			if group != g {
				group = g
				b.WriteString("\n## " + g + "\n\n| log | bias % | spread % | stated u % | covers % | refused % |\n|---|---|---|---|---|---|\n")
			}
			b.WriteString(rows[i] + "\n")
		}
	}
	path := filepath.FromSlash(page)
	if os.Getenv("UPDATE_DOCS") != "" {
		if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.ReplaceAll(string(text), "\r\n", "\n"); got != b.String() {
		t.Errorf("docs/measures.md is not what the study finds now:\n%s", b.String())
	}
}

func groupsOf(all []simulated) []string {
	var groups []string
	seen := map[string]bool{}
	for _, c := range all {
		if !seen[c.group] {
			seen[c.group] = true
			groups = append(groups, c.group)
		}
	}
	return groups
}

// row is the case's line of the page.
func (c simulated) row(o outcome) string {
	if c.refused {
		return fmt.Sprintf("| %s | – | – | – | – | 100 |", c.name)
	}
	return fmt.Sprintf("| %s | %+.2f | %.2f | %.2f | %.1f | %.3g |", c.name, o.bias, o.sd, o.u, o.coverage,
		100*float64(o.refused)/float64(o.logs))
}
