package blocks

// Squares in which each treatment directly follows each other once, for odd numbers of treatments:
// half as many blocks as Williams squares take. A cyclic one does not exist; those of 9, 21 and 27 have
// each treatment once at each position as well (row-complete Latin squares). That of 9 is developed
// from three sequences by adding 1 modulo 3 within 0 to 2, 3 to 5 and 6 to 8, and that of 15 by fives likewise; those of 21 and 27
// are the translates of a sequence that sequences a group that is not commutative (Gordon, B. 1961,
// Pacific Journal of Mathematics 11: x⁻¹y takes each value once over neighbours x, y; Mendelsohn, N. S.
// 1968 for 21). Of 7 no such Latin square exists. The sequences were found by annealing and are
// checked by counting.
var pathSquares = map[int]struct {
	base     [][]int
	multiply func(x, y int) int // the translate of y by x
	by       int                // translates: elements 0 to by − 1
}{
	7: {
		base: [][]int{{3, 4, 0, 6, 5, 1, 2}, {0, 3, 2, 1, 5, 6, 4}, {5, 0, 1, 6, 2, 4, 3}, {1, 0, 4, 2, 6, 3, 5}, {6, 1, 4, 5, 2, 3, 0}, {4, 6, 0, 2, 5, 3, 1}, {2, 0, 5, 4, 1, 3, 6}},
		by:   1, multiply: func(_, y int) int { return y },
	},
	9: {
		base: [][]int{{4, 8, 0, 3, 1, 7, 5, 2, 6}, {6, 3, 5, 7, 8, 1, 2, 4, 0}, {1, 0, 8, 2, 3, 4, 7, 6, 5}},
		by:   3, multiply: func(x, y int) int { return y/3*3 + (x+y)%3 },
	},
	15: {
		base: [][]int{{4, 2, 8, 6, 1, 13, 9, 10, 0, 14, 3, 7, 12, 11, 5}, {9, 6, 10, 1, 8, 11, 4, 3, 13, 14, 7, 0, 2, 5, 12}, {12, 14, 1, 2, 10, 13, 5, 4, 9, 8, 0, 11, 6, 7, 3}},
		by:   5, multiply: func(x, y int) int { return y/5*5 + (x+y)%5 },
	},
	21: { // (a, b) = a + 7b with (a, b)(c, d) = (a + 2ᵇc, b + d)
		base: [][]int{{5, 7, 17, 13, 15, 12, 1, 0, 4, 20, 8, 11, 18, 19, 10, 16, 9, 14, 2, 3, 6}},
		by:   21, multiply: func(x, y int) int {
			power := [...]int{1, 2, 4}
			return (x%7+power[x/7]*(y%7))%7 + (x/7+y/7)%3*7
		},
	},
	27: { // (a, b, c) = a + 3b + 9c with (a, b, c)(d, e, f) = (a + d, b + e, c + f + ae)
		base: [][]int{{1, 14, 19, 18, 4, 21, 16, 17, 25, 23, 0, 9, 8, 24, 3, 11, 15, 12, 26, 6, 20, 5, 2, 22, 13, 7, 10}},
		by:   27, multiply: func(x, y int) int {
			return (x+y)%3 + (x/3+y/3)%3*3 + (x/9+y/9+x%3*(y/3%3))%3*9
		},
	},
}

// pathSquare returns T blocks of T treatments, nil if none is known.
func pathSquare(treatments int) [][]int {
	square, known := pathSquares[treatments]
	if !known {
		return nil
	}
	var blocks [][]int
	for _, base := range square.base {
		for x := range square.by {
			block := make([]int, treatments)
			for i, y := range base {
				block[i] = square.multiply(x, y)
			}
			blocks = append(blocks, block)
		}
	}
	return blocks
}
