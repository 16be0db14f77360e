package render

import (
	"strings"
	"unicode/utf8"
)

// Style says how a terminal shows text. The zero value is plain text without a
// bound on its width.
type Style struct {
	Colour bool
	Plain  bool // characters of ASCII alone in pictures
	Width  int  // columns; 0: unbounded
}

// marks are those that pictures of intervals are drawn with.
func (s Style) marks() marks {
	if s.Plain {
		return plainMarks
	}
	return drawnMarks
}

// noBreak stands for a blank at which no line ends; a plain blank is written in its place.
const noBreak = "\u00a0"

// widestText bounds the lines of paragraphs: longer ones are hard to read.
const widestText = 100

// Paragraph breaks text into the lines of a paragraph.
func (s Style) Paragraph(text string) string {
	width := s.Width
	if width > widestText {
		width = widestText
	}
	return Wrap(text, width, "  ")
}

const (
	reset  = "\x1b[0m"
	bold   = "\x1b[1m"
	green  = "\x1b[32m"
	yellow = "\x1b[33m"
	faint  = "\x1b[2m"
)

func (s Style) bold(text string) string { return s.paint(bold, text) }

func (s Style) paint(code, text string) string {
	if !s.Colour {
		return text
	}
	return code + text + reset
}

// word colours a verdict; the word itself is always there to be read.
func (s Style) word(cell string) string {
	switch cell {
	case "matters", "real":
		return s.paint(green, cell)
	case "unresolved":
		return s.paint(yellow, cell)
	case "trivial", "equal":
		return s.paint(faint, cell)
	}
	return cell
}

// Wrap breaks text into lines of at most width columns; 0 is unbounded. The
// blanks that a line of text begins with are kept, and hang stands before what
// is carried over.
func Wrap(text string, width int, hang string) string {
	var b strings.Builder
	for _, line := range strings.Split(text, "\n") {
		lead := line[:len(line)-len(strings.TrimLeft(line, " "))]
		column := 0
		for i, word := range pieces(line) {
			n := utf8.RuneCountInString(word)
			switch {
			case i == 0:
				b.WriteString(lead)
				column = len(lead)
			case width > 0 && column+1+n > width:
				b.WriteString("\n" + lead + hang)
				column = len(lead) + len(hang)
			default:
				b.WriteByte(' ')
				column++
			}
			b.WriteString(word)
			column += n
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// pieces are what a line is broken between: its words, but "p = 0.02" and "2 %" are one each.
func pieces(line string) []string {
	var out []string
	glue := false
	for _, word := range strings.FieldsFunc(line, func(r rune) bool { return r == ' ' || r == '\t' }) {
		sign := word == "=" || word == "<"
		if n := len(out); n > 0 && (glue || sign || strings.HasPrefix(word, "%")) {
			out[n-1] += " " + word
		} else {
			out = append(out, word)
		}
		glue = sign
	}
	return out
}

// Rule is the heading of a step, underlined.
func (s Style) Rule(text string) string {
	return s.bold(text) + "\n" + strings.Repeat("=", utf8.RuneCountInString(text))
}

// Command is a command line as a person would type it.
func (s Style) Command(line string) string { return s.paint(faint, "$ ") + line }
