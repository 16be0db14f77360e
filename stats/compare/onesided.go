package compare

// OneSided reports whether a family asks only which levels are better.
func OneSided(f Family) bool {
	switch f := f.(type) {
	case Kept:
		return OneSided(f.Family)
	case Joint:
		return f.OneSided
	}
	return false
}
