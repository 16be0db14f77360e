package verdict

import (
	"strconv"

	"fairrun/stats/check"
	"fairrun/stats/compare"
	"fairrun/stats/linmod"
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

// borrowing is a comparison that rests on few whole plots in part.
type borrowing struct {
	df       float64 // between whole plots
	clear    bool    // of zero, as it is judged
	cautious bool    // and by Cochran & Cox's law
}

// borrowed judges the comparison of mean i with mean j with care as well, if it rests in part on few levels of what is
// random. Cochran and Cox (1957, Experimental Designs, 7.1) judge it by the critical values of both parts of its variance,
// each weighted by its share, which keeps false alarms at alpha or below whatever the shares are.
func borrowed(f family, i, j int, c Comparison, law compare.Family, y yardstick) (b borrowing, few bool) {
	if f.means.strata == nil || !y.noise {
		return b, false
	}
	v, ok := f.means.strata(difference(len(f.labels), i, j))
	if !ok || v.Share < inPart || v.Share > 1-inPart || v.RestDF >= fewPlots {
		return b, false
	}
	t := float64(c.T)
	switch {
	case compare.OneSided(law):
		t *= y.sign()
	case t < 0:
		t = -t
	}
	crit := v.Share*y.critical(law, v.ResidualDF) + (1-v.Share)*y.critical(law, v.RestDF)
	return borrowing{v.RestDF, t > y.critical(law, float64(c.DF)), t > crit}, true
}

// cochranCox says what comes of the comparisons that rest on few levels of what is random in part.
func cochranCox(of []borrowing, random []linmod.Factor, d *Data) (said remarks, a []Alternative) {
	if len(of) == 0 {
		return nil, nil
	}
	least, alike := of[0].df, 0
	for _, b := range of {
		least = min(least, b.df)
		if b.clear == b.cautious {
			alike++
		}
	}
	var items []string
	for _, f := range random {
		items = append(items, d.several(f.Name))
	}
	n := len(of)
	rest := words.Count(n, "comparison") + words.Agree(n, " rests", " rest")
	said.warn("degrees of freedom", "%s in part on what differs between %s, which is known with %s only; such comparisons are called different too often, in up to 7 campaigns of 100 instead of 5, so a cautious law is asked as well",
		rest, words.And(items), words.Degrees(strconv.FormatFloat(least, 'g', 3, 64)))
	unknown := check.Result{Statistic: float64(Unknown), DF1: float64(Unknown), P: float64(Unknown)}
	return said, []Alternative{alternative("Cochran and Cox, cautious", unknown, alike == n, calledAlike(alike, n))}
}
