package verdict

import (
	"strconv"
	"strings"

	"fairrun/stats/check"
	"fairrun/stats/compare"
	"fairrun/stats/words"
)

// A comparison across whole plots leans on two estimates of noise: that between runs, and that
// between whole plots, of which there may be few. Kenward and Roger's degrees of freedom are then too many:
// with three packs of two whole plots each, up to 7 campaigns in 100 call some difference real although there is
// none, with five 5.6, with eight 5.1 (design/rehearse/testdata/wholeplots.csv). So where they are few the
// comparisons are made with care as well.
const (
	fewPlots = 6.5  // fewer degrees of freedom between whole plots are few: eight packs of two have 7
	inPart   = 0.05 // the least share of the variance that makes two parts of it
)

// leaning is a comparison that rests on few whole plots in part.
type leaning struct {
	df       float64 // between whole plots
	clear    bool    // of zero, as it is judged
	cautious bool    // and by Cochran & Cox's law
}

// lean notes a comparison that rests in part on few levels of what is random. Cochran and Cox
// (1957, Experimental Designs, 7.1) judge it by the critical values of both parts of its variance, each weighted
// by its share, which keeps false alarms at alpha or below whatever the shares are.
func (s *subject) lean(f family, row []float64, c Comparison, fam compare.Family) {
	if f.means.strata == nil || s.sigma2 == 0 {
		return
	}
	v, ok := f.means.strata(row)
	if !ok || v.Share < inPart || v.Share > 1-inPart || v.RestDF >= fewPlots {
		return
	}
	t := float64(c.T)
	switch {
	case oneSided(fam):
		t *= s.sign()
	case t < 0:
		t = -t
	}
	crit := v.Share*s.critical(fam, v.ResidualDF) + (1-v.Share)*s.critical(fam, v.RestDF)
	s.leaning = append(s.leaning, leaning{v.RestDF, t > s.critical(fam, float64(c.DF)), t > crit})
}

// few says what comes of the comparisons that lean on few whole plots.
func (s *subject) few() {
	if len(s.leaning) == 0 {
		return
	}
	least, alike := s.leaning[0].df, 0
	for _, l := range s.leaning {
		least = min(least, l.df)
		if l.clear == l.cautious {
			alike++
		}
	}
	n := len(s.leaning)
	rest := words.Count(n, "comparison") + words.Agree(n, " rests", " rest")
	s.warn("degrees of freedom", "%s in part on what differs between levels of %s, which is known with %s only; such comparisons are called different too often, in up to 7 campaigns of 100 instead of 5, so a cautious law is asked as well",
		rest, strings.Join(names(s.d.random()), ", "), words.Degrees(strconv.FormatFloat(least, 'g', 3, 64)))
	s.addAlternative("Cochran and Cox, cautious", check.Result{Statistic: float64(Unknown), DF1: float64(Unknown), P: float64(Unknown)},
		alike == n, calledAlike(alike, n))
}
