package compare

import "slices"

// OneSided reports whether a family asks only which levels are better.
func OneSided(f Family) bool {
	switch f := f.(type) {
	case Kept:
		return OneSided(f.Family)
	case Table:
		return slices.ContainsFunc(f.Families, OneSided)
	case Joint:
		return f.OneSided
	}
	return false
}
