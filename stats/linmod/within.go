package linmod

// within is what rows of like slopes tell beyond their cell means: an upper
// triangle T, one row for each covariate and one for the response, with the same
// cross products as the deviations from the cell means.
type within struct {
	cell int     // a cell of the group: its levels say which slopes hold
	t    *matrix // columns: the covariates, then the response
}

// chunk is the number of rows that are folded into the triangle at once.
const chunk = 512

// deviations sums up the deviations from the cell means, one triangle for each
// run of cells that share all slopes; none for a group whose cells hold one row
// each.
func deviations(cs *cells, slopes []slope, y, mean []float64) []within {
	p := len(slopes)
	work := newMatrix(p+1+chunk, p+1)
	none := make([]float64, work.rows)
	var out []within
	for from := 0; from < cs.count(); {
		to := from + 1
		for to < cs.count() && sameSlopes(slopes, from, to) {
			to++
		}
		next, any := p+1, false
		fold := func() {
			reduce(work, none, make([]float64, p+1))
			next, any = p+1, true
		}
		clear(work.data)
		for c := from; c < to; c++ {
			if cs.n(c) == 1 {
				continue
			}
			for _, row := range cs.in(c) {
				for k := range slopes {
					work.col(k)[next] = slopes[k].deviation(row, c)
				}
				work.col(p)[next] = y[row] - mean[c]
				if next++; next == work.rows {
					fold()
				}
			}
		}
		if next > p+1 {
			fold()
		}
		if any {
			t := newMatrix(p+1, p+1)
			for k := range p + 1 {
				copy(t.col(k), work.col(k))
			}
			out = append(out, within{from, t})
		}
		from = to
	}
	return out
}

// sameSlopes reports whether two cells share every slope.
func sameSlopes(slopes []slope, a, b int) bool {
	for k := range slopes {
		if slopes[k].level(a) != slopes[k].level(b) {
			return false
		}
	}
	return true
}
