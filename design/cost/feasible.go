package cost

import (
	"fairrun/design"
	"fairrun/stats/words"
	"fmt"
)

// Longest returns the hours no order of the plan exceeds: every pause with a rest, a swap and all
// changeovers.
func Longest(c *design.Plan) float64 {
	each := c.Budget.Run.Hours() + c.Budget.Rest.Hours() + c.Budget.Swap.Hours()
	for _, change := range c.Budget.Changeover {
		each += change.Time.Hours()
	}
	return float64(c.Runs()) * each
}

// Enough reports whether the runs of the plan can answer its question: every treatment is run, and a
// degree of freedom is left for the noise, which takes more than the t-1 runs that link t
// treatments across blocks.
func Enough(c *design.Plan) bool {
	return c.Block.Count*c.AnalysedPerBlock() >= c.CountTreatments() && c.Freedom().Residual >= 1
}

// LeastBlocks returns the smallest number of blocks with which there are enough runs. ok is false
// when no number within MaxRuns would do.
func LeastBlocks(c *design.Plan) (n int, ok bool) {
	d := *c
	for n = 1; n*c.RunsPerBlock() <= design.MaxRuns; n++ {
		d.Block.Count = n
		if Enough(&d) {
			return n, true
		}
	}
	return 0, false
}

// leastReplicates is LeastBlocks for the replicates in each block.
func leastReplicates(c *design.Plan) (n int, ok bool) {
	d := *c
	for n = 1; n*c.TreatmentsPerBlock()*c.Block.Count <= design.MaxRuns; n++ {
		d.Block.Replicates = n
		if Enough(&d) {
			return n, true
		}
	}
	return 0, false
}

// Shortage says in numbers why nothing is left to estimate the noise.
func Shortage(f design.Freedom, b design.Block) string {
	s := fmt.Sprintf("%s leave nothing to estimate the noise: %s", words.Count(f.Runs, "run"), b.Many(f.Blocks))
	if f.Drift > 0 {
		s += ", " + words.Count(f.Drift, "drift term")
	}
	if f.Covariates > 0 {
		s += ", " + words.Count(f.Covariates, "covariate")
	}
	if f.CarryOver > 0 {
		s += fmt.Sprintf(", %d for carry-over", f.CarryOver)
	}
	return fmt.Sprintf("%s and %s take %d", s, words.Count(f.Treatments, "treatment difference"), f.Blocks+f.Drift+f.Covariates+f.CarryOver+f.Treatments)
}

// MoreRuns says which number of replicates or of complete blocks would be enough.
func MoreRuns(c *design.Plan, byRuns bool) string {
	replicates, okReplicates := leastReplicates(c)
	blocks, okBlocks := LeastBlocks(c)
	size := Written(design.Block{Replicates: replicates}, byRuns)
	switch {
	case okReplicates && okBlocks:
		return fmt.Sprintf("write %s or count = %d, or more", size, blocks)
	case okReplicates && byRuns:
		return fmt.Sprintf("write %s, or more", size)
	case okReplicates:
		return fmt.Sprintf("write %s or more", size)
	case okBlocks:
		return fmt.Sprintf("write count = %d or more", blocks)
	}
	return "take treatments out, or choose a simpler drift model"
}
