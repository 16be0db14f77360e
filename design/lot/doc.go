// Package lot draws lots: random numbers that are the same everywhere and forever, and what can be
// drawn, counted and listed. In: a seed and the number of a stream, or the sizes of what is
// arranged. Out: a Stream with its bounded draws and shuffles, a Count of arrangements, exact
// where it fits, or the arrangements themselves. Read stream.go first, then count.go.
package lot
