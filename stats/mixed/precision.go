package mixed

import (
	"math"

	"fairrun/stats/law"
)

// Precision puts the components of variance in the words of ISO 5725.
type Precision struct {
	Repeatability   Spread // of runs that share every random level
	Reproducibility Spread // of runs that share none
	Parts           []Part // one for each of Components: the residual last
}

// Spread is the standard deviation of single runs under some conditions.
type Spread struct {
	SD        float64
	Low, High float64 // confidence limits of SD; High is +Inf where the data set no bound
	DF        float64 // of a chi-squared law of the same mean and variance
	Limit     float64 // two runs differ by less than this with probability 0.95
}

// Part is what one component does to runs that share no random level.
type Part struct {
	Name  string
	SD    float64
	Share float64 // of the reproducibility variance
}

// Precision returns the repeatability and reproducibility of the response: with
// laboratories as the random factor those of ISO 5725-2, with specimens, packs and
// sessions the same of a bench. level is the confidence of the limits, such as
// 0.95. See Spread.
func (r *Result) Precision(level float64) Precision {
	all := make([]int, len(r.random))
	for i := range all {
		all[i] = i
	}
	p := Precision{Repeatability: r.Spread(level), Reproducibility: r.Spread(level, all...)}
	total := p.Reproducibility.SD * p.Reproducibility.SD
	for _, c := range r.Components {
		p.Parts = append(p.Parts, Part{Name: c.Name, SD: c.SD, Share: c.Variance / total})
	}
	return p
}

// Spread returns the standard deviation of single runs of one treatment that share
// the level of every random factor but those listed by index: with none listed
// the repeatability, with all the reproducibility, in between what ISO 5725-3
// calls intermediate precision,
//
//	sd² = σ² + Σ σi².
//
// Its limits are those of a chi-squared law with the mean and variance that sd²
// has by the expected information (Satterthwaite 1946, Biometrics 2: 110-114);
// for the residual of a balanced layout they are exact. Limit is 1.96 √2 sd, which
// ISO 5725-6 rounds to 2.8 sd; like the limits of that standard it takes sd as
// known.
//
// Panics if an index is out of range.
func (r *Result) Spread(level float64, random ...int) Spread {
	k := len(r.random)
	cov := r.kr.components(r.opt.gamma) // over σ⁴
	at := append(append(make([]int, 0, k+1), random...), k)
	var v, spread float64
	for _, i := range at {
		v += r.Components[i].Variance
		for _, j := range at {
			spread += cov.At(i, j)
		}
	}
	s := Spread{SD: math.Sqrt(v), Limit: law.T{DF: math.Inf(1)}.UpperQuantile(0.025) * math.Sqrt(2*v)}
	s.DF = 2 * (v / r.Sigma2) * (v / r.Sigma2) / spread
	law := law.ChiSquared{DF: s.DF}
	s.Low = math.Sqrt(v * s.DF / law.UpperQuantile((1-level)/2))
	s.High = math.Sqrt(v * s.DF / law.Quantile((1-level)/2))
	return s
}
