package verdict

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"fairrun/stats/compare"
	"fairrun/stats/decimal"
	"fairrun/stats/linmod"
)

// oneFactor is a random campaign: two to six numeric levels in two to five blocks, effects of some noise or none, runs
// lost, any margin, either direction and scale.
func oneFactor(rng *rand.Rand) (Data, Request) {
	levels, blocks := 2+rng.IntN(5), 2+rng.IntN(4)
	f := linmod.Factor{Name: "gain"}
	block := linmod.Factor{Name: "pack"}
	effect := make([]float64, levels)
	for l := range levels {
		f.Levels = append(f.Levels, strconv.Itoa(5*l))
		effect[l] = float64(rng.IntN(3)) * rng.Float64() * float64(rng.IntN(3))
	}
	var values decimal.Column
	var status []Status
	for b := range blocks {
		block.Levels = append(block.Levels, strconv.Itoa(b+1))
		for l := range levels {
			f.Code, block.Code = append(f.Code, int32(l)), append(block.Code, int32(b))
			if err := values.Append(fmt.Appendf(nil, "%.3f", 100+effect[l]+float64(b)+rng.NormFloat64())); err != nil {
				panic(err)
			}
			if rng.IntN(12) == 0 {
				status = append(status, Failed)
			} else {
				status = append(status, OK)
			}
		}
	}
	m := Measured{Name: "pull", Values: &values, Scale: []Scale{Raw, Log}[rng.IntN(2)], Better: []string{"higher", "lower"}[rng.IntN(2)]}
	if rng.IntN(4) > 0 {
		m.Margin = &Margin{Value: 0.03 * rng.Float64(), Relative: true}
		if m.Scale == Raw && rng.IntN(2) == 0 {
			m.Margin = &Margin{Value: 3 * rng.Float64()}
		}
	}
	q := Request{Compare: []Compare{Best, Best, Pairs, Baseline}[rng.IntN(4)]}
	if q.Compare == Baseline {
		q.Baseline, q.OneSided = []string{f.Levels[0]}, rng.IntN(2) == 0
	}
	return Data{Treatments: []linmod.Factor{f}, Blocks: []linmod.Factor{block}, Responses: []Measured{m}, Status: status}, q
}

func TestChoiceAgreesWithWords(t *testing.T) { choiceAgrees(t, 300) }

// choiceAgrees has the list of the best, the smallest as good, words, p and sizes of random campaigns say one thing: what
// the list rules out some word of the table rules out, and the other way round.
func choiceAgrees(t *testing.T, campaigns int) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(11, 3))
	single, smallest := 0, 0
	for n := range campaigns {
		d, q := oneFactor(rng)
		v, err := Analyse(context.Background(), d, q)
		if err != nil {
			continue // too many runs failed
		}
		r := v.Responses[0]
		if !(r.Noise.DF >= 1) {
			continue
		}
		if fault := contradiction(&r, q.Compare); fault != "" {
			t.Fatalf("campaign %d, %s, better %s, margin %v, best %q, smallest %v: %s\n%+v", n, q.Compare, r.Better, r.Margin, r.Best, r.SmallestGood, fault, r.Comparisons)
		}
		if len(r.Best) == 1 {
			single++
		}
		if r.SmallestGood != nil {
			smallest++
		}
	}
	if single < campaigns/50 || smallest < campaigns/50 {
		t.Errorf("%d of %d campaigns name one best level, %d a smallest as good: too few to test by", single, campaigns, smallest)
	}
}

// contradiction returns what two parts of an answer say against each other, "" when they agree.
func contradiction(r *Response, compared Compare) string {
	sign := Number(1)
	if r.Better == "lower" {
		sign = -1
	}
	if len(r.Best) == 0 {
		return "no level may be the best"
	}
	for _, c := range r.Comparisons {
		if !c.SE.Known() {
			continue
		}
		low, high := c.Low, c.High
		if sign < 0 {
			low, high = -high, -low
		}
		differs := low > 0 || high < 0
		switch {
		case c.Verdict.Differs() != differs:
			return fmt.Sprintf("%s: word and interval", c.Level)
		case (c.PAdjusted < 0.05) != differs && !(0.0499999 < c.PAdjusted && c.PAdjusted < 0.0500001):
			return fmt.Sprintf("%s: p %v and interval", c.Level, c.PAdjusted)
		case compared != Best && c.G.Known() && (c.GLow > 0 || c.GHigh < 0) != differs:
			return fmt.Sprintf("%s: effect size and interval", c.Level)
		case high < 0 && slices.Contains(r.Best, c.Level):
			return fmt.Sprintf("%s is worse and may be the best", c.Level)
		case low > 0 && compared == Best && !(len(r.Best) == 1 && r.Best[0] == c.Level):
			return fmt.Sprintf("%s is the best and the list has others", c.Level)
		case low > 0 && compared != Best && slices.Contains(r.Best, c.Against):
			return fmt.Sprintf("%s is worse than %s and may be the best", c.Against, c.Level)
		case len(r.Best) == 1 && compared == Best && r.Best[0] == c.Level && !(low > 0):
			return fmt.Sprintf("%s is alone on the list and its word leaves it open", c.Level)
		case r.SmallestGood != nil && *r.SmallestGood == c.Level && c.Verdict == compare.Matters && high < 0:
			return fmt.Sprintf("%s is as good as the best and worse by more than the margin", c.Level)
		case r.SmallestGood != nil && *r.SmallestGood == c.Against && c.Verdict == compare.Matters && low > 0:
			return fmt.Sprintf("%s is as good as the best and worse by more than the margin", c.Against)
		}
	}
	if compared == Best || compared == Pairs {
		for _, level := range levelsOf(r) {
			if !slices.Contains(r.Best, level) && !ruledOut(r, level, sign) {
				return fmt.Sprintf("%s is not on the list and no word rules it out", level)
			}
		}
	}
	return ""
}

// levelsOf are the levels that have a mean.
func levelsOf(r *Response) (out []string) {
	for _, m := range r.Means {
		if m.Estimate.Known() {
			out = append(out, m.Level)
		}
	}
	return out
}

// ruledOut says whether a comparison of the table shows the level to be worse than another.
func ruledOut(r *Response, level string, sign Number) bool {
	return slices.ContainsFunc(r.Comparisons, func(c Comparison) bool {
		return c.Verdict.Differs() && (c.Level == level && sign*c.Estimate < 0 || c.Against == level && sign*c.Estimate > 0)
	})
}
