package verdict

import (
	"errors"
	"fmt"
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
	// few enough to be listed. Otherwise it is nil, and Draws fresh orders are taken
	// from Sampler, which is as resample.Sample wants it.
	All     iter.Seq[[]int32]
	Alike   int // of those, how many at the least no test of all treatments tells apart: they differ by names only; 0 is 1
	Draws   int
	Sampler func(chunk int) (fill func(order []int32))
}

// randomise holds the responses against the orders that might have been drawn,
// all against the same ones.
//
// The statistic is that of least squares with blocks taken out, incomplete ones
// too. Whole plots, which the orders keep together, are not: every comparison is
// studentised by the noise of its stratum, within them, between them or both. Other
// random factors, such as how units answer, are of the units that were tested.
func randomise(d *Draw, subjects []*subject) {
	var trials []*trial
	for _, s := range subjects {
		if s.fit != nil && s.sigma2 > 0 && len(s.families) > 0 {
			trials = append(trials, newTrial(d, s))
		}
	}
	for less := range 3 {
		if !hold(d, trials, less) {
			return
		}
	}
	for _, t := range trials {
		t.s.pass(randomisation, resample.ErrTooLarge)
	}
}

// randomisation is the name of its check.
const randomisation = "randomisation"

// hold fills in what the trials say, and reports whether that takes too much
// memory. With less = 1 intervals are not asked for, with less = 2 no single
// comparisons either.
func hold(d *Draw, trials []*trial, less int) (tooLarge bool) {
	var held []*trial
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
		test, err := shared(&designs, design).Test(t.s.y)
		switch {
		case errors.Is(err, resample.ErrTooLarge) && less < 2:
			return true
		case err != nil:
			if !t.told {
				t.told = true
				t.s.pass(randomisation, err)
			}
			continue
		}
		held, tests = append(held, t), append(tests, test)
	}
	if len(tests) == 0 {
		return false
	}
	var results []resample.Result
	var err error
	if d.All != nil {
		results, err = resample.Enumerate(d.All, tests...)
	} else {
		results, err = resample.Sample(d.Draws, d.Sampler, tests...)
	}
	if errors.Is(err, resample.ErrTooLarge) {
		return true
	}
	for i, t := range held {
		if err != nil {
			t.s.pass(randomisation, err)
			continue
		}
		t.fill(results[i])
	}
	return false
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
	s      *subject
	design resample.Design
	at     []place // where the answers go
	alike  int     // orders that differ by names only
	told   bool    // that it cannot be held against them
}

// place says which comparison of the answer is which comparison of the verdict.
type place struct {
	comparison int // of the verdict
	family, k  int // of the answer
	turned     bool
}

func newTrial(d *Draw, s *subject) *trial {
	t := &trial{s: s, alike: d.Alike, design: resample.Design{
		Slots: s.model, Treatments: d.Treatments, Drawn: d.Drawn, Plots: d.Plots, Alpha: s.nowLevel(),
	}}
	t.design.Slots.Factors, t.design.Slots.Order = nil, 0
	t.design.Slots.Blocks = slices.Concat(s.d.Recovered, s.d.Blocks)
	effects := newEffects(d, s)
	t.design.Effects = effects.columns
	for fi, f := range s.families {
		var contrasts [][]float64
		of := map[[2]int]int{} // of each pair of means: its contrast
		add := func(i, j int) int {
			if k, known := of[[2]int{i, j}]; known {
				return k
			}
			w := effects.contrast(f, i, j)
			if w == nil {
				return -1
			}
			contrasts = append(contrasts, w)
			of[[2]int{i, j}] = len(contrasts) - 1
			return len(contrasts) - 1
		}
		if s.q.Compare == Best { // which level is the best is not known before: all pairs
			for a, j := range f.live {
				for _, i := range f.live[a+1:] {
					add(i, j)
				}
			}
		}
		for _, l := range s.links {
			if l.family != fi {
				continue
			}
			i, j, turned := l.i, l.j, s.q.Compare == Best && l.i < l.j
			if turned {
				i, j = j, i
			}
			if k := add(i, j); k >= 0 {
				t.at = append(t.at, place{l.comparison, fi, k, turned})
			}
		}
		t.design.Families = append(t.design.Families, resample.Family{Contrasts: contrasts})
	}
	return t
}

// fill writes the answer into the verdict.
func (t *trial) fill(r resample.Result) {
	o := &t.s.out
	o.Randomise = &Randomised{Statistic: Number(r.F), Draws: r.Draws, Exact: r.Exact, P: Number(r.P)}
	if len(r.Families) == 0 {
		t.agree(nil, 0)
		t.s.note(randomisation, "single comparisons are left out: too many for so many orders")
		return
	}
	var differ []string
	var between int // of those, how many lie between whole plots and are called different by the model alone
	for _, at := range t.at {
		a := r.Families[at.family].Comparisons[at.k]
		if !a.Estimable {
			continue
		}
		c := &o.Comparisons[at.comparison]
		c.PRandom, c.LowRandom, c.HighRandom = Number(a.PAdjusted), Number(a.Low), Number(a.High)
		if at.turned {
			c.LowRandom, c.HighRandom = -c.HighRandom, -c.LowRandom
		}
		if c.Low.Known() && c.High.Known() && clearOfZero(*c) != (a.PAdjusted <= t.s.nowLevel()) {
			differ = append(differ, c.Level+" against "+c.Against)
			if clearOfZero(*c) && a.Between > mostly {
				between++
			}
		}
	}
	if !t.s.coarse(t.alike) {
		t.agree(differ, between)
	}
}

