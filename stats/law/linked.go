package law

// linked holds the sums that expand the probability that correlated normal variables
// stay inside a box, about independence. With r the correlations (zeros on the diagonal),
// ξ a normal vector with covariances r in the formal sense, and F_i the probability that
// variable i, alone, stays inside when it is shifted by ξ_i,
//
//	log P = log E Π F_i(ξ_i) = Σ log F_i(0) + W_1 + W_2 + …,
//
// where W_k is the sum over all connected diagrams with k edges: an edge between i and j is
// r_ij, a vertex with d edges is the derivative d of log F_i, and the diagram is divided by its
// number of symmetries. It is Kendall's tetrachoric series (1941, Biometrika 32, 196-198) taken as
// a logarithm, by the linked-cluster theorem; each element of r comes to the same power in it as
// in Plackett's derivatives (1954, Biometrika 41, 351-360). Nothing in it needs r to be a
// covariance matrix.
type linked struct {
	n             int
	r, r2, r3, r4 []float64 // n×n: r and its powers, element by element
}

// linkedOrder is how many edges the largest diagrams have.
const linkedOrder = 4

// diagrams are the connected ones in the order of linked.sums: how many edges, and how many vertices
// with one, two, three and four of them.
var diagrams = [...]struct{ edges, one, two, three, four int }{
	{1, 2, 0, 0, 0}, // edge
	{2, 2, 1, 0, 0}, // path
	{2, 0, 2, 0, 0}, // double edge
	{3, 3, 0, 1, 0}, // star
	{3, 2, 2, 0, 0}, // path
	{3, 1, 1, 1, 0}, // double edge with a tail
	{3, 0, 0, 2, 0}, // triple edge
	{3, 0, 3, 0, 0}, // triangle
	{4, 4, 0, 0, 1}, // star
	{4, 3, 1, 1, 0}, // fork
	{4, 2, 3, 0, 0}, // path
	{4, 1, 2, 1, 0}, // double edge with a tail of two
	{4, 2, 1, 0, 1}, // double edge with two tails at one end
	{4, 2, 0, 2, 0}, // double edge with a tail at each end
	{4, 0, 2, 0, 1}, // two double edges
	{4, 1, 0, 1, 1}, // triple edge with a tail
	{4, 0, 0, 0, 2}, // quadruple edge
	{4, 1, 2, 1, 0}, // triangle with a tail
	{4, 0, 1, 2, 0}, // triangle with a double edge
	{4, 0, 4, 0, 0}, // square
}

// diagramSums has one number for each of diagrams.
type diagramSums [len(diagrams)]float64

// newLinked takes n×n correlations with zeros on the diagonal.
func newLinked(n int, r []float64) *linked {
	l := &linked{n: n, r: r}
	for _, v := range r {
		l.r2 = append(l.r2, v*v)
		l.r3 = append(l.r3, v*v*v)
		l.r4 = append(l.r4, v*v*v*v)
	}
	return l
}

// sums returns every diagram for the derivatives f[d-1][i] of log F_i. scratch holds 6n numbers.
func (l *linked) sums(f *[linkedOrder][]float64, scratch []float64) (w diagramSums) {
	n := l.n
	f1, f2, f3, f4 := f[0][:n], f[1][:n], f[2][:n], f[3][:n]
	tail, tail2 := scratch[:n], scratch[n:2*n] // sums over a path of one and two edges that starts at i
	double, triple, quadruple := scratch[2*n:3*n], scratch[3*n:4*n], scratch[4*n:5*n]
	tailed := scratch[5*n : 6*n] // over a double edge with a tail at the other end
	for i := range n {
		s := 0.0
		for j, r := range l.r[i*n : (i+1)*n] {
			s += r * f1[j]
		}
		tail[i] = s
	}
	for i := range n {
		var t, d2, d3, d4, dt float64
		r2, r3, r4 := l.r2[i*n:(i+1)*n], l.r3[i*n:(i+1)*n], l.r4[i*n:(i+1)*n]
		for j, r := range l.r[i*n : (i+1)*n] {
			t += r * f2[j] * tail[j]
			d2 += r2[j] * f2[j]
			d3 += r3[j] * f3[j]
			d4 += r4[j] * f4[j]
			dt += r2[j] * f3[j] * tail[j]
		}
		tail2[i], double[i], triple[i], quadruple[i], tailed[i] = t, d2, d3, d4, dt
	}
	for i := range n {
		s, t, q := tail[i], tail2[i], double[i]
		w[0] += f1[i] * s / 2
		w[1] += f2[i] * s * s / 2
		w[2] += f2[i] * q / 4
		w[3] += f3[i] * s * s * s / 6
		w[4] += f2[i] * s * t / 2
		w[5] += f3[i] * s * q / 2
		w[6] += f3[i] * triple[i] / 12
		w[8] += f4[i] * s * s * s * s / 24
		w[9] += f3[i] * s * s * t / 2
		w[10] += f2[i] * t * t / 2
		w[11] += f3[i] * q * t / 2
		w[12] += f4[i] * q * s * s / 4
		w[13] += f3[i] * s * tailed[i] / 4
		w[14] += f4[i] * q * q / 8
		w[15] += f4[i] * s * triple[i] / 6
		w[16] += f4[i] * quadruple[i] / 48
		// Closed paths: from i over k to j and back.
		ri := l.r[i*n : (i+1)*n]
		for j := range i + 1 {
			over := 0.0
			rj := l.r[j*n : (j+1)*n]
			for k, r := range ri {
				over += r * f2[k] * rj[k]
			}
			if i == j {
				w[19] += over * over * f2[i] * f2[i] / 8
				continue
			}
			r := ri[j]
			w[7] += over * r * f2[i] * f2[j] / 3
			w[17] += over * r * (f2[j]*f3[i]*s + f2[i]*f3[j]*tail[j]) / 2
			w[18] += over * r * r * f3[i] * f3[j] / 2
			w[19] += over * over * f2[i] * f2[j] / 4
		}
	}
	return w
}

// orders adds up the diagrams of one to three edges, and those of four.
func (w *diagramSums) orders() (upToThree, four float64) {
	for k, d := range diagrams {
		if d.edges < linkedOrder {
			upToThree += w[k]
		} else {
			four += w[k]
		}
	}
	return upToThree, four
}

// alike returns the diagrams for variables whose derivatives are all f, given the sums for derivatives
// of one.
func (w *diagramSums) alike(f *[linkedOrder]float64) (out diagramSums) {
	power := func(x float64, n int) float64 {
		p := 1.0
		for range n {
			p *= x
		}
		return p
	}
	for k, d := range diagrams {
		out[k] = w[k] * power(f[0], d.one) * power(f[1], d.two) * power(f[2], d.three) * power(f[3], d.four)
	}
	return out
}
