package analysis

import (
	"fmt"
	"math"
	"strings"

	"fairrun/design"
	"fairrun/stats/mixed"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// Split says how runs are best shared out over units (or whole plots) and repeats
// on each, given how much either varies.
type Split struct {
	Factor   string   `json:"factor"`   // whose levels are compared
	Item     string   `json:"item"`     // what is had several of: "motor", "whole plot"
	Runs     int      `json:"runs"`     // that are shared out, at the most
	Layouts  []Layout `json:"layouts"`  // fewest items first
	Sentence string   `json:"sentence"` // what one more item does, and as many runs on the same ones
}

// Layout is one way to share runs out.
type Layout struct {
	Items   int            `json:"items"`   // units; of whole plots, those of each setting
	Repeats int            `json:"repeats"` // runs of each level on each
	Runs    int            `json:"runs"`
	SE      verdict.Number `json:"se"` // of a difference between two levels, in the terms of the margin
}

// mostLayouts bounds the table.
const mostLayouts = 8

// between is a random part of the noise that more runs on the same items do not
// average out.
type between struct {
	factor, item string
	levels       int
	shared       bool // every level is run on every item
	items        int  // so far
	variance     float64
}

// shareOut shares runs out for the part of the noise between items that varies most; nil
// where there is none, or no margin to speak in terms of.
func shareOut(c *design.Campaign, r *verdict.Response, runs int, in terms, unit float64) *Split {
	b, ok := worstBetween(c, r)
	noise := float64(r.Noise.SD)
	if !ok || !(noise > 0) || b.variance == 0 {
		return nil
	}
	if runs == 0 {
		runs = c.Runs()
	}
	ask := mixed.Split{Treatments: b.levels, Runs: runs, Sources: []mixed.Source{
		{Name: b.item, Variance: b.variance, Shared: b.shared}, {Name: runPart, Variance: noise * noise},
	}}
	out := &Split{Factor: b.factor, Item: b.item, Runs: runs, Layouts: []Layout{}}
	for items := 2; items*b.levels <= runs; items++ { // one item does not tell how much they vary
		repeats := runs / (items * b.levels)
		l := ask.At(items, repeats)
		layout := Layout{items, repeats, l.Runs, in.to(math.Sqrt(l.Variance) / unit)}
		if n := len(out.Layouts); n > 0 && out.Layouts[n-1].Repeats == repeats {
			out.Layouts[n-1] = layout // as many runs of each on fewer items leave runs unused
			continue
		}
		out.Layouts = append(out.Layouts, layout)
	}
	if n := len(out.Layouts); n > mostLayouts {
		out.Layouts = out.Layouts[n-mostLayouts:]
	}
	out.Sentence = b.sentence(r.Runs.OK, noise*noise)
	return out
}

// worstBetween is the largest part of the noise between units or whole plots.
func worstBetween(c *design.Campaign, r *verdict.Response) (worst between, ok bool) {
	levels := map[string]int{}
	for _, f := range c.Factors {
		levels[f.Name] = len(f.Levels)
	}
	for _, part := range r.Noise.Components {
		b := between{item: part.Name, variance: float64(part.SD * part.SD)}
		switch {
		case !part.SD.Known():
			continue
		case c.Units != nil && strings.HasPrefix(part.Name, c.Units.Name+":"):
			b.factor, b.item, b.shared, b.items = strings.TrimPrefix(part.Name, c.Units.Name+":"), c.Units.Name, true, c.Units.Count
			b.levels = 1
			for _, name := range strings.Split(b.factor, ":") {
				b.levels *= levels[name]
			}
		case part.Name == plotName:
			var hard []string
			for _, f := range c.Factors {
				if f.Change == design.ChangeHard {
					hard = append(hard, f.Name)
				}
			}
			p := plotsOf(c)
			if p == nil {
				continue
			}
			b.factor, b.levels, b.items = strings.Join(hard, ":"), p.settings, c.Block.Count
		default:
			continue
		}
		if b.levels > 1 && (!ok || b.variance > worst.variance) {
			worst, ok = b, true
		}
	}
	return worst, ok
}

// sentence says what one more item does to the variance of a difference, and what as
// many runs on the same items do, when so many runs are made.
func (b between) sentence(made int, noise float64) string {
	repeats := float64(made) / float64(b.levels*b.items)
	n := float64(b.items)
	variance := func(items, repeats float64) float64 { return b.variance/items + noise/(items*repeats) }
	now := variance(n, repeats)
	more := int(math.Round(repeats * float64(b.levels)))
	if now == 0 || more < 1 {
		return ""
	}
	item := 100 * (1 - variance(n+1, repeats)/now)
	same := 100 * (1 - variance(n, repeats*(n+1)/n)/now)
	each := ""
	if !b.shared {
		each = " of each setting"
	}
	return fmt.Sprintf("%.0f %% of the variance of a difference is from %s to %s: 1 more %s%s (%s) takes %.0f %% of it away, as many runs more on the same %ss %.0f %%",
		100*b.variance/n/now, b.item, b.item, b.item, each, runsOf(more), item, b.item, same)
}

func runsOf(n int) string {
	if n == 1 {
		return "1 run"
	}
	return fmt.Sprintf("%d runs", n)
}

// unitsDiffer says why the number of blocks is not the question when there are several
// units; "" when it is.
func unitsDiffer(c *design.Campaign, r *verdict.Response, noise power.Noise) string {
	if c.Units == nil || c.Units.Count < 2 || !(noise.SD > 0) {
		return ""
	}
	b, ok := worstBetween(c, r)
	if !ok || b.variance == 0 {
		return ""
	}
	return fmt.Sprintf("the %s do not answer alike, and more %ss on the same %d do not average that out: it takes more %s",
		c.Units.Plural(), c.Block.Name, c.Units.Count, c.Units.Plural())
}
