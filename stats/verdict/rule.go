package verdict

import (
	"math"

	"fairrun/stats/compare"
)

// rule says how far from zero a difference must lie, in standard errors, to be called one.
type rule struct {
	alpha  float64 // of each share
	looks  *Stage
	noise  bool // there is noise to judge by
	shares int  // equal ones that the request's alpha is split into
}

// adjusted is the adjusted p-value of a family, over all shares of alpha.
func (r rule) adjusted(f compare.Family, t, df float64) Number {
	return Number(min(1, float64(r.shares)*f.Adjust(t, df)))
}

// critical is the critical value of a family, unknown without noise: at one of several
// looks that of [power.Interim], infinite before the first.
func (r rule) critical(f compare.Family, df float64) float64 {
	if !r.noise || !(df > 0) {
		return math.NaN()
	}
	if r.looks == nil {
		return f.Critical(r.alpha, df)
	}
	c, err := r.looks.Interim().Critical(f, r.alpha, df)
	if err != nil {
		return math.NaN()
	}
	return c
}

// level is the chance of a false statement that a family has at this look alone.
func (r rule) level(f compare.Family, df float64) float64 {
	if r.looks == nil {
		return r.alpha
	}
	return compare.Chance(f, r.critical(f, df), df)
}

// atLook is the level at one of several looks; it is unknown where there is one only, or no noise.
func (r rule) atLook(f compare.Family, df float64) Number {
	if r.looks == nil || !r.noise {
		return Unknown
	}
	return Number(float64(r.shares) * r.level(f, df))
}

// yardstick is what the differences of one response are judged by.
type yardstick struct {
	rule
	terms
	unit *compare.Spread // that differences are standardised by: the noise from run to run
}

// openAll takes away the intervals of a comparison that nothing may be
// concluded from yet.
func (c *Comparison) openAll() {
	inf := Number(math.Inf(1))
	c.Low, c.PercentLow, c.GLow = -inf, -inf, -inf
	c.High, c.PercentHigh, c.GHigh = inf, inf, inf
}
