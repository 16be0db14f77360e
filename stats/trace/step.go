package trace

import (
	"math"
	"slices"
)

const (
	minBefore    = 3    // rows before an edge
	minSettled   = 6    // rows of a settled state
	minOnEdge    = 6    // T over the interval between rows
	fewOnEdge    = 12   // below which a value says so
	minNoises    = 6    // step over noise
	settleAfter  = 3.0  // T after 90 % until the state after may start
	beforeAfter  = 4.0  // T after an edge until the state before the next may start
	saturatedRun = 15   // equal values in a row
	leastNoise   = 1e-5 // of the step: less is rounding
)

// Step is a change of a signal from one state to another. Refused says why it cannot
// be measured; its other fields then hold what was found until there.
type Step struct {
	Command       Edge // of the command; Time is NaN where there is none
	Falling       bool
	Start         float64 // s: the command's edge, or the last row below 5 % of the step
	T10, T50, T90 float64 // s, of an isotonic fit
	Low, High     float64 // levels before and after at the 50 % instant, the signal's own sign
	Before, After State
	Refused       error

	// Of the signal, mirrored when falling, so that the step always rises.
	tr            *Trace // rows kept
	edge, next    float64
	rise          rise
	lo, hi        float64
	before, after State
	j2            float64 // variance of unseen jitter
	jitterDF      float64
	unsettled     error // why the states before and after cannot be read
}

// span is the duration T from 10 to 90 %.
func (s *Step) span() float64 { return s.T90 - s.T10 }

// size is the height of the step, always positive.
func (s *Step) size() float64 { return s.hi - s.lo }

// noise is the larger of the two states' standard deviations.
func (s *Step) noise() float64 { return max(s.before.Noise, s.after.Noise) }

// Steps finds the steps of a signal, in order of time. With a command each of its edges
// is one; without, they are where the signal crosses half its range. It is the one finder
// that all measures use.
func Steps(tr, command *Trace) []Step {
	edges := edgesOf(tr, command)
	if len(edges) == 0 || len(tr.Time) == 0 {
		return nil
	}
	work := tr
	if m := tr.heldPeriod(edges); m >= heldFrom {
		work = tr.freshRows(m)
	}
	var mirrored *Trace
	steps := make([]Step, len(edges))
	for i := range edges {
		s := &steps[i]
		s.Command, s.edge = edges[i], edges[i].Time
		if command == nil {
			s.Command = Edge{Time: math.NaN()}
		}
		from, to := math.Inf(-1), math.Inf(1)
		if i > 0 {
			from = edges[i-1].Time
		}
		if i+1 < len(edges) {
			to = edges[i+1].Time
			if command == nil {
				to = work.foot(edges[i].Time, to)
			}
		}
		s.tr, s.next = work, to
		if falls(work, from, edges[i].Time, to) {
			if mirrored == nil {
				mirrored = work.mirror()
			}
			s.tr, s.Falling = mirrored, true
		}
		var previous *Step
		if i > 0 {
			previous = &steps[i-1]
		}
		if s.unsettled = s.find(from, previous); s.unsettled == nil {
			s.unsettled = s.judgeStates()
		}
		if s.Refused = s.unsettled; s.Refused == nil {
			s.Refused = s.judgeEdge()
		}
		s.Low, s.High, s.Before, s.After = s.lo, s.hi, s.before, s.after
		if s.Falling {
			s.Low, s.High = -s.lo, -s.hi
			s.Before.mirror()
			s.After.mirror()
		}
	}
	return steps
}

func edgesOf(tr, command *Trace) []Edge {
	if command != nil {
		return command.CommandEdges()
	}
	return tr.crossings(3, 10*neighbourNoise(tr.Value))
}

// mirror returns the trace upside down.
func (tr *Trace) mirror() *Trace {
	m := *tr
	m.Value = make([]float64, len(tr.Value))
	for i, v := range tr.Value {
		m.Value[i] = -v
	}
	return &m
}

func (s *State) mirror() { s.mean, s.slope = -s.mean, -s.slope }

// heldPeriod returns the rows per new value while the signal moves from 5 to 95 % of
// any of its steps.
func (tr *Trace) heldPeriod(edges []Edge) float64 {
	var rows, fresh, small int
	for i, e := range edges {
		from, to := math.Inf(-1), math.Inf(1)
		if i > 0 {
			from = edges[i-1].Time
		}
		if i+1 < len(edges) {
			to = edges[i+1].Time
		}
		lo, hi := roughLevels(tr, from, e.Time, to)
		t, v := tr.between(from, to)
		if len(t) == 0 {
			continue
		}
		a, b := moving(t, v, lo, hi)
		r, f, q := rowsPerValue(v[a:b], tr.Quantum)
		rows, fresh, small = rows+r, fresh+f, small+q
	}
	return period(rows, fresh, small)
}

