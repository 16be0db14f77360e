package verdict

import (
	"context"
	"errors"
	"iter"
	"reflect"
	"slices"

	"fairrun/stats/resample"
	"fairrun/stats/words"
)

// Draw is the lot by which the runs got their treatments, for the randomisation
// test ([fairrun/stats/resample]): what they got, and what else they might have
// got. The rows of the data are its slots, in any fixed sequence.
type Draw struct {
	Treatments int
	Drawn      []int32 // treatment of each row
	Plots      []int32 // whole plot of each row; nil: every run is set up for itself

	// All yields every order that might have been drawn, each once, where they are
	// few enough to be listed. Otherwise it is nil, and so many fresh Orders are taken
	// from Sampler, which is as resample.Sample wants it.
	All     iter.Seq[[]int32]
	Alike   int // of those, how many at the least no test of all treatments tells apart: they differ by names only; 0 is 1
	Orders  int
	Sampler func(chunk int) (fill func(order []int32))
}

// randomise compares the responses with the orders that might have been drawn,
// all with the same ones. The error is that of ctx.
//
// The statistic is that of least squares with blocks taken out, incomplete ones
// too. Whole plots, which the orders keep together, are not: every comparison is
// studentised by the noise of its stratum, within them, between them or both. Other
// random factors, such as how specimens answer, are of the specimens that were tested.
//
// What runs take over from the run before depends on the order, so it is not taken out: where the model
// holds it, the orders are asked only whether the treatments do anything at all, at once or in the run after.
func randomise(ctx context.Context, d *Data, q *Request, judged []*judgement) error {
	var trials []*trial
	for _, j := range judged {
		if j.fit != nil && j.fit.variance > 0 && len(j.families) > 0 {
			trials = append(trials, newTrial(d, q, j))
		}
	}
	for less := range 3 {
		tooLarge, err := try(ctx, d.Draw, trials, less)
		if err != nil || !tooLarge {
			return err
		}
	}
	for _, t := range trials {
		t.judged.answer.skipRandomisation(resample.ErrTooLarge)
	}
	return nil
}

// randomisation is the name of its check.
const randomisation = "randomisation"

// try fills in what the trials say, and reports whether that takes too much
// memory. With less = 1 intervals are not asked for, with less = 2 no single
// comparisons either. The error is that of ctx.
func try(ctx context.Context, d *Draw, trials []*trial, less int) (tooLarge bool, err error) {
	var tried []*trial
	var tests []*resample.Test
	var designs []*resample.Design
	for _, t := range trials {
		design := t.design
		if less >= 1 {
			design.Alpha = 0
		}
		if less >= 2 {
			design.Families = nil
		}
		test, err := shared(&designs, design).Test(t.judged.sample.y)
		switch {
		case errors.Is(err, resample.ErrTooLarge) && less < 2:
			return true, nil
		case err != nil:
			if !t.refused {
				t.refused = true
				t.judged.answer.skipRandomisation(err)
			}
			continue
		}
		tried, tests = append(tried, t), append(tests, test)
	}
	if len(tests) == 0 {
		return false, nil
	}
	var results []resample.Result
	if d.All != nil {
		results, err = resample.Enumerate(ctx, d.All, tests...)
	} else {
		results, err = resample.Sample(ctx, d.Orders, d.Sampler, tests...)
	}
	switch {
	case ctx.Err() != nil:
		return false, ctx.Err()
	case errors.Is(err, resample.ErrTooLarge):
		return true, nil
	}
	for i, t := range tried {
		if err != nil {
			t.judged.answer.skipRandomisation(err)
			continue
		}
		t.fill(results[i])
	}
	return false, nil
}

// skipRandomisation says why a response is not compared with the orders.
func (r *Response) skipRandomisation(err error) {
	r.Checks = append(r.Checks, Remark(randomisation, false, "not checked: %v", err))
}

// shared returns the design among those known that is equal to d, so that
// responses of one design share their work.
func shared(known *[]*resample.Design, d resample.Design) *resample.Design {
	for _, k := range *known {
		if reflect.DeepEqual(*k, d) {
			return k
		}
	}
	*known = append(*known, &d)
	return &d
}

// trial is a response with what is asked of the orders.
type trial struct {
	judged  *judgement
	design  resample.Design
	at      []place // where the answers go
	alpha   float64
	alike   int  // orders that differ by names only
	carried bool // the model holds what runs take over from the run before
	refused bool // the response cannot be compared with them
}

// place says which comparison of the answer is which comparison of the verdict.
type place struct {
	comparison int // of the verdict
	family, k  int // of the answer
	turned     bool
}

