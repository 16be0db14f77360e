package order

import (
	"math"
	"slices"
)

// Role says what the run at a position is for.
type Role string

const (
	RoleDrawn     Role = "drawn"     // a treatment, in drawn order
	RoleReference Role = "reference" // the baseline at a fixed place, analysed
	RoleWarmup    Role = "warmup"    // the baseline at the start, not analysed
)

// Length returns the number of positions in a block: drawn, reference and warm-up runs.
func (p Spec) Length() int { return p.runsPerBlock() + p.Warmup + len(p.Reference) }

// Roles returns the role of each position, the same in all blocks.
func (p Spec) Roles() []Role {
	roles := make([]Role, p.Length())
	for i := range roles {
		switch {
		case i < p.Warmup:
			roles[i] = RoleWarmup
		case slices.Contains(p.Reference, i):
			roles[i] = RoleReference
		default:
			roles[i] = RoleDrawn
		}
	}
	return roles
}

// slots returns the positions of drawn and of reference runs.
func (p Spec) slots() (drawn, reference []int) {
	for i, role := range p.Roles() {
		switch role {
		case RoleDrawn:
			drawn = append(drawn, i)
		case RoleReference:
			reference = append(reference, i)
		}
	}
	return drawn, reference
}

// analysed returns the treatments of flat by block, followed by the reference runs of the block.
func (p Spec) analysed(flat []int32) [][]int {
	n := p.runsPerBlock()
	blocks := make([][]int, len(flat)/n)
	for b := range blocks {
		for _, t := range flat[b*n : (b+1)*n] {
			blocks[b] = append(blocks[b], int(t))
		}
		for range p.Reference {
			blocks[b] = append(blocks[b], p.Baseline)
		}
	}
	return blocks
}

// basis returns an orthonormal basis of the comparisons that count, T×side by rows; nil and T if all do.
func (p Spec) basis() (basis []float64, side int) {
	if p.Effects == nil {
		return nil, p.Treatments
	}
	t := p.Treatments
	var columns [][]float64
	for j := range p.Effects[0] {
		z := make([]float64, t)
		var mean float64
		for _, row := range p.Effects {
			mean += row[j] / float64(t)
		}
		for i, row := range p.Effects {
			z[i] = row[j] - mean
		}
		before := dot(z, z)
		for range 2 {
			for _, y := range columns {
				f := dot(z, y)
				for i := range z {
					z[i] -= float64(f * y[i])
				}
			}
		}
		if after := dot(z, z); after > rankTolerance*before {
			for i := range z {
				z[i] /= math.Sqrt(after)
			}
			columns = append(columns, z)
		}
	}
	side = len(columns)
	basis = make([]float64, t*side)
	for j, z := range columns {
		for i, v := range z {
			basis[i*side+j] = v
		}
	}
	return basis, side
}
