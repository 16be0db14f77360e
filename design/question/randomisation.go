package question

import (
	"iter"

	"fairrun/design/lot"
	"fairrun/design/order"
	"fairrun/design/sheet"
	"fairrun/stats/verdict"
)

// firstStream is the first of the streams of random numbers that package order
// leaves to its callers.
const firstStream = 1 << 32

// Draw is the lot by which the runs of a sheet got their treatments, from the
// record of the draw: the set of orders that the rule of the draw allows, each
// as likely as the others, extensions drawn after what they extend. Up to draws
// orders are listed where they can be; of more, so many are drawn afresh, from
// the seed of the draw, so that the same record gives the same answer.
//
// What was drawn by lot is which treatment each run of the sheet gets. A run that
// was made at another place than the one drawn, or not at all, keeps the treatment
// that it drew; its block and its place in it are those at which it was made, in
// every order, as in the analysis. That is exact as long as runs were moved and
// lost for reasons that have nothing to do with their treatments.
func Draw(s *sheet.Sheet, draws int) (*verdict.Draw, error) {
	record := &s.Draw.Order
	set, err := record.Set()
	if err != nil {
		return nil, err
	}
	var kept []int // positions that are analysed
	for i, role := range record.Plan.Roles() {
		if role != order.RoleWarmup {
			kept = append(kept, i)
		}
	}
	flat := func(dst []int32, blocks [][]int) []int32 {
		dst = dst[:0]
		for _, block := range blocks {
			for _, i := range kept {
				dst = append(dst, int32(block[i]))
			}
		}
		return dst
	}
	d := &verdict.Draw{Treatments: record.Whole().Treatments, Drawn: flat(nil, record.Blocks)}
	if record.Plan.WholePlots != nil {
		d.Plots = wholePlots(Analysed(s)).Code
	}
	if orders, known := set.List(draws); known {
		d.All = flattened(orders, flat)
		d.Alike = renamings(record.Plan)
		return d, nil
	}
	d.Orders = draws
	d.Sampler = func(chunk int) func([]int32) {
		m := set.Sampler(lot.New(record.Seed, firstStream+uint64(chunk)))
		blocks := make([][]int, len(record.Blocks))
		for b := range blocks {
			blocks[b] = make([]int, len(record.Blocks[b]))
		}
		return func(dst []int32) {
			m.Fill(blocks)
			flat(dst, blocks)
		}
	}
	return d, nil
}

// renamings is how many orders differ from an order by an exchange of the treatments'
// names only, where every such exchange is as likely: T!.
func renamings(p order.Spec) int {
	if p.Effects != nil || p.WholePlots != nil || p.Warmup > 0 || p.Reference != nil {
		return 1
	}
	n := 1
	for t := 2; t <= p.Treatments && n < 1_000_000; t++ {
		n *= t
	}
	return n
}

// SmallestP is the smallest p that the randomisation test of all treatments can give for an order; known is false where the orders that
// might have been drawn are too many to be counted, which are always enough.
func SmallestP(record *order.Drawn) (p float64, known bool) {
	n := record.Orders.Exact
	if n == 0 {
		return 0, false
	}
	return min(1, float64(renamings(record.Plan))/float64(n)), true
}

// flattened yields orders as flat makes them, each overwritten by the next.
func flattened(orders iter.Seq[[][]int], flat func([]int32, [][]int) []int32) iter.Seq[[]int32] {
	return func(yield func([]int32) bool) {
		var dst []int32
		for blocks := range orders {
			dst = flat(dst, blocks)
			if !yield(dst) {
				return
			}
		}
	}
}