func newTrial(d *Data, q *Request, j *judgement) *trial {
	t := &trial{judged: j, alpha: q.Alpha, alike: d.Draw.Alike, design: resample.Design{
		Slots: j.fit.model, Treatments: d.Draw.Treatments, Drawn: d.Draw.Drawn, Plots: d.Draw.Plots, Alpha: j.level,
	}}
	t.design.Slots.Factors, t.design.Slots.Order = nil, 0
	t.design.Slots.Blocks = slices.Concat(d.Recovered, d.Blocks)
	if j.fit.carry != nil {
		t.design.Slots.Covariates = d.covariates()
		t.carried, t.design.Alpha = true, 0
	}
	effects := resample.NewEffects(d.Draw.Treatments, d.Draw.Drawn, d.Treatments, j.fit.model.Order)
	t.design.Effects = effects.Columns
	first := 0 // comparison of the family
	for k, f := range j.families {
		if t.carried {
			break
		}
		contrasts, at := asked(f, q.Compare == Best, effects)
		for _, p := range at {
			p.family, p.comparison = k, first+p.comparison
			t.at = append(t.at, p)
		}
		t.design.Families = append(t.design.Families, resample.Family{Contrasts: contrasts})
		first += len(f.list)
	}
	return t
}

// asked are the contrasts of the comparisons of a family, and which of them is each comparison's.
func asked(f judgedFamily, best bool, effects *resample.Effects) (contrasts [][]float64, at []place) {
	of := map[[2]int]int{} // of each pair of means: its contrast
	add := func(i, j int) int {
		if k, known := of[[2]int{i, j}]; known {
			return k
		}
		w := effects.Contrast(f.factors, f.means.levels[i], f.means.levels[j])
		if w == nil {
			return -1
		}
		contrasts = append(contrasts, w)
		of[[2]int{i, j}] = len(contrasts) - 1
		return len(contrasts) - 1
	}
	if best { // which level is the best is not known before: all pairs
		for a, j := range f.live {
			for _, i := range f.live[a+1:] {
				add(i, j)
			}
		}
	}
	for _, l := range f.links {
		i, j, turned := l.i, l.j, best && l.i < l.j
		if turned {
			i, j = j, i
		}
		if k := add(i, j); k >= 0 {
			at = append(at, place{comparison: l.comparison, k: k, turned: turned})
		}
	}
	return contrasts, at
}

// fill writes the answer into the verdict.
func (t *trial) fill(r resample.Result) {
	o := &t.judged.answer
	o.Randomise = &Randomised{Statistic: Number(r.F), Orders: r.Orders, Exact: r.Exact, P: Number(r.P)}
	if t.carried {
		o.Checks = append(o.Checks, Remark(randomisation, false, "it asks whether the settings do anything, in their own run or in the one after (%s): carry-over is not taken out of it, and single comparisons are left out%s", words.P(float64(o.Randomise.P)), o.Randomise.steps()))
		return
	}
	c := concord{test: *o.Randomise, alpha: t.alpha, model: o.Overall.P, plots: t.design.Plots != nil,
		interplay: t.judged.fit.isRandom() && len(t.judged.fit.interplay) > 0}
	if len(r.Families) == 0 {
		t.conclude(c.words())
		o.Checks = append(o.Checks, Remark(randomisation, false, "single comparisons are left out: too many for so many orders"))
		return
	}
	for _, at := range t.at {
		a := r.Families[at.family].Comparisons[at.k]
		if !a.Estimable {
			continue
		}
		made := &o.Comparisons[at.comparison]
		made.PRandom, made.LowRandom, made.HighRandom = Number(a.PAdjusted), Number(a.Low), Number(a.High)
		if at.turned {
			made.LowRandom, made.HighRandom = -made.HighRandom, -made.LowRandom
		}
		if made.Low.Known() && made.High.Known() && clearOfZero(*made) != (a.PAdjusted <= t.judged.level) {
			c.differ = append(c.differ, made.Level+" against "+made.Against)
			if clearOfZero(*made) && a.Between > mostly {
				c.between++
			}
		}
	}
	if least := float64(max(1, t.alike)) / float64(r.Orders); r.Exact && least > t.alpha {
		o.Checks = append(o.Checks, Remark(randomisation, false, "so few orders might have been drawn that no p can be below %.2g: the test cannot call anything different; more blocks or replicates give it more%s", least, o.Randomise.steps()))
		return
	}
	t.conclude(c.words())
}

// mostly is the share of a variance that must come from between whole plots for the
// comparison to be one between them.
const mostly = 0.5

// conclude adds what the orders say. It lists the randomisation test among the alternatives where the
// model failed a check.
func (t *trial) conclude(said Check, survives *bool) {
	o := &t.judged.answer
	o.Checks = append(o.Checks, said)
	if failed := t.judged.doubts; survives == nil || !failed.shape && !failed.spread {
		return
	}
	message := "it calls the same differences clear of zero"
	if !*survives {
		message = "it does not call the same differences clear of zero"
	}
	df1, df2 := o.Overall.DF, o.Overall.DenDF
	if t.design.Plots != nil { // two F tests in one
		df1, df2 = Unknown, Unknown
	}
	o.Alternatives = append(o.Alternatives, Alternative{Intervals: []AlternativeInterval{}, Name: randomisation, Statistic: o.Randomise.Statistic,
		DF1: df1, DF2: df2, P: o.Randomise.P, Survives: *survives, Message: message})
}
