package main

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// repeats is how often each output is made.
const repeats = 10

// TestSamePlanSameBytes makes every output of several kinds of plan again and again, with the same
// seed and the same results: all bytes must be the same.
func TestSamePlanSameBytes(t *testing.T) {
	t.Parallel()
	for _, plan := range []string{
		"golden/complete.toml", "golden/incomplete_and_more.toml", "golden/position.toml", "golden/whole_plots.toml",
		"golden/fold_over_blocks.toml", "same/incomplete_whole_plots.toml",
	} {
		t.Run(filepath.Base(plan), func(t *testing.T) {
			t.Parallel()
			text, err := os.ReadFile(filepath.Join("testdata", plan))
			if err != nil {
				t.Fatal(err)
			}
			text = append(text, "margin = \"2%\"\nnoise = \"1.5%\"\n"...) // of the response, which stands last
			first := outputs(t, text)
			if len(first) < 24 {
				t.Errorf("%d outputs were compared, want 24 or more", len(first))
			}
			times := repeats
			if testing.Short() {
				times = 3
			}
			for range times - 1 {
				if diff := cmp.Diff(first, outputs(t, text)); diff != "" {
					t.Fatalf("the same plan (-first +again):\n%s", diff)
				}
			}
		})
	}
}

// outputs plans, fills in, judges and extends a campaign, and returns what each command wrote.
func outputs(t *testing.T, plan []byte) map[string]string {
	t.Helper()
	dir, out := t.TempDir(), map[string]string{}
	if err := os.WriteFile(filepath.Join(dir, planFile), plan, 0o644); err != nil {
		t.Fatal(err)
	}
	screen := bytes.Contains(plan, []byte("resolution"))
	runs := func(formats string, args ...string) {
		for f := range strings.FieldsSeq(formats) {
			text := output(t, append(slices.Clone(args), dir, "--format", f)...)
			out[strings.ReplaceAll(strings.Join(append(args, f), " "), dir, "DIR")] = strings.ReplaceAll(text, dir, "DIR")
		}
	}
	kept := func(when string) {
		for _, name := range []string{"runsheet.csv", "draw.json"} {
			text, err := os.ReadFile(filepath.Join(dir, name))
			if err != nil {
				t.Fatal(err)
			}
			out[name+" "+when] = regexp.MustCompile(`"time":"[^"]*"`).ReplaceAllString(string(text), `"time":""`)
		}
	}
	const all = "table json csv markdown"
	runs("table", "sheet")
	kept("drawn")
	runs(all+" html", "sheet", "--show")
	runs(all, "sheet", "--show", "--explain")
	if !screen || !bytes.Contains(plan, []byte("fold_over_blocks")) {
		runs("json", "rehearse", "--campaigns", "40")
	}
	runs(all, "replicates", "--most", "40")
	fillIn(t, filepath.Join(dir, "runsheet.csv"))
	runs(all, "verdict", "--orders", "300")
	runs("table json", "replicates", "--most", "40", "--picture", filepath.Join(dir, "power.svg"))
	picture, err := os.ReadFile(filepath.Join(dir, "power.svg"))
	if err != nil {
		t.Fatal(err)
	}
	out["power.svg"] = string(picture)
	runs("json", "extend", "--blocks", "2")
	kept("extended")
	return out
}

// fillIn gives every run of a sheet a result that depends on its settings and its number.
func fillIn(t *testing.T, path string) {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(text)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	head := rows[0]
	status := slices.Index(head, "status")
	for i, row := range rows[1:] {
		value := 600 + 9*math.Sin(float64(i*i))
		for _, level := range row[3:status] {
			for _, letter := range level {
				value += float64(letter % 7)
			}
		}
		for k := slices.Index(head, "start_temp"); k < status; k++ {
			row[k] = strconv.FormatFloat(value, 'f', 1, 64)
		}
		if k := slices.Index(head, "start_temp"); k >= 0 {
			row[k] = fmt.Sprint(20 + i%7)
		}
	}
	var b bytes.Buffer
	if err := csv.NewWriter(&b).WriteAll(rows); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
