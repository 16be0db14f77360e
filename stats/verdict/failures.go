package verdict

import (
	"fmt"
	"slices"

	"fairrun/stats/check"
	"fairrun/stats/linmod"
	"fairrun/stats/words"
)

// failures counts, for each treatment, the runs in which the thing under test
// did not do its job, out of those that tell: good ones and failed ones.
func failures(treatments []linmod.Factor, became []Status, alpha float64) (out []Failure, said remarks) {
	cells := count(treatments, became)
	out = []Failure{}
	var lost, done []int
	failed, void, planned := 0, 0, 0
	for _, c := range cells {
		n := c.ok + c.failed
		failed += c.failed
		void += c.void
		planned += n + c.void
		if n == 0 {
			continue
		}
		f := Failure{Level: c.label, Failed: c.failed, Runs: n}
		p := check.ClopperPearson(c.failed, n, alpha)
		f.Low, f.High = Number(p.Low), Number(p.High)
		w := check.Wilson(c.failed, n, alpha)
		f.WilsonLow, f.WilsonHigh = Number(w.Low), Number(w.High)
		out = append(out, f)
		lost, done = append(lost, c.failed), append(done, n)
	}
	if failed > 0 {
		said = append(said, failuresDiffer(lost, done, failed, alpha))
	}
	if void > 0 {
		said = append(said, voidsDiffer(cells, void, planned))
	}
	return out, said
}

// failuresDiffer says whether failing depends on the treatment, by Fisher's
// exact test.
func failuresDiffer(lost, done []int, failed int, alpha float64) Check {
	if len(done) < 2 {
		return Remark("failures", true, "%s failed; the means speak of the good runs only", words.Count(failed, "run"))
	}
	f, err := check.Fisher(lost, done)
	c := Check{Name: "failures", Statistic: Unknown, P: Unknown, Flag: true}
	switch {
	case err != nil:
		c.Message = fmt.Sprintf("%s failed; the means speak of the good runs only (%v)", words.Count(failed, "run"), err)
	case f.P < alpha:
		c.P = Number(f.P)
		c.Message = fmt.Sprintf("%s failed, and not equally often at all levels (Fisher's exact test %s): a level's means leave its failures out, so weigh both", words.Count(failed, "run"), words.P(f.P))
	default:
		c.P = Number(f.P)
		c.Message = fmt.Sprintf("%s failed; that levels fail unequally often is not shown (Fisher's exact test %s); the means speak of the good runs only", words.Count(failed, "run"), words.P(f.P))
	}
	return c
}

// voidsDiffer says whether more runs were voided at one treatment than at
// others, which can bend a result. Few runs are void, so that there is little to tell it by: the level is one at
// which a look at the notes is worth the while, whatever alpha is.
func voidsDiffer(cells []cell, void, planned int) Check {
	var spoiled, tried []int
	for _, c := range cells {
		if n := c.ok + c.failed + c.void; n > 0 {
			spoiled, tried = append(spoiled, c.void), append(tried, n)
		}
	}
	c := Check{Name: "void runs", Statistic: Unknown, P: Unknown}
	c.Message = fmt.Sprintf("%d of %s void%s", void, words.Count(planned, "run"), voidBy(cells))
	if f, err := check.Fisher(spoiled, tried); err == nil {
		c.P = Number(f.P)
		if f.P < lopsided {
			c.Flag = true
			c.Message = fmt.Sprintf("%d of %s void%s, and not equally often at all levels (Fisher's exact test %s): say in the notes why, since voiding bends results", void, words.Count(planned, "run"), voidBy(cells), words.P(f.P))
		}
	}
	return c
}

// lopsided is the level at which voids are reported to lie unevenly.
const lopsided = 0.1

// voidBy says at which levels runs are void, up to five of them.
func voidBy(cells []cell) string {
	var parts []string
	for _, c := range cells {
		if c.void > 0 {
			parts = append(parts, fmt.Sprintf("%d at %s", c.void, c.label))
		}
	}
	return " (" + words.List(parts, 5) + ")"
}

// cell counts the runs of one treatment.
type cell struct {
	levels           []int
	label            string
	ok, failed, void int
}

// count counts the runs of every combination of the factors that has a run,
// in the order of the levels, the first factor slowest.
func count(treatments []linmod.Factor, became []Status) []cell {
	at := map[uint64]int{}
	var out []cell
	for i, status := range became {
		key, known := uint64(0), true
		for _, f := range treatments {
			known = known && f.Code[i] >= 0
			key = key*uint64(len(f.Levels)) + uint64(f.Code[i])
		}
		if !known {
			continue
		}
		k, seen := at[key]
		if !seen {
			k = len(out)
			at[key] = k
			c := cell{levels: make([]int, len(treatments))}
			for a, f := range treatments {
				c.levels[a] = int(f.Code[i])
			}
			c.label = label(treatments, every(treatments), c.levels)
			out = append(out, c)
		}
		switch status {
		case OK:
			out[k].ok++
		case Failed:
			out[k].failed++
		case Void:
			out[k].void++
		}
	}
	slices.SortFunc(out, func(a, b cell) int { return slices.Compare(a.levels, b.levels) })
	return out
}
