package main

import (
	"bytes"
	"path"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// retired is a word, a key, a flag or a field that is not used any more. This list is the vocabulary:
// the same word stands for the same thing in code, plans, flags, outputs and docs.
type retired struct {
	stem    string // what every such word has in it, in small letters: looked for first
	word    string // a regular expression
	use     string // what is written instead
	example string // what the expression finds
}

var vocabulary = []retired{
	// Plain words for what was said in a roundabout way.
	{"told", `(?i)\btold\b`, "reported, said, distinguished", "cannot be told apart"},
	{"tell", `(?i)\btells? of\b`, "reports, says", "the page tells of it"},
	{"anew", `(?i)\banew\b`, "again", "drawn anew"},
	{"reckon", `(?i)\breckon`, "compute, assume", "is reckoned with"},
	{"against", `(?i)\bh(?:old|olds|eld|olding) (?:\pL+ ){0,3}against\b`, "compare with", "held against R"},
	{"house", `(?i)\bhouse\b`, "program, layout", "the house"},
	{"contract", `(?i)\bcontracts?\b`, "format, schema", "the JSON contract"},
	{"cumulative density", `(?i)\bcumulative density\b`, "distribution function", "the cumulative density"},

	// What is tested in several is a specimen; a unit is what a number has.
	{" units", `(?i)\b(?:several|further|how many|so many|tested) units\b(?: of| answer| agree| are)`, "specimens", "several units of one type"},
	{"units ", `(?i)\bunits (?:answer|agree|were tested)\b`, "specimens", "how differently units answer"},
	{"units", `\[units\]|"units"`, "specimens", "[units]"},
	{"of pack", `\b(?:level|levels) of packs?\b`, "packs", "levels of pack"},

	// Keys of plans and noise records.
	{"change =", `\bchange = \\?"`, "hard_to_change = true", `change = "hard"`},
	{"[checks", `\[checks\b`, "[readings]", "[checks.start_temp]"},
	{"shared =", `\bshared = (?:true|false)\b`, "own = true", "shared = false"},
	{".toml", `\bnoise = \\?"[^"]*\.toml`, "noise_file", `noise = "noise.toml"`},
	{"draw =", `\bdraw = \\?"`, "load", `draw = "18 A"`},
	{"simulation.load", `\[simulation\.load\]`, "[simulation.current]", "[simulation.load]"},
	{"spread =", `(?m)^spread = \\?"?[0-9]`, "pack_scatter", `spread = "4%"`},
	{"parts", `(?m)^parts = \[|\.parts\]\]`, "components", "[[campaign.response.parts]]"},

	// Flags.
	{"--count", `--count\b`, "--blocks", "init --count 4"},
	{"--treatment", `--treatment\b`, "--factor", "--treatment prop"},
	{"--draws", `--draws\b`, "--orders", "--draws 1000"},
	{"--spread", `--spread\b`, "--whole-plot-noise", "--spread 1"},
	{"--random", `--random[ =]'?\pL+:\pL`, "--random 'pack within motor'", "--random motor:pack"},

	// Schemas and fields of JSON.
	{"/1", `\bfairrun\.(?:verdict|sheet|replicates|rehearse|extension|draw|plan|noise)/1\b`, "/2", "fairrun.verdict/1"},
	{"json:", `json:"(?:look|finds|spread|units|unit_count|orders_exact)[",]`, "looks, detectable, whole_plot_noise, specimens", `json:"finds"`},

	// Names of factors and responses in tests and examples.
	{"timing", `(?i)\btiming\b`, "gearing", `name = "timing"`},
	{"esc", `\b[Ee]scs?\b`, "controller", `name = "esc"`},
}

// TestWords looks for retired words in everything that people read or write: code with its comments, docs, plans and
// scripts. The changelog alone has them, to lead from the old names to the new.
func TestWords(t *testing.T) {
	t.Parallel()
	var words []*regexp.Regexp
	for _, v := range vocabulary {
		word := regexp.MustCompile(v.word)
		if !word.MatchString(v.example) || !strings.Contains(strings.ToLower(v.example), v.stem) {
			t.Errorf("%s, with %q, does not find %q", v.word, v.stem, v.example)
		}
		words = append(words, word)
	}
	kinds, read := []string{".go", ".md", ".txt", ".toml", ".R", ".py", ".html"}, 0
	eachFile(t, func(name string, text []byte) {
		if !slices.Contains(kinds, path.Ext(name)) && path.Dir(name) != "docs/schema" {
			return
		}
		if name == "docs/CHANGELOG.md" || name == "cmd/fairrun/words_test.go" {
			return
		}
		read++
		small := bytes.ToLower(text)
		for i, v := range vocabulary {
			if !bytes.Contains(small, []byte(v.stem)) {
				continue
			}
			for _, at := range words[i].FindAllIndex(text, 5) {
				t.Errorf("%s:%d: %q: write %s", name, 1+bytes.Count(text[:at[0]], []byte("\n")), text[at[0]:at[1]], v.use)
			}
		}
	})
	if read < 500 {
		t.Fatalf("%d files read", read)
	}
}
