package trace

import (
	"maps"
	"math"
	"slices"
)

const maxDistinct = 4096 // of more distinct values no quantum is looked for

// quantum returns the smallest distance between two values when few are distinct (at
// most a third of the rows), 0 otherwise. Distances that rounding may have made count as none.
func quantum(v []float64) float64 {
	limit := min(len(v)/3, maxDistinct)
	seen := make(map[float64]struct{}, 64)
	for i, x := range v {
		if i > 0 && x == v[i-1] {
			continue
		}
		seen[x] = struct{}{}
		if len(seen) > limit {
			return 0
		}
	}
	distinct := slices.Sorted(maps.Keys(seen))
	if len(distinct) < 2 {
		return 0
	}
	tiny := 1e-9 * (distinct[len(distinct)-1] - distinct[0])
	least := math.Inf(1)
	for i := 1; i < len(distinct); i++ {
		if d := distinct[i] - distinct[i-1]; d > tiny {
			least = min(least, d)
		}
	}
	if math.IsInf(least, 1) {
		return 0
	}
	return least
}
