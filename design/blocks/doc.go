// Package blocks makes block designs: which treatment stands in which block, and where positions,
// neighbours or whole plots count, where in it. Balanced, lattice, alpha and cyclic designs and an
// interchange search for incomplete blocks; Latin and Youden squares and their like for rows and
// columns; Williams squares and searches for neighbours; designs of whole plots and of runs within.
//
// In: a Spec, in numbers only, and blocks that stand already. Out: treatments by block, the standing
// blocks first, always the same for the same Spec; nothing here is drawn. Read spec.go first, then
// incomplete.go.
//
// In comments, T is the number of treatments, B of blocks, k of runs in a block.
package blocks
