package design

import (
	"fmt"
	"strings"
)

// oneOf returns advice that names the words allowed, the nearest first when there is one.
func oneOf(found string, words ...string) string {
	if w := nearest(found, words); w != "" {
		return fmt.Sprintf("did you mean %q? allowed: %s", w, strings.Join(words, ", "))
	}
	return "allowed: " + strings.Join(words, ", ")
}

// nearest returns the word most like the one found, or "" when none is like it: they differ in no
// more than a third of the letters (but one at least), or begin alike, with two letters or more that
// are all of the one found or three quarters of the word. The first of equals wins.
func nearest(found string, words []string) string {
	best, bestD := "", -1
	f := strings.ToLower(strings.TrimSpace(found))
	if len(f) > 64 {
		return ""
	}
	for _, w := range words {
		lw := strings.ToLower(w)
		d := distance(f, lw)
		like := d <= max(1, min(len(f), len(lw))/3)
		same := 0
		for same < min(len(f), len(lw)) && f[same] == lw[same] {
			same++
		}
		like = like || same >= 2 && (same == len(f) || 4*same >= 3*len(lw))
		if like && len(f) > 0 && (bestD < 0 || d < bestD) {
			best, bestD = w, d
		}
	}
	return best
}

// distance returns the number of letters to insert, delete, replace or swap with their neighbour to
// turn a into b, no letter being touched twice (the optimal string alignment distance).
func distance(a, b string) int {
	x, y := []rune(a), []rune(b)
	rows := make([][]int, len(x)+1)
	for i := range rows {
		rows[i] = make([]int, len(y)+1)
		rows[i][0] = i
	}
	for j := range rows[0] {
		rows[0][j] = j
	}
	for i := 1; i <= len(x); i++ {
		for j := 1; j <= len(y); j++ {
			change := 1
			if x[i-1] == y[j-1] {
				change = 0
			}
			d := min(rows[i-1][j]+1, rows[i][j-1]+1, rows[i-1][j-1]+change)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				d = min(d, rows[i-2][j-2]+1)
			}
			rows[i][j] = d
		}
	}
	return rows[len(x)][len(y)]
}
