package order

// MainEffects returns Spec.Effects for a model of main effects. levels holds, for each treatment,
// the number from 0 of its level of each factor. A factor of L levels has L − 1 columns: for level
// l ≥ 1, 1 where the treatment has it and 0 elsewhere.
func MainEffects(levels [][]int) [][]float64 {
	most := make([]int, len(levels[0]))
	for _, row := range levels {
		for f, l := range row {
			most[f] = max(most[f], l)
		}
	}
	effects := make([][]float64, len(levels))
	for t, row := range levels {
		for f, l := range row {
			for k := 1; k <= most[f]; k++ {
				v := 0.0
				if l == k {
					v = 1
				}
				effects[t] = append(effects[t], v)
			}
		}
	}
	return effects
}
