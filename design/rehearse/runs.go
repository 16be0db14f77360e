package rehearse

import (
	"math"

	"fairrun/design/lot"
)

// Instruments show the voltage before a run to a thousandth of a full pack's, and the temperature to a tenth of a
// degree.
const (
	voltsShown = 1000
	tempShown  = 10
)

// onBench makes the runs of an order on the simulated bench.
func (w *worker) onBench(blocks [][]int, source *lot.Stream) {
	w.answers.draw(w.interplays)
	slot := 0
	w.bench.each(blocks, source, w.z, func(b, t int, met Conditions, failed bool) {
		volts, copper := met.logs()
		analysed := w.counts(slot)
		w.treatment[slot] = t
		w.good[slot] = analysed && !failed
		if analysed && failed {
			w.failed++
		}
		for k, m := range w.responses {
			w.drift[k][slot] = m.response.drift(volts, copper)
			w.noise[k][slot] = w.z[k] + w.answers.to(w.setup, k, b, t)
		}
		for _, k := range w.covariates {
			w.noted[k][slot] = w.note(w.plan.Readings[k].Name, met)
		}
		slot++
	})
}

// note is what a person notes under the name of a check before a run. Of the plan's own checks the bench knows nothing: they are
// noise that has to do with nothing else.
func (w *worker) note(check string, met Conditions) float64 {
	switch check {
	case startVolts:
		return math.Round(met.StartVolts*voltsShown) / voltsShown
	case startTemp:
		return math.Round(met.StartTemp*tempShown) / tempShown
	}
	return normal(w.besides)
}

// The checks that the bench knows.
const (
	startVolts = "start_volts"
	startTemp  = "start_temp"
)

// unrelated lists the covariates of the plan that are noise on the bench.
func (f *setup) unrelated() []string {
	out := []string{}
	for _, name := range f.plan.Analysis.Covariates {
		if name != startVolts && name != startTemp {
			out = append(out, name)
		}
	}
	return out
}

// answers are how differently the specimens of one campaign, or where there is one its blocks, answer each level, in units of the noise: independent normal
// numbers, with the standard deviation that the bench states, for each of them and level of each factor that is compared
// on its own.
type answers struct {
	sd float64
	of [][][]float64 // of each response and factor: by specimen or block · levels + level
}

func newAnswers(e *engine) answers {
	a := answers{sd: e.interplay}
	if a.sd == 0 {
		return a
	}
	groups := e.blocks
	if e.several() {
		groups = e.plan.Specimens.Count
	}
	for range e.responses {
		var of [][]float64
		for _, f := range e.fitted() {
			of = append(of, make([]float64, groups*len(f.labels)))
		}
		a.of = append(a.of, of)
	}
	return a
}

func (a *answers) draw(source *lot.Stream) {
	for _, response := range a.of {
		for _, factor := range response {
			for i := range factor {
				factor[i] = a.sd * normal(source)
			}
		}
	}
}

// to is what block b or its specimen adds to response k of treatment t.
func (a *answers) to(f *setup, k, b, t int) float64 {
	if a.of == nil {
		return 0
	}
	group, sum := b, 0.0
	if f.several() {
		group = f.plan.Specimens.Of(b+1) - 1
	}
	for i := range f.fitted() {
		sum += a.of[k][i][group*f.factors[i].Levels+f.factors[i].Code[t]]
	}
	return sum
}
