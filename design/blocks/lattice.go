package blocks

// squareLattice returns a square lattice design for s² treatments in blocks of s: so many
// replicates of s blocks each, at most s + 1, in which no two treatments meet twice (Yates, F.
// 1936, Journal of Agricultural Science 26). Treatment x·s + y stands in block x of the first
// replicate, block y of the second, and block m(x, y) of a further one for each of a set of
// orthogonal Latin squares m. With s + 1 replicates, which there are for prime powers s, it is
// balanced. It returns nil where there are not squares enough: for s that is no prime power, one,
// addition modulo s, is used.
func squareLattice(s, replicates int) [][]int {
	field, prime := galois(s)
	if replicates > s+1 || replicates > 3 && !prime {
		return nil
	}
	var blocks [][]int
	for r := range replicates {
		part := make([][]int, s)
		for x := range s {
			for y := range s {
				var b int
				switch {
				case r == 0:
					b = x
				case r == 1:
					b = y
				case prime:
					b = field.add[field.times[r-1][x]][y]
				default:
					b = (x + y) % s
				}
				part[b] = append(part[b], x*s+y)
			}
		}
		blocks = append(blocks, part...)
	}
	return blocks
}
