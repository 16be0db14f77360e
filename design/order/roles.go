package order

import "slices"

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
