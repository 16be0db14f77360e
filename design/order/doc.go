// Package order draws the run orders of a campaign: which treatment runs at which
// position of which block, random, and as free of drift as the plan asks.
//
// A Spec literal goes in, in numbers only: treatments, blocks, replicates, the drift
// to be kept out. Draw returns a Drawn: the treatment index at every position, and
// everything needed to say how good the order is and to repeat the draw. Assess
// answers how good any given order is; Drawn.Set answers which orders could have been
// drawn, which is what a randomisation test needs.
//
// # Kinds of order
//
// Complete blocks hold every treatment equally often, in any order. Spec.WholePlots keeps the runs of
// a hard-to-change setting together within a block. Spec.Runs asks for incomplete blocks, whose
// design is the most efficient that is found: balanced, lattice, alpha or cyclic, or from an
// interchange search; Spec.Session puts its blocks into sessions that hold every treatment equally
// often where the numbers allow. Drift of any course over the positions (Position) makes them rows and
// columns: Latin squares, Youden squares and their like. Spec.CarryOver balances neighbours: Williams
// squares, or what is nearest; with Spec.Reference runs positions come first. Whole plots in incomplete blocks, with
// Position or with CarryOver are designs at two levels: settings over the blocks, and treatments
// within whole plots. Regular and PlackettBurman give the runs of screening
// experiments, which are treatments of a Spec whose Effects are MainEffects; FoldOver adds the blocks
// of a fold-over to a screen that was run.
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
// Orders of whole plots in complete blocks are few, and judged by a threshold of their own as well.
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
