package render

import (
	"slices"
	"unicode/utf8"
)

// padding is the blanks around the text of a column.
func (t Table) padding() int {
	if t.Tight {
		return 1
	}
	return 2
}

// fit leaves out the columns that can be spared where the line would be too long, and draws the pictures into what is left
// of it; where that is too little, they go below with the rest that does not fit.
func (t Table) fit(f Format, s Style) Table {
	width := s.Width
	if f == Markdown {
		width = 0
	}
	need := 0
	if t.Pictures != nil {
		need = leastStrip + t.padding()
	}
	for _, c := range slices.Backward(t.Spare) {
		if width == 0 || t.columns()+need <= width {
			break
		}
		t = t.only(without(len(t.Head), c))
	}
	if t.Pictures == nil {
		return t
	}
	free := mostStrip
	if width > 0 {
		if free = width - t.columns() - t.padding(); free < leastStrip {
			free = width - t.only(t.keys()).columns() - t.padding()
		}
	}
	head, rows := t.Pictures.draw(min(mostStrip, max(leastStrip, free)), s.marks())
	t.Head, t.Align = append(slices.Clone(t.Head), head), t.Align+"l"
	t.Rows = slices.Clone(t.Rows)
	for i := range t.Rows {
		t.Rows[i] = append(slices.Clone(t.Rows[i]), rows[i])
	}
	return t
}

// columns is how long a line of the table is.
func (t Table) columns() int {
	sum := 0
	for _, w := range t.widths() {
		sum += w
	}
	if !t.Tight {
		sum-- // the blank at the end of a line is not written
	}
	return sum
}

// without lists so many columns but one.
func without(n, column int) []int {
	var out []int
	for c := range n {
		if c != column {
			out = append(out, c)
		}
	}
	return out
}

// fold cuts a table into tables of at most width columns of text, which stand
// below each other. Each begins with the key columns and takes as many whole
// groups as fit; a group that does not fit by itself is cut between columns.
// A width of 0 is unbounded, and Markdown is never folded.
func (t Table) fold(f Format, width int) []Table {
	if width == 0 || f == Markdown {
		return []Table{t}
	}
	wide := t.widths()
	keys := t.keys()
	free := width
	if !t.Tight {
		free++ // the blank at the end of a line is not written
	}
	for _, c := range keys {
		free -= wide[c]
	}
	var parts [][]int
	left := 0
	take := func(columns []int, need int) {
		if len(parts) == 0 || need > left {
			parts, left = append(parts, slices.Clone(keys)), free
		}
		last := len(parts) - 1
		parts[last] = append(parts[last], columns...)
		left -= need
	}
	for _, group := range t.groups() {
		need := 0
		for _, c := range group {
			need += wide[c]
		}
		if need <= free {
			take(group, need)
			continue
		}
		for _, c := range group {
			take([]int{c}, wide[c])
		}
	}
	if len(parts) < 2 {
		return []Table{t}
	}
	out := make([]Table, len(parts))
	for k, columns := range parts {
		out[k] = t.only(columns)
	}
	return out
}

// widths is how wide each column is.
func (t Table) widths() []int {
	wide := make([]int, len(t.Head))
	for _, row := range append([][]string{t.Head}, t.Rows...) {
		for c, text := range row {
			wide[c] = max(wide[c], utf8.RuneCountInString(text)+t.padding())
		}
	}
	return wide
}

// keys lists the columns that each part begins with.
func (t Table) keys() []int {
	keys := []int{0}
	for c := 1; c < t.Keys; c++ {
		keys = append(keys, c)
	}
	return keys
}

// groups lists the columns, but the keys, by group.
func (t Table) groups() [][]int {
	var out [][]int
	for c := len(t.keys()); c < len(t.Head); c++ {
		if len(out) == 0 || t.Groups == nil || slices.Contains(t.Groups, c) {
			out = append(out, nil)
		}
		out[len(out)-1] = append(out[len(out)-1], c)
	}
	return out
}

// only is the table of some columns.
func (t Table) only(columns []int) Table {
	pick := func(row []string) []string {
		out := make([]string, len(columns))
		for k, c := range columns {
			out[k] = row[c]
		}
		return out
	}
	out := Table{Head: pick(t.Head), Tight: t.Tight, Pictures: t.Pictures}
	for _, row := range t.Rows {
		out.Rows = append(out.Rows, pick(row))
	}
	for _, c := range columns {
		out.Align += t.Align[c : c+1]
	}
	return out
}
