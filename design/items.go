package design

import (
	"fmt"
	"slices"
	"strings"
)

// Items are the things that blocks run on and that come back: packs that are charged again for a
// later block, in the same session or the next. Where a plan has sessions the items are crossed with
// them: each is used in every session as far as its blocks allow.
type Items struct {
	Name   string   `json:"name"`   // "pack": heads the sheet's column
	Labels []string `json:"labels"` // what is written on each
}

// defaultItem is what an item is called when the plan does not say.
const defaultItem = "item"

// ItemOf returns the number of the item that a block runs on, both from 1; 0 when the plan has none.
//
// Blocks take the n items in turn. With m blocks in a session this comes round to the start of a
// session after lcm(m, n) blocks, with every item used equally often; where m and n have a common
// divisor g > 1 an item would then open, or follow at some other place of, the same sessions for ever,
// so each such round begins one item further on, g different ones in all.
func (c *Campaign) ItemOf(block int) int {
	if c.Items == nil {
		return 0
	}
	n, k := len(c.Items.Labels), block-1
	turn := k
	if c.Session != nil {
		g := divisor(c.Session.Blocks, n)
		turn += k / (c.Session.Blocks / g * n) % g
	}
	return turn%n + 1
}

// divisor returns the greatest common divisor of two positive numbers.
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
func (t *Items) Plural() string { return plural(t.Name) }

// Many returns a number of items in words: "1 pack", "3 packs".
func (t *Items) Many(n int) string { return counted(n, t.Name) }

// longestLabel bounds what is written on an item.
const longestLabel = 40

// items reads [items] of a plan whose blocks are known.
func (r *planReader) items(t *table, b Block) *Items {
	s := r.section(t, "[items]", "name", "labels")
	items := &Items{Name: defaultItem}
	at := t.at
	name, found, ok := s.text("name")
	if found {
		items.Name, at = name, t.byKey["name"].value.at
	}
	if ok {
		r.claim(r.names, items.Name, "item", at)
	}
	e := t.byKey["labels"]
	if e == nil {
		s.missing("labels", `add labels = ["P1", "P2", "P3"]: what is written on each`)
		return items
	}
	items.Labels = s.labels(e.value)
	if n := len(items.Labels); b.Count > 0 && n > b.Count {
		s.add(e.value.at, fmt.Sprintf("%s are more than the %s of the plan: some would not be used", items.Many(n), b.many(b.Count)),
			fmt.Sprintf("take %d of them out, or write count = %d or more in [block]", n-b.Count, n))
	}
	return items
}

// labels returns a list of two or more different labels.
func (s section) labels(v *value) []string {
	const do = `write a list of two or more different labels, such as ["P1", "P2", "P3"]`
	if v.kind != kindList || v.tables || len(v.items) < 2 {
		what := v.describe()
		if v.kind == kindList && !v.tables {
			what = fmt.Sprintf("a list of %d", len(v.items))
		}
		s.add(v.at, "labels is "+what, do)
		return nil
	}
	var labels []string
	for _, item := range v.items {
		if item.kind != kindText {
			d := "write a label in quotes"
			if item.scalar() {
				d = fmt.Sprintf("put it in quotes: %q", item.text)
			}
			s.add(item.at, "a label is "+item.describe(), d)
			continue
		}
		if what, d := lineFault(item.text, longestLabel); what != "" {
			s.add(item.at, "a label "+what, d)
			continue
		}
		if slices.ContainsFunc(labels, func(l string) bool { return strings.EqualFold(l, item.text) }) {
			s.add(item.at, fmt.Sprintf("the label %q stands twice", item.text), "give each its own: capitals do not tell them apart")
			continue
		}
		labels = append(labels, item.text)
	}
	return labels
}

func (t *Items) facts() []fact {
	return []fact{{"items", "name", t.Name}, {"items", "labels", strings.Join(t.Labels, ", ")}}
}
