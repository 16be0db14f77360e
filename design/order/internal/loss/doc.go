// Package loss is what an order loses to drift: by how much the average variance of its comparisons
// is larger with drift fitted than without. In: treatments by position, block after block, and a
// Model of what is fitted. Out: the loss, or whether it is within a limit, fast enough for every
// candidate of a draw. Read criterion.go first; completeblocks.go and anyblocks.go are the two ways.
package loss