// moving returns the rows from the last one before the middle that is within 5 % of the
// first level to the first one within 5 % of the second.
func moving(t, v []float64, lo, hi float64) (a, b int) {
	share := func(i int) float64 { return (v[i] - lo) / (hi - lo) }
	for b = 0; b < len(v) && share(b) < 0.95; b++ {
		if share(b) < 0.05 {
			a = b
		}
	}
	return a, min(b+1, len(v))
}

// roughLevels returns the medians of the last quarter of the stretches before and
// after an edge.
func roughLevels(tr *Trace, from, edge, to float64) (lo, hi float64) {
	return lastQuarter(tr, from, edge), lastQuarter(tr, edge, to)
}

func lastQuarter(tr *Trace, from, to float64) float64 {
	t, v := tr.between(from, to)
	if len(t) == 0 {
		return math.NaN()
	}
	quarter := t[len(t)-1] - (t[len(t)-1]-t[0])/4
	i, _ := slices.BinarySearch(t, quarter)
	return median(slices.Clone(v[i:]))
}

// foot returns where a state between two edges ends when only the signal shows it: before the
// last row within 5 % of the second step, by half as much again as it takes from there to
// the middle of that step.
func (tr *Trace) foot(from, edge float64) float64 {
	t, v := tr.between(from, edge)
	level := lastQuarter(tr, from, edge)
	if len(t) == 0 {
		return edge
	}
	half := v[len(v)-1] - level // what it moves until the edge
	for i := len(t) - 1; i >= 0; i-- {
		if math.Abs(v[i]-level) < 0.1*math.Abs(half) {
			return t[i] - (edge-t[i])/2
		}
	}
	return edge
}

func falls(tr *Trace, from, edge, to float64) bool {
	lo, hi := roughLevels(tr, from, edge, to)
	return hi < lo
}

// find determines the levels and instants of the step; from is the edge before.
func (s *Step) find(from float64, previous *Step) error {
	edge := s.edge
	s.lo, s.hi = roughLevels(s.tr, from, edge, s.next)
	if math.IsNaN(s.lo) || math.IsNaN(s.hi) || s.lo == s.hi {
		return refusedf("no step: the signal stays where it is")
	}
	t, v := s.tr.between(from, s.next)
	if !math.IsInf(from, -1) && previous != nil && previous.span() > 0 {
		// What overshoots after the edge before is no part of this rise.
		i, _ := slices.BinarySearch(t, min(from+previous.span(), edge-(edge-from)/2))
		t, v = t[i:], v[i:]
	}
	for pass := range 3 {
		if err := s.instants(t, v, pass > 0); err != nil {
			return err
		}
		if err := s.states(from, previous); err != nil {
			return err
		}
		s.lo, s.hi = s.before.At(s.T50), s.after.At(s.T50)
		if s.hi <= s.lo {
			return refusedf("no step: the levels before and after are alike")
		}
	}
	return s.instants(t, v, true)
}

// instants fits an isotonic course to the rows and reads 10, 50 and 90 % off it. Once
// they are known, only rows near them count.
func (s *Step) instants(t, v []float64, near bool) error {
	if near {
		T := s.span()
		i, _ := slices.BinarySearch(t, s.T10-2*T)
		j, _ := slices.BinarySearch(t, s.T90+2*T)
		i, j = max(0, i-minBefore), min(len(t), j+minBefore)
		t, v = t[i:j], v[i:j]
	}
	if len(t) < minOnEdge {
		return refusedf("%d rows around the edge, %d are needed", len(t), minOnEdge)
	}
	s.rise = rise{t, isotonic(v)}
	var ok [3]bool
	s.T10, ok[0] = s.rise.at(s.level(0.1))
	s.T50, ok[1] = s.rise.at(s.level(0.5))
	s.T90, ok[2] = s.rise.at(s.level(0.9))
	if !ok[0] || !ok[1] || !ok[2] || !(s.span() > 0) {
		return refusedf("no step: the signal does not rise from 10 to 90 %% of its levels")
	}
	return nil
}

func (s *Step) commanded() bool { return !math.IsNaN(s.Command.Time) }

// level returns the value of a share of the step.
func (s *Step) level(share float64) float64 { return s.lo + share*(s.hi-s.lo) }

