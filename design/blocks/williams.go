package blocks

import "slices"

// williams returns T sequences of T treatments, or 2T if T is odd, in which each treatment follows
// each other once, or twice if T is odd, and stands once, or twice, at each position (Williams, E.
// J. 1949, Australian Journal of Scientific Research A 2). The first sequence is 0, T−1, 1, T−2, 2,
// …, whose differences are all different when T is even; the others add 1, 2, … modulo T to it. For
// odd T the reversed sequences make up the other half.
func williams(treatments int) [][]int {
	first := make([]int, treatments)
	for i := range first {
		if i%2 == 1 {
			first[i] = treatments - (i+1)/2
		} else {
			first[i] = i / 2
		}
	}
	var square [][]int
	for s := range treatments {
		row := make([]int, treatments)
		for i, v := range first {
			row[i] = (v + s) % treatments
		}
		square = append(square, row)
	}
	if treatments%2 == 1 {
		for s := range treatments {
			row := slices.Clone(square[s])
			slices.Reverse(row)
			square = append(square, row)
		}
	}
	return square
}

// Neighbours returns how often treatment j comes directly after treatment i within a block, by i and j.
func Neighbours(treatments int, blocks [][]int) [][]int {
	follows := make([][]int, treatments)
	for i := range follows {
		follows[i] = make([]int, treatments)
	}
	for _, block := range blocks {
		for i := range len(block) - 1 {
			follows[block[i]][block[i+1]]++
		}
	}
	return follows
}
