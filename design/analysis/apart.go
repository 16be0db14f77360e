package analysis

import (
	"fmt"

	"fairrun/design"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
)

// apart says in words what sessions, items and specimens keep the runs of a sheet, with these columns, from telling
// apart; nil where nothing is.
func apart(s *sheet.Sheet, d verdict.Data) []string {
	c := s.Campaign
	var said []string
	if f, ok := s.Items(); ok && c.Specimens != nil && c.Specimens.Count > 1 && tied(s) {
		said = append(said, fmt.Sprintf("every %s is used on one %s only, so that what differs between %s cannot be distinguished from what differs between %s",
			f.Name, c.Specimens.Name, c.Items.Plural(), c.Specimens.Plural()))
	}
	for _, f := range d.Recovered {
		if f.Name != c.Block.Name {
			said = append(said, fmt.Sprintf("not every treatment is run in every %s, so that some comparisons rest in part on different %s, whose own differences count as noise", f.Name, pluralOf(c, f.Name)))
		}
	}
	return said
}

// tied reports whether every item is used on one specimen only.
func tied(s *sheet.Sheet) bool {
	specimen := map[int]int{} // of each item
	for _, r := range s.Runs {
		if u, used := specimen[r.Item]; used && u != r.Specimen {
			return false
		}
		specimen[r.Item] = r.Specimen
	}
	return true
}

// pluralOf is what several sessions or items of a plan are called.
func pluralOf(c *design.Plan, name string) string {
	if c.Session != nil && c.Session.Name == name {
		return c.Session.Plural()
	}
	return c.Items.Plural()
}
