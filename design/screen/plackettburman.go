package screen

import "fmt"

// PlackettBurman returns the two-level design of 12, 20 or 24 runs for up to one factor less, by
// run and factor, 0 for the low level and 1 for the high one (Plackett, R. L. & Burman, J. P. 1946,
// Biometrika 33). Main effects are free of each other; each is mixed, in part, with
// two-factor interactions that it is not in: with 12 and 20 runs every one, with 24 three in seven.
//
// The first row is high at 0 and the squares modulo q = runs − 1, each further row is the one
// before moved on by one place, and in the last all are low. For these runs q is a prime of the
// form 4m + 3, for which the rows are orthogonal (Paley, R. E. A. C. 1933, Journal of Mathematics
// and Physics 12), and the first row is that which Plackett and Burman list.
func PlackettBurman(factors, runs int) ([][]int, error) {
	if runs != 12 && runs != 20 && runs != 24 {
		return nil, fmt.Errorf("Plackett–Burman designs have 12, 20 or 24 runs, not %d", runs)
	}
	if factors < 2 || factors > runs-1 {
		return nil, fmt.Errorf("a Plackett–Burman design of %d runs is for 2 to %d factors; there are %d", runs, runs-1, factors)
	}
	q := runs - 1
	first := make([]int, q)
	for i := range q {
		first[i*i%q] = 1
	}
	levels := make([][]int, runs)
	for r := range levels {
		levels[r] = make([]int, factors)
		if r == q {
			break
		}
		for j := range levels[r] {
			levels[r][j] = first[(j-r+q)%q]
		}
	}
	return levels, nil
}
