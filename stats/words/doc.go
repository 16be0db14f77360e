// Package words puts numbers and names into English sentences, so that all
// packages count, list and quote alike. In: a number and a noun, or a person's
// names. Out: a piece of a sentence. Read count.go first.
package words
