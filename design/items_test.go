package design_test

import (
	"fmt"
	"testing"

	"fairrun/design"
)

// shared is a plan with so many blocks in a session, items and specimens; 0 for none.
func shared(session, items, specimens int) *design.Plan {
	c := &design.Plan{}
	if session > 0 {
		c.Session = &design.Session{Name: "day", Blocks: session}
	}
	if items > 0 {
		c.Items = &design.Items{Name: "pack"}
		for i := range items {
			c.Items.Labels = append(c.Items.Labels, fmt.Sprintf("P%d", i+1))
		}
	}
	if specimens > 0 {
		c.Specimens = &design.Specimens{Name: "motor", Count: specimens}
	}
	return c
}

func TestSessionOf(t *testing.T) {
	c := shared(3, 0, 0)
	for block, want := range map[int]int{1: 1, 3: 1, 4: 2, 6: 2, 7: 3} {
		if got := c.Session.Of(block); got != want {
			t.Errorf("block %d lies in session %d, want %d", block, got, want)
		}
	}
	if n := c.Session.Count(7); n != 3 {
		t.Errorf("7 blocks fill %d sessions of 3, want 3", n)
	}
	var none *design.Session
	if none.Of(2) != 0 || none.Count(2) != 0 || shared(3, 0, 0).ItemOf(2) != 0 {
		t.Error("a plan without sessions or items has some")
	}
}

// Worked out by hand from the rule.
func TestItemOf(t *testing.T) {
	for _, c := range []struct {
		session, items, specimens int
		want                      string
	}{
		{0, 3, 0, "123123123123"},
		{2, 3, 0, "12 31 23 12 31 23"},
		{3, 3, 0, "123 231 312 123"},
		{4, 2, 0, "1212 2121 1212"},
		{2, 4, 0, "12 34 23 41 12 34"},
		{4, 3, 3, "1231 3123 2312"},
		{2, 3, 3, "12 23 31 23 31 12"},
		{2, 5, 5, "12 45 23 51 34 23"},
		{3, 2, 2, "121 212 212 121"},
		{0, 3, 3, "123231312123"},
		{0, 2, 4, "121221211212"},
	} {
		text := shared(c.session, c.items, c.specimens)
		got := ""
		for block := 1; block <= 12; block++ {
			if c.session > 0 && block > 1 && (block-1)%c.session == 0 {
				got += " "
			}
			got += fmt.Sprint(text.ItemOf(block))
		}
		if got != c.want {
			t.Errorf("%d blocks a session, %d items, %d specimens: %s, want %s", c.session, c.items, c.specimens, got, c.want)
		}
	}
}

// In the long run every item is used as often as another, opens as many sessions as another, and is not tied to specimens:
// from any item any other can be reached by way of specimens that both were used on.
func TestItemsAreCrossed(t *testing.T) {
	for session := range 7 {
		for items := 2; items <= 6; items++ {
			for specimens := range 7 {
				text := shared(session, items, specimens)
				m := max(session, 1)
				period := m * items * max(specimens, 1) * items
				used, opened := make([]int, items), make([]int, items)
				tied := make([]int, items) // items that are joined have the same
				for i := range tied {
					tied[i] = i
				}
				by := map[int]int{} // an item of each specimen
				for k := range period {
					i := text.ItemOf(k+1) - 1
					used[i]++
					if k%m == 0 {
						opened[i]++
					}
					specimen := text.Specimens.Of(k + 1)
					if j, seen := by[specimen]; !seen {
						by[specimen] = i
					} else if old := tied[i]; old != tied[j] {
						for x := range tied {
							if tied[x] == old {
								tied[x] = tied[j]
							}
						}
					}
				}
				for i := range items {
					if used[i] != period/items || opened[i] != period/m/items || tied[i] != tied[0] {
						t.Errorf("%d blocks a session, %d items, %d specimens: over %d blocks items are used %v times, open %v sessions, hang together as %v", session, items, specimens, period, used, opened, tied)
						break
					}
				}
			}
		}
	}
}
