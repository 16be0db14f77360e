package render

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"fairrun/design/log"
	"fairrun/stats/verdict"
	"fairrun/stats/words"
)

// plotWidth is how many signs show the course of a signal.
const plotWidth = 40

// Inspected shows what a log holds.
func Inspected(d *log.Description) *Document {
	out := &Document{}
	heading := fmt.Sprintf("heading in line %d, ", d.Heading)
	if d.Heading == 0 {
		heading = "no heading, "
	}
	out.Text("%s: %s of %s, cells apart by a %s, decimal %s, %srows from line %d.", d.File, words.Count(d.Rows, "row"), words.Count(len(d.Columns), "column"),
		d.Separator, d.Decimal, heading, d.FirstRow)
	if d.Cut {
		out.Text("The last line is cut short and left out.")
	}
	if t := d.Time; t == nil {
		out.Text("No column goes on as time does.")
	} else {
		text := fmt.Sprintf("Time is %q, from %s to %s s", t.Heading, short(verdict.Number(t.From), 6), short(verdict.Number(t.To), 6))
		if t.Interval > 0 {
			text += fmt.Sprintf(": a row every %s s (%s Hz), the longest gap %s s", short(verdict.Number(t.Interval), 4), short(verdict.Number(1/t.Interval), 4), short(verdict.Number(t.Longest), 4))
		}
		if t.Backward > 0 {
			text += fmt.Sprintf("; %s not later than the one before", words.Count(t.Backward, "stamp")+words.Agree(t.Backward, " is", " are"))
		}
		out.Text("%s.", text)
	}
	t := Table{Head: []string{"column", "unit", "values", "least", "largest", "course"}, Align: "llrrrl", Keys: 1}
	for _, c := range d.Columns {
		row := []string{c.Heading, c.Unit, strconv.Itoa(c.Values), none, none, c.Holds}
		if c.Name != "" && c.Unit != "" {
			row[0] = c.Name
		}
		if c.Holds == log.Numbers && c.Values > 0 {
			row[3], row[4], row[5] = short(verdict.Number(c.Low), 6), short(verdict.Number(c.High), 6), course(&c)
		}
		t.Rows = append(t.Rows, row)
	}
	out.Table(t)
	return out
}

var bars = []rune("▁▂▃▄▅▆▇█")

// course draws a signal as a row of bars, each the middle of a piece between least and largest value.
func course(c *log.Described) string {
	n := min(plotWidth, len(c.Envelope))
	var b strings.Builder
	for i := range n {
		from, to := i*len(c.Envelope)/n, max((i+1)*len(c.Envelope)/n, i*len(c.Envelope)/n+1)
		low, high := math.Inf(1), math.Inf(-1)
		for _, e := range c.Envelope[from:to] {
			low, high = min(low, e[0]), max(high, e[1])
		}
		level := 0
		if c.High > c.Low {
			level = int(math.Round(((low+high)/2 - c.Low) / (c.High - c.Low) * float64(len(bars)-1)))
		}
		b.WriteRune(bars[level])
	}
	return b.String()
}

// InspectedRows are the rows of a CSV of what a log holds, one a column.
func InspectedRows(d *log.Description) (head []string, rows [][]string) {
	head = []string{"column", "unit", "holds", "values", "empty", "least", "largest"}
	for _, c := range d.Columns {
		rows = append(rows, []string{c.Heading, c.Unit, c.Holds, strconv.Itoa(c.Values), strconv.Itoa(c.Empty), full(verdict.Number(c.Low)), full(verdict.Number(c.High))})
	}
	return head, rows
}
