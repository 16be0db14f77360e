package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// BenchmarkSheet draws and writes sheets of 2,000 runs, of every kind of order.
func BenchmarkSheet(b *testing.B) {
	for _, c := range []struct {
		name   string
		levels int
		tables string
	}{
		{"complete", 10, "[block]\ncount = 20\nreplicates = 10\n"},
		{"own quadratic drift", 10, "[block]\ncount = 20\nreplicates = 10\n[drift]\nmodel = \"quadratic\"\nown = true\n"},
		{"many treatments", 100, "[block]\ncount = 20\nreplicates = 1\n"},
		{"incomplete", 25, "[block]\ncount = 200\nruns = 10\n"},
		{"incomplete, many treatments", 200, "[block]\ncount = 100\nruns = 20\n"},
		{"position", 20, "[block]\ncount = 100\nreplicates = 1\n[drift]\nmodel = \"position\"\n"},
		{"position, incomplete", 40, "[block]\ncount = 100\nruns = 20\n[drift]\nmodel = \"position\"\n"},
		{"carry-over", 20, "[block]\ncount = 100\nreplicates = 1\n[order]\ncarry_over = true\n"},
		{"carry-over, replicates", 10, "[block]\ncount = 20\nreplicates = 10\n[order]\ncarry_over = true\n"},
		{"reference runs", 9, "[block]\ncount = 100\nreplicates = 2\n[order]\nwarmup = 1\nreference = [2]\n"},
	} {
		b.Run(c.name, func(b *testing.B) {
			var levels []string
			for i := range c.levels {
				levels = append(levels, fmt.Sprint(i))
			}
			plan := fmt.Sprintf("title = \"a\"\nscope = \"b\"\nseed = 1\n[[factor]]\nname = \"weakening\"\nlevels = [%s]\nbaseline = 0\n[[response]]\nname = \"pull\"\nbetter = \"higher\"\n%s",
				strings.Join(levels, ", "), c.tables)
			dir := b.TempDir()
			if err := os.WriteFile(filepath.Join(dir, planFile), []byte(plan), 0o644); err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				var said strings.Builder
				if code := run(b.Context(), []string{"fairrun", "sheet", dir}, streams{In: strings.NewReader(""), Out: io.Discard, Err: &said}); code != exitDone {
					b.Fatal(said.String())
				}
			}
		})
	}
}
