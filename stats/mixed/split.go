package mixed

import "slices"

// Source is a source of variation that more of something averages out: specimens,
// packs within specimens, runs within packs.
type Source struct {
	Name string

	// Variance is what of it stays in a difference between treatments: the variance
	// between items or, where they are shared, that of the interaction of items and
	// treatments, which is often 0.
	Variance float64

	Shared bool // every treatment is run on every item: an item is a block
}

// Split is runs shared out over sources of variation. The sources are nested, the coarsest first and
// single runs last; once items are not shared, what lies within them is not.
type Split struct {
	Treatments int
	Sources    []Source
}

// Allotment is a balanced layout: every treatment has Items[0] items of the first
// source, each with Items[1] of the second, and so on.
type Allotment struct {
	Items    []int
	Runs     int       // of all treatments
	Variance float64   // of a difference between two treatment means
	Share    []float64 // what each source contributes to Variance, as a part of it
}

const (
	panicTreatments = "mixed: a split needs two treatments or more and a source"
	panicShared     = "mixed: items within items that are not shared cannot be shared"
	panicItems      = "mixed: a layout needs a number of items, 1 or more, for each source"
)

func (s Split) check() {
	if s.Treatments < 2 || len(s.Sources) == 0 {
		panic(panicTreatments)
	}
	for i := range s.Sources[1:] {
		if s.Sources[i+1].Shared && !s.Sources[i].Shared {
			panic(panicShared)
		}
	}
}

// At returns the layout with the given numbers of items. With n1 … ni the items of
// the first i sources and v1 … vk the variances,
//
//	Variance = 2 Σ vi / (n1 … ni).
//
// Panics if there is not a number for each source, or one below 1.
func (s Split) At(items ...int) Allotment {
	s.check()
	if len(items) != len(s.Sources) || slices.Min(items) < 1 {
		panic(panicItems)
	}
	l := Allotment{Items: slices.Clone(items), Runs: s.Treatments, Share: make([]float64, len(items))}
	product := 1
	for i, n := range items {
		product *= n
		l.Runs *= n
		l.Share[i] = 2 * s.Sources[i].Variance / float64(product)
		l.Variance += l.Share[i]
	}
	if l.Variance > 0 {
		for i := range l.Share {
			l.Share[i] /= l.Variance
		}
	}
	return l
}
