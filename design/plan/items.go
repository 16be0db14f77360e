package plan

import (
	"fairrun/design"
	"fmt"
	"slices"
	"strings"
)

// longestLabel bounds what is written on an item.
const longestLabel = 40

// items reads [items] of a plan whose blocks are known.
func (r *planReader) items(t *table, b design.Block) *design.Items {
	s := r.section(t, "[items]")
	items := &design.Items{}
	items.Name, _ = s.columnNameOr(r.names, design.DefaultItem, "item")
	e := t.byKey["labels"]
	if e == nil {
		s.lacks("labels")
		return items
	}
	items.Labels = s.labels(e.value)
	if n := len(items.Labels); b.Count > 0 && n > b.Count {
		s.add(e.value.at, fmt.Sprintf("%s are more than the %s of the plan: some would not be used", items.Many(n), b.Many(b.Count)),
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
