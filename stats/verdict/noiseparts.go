package verdict

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
	"fairrun/stats/words"
)

// runPart is the part of the noise that is from run to run.
const runPart = "run"

// mostCells bounds the levels of an interplay whose part of the noise is estimated: with more, its
// profile likelihood takes seconds. The test of it has no bound.
const mostCells = 150

// mostInterplays bounds in how many ways a block may answer: of a screen's fifteen factors, each
// with an interplay of its own, the runs tell nothing worth having.
const mostInterplays = 4

// inParts divides the noise into its parts. What the comparisons take out as fixed blocks is a part of
// it all the same, so the model is fitted once more with all of [Data.Parts] random, and with how
// differently blocks answer to the treatments where that is clear of chance. That fit serves for the
// parts alone: no comparison leans on it. Where a part comes out at zero it may have the runs agree better than
// the model of the comparisons does; runs that share nothing differ by no less than those alike all the same.
func inParts(noise Noise, d *Data, q *Request, f *fit, crossed []crossing, y []float64) (Noise, remarks) {
	if f.variance == 0 {
		return noise, nil
	}
	r, random, said := partsFit(d, f, crossed, y)
	if r == nil {
		return noise, said
	}
	n := reml{r}.noise(q.Alpha)
	noise.Components, noise.Reproducibility = n.Components, max(n.Reproducibility, noise.Repeatability)
	if f.isRandom() {
		said = append(said, scope(d, y)...)
	} else {
		noise.oneRun(f.cells != nil)
	}
	said = append(said, costless(d, names(f.random), noise.Components)...)
	sd := judgedBy(r, f, crossed)
	for _, set := range treatmentSets(d, q.Interactions, y) {
		if made, ok := newDifference(sd, random, set, d, f, y); ok {
			noise.Differences = append(noise.Differences, made)
			if made.Advice != "" {
				said.note(noiseInParts, "%s", made.Advice)
			}
		}
	}
	if len(noise.Differences) == 0 && len(crossed) > 0 {
		said = append(said, runsAlone(crossed[0].block, d, f.squares.N, y)...)
	}
	return noise, said
}

// oneRun gives the run one interval, the exact one of the noise, where both are the same estimate, or of the same thing.
func (n *Noise) oneRun(same bool) {
	for i := range n.Components {
		c := &n.Components[i]
		if c.Name == runPart && (same || math.Abs(float64(c.SD-n.SD)) <= 1e-6*float64(n.SD)) {
			c.SD, c.Low, c.High = n.SD, n.Low, n.High
		}
	}
}

// noiseInParts is the name of its remarks.
const noiseInParts = "noise in parts"

// partsFit is the model with every part random, and those: the model of the comparisons
// itself when that holds them all, nil when nothing is random.
func partsFit(d *Data, f *fit, crossed []crossing, y []float64) (*mixed.Result, []linmod.Factor, remarks) {
	var more []linmod.Factor
	for _, p := range d.Parts {
		if !slices.Contains(names(f.random), p.Name) {
			more = append(more, p)
		}
	}
	for _, c := range crossed {
		// Whole plots are an interplay of blocks and treatments already.
		if (c.p < doubt || f.cells != nil) && len(d.Random) == 0 && c.levels() <= mostCells && len(c.cells) <= mostInterplays {
			more = append(more, c.cells...)
		}
	}
	if r, ok := f.estimator.(reml); ok && len(more) == 0 {
		return r.Result, f.random, nil
	}
	if len(more) == 0 {
		return nil, nil, nil
	}
	fixed := f.model
	fixed.Blocks = slices.DeleteFunc(slices.Clone(fixed.Blocks), func(b linmod.Factor) bool {
		return slices.ContainsFunc(d.Parts, func(p linmod.Factor) bool { return p.Name == b.Name })
	})
	return separable(mixed.Model{Fixed: fixed}, slices.Concat(more, f.random), y)
}

// separable fits a model with as many of the random factors as the runs can separate,
// the first ones first. A factor that groups the runs as one before it does is named.
func separable(m mixed.Model, random []linmod.Factor, y []float64) (*mixed.Result, []linmod.Factor, remarks) {
	m.Random = random
	r, err := mixed.Fit(m, y)
	if err == nil {
		return r, random, nil
	}
	var said remarks
	m.Random, r = nil, nil
	for _, f := range random {
		with := m
		with.Random = append(slices.Clone(m.Random), f)
		fit, err := mixed.Fit(with, y)
		if err == nil {
			m, r = with, fit
			continue
		}
		if errors.Is(err, mixed.ErrSameGroups) {
			said.note(noiseInParts, "%v: what differs between both is one part of the noise here", err)
		}
	}
	return r, m.Random, said
}

// scope says for what the verdict holds when something is random in the comparisons.
func scope(d *Data, y []float64) (said remarks) {
	for _, f := range d.Random {
		said.note(scopeCheck, "the comparisons hold for %s like the %d tested, not for these alone: their differences count as noise", d.several(f.Name), mixed.Used(&f, y))
	}
	for _, f := range d.Recovered {
		said.note("incomplete blocks", "levels that did not meet in one %s are compared by way of others and by the means of the %s, whose own differences count as noise (%s random)", f.Name, d.several(f.Name), f.Name)
	}
	return said
}

// costless says of the parts that the comparisons take out what they are good for.
func costless(d *Data, random []string, components []Component) (said remarks) {
	var some, none []string
	for _, p := range d.Parts {
		k := slices.IndexFunc(components, func(c Component) bool { return c.Name == p.Name })
		if k < 0 || slices.Contains(random, p.Name) {
			continue
		}
		if c := components[k]; c.SD > 0 {
			lies := ""
			if some == nil {
				lies = "lies "
			}
			some = append(some, fmt.Sprintf("%.0f %% %sbetween %s", 100*float64(c.Share), lies, d.several(p.Name)))
		} else {
			none = append(none, d.several(p.Name))
		}
	}
	if some != nil {
		said.note(noiseInParts, "of the variance between runs that share nothing %s: comparisons are made within each, so it costs them nothing; it is what the mean of a setting differs by from one to the next on this rig (intermediate precision)",
			strings.Join(some, ", "))
	}
	if none != nil {
		said.note(noiseInParts, "%s differ by no more than runs make them", words.And(none))
	}
	return said
}
