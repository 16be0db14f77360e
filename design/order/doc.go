// Package order draws the run orders of a campaign: which treatment runs at which
// position of which block, random, and as free of drift as the plan asks.
//
// A Spec literal goes in, in numbers only: treatments, blocks, replicates, the drift
// to be kept out. Draw returns a Drawn: the treatment index at every position, and
// everything needed to say how good the order is and to repeat the draw. Assess
// answers how good any given order is; Drawn.Set answers which orders could have been
// drawn, which is what a randomisation test needs.
//
// Read spec.go first, then draw.go; kind.go says what a kind of order is.
//
// # Kinds of order
//
// A kind is chosen from the Spec, once; each has a file of its own.
//
//   - Complete blocks (completeblocks.go) hold every treatment equally often, in any order.
//   - Whole plots (wholeplots.go): complete blocks in which the runs of a hard-to-change setting stay
//     together, by Spec.WholePlots. Their orders are few, and kept within a threshold of their own
//     (plotthreshold.go).
//   - Incomplete blocks (incompleteblocks.go), by Spec.Runs. Their design is the most efficient that is
//     found: balanced, lattice, alpha or cyclic, or from an interchange search. Spec.Session puts the blocks
//     into sessions that hold every treatment equally often where the numbers allow.
//   - Rows and columns (rowsandcolumns.go): drift of any course over the positions (Position). Latin
//     squares, Youden squares and their like.
//   - Neighbours (neighbours.go): Spec.CarryOver balances them. Williams squares, or what is nearest; with
//     Spec.Reference runs positions come first.
//   - Designs at two levels (plotdesign.go), settings over the blocks and treatments within whole plots:
//     whole plots in incomplete blocks (incompleteplots.go), with Position (plotsoverpositions.go), or with
//     CarryOver (plotneighbours.go).
//
// Extend adds blocks to an order of any kind. FoldOver adds those of a fold-over to a screen that was
// run. The runs of a screen are treatments of a Spec whose Effects are MainEffects (package screen).
//
// # The rule
//
// Runs are drawn uniformly from all arrangements of their kind (for
// complete blocks all permutations within blocks) and an arrangement is kept when its
// loss does not exceed a threshold; otherwise a fresh one is drawn. This is
// rerandomisation by rejection (Morgan, K. L. & Rubin, D. B. 2012, Annals of Statistics
// 40, 1263–1282): every allowed order is equally likely, so a randomisation test over the
// allowed orders is exact.
//
// The loss is the share by which drift raises the average variance of the pairwise
// comparisons,
//
//	loss = (mean of Var(i − j) with blocks and drift fitted) / (the same with blocks alone) − 1,
//
// taken over all pairs of treatments i, j and computed by least squares (A-optimality).
// Efficiency is 1/(1 + loss). Exchanging the names of treatments does not change it, so
// no treatment is favoured. Where Spec.Effects names a smaller model, the comparisons within it count.
//
// Designs of incomplete blocks, of rows and columns and of neighbours are randomised by exchanging
// the names of treatments, the blocks and, in rows and columns, the positions; Latin squares are
// drawn afresh.
//
// # Same seed, same order
//
// All randomness comes from a lot.Stream. Scores of positions are integers and floating-point
// products are rounded one by one, so that a plan, a seed and a Version give the same order on every
// platform. A change that would give another order gets a new Version.
//
// # Letters
//
// In comments, T is the number of treatments, B of blocks, R of replicates of a
// treatment in a block, n of runs in a block, N = Bn of all runs.
package order