// mostly is the share of a variance that must come from between whole plots for the
// comparison to be one between them.
const mostly = 0.5

// coarse says so, and reports it, when the orders are too few for the test to find
// anything at all.
func (s *subject) coarse(alike int) bool {
	r := s.out.Randomise
	least := float64(max(1, alike)) / float64(r.Draws)
	if r.Exact && least > s.q.Alpha {
		s.note(randomisation, "so few orders might have been drawn that no p can be below %.2g: the test cannot call anything different; more blocks or replicates give it more%s", least, r.steps())
		return true
	}
	return false
}

// clearOfZero says whether the interval of a comparison leaves zero out.
func clearOfZero(c Comparison) bool { return c.Low > 0 || c.High < 0 }

// steps says what few orders do to p-values.
func (r *Randomised) steps() string {
	if !r.Exact || r.Draws >= 100 {
		return ""
	}
	return fmt.Sprintf("; p takes steps of 1/%d, and each pair is judged with its own difference taken out, so that of two pairs that with the larger t may have the larger p", r.Draws)
}

// equals writes a p-value as the paragraph on the test does: "p = 0.03", "p < 0.0001".
func equals(p Number) string {
	switch {
	case p < 0.0001:
		return "p < 0.0001"
	case p < 0.01:
		return fmt.Sprintf("p = %.4f", float64(p))
	}
	return fmt.Sprintf("p = %.3f", float64(p))
}

// agree says in words whether the orders call the same differences real as the
// model does; differ names the comparisons that they do not, of which so many lie
// between whole plots and are real by the model alone.
func (t *trial) agree(differ []string, between int) {
	s := t.s
	r, alpha := s.out.Randomise, s.q.Alpha
	model, lot := float64(s.out.Overall.P) <= alpha, float64(r.P) <= alpha
	orders := fmt.Sprintf("%d orders drawn afresh", r.Draws)
	if r.Exact {
		orders = fmt.Sprintf("all %d orders that might have been drawn", r.Draws)
	}
	var told string
	switch _, random := s.fitted.(reml); {
	case random && len(s.d.Interplay) > 0 && (model != lot || len(differ) > 0):
		s.note(randomisation, "over %s the treatments differ with %s on the units that were tested; that others of their type answer alike is what the intervals are about", orders, equals(r.P))
		return
	case model && !lot:
		told = fmt.Sprintf("the F test calls the treatments different (%s), the randomisation test over %s does not (%s)", equals(s.out.Overall.P), orders, equals(r.P))
	case lot && !model:
		told = fmt.Sprintf("the randomisation test over %s calls the treatments different (%s), the F test does not (%s)", orders, equals(r.P), equals(s.out.Overall.P))
	case len(differ) > 0 && between == len(differ):
		s.note(randomisation, "over %s all differences within whole plots are called as by the interval; between whole plots, %s: real by the model alone. Few whole plots can be set in few ways, so that the orders show little there, where the model leans on normal noise", orders, verbs(differ))
		s.survivesDraw(false)
		return
	case len(differ) > 0:
		told = fmt.Sprintf("by the randomisation test over %s and by the interval, %s", orders, verbs(differ))
	default:
		s.note(randomisation, "over %s the same differences are clear of zero (%s for all treatments together)%s", orders, equals(r.P), r.steps())
		s.survivesDraw(true)
		return
	}
	s.survivesDraw(false)
	why := "it is a near thing, or the noise is not as the model has it; the randomisation test leans on the draw alone"
	if t.design.Plots != nil {
		why = "both judge a difference by the noise of what it was made on, but few whole plots can be set in few ways, so that the orders show little between them, where the model leans on normal noise; where that is not it, it is a near thing"
	}
	s.warn(randomisation, "%s: %s%s", told, why, r.steps())
}

// verbs says of some comparisons that they are called differently.
func verbs(names []string) string {
	return words.List(names, 5) + words.Agree(len(names), " is", " are") + " called differently"
}

// survivesDraw lists the randomisation test among the alternatives where the
// model failed a check.
func (s *subject) survivesDraw(survives bool) {
	if !s.doubts.shape && !s.doubts.spread {
		return
	}
	r, o := s.out.Randomise, s.out.Overall
	message := "it calls the same differences clear of zero"
	if !survives {
		message = "it does not call the same differences clear of zero"
	}
	df1, df2 := o.DF, o.DenDF
	if s.d.Draw.Plots != nil { // two F tests in one
		df1, df2 = Unknown, Unknown
	}
	s.out.Alternatives = append(s.out.Alternatives, Alternative{Name: "randomisation", Statistic: r.Statistic,
		DF1: df1, DF2: df2, P: r.P, Survives: survives, Message: message})
}
