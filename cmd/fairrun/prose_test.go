package main

import (
	"path"
	"regexp"
	"strings"
	"testing"
)

// longest is how many words a sentence of the docs may have.
const longest = 35

// TestSentences reads the prose of the docs, without tables, headings and code.
func TestSentences(t *testing.T) {
	t.Parallel()
	read := 0
	eachFile(t, func(name string, text []byte) {
		if path.Ext(name) != ".md" || strings.Contains(name, "testdata/") {
			return
		}
		for _, s := range sentences(string(text)) {
			read++
			if n := count(s); n > longest {
				t.Errorf("%s: a sentence of %d words, more than %d: %s", name, n, longest, s)
			}
		}
	})
	if read < 300 {
		t.Fatalf("%d sentences found", read)
	}
}

func TestSentencesOf(t *testing.T) {
	t.Parallel()
	page := "# A heading\n\nOne runs. Two of\n2.5 N runs! Three (e.g. this) `runs. Always` here:\n\n    go test\n\n```\na block. Of code\n```\n" +
		"| a | table |\n|---|---|\n- four\n  runs\n- five\n1. **six.** Seven\n"
	want := []string{"One runs.", "Two of 2.5 N runs!", "Three (e.g. this) CODE here:", "four runs", "five", "**six.**", "Seven"}
	if got := sentences(page); strings.Join(got, "|") != strings.Join(want, "|") {
		t.Errorf("got %q, want %q", got, want)
	}
}

var (
	fence    = regexp.MustCompile("(?ms)^```.*?^```$")
	comment  = regexp.MustCompile(`(?s)<!--.*?-->`)
	code     = regexp.MustCompile("`[^`]*`")
	item     = regexp.MustCompile(`^(?:- |\* |[0-9]+\. )`)
	sentence = regexp.MustCompile(`[.!?][)*"]* +(?:\*\*|"|_)?[\p{Lu}0-9("]`)
)

// count is the number of words of a sentence, code aside.
func count(sentence string) int {
	n := 0
	for _, word := range strings.Fields(sentence) {
		if !strings.Contains(word, "CODE") {
			n++
		}
	}
	return n
}

// sentences are those of the paragraphs and list items of a page in Markdown, with CODE for code in a line.
func sentences(page string) []string {
	page = fence.ReplaceAllString(strings.ReplaceAll(page, "\r", ""), "\n")
	page = code.ReplaceAllString(comment.ReplaceAllString(page, ""), "CODE")
	var paragraphs []string
	open := false
	for line := range strings.Lines(page) {
		text := strings.TrimSpace(strings.TrimPrefix(line, "> "))
		switch {
		case text == "", strings.HasPrefix(text, "|"), strings.HasPrefix(text, "#"), !open && strings.HasPrefix(line, "    "):
			open = false
		case item.MatchString(text):
			paragraphs, open = append(paragraphs, item.ReplaceAllString(text, "")), true
		case open:
			paragraphs[len(paragraphs)-1] += " " + text
		default:
			paragraphs, open = append(paragraphs, text), true
		}
	}
	var out []string
	for _, p := range paragraphs {
		p = strings.ReplaceAll(p, "e.g. ", "e.g.\u00a0")
		for {
			at := sentence.FindStringIndex(p)
			if at == nil {
				break
			}
			end := strings.Index(p[at[0]:], " ") + at[0]
			out, p = append(out, p[:end]), strings.TrimSpace(p[end:])
		}
		out = append(out, p)
	}
	for i := range out {
		out[i] = strings.ReplaceAll(out[i], "\u00a0", " ")
	}
	return out
}