// states fits the state after the step, and the state before.
func (s *Step) states(from float64, previous *Step) error {
	T := s.span()
	t, v := s.tr.between(s.T90, s.next)
	if !math.IsInf(s.next, 1) && len(t) > 0 && t[len(t)-1] >= s.next {
		t, v = t[:len(t)-1], v[:len(v)-1]
	}
	if len(t) == 0 {
		return refusedf("the log ends on the edge")
	}
	if held := t[len(t)-1] - s.T90; held < (settleAfter+1)*T {
		return truncated(held, T)
	}
	var ok bool
	if s.after, ok = settled(t, v, s.T90+settleAfter*T); !ok {
		return refusedf("%d settled rows after the step, %d are needed", s.after.Rows, minSettled)
	}
	i, _ := slices.BinarySearch(t, s.after.From)
	s.after.ring(t[i:], v[i:], s.T50)

	s.Start = s.start()
	until := s.Start
	if math.IsInf(from, -1) {
		t, v = s.tr.between(from, until)
		// Where only the signal shows the start, its foot is left out if rows allow it.
		if k, _ := slices.BinarySearch(t, until-T/4); !s.commanded() {
			if k >= 2*minSettled {
				t, v = t[:k], v[:k]
			}
		}
		if len(t) < minBefore {
			return refusedf("%d rows before the step, %d are needed", len(t), minBefore)
		}
		s.before = constantState(t, v)
		return nil
	}
	if previous != nil && previous.span() > 0 {
		from = previous.T50 + beforeAfter*previous.span()
	}
	t, v = s.tr.between(from, until)
	if len(t) < minSettled {
		return refusedf("%d settled rows before the step, %d are needed", len(t), minSettled)
	}
	s.before = lineState(t, v)
	return nil
}

// start returns the command's edge, or without one the last row below 5 % of the step.
func (s *Step) start() float64 {
	if s.commanded() {
		return s.edge
	}
	t, v := s.tr.between(s.rise.t[0], s.T50)
	foot := s.level(0.05)
	for i := len(v) - 1; i >= 0; i-- {
		if v[i] < foot {
			return t[i]
		}
	}
	return s.rise.t[0]
}

// judgeStates refuses a step whose levels say too little.
func (s *Step) judgeStates() error {
	step := s.size()
	if step < minNoises*s.noise() {
		return refusedf("no step: it is %.2g times the noise, %d times is needed", step/s.noise(), minNoises)
	}
	for _, state := range []*State{&s.before, &s.after} {
		if math.Abs(state.slope)*(state.To-state.From) > step/2 {
			return refusedf("the level drifts by more than half the step")
		}
	}
	return s.saturated()
}

// judgeEdge refuses a step whose edge the rows do not show.
func (s *Step) judgeEdge() error {
	T := s.span()
	if rows := T / s.tr.Interval; rows < minOnEdge {
		return steeredf("%.2g rows on the edge, %d are needed: sample faster", rows, minOnEdge)
	}
	// From 10 % on: a corner at the start is no jitter.
	t, v := s.tr.between(s.T10, s.T90+T/4)
	s.j2 = jitter(t, v, s.noise())
	s.jitterDF = max(1, float64(len(t)-4)/2) // a row shows in those beside it too
	if err := s.gaps(); err != nil {
		return err
	}
	return s.jumps()
}

// jumps refuses an edge whose rows fall far below its isotonic fit: a dropout that is too
// long to be dropped.
func (s *Step) jumps() error {
	far := max(dropoutShare*s.size(), dropoutNoise*s.noise())
	i, _ := slices.BinarySearch(s.tr.Time, s.rise.t[0])
	j, _ := slices.BinarySearch(s.rise.t, s.T90)
	for k := range j {
		if s.rise.v[k]-s.tr.Value[i+k] > far {
			return refusedf("the signal drops out in the edge, at %.4g s", s.rise.t[k])
		}
	}
	return nil
}

// gaps refuses a gap in or close to the edge.
func (s *Step) gaps() error {
	T := s.span()
	t, _ := s.tr.between(s.T10-T/4-s.tr.Interval, s.T90+T/4+s.tr.Interval)
	for i := 1; i < len(t); i++ {
		if gap := t[i] - t[i-1]; gap > T/4 && gap > 1.6*s.tr.Interval {
			return refusedf("a gap of %.3g ms in the edge", 1e3*gap)
		}
	}
	return nil
}

// saturated refuses a level on which many values in a row are equal where the other has
// noise. A level of exactly 0 is standstill, not saturation.
func (s *Step) saturated() error {
	for _, p := range []struct{ level, other *State }{{&s.before, &s.after}, {&s.after, &s.before}} {
		if !(p.other.Noise > max(s.tr.Quantum, leastNoise*s.size())) {
			continue
		}
		_, v := s.tr.between(p.level.From, p.level.To)
		run := 1
		for i := 1; i < len(v); i++ {
			if v[i] != v[i-1] || v[i] == 0 {
				run = 1
				continue
			}
			if run++; run > saturatedRun {
				return refusedf("saturated: %d values in a row are equal", run)
			}
		}
	}
	return nil
}
