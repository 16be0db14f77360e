package compare

// Kept is a family that keeps the critical values it was asked for: the search for
// further replicates asks for the same ones for each comparison, and those of a
// [Joint] family are dear. It is not safe for concurrent use. Make it with [Keep].
type Kept struct {
	Family
	critical map[asked]float64
}

type asked struct{ alpha, df float64 }

// Keep returns the family with a memory of its own.
func Keep(f Family) Kept { return Kept{f, map[asked]float64{}} }

// Critical implements [Family].
func (f Kept) Critical(alpha, df float64) float64 {
	at := asked{alpha, df}
	x, ok := f.critical[at]
	if !ok {
		x = f.Family.Critical(alpha, df)
		f.critical[at] = x
	}
	return x
}
