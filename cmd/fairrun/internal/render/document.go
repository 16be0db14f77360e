// Package render lays results out for people: on a terminal, as Markdown and
// as CSV. It computes nothing; it takes values that are already results.
//
// Read document.go first: what every output is made of. Then verdict.go, for the largest of them.
package render

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/olekukonko/tablewriter"
	"github.com/olekukonko/tablewriter/renderer"
	"github.com/olekukonko/tablewriter/tw"
)

// Format names a way to print a result.
type Format string

// Formats.
const (
	Terminal Format = "table"
	JSON     Format = "json"
	CSV      Format = "csv"
	Markdown Format = "markdown"
)

// Formats lists all formats, the usual one first.
var Formats = []Format{Terminal, JSON, CSV, Markdown}

// ParseFormat reads a format's name.
func ParseFormat(name string) (Format, error) {
	for _, f := range Formats {
		if name == string(f) {
			return f, nil
		}
	}
	return "", fmt.Errorf("format %q is unknown; it can be table, json, csv or markdown", name)
}

// A Document is headings, paragraphs and tables in reading order.
type Document struct{ parts []part }

type part struct {
	heading string
	text    string
	table   *Table
}

// Table is a grid of finished texts. What does not fit side by side on a
// terminal goes below: groups of columns first, then columns, each time beside
// the first column, or the first Keys.
type Table struct {
	Head   []string
	Rows   [][]string
	Align  string // one letter a column: l for words, r for numbers
	Keys   int    // columns that tell rows apart and are repeated; 0: the first
	Groups []int  // the columns, but the first, at which a group begins; nil: each is one

	Tight    bool    // one blank between columns, not two
	Spare    []int   // columns that are left out where the line would be too long
	Pictures *Strips // a last column, drawn into what is left of the line; nil: none
}

// Heading starts a section.
func (d *Document) Heading(format string, args ...any) {
	d.parts = append(d.parts, part{heading: fmt.Sprintf(format, args...)})
}

// Text adds a paragraph.
func (d *Document) Text(format string, args ...any) {
	d.parts = append(d.parts, part{text: fmt.Sprintf(format, args...)})
}

// Table adds a table; one without rows is left out.
func (d *Document) Table(t Table) {
	if len(t.Rows) > 0 {
		d.parts = append(d.parts, part{table: &t})
	}
}

// Write prints the document for a terminal or as Markdown.
func (d *Document) Write(w io.Writer, f Format, s Style) error {
	var b strings.Builder
	for i, p := range d.parts {
		if i > 0 && !(p.text != "" && d.parts[i-1].text != "" && f == Terminal) {
			b.WriteByte('\n')
		}
		switch {
		case p.heading != "" && f == Markdown:
			fmt.Fprintf(&b, "## %s\n", p.heading)
		case p.heading != "":
			fmt.Fprintf(&b, "%s\n", s.bold(strings.TrimSuffix(s.Paragraph(p.heading), "\n")))
		case p.table != nil:
			for k, t := range p.table.fit(f, s).fold(f, s.Width) {
				if k > 0 {
					b.WriteByte('\n')
				}
				if err := t.write(&b, f, s); err != nil {
					return err
				}
			}
		case f == Markdown:
			fmt.Fprintf(&b, "%s\n", p.text)
		default:
			b.WriteString(s.Paragraph(p.text))
		}
	}
	_, err := io.WriteString(w, strings.ReplaceAll(b.String(), noBreak, " "))
	return err
}

// write prints the table; no line of it ends in blanks.
func (t Table) write(to *strings.Builder, f Format, s Style) error {
	b := &strings.Builder{}
	align := make([]tw.Align, len(t.Head))
	for i := range align {
		if align[i] = tw.AlignRight; t.Align[i] == 'l' {
			align[i] = tw.AlignLeft
		}
	}
	padding := tw.Padding{Left: " ", Right: " ", Overwrite: true}
	if t.Tight && f == Terminal {
		padding.Right = ""
	}
	out := tablewriter.NewTable(b,
		tablewriter.WithPadding(padding),
		tablewriter.WithRenderer(t.renderer(f)),
		tablewriter.WithHeaderAutoFormat(tw.Off),
		tablewriter.WithHeaderAutoWrap(tw.WrapNone),
		tablewriter.WithRowAutoWrap(tw.WrapNone),
		tablewriter.WithTrimSpace(tw.Off),
		tablewriter.WithHeaderAlignmentConfig(tw.CellAlignment{PerColumn: align}),
		tablewriter.WithRowAlignmentConfig(tw.CellAlignment{PerColumn: align}),
	)
	head := make([]any, len(t.Head))
	for i, h := range t.Head {
		head[i] = h
	}
	out.Header(head...)
	for _, row := range t.Rows {
		cells := make([]string, len(row))
		for i, c := range row {
			if cells[i] = c; f == Markdown {
				cells[i] = strings.ReplaceAll(c, "|", `\|`)
			} else {
				cells[i] = s.word(c)
			}
		}
		if err := out.Append(cells); err != nil {
			return err
		}
	}
	if err := out.Render(); err != nil {
		return err
	}
	for line := range strings.Lines(b.String()) {
		line = strings.TrimRight(line, " \n")
		if strings.Trim(line, "-") == "" {
			line = strings.TrimPrefix(line, "-") // as the other lines lose the blank at their end
		}
		to.WriteString(line + "\n")
	}
	return nil
}

// renderer draws a table on the terminal with a single rule under its head.
func (t Table) renderer(f Format) tw.Renderer {
	if f == Markdown {
		return renderer.NewMarkdown()
	}
	return renderer.NewBlueprint(tw.Rendition{
		Borders: tw.BorderNone,
		Symbols: tw.NewSymbolCustom("fairrun").WithRow("-").WithColumn(" ").WithCenter(" "),
		Settings: tw.Settings{
			Separators: tw.Separators{ShowHeader: tw.On, ShowFooter: tw.Off, BetweenRows: tw.Off, BetweenColumns: tw.Off},
			Lines:      tw.Lines{ShowTop: tw.Off, ShowBottom: tw.Off, ShowHeaderLine: tw.On, ShowFooterLine: tw.Off},
		},
	})
}

// WriteCSV prints one flat table.
func WriteCSV(w io.Writer, head []string, rows [][]string) error {
	c := csv.NewWriter(w)
	if err := c.Write(head); err != nil {
		return err
	}
	return c.WriteAll(rows)
}

// WriteJSON prints a value, indented.
func WriteJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}
