package words

import "strings"

// longest is the number of letters of a word beyond which no other is looked for.
const longest = 64

// Nearest returns the one of some names that a person most likely meant by a word
// that is not among them, "" when none is like it. Capitals do not count, nor does
// what separates words. Two are alike when they differ in no more than a third of
// the letters of the shorter one, where one slip in two letters is allowed, too. They
// are alike as well when they begin with the same two letters or more, if those are
// all of the word and half of the name, or three quarters of the name. The first of
// equals wins.
func Nearest(word string, names []string) string {
	found := bare(word)
	if len(found) == 0 || len(found) > longest {
		return ""
	}
	best, least := "", -1
	for _, name := range names {
		n := bare(name)
		if len(n) == 0 {
			continue
		}
		d := distance(found, n)
		shorter := min(len(found), len(n))
		same := 0
		for same < shorter && found[same] == n[same] {
			same++
		}
		slips := d == 0 || d <= shorter/3 || d == 1 && shorter >= 2
		begins := same >= 2 && (same == len(found) && 2*same >= len(n) || 4*same >= 3*len(n))
		if (slips || begins) && (least < 0 || d < least) {
			best, least = name, d
		}
	}
	return best
}

// bare is a word in small letters, without what separates words.
func bare(word string) []rune {
	return []rune(strings.Map(func(r rune) rune {
		if r == ' ' || r == '_' || r == '-' || r == '.' {
			return -1
		}
		return r
	}, strings.ToLower(word)))
}

// distance is the number of letters to insert, delete, replace or swap with their
// neighbour to turn a into b, no letter being touched twice (the optimal string
// alignment distance).
func distance(a, b []rune) int {
	before := make([]int, len(b)+1)
	above := make([]int, len(b)+1)
	row := make([]int, len(b)+1)
	for j := range above {
		above[j] = j
	}
	for i := 1; i <= len(a); i++ {
		row[0] = i
		for j := 1; j <= len(b); j++ {
			wrong := 0
			if a[i-1] != b[j-1] {
				wrong = 1
			}
			row[j] = min(above[j]+1, row[j-1]+1, above[j-1]+wrong)
			if i > 1 && j > 1 && a[i-1] == b[j-2] && a[i-2] == b[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, above, row = above, row, before
	}
	return above[len(b)]
}
