package design

// Analysis says how the results are judged.
type Analysis struct {
	Alpha   float64 // chance of a false alarm in the whole family of comparisons; 0.05 unless the plan says otherwise
	Power   float64 // chance to find a difference of the margin; 0.9 unless the plan says otherwise
	Compare string  // ComparePairs, CompareBaseline or CompareBest
	Looks   int     // times the results are judged, the last one included; 1 unless the plan says otherwise
}

// Families of comparisons.
const (
	ComparePairs    = "pairs"    // every level with every other
	CompareBaseline = "baseline" // every level with the baseline
	CompareBest     = "best"     // every level with the best of the others
)
