package design

import (
	"fairrun/stats/words"
	"strconv"
	"strings"
)

// Items are the things that blocks run on and that come back: packs that are charged again for a
// later block, in the same session or the next. Where a plan has sessions the items are crossed with
// them: each is used in every session as far as its blocks allow.
type Items struct {
	Name   string   `json:"name"`   // "pack": heads the sheet's column
	Labels []string `json:"labels"` // what is written on each
}

// DefaultItem is what an item is called when the plan does not say.
const DefaultItem = "item"

// ItemOf returns the number of the item that a block runs on, both from 1; 0 when the plan has none.
//
// Blocks take the n items in turn, but for a step where that would tie items to the places of a
// session or to specimens for good. With m blocks in a session and u specimens:
//
//   - Where m and n have a common divisor g, the turn comes round to the start of a session after
//     lcm(m, n) blocks, so each such round begins one item further on, g different ones in all.
//     Otherwise the turn puts another item first in each session by itself.
//   - Where n and u have a common divisor, an item might meet the same specimens only. If the turn is in
//     step with sessions by itself, session d then begins with item d·a, where a = m ± 1 or another
//     number has no divisor in common with n and lets items move against specimens. And whenever all of
//     this has come round, with the specimens, it goes on one item further.
func (c *Plan) ItemOf(block int) int {
	if c.Items == nil {
		return 0
	}
	n, k, m, u := len(c.Items.Labels), block-1, 1, 1
	if c.Session != nil {
		m = c.Session.Blocks
	}
	if c.Specimens != nil {
		u = c.Specimens.Count
	}
	turn, round := k, multiple(m, n) // after round blocks the turn begins again
	g, h := divisor(m, n), divisor(n, u)
	if g > 1 {
		turn += k / round % g
		round *= g
	} else if a := sessionStep(m, n, h); h > 1 && a > 0 {
		turn = k/m*a + k%m
	}
	if h > 1 {
		turn += k / multiple(round, u)
	}
	return turn%n + 1
}

// sessionStep returns by how many items each session of m blocks begins after the one before, so that
// each of n items opens as many as another and moves against specimens that share the divisor h with them;
// 0 if there is no such step.
func sessionStep(m, n, h int) int {
	if m == 1 {
		return 0
	}
	fits := func(a int) bool { return a > 0 && divisor(a%n, n) == 1 && divisor(max(a-m, m-a), h) == 1 }
	if fits(m + 1) {
		return m + 1
	}
	for a := m - 1; a > m-n; a-- {
		if fits(a) {
			return a
		}
	}
	return 0
}

// multiple returns the least common multiple of two positive numbers.
func multiple(a, b int) int { return a / divisor(a, b) * b }

// divisor returns the greatest common divisor of two numbers, of which one may be 0.
func divisor(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// Label returns what is written on an item, by its number from 1; "" for 0.
func (t *Items) Label(item int) string {
	if item == 0 {
		return ""
	}
	return t.Labels[item-1]
}

// Plural returns what several items are called: "packs".
func (t *Items) Plural() string { return words.Plural(t.Name) }

// Many returns a number of items in words: "1 pack", "3 packs".
func (t *Items) Many(n int) string { return words.Count(n, t.Name) }

func (t *Items) facts() []fact {
	var labels []string
	for _, label := range t.Labels {
		labels = append(labels, strconv.Quote(label))
	}
	return []fact{{"items", "name", t.Name}, {"items", "labels", strings.Join(labels, ", ")}}
}
