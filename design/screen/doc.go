// Package screen chooses the runs that screen many factors at two levels each, and says what they mix:
// regular fractions and their fold-overs, Plackett–Burman designs, and contrasts that blocks
// confound. In: how many factors and runs, or the effects of treatments. Out: levels by run and
// factor, aliases in words, treatments by block. Read fraction.go first.
package screen
