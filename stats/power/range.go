package power

// Range is how many it takes as far as measured noise can tell.
type Range struct {
	Low, High Answer // if the noise is at the lower and upper limit of its interval
	Likely    Answer // if the noise is what was measured
	Assured   Answer // with the power averaged over what is not known about the noise; the number to plan with
}

// Range returns what [Test.Needed] says at the limits of the noise's
// interval with the given confidence and at its estimate, and what
// [Test.NeededAssured] says. Where no number up to most would do, the
// answer is the best reached, with Short set.
func (c Test) Range(t Target, g Growth, most int, confidence float64) (Range, error) {
	if err := t.check(); err != nil {
		return Range{}, err
	}
	low, high := t.Noise.Interval(confidence)
	at := func(sd float64) (Answer, error) {
		t := t
		t.Noise.SD = sd
		return bestReached(c.Needed(t, g, most))
	}
	var r Range
	var err error
	if r.Low, err = at(low); err != nil {
		return Range{}, err
	}
	if r.Likely, err = at(t.Noise.SD); err != nil {
		return Range{}, err
	}
	if r.High, err = at(high); err != nil {
		return Range{}, err
	}
	if r.Assured, err = bestReached(c.NeededAssured(t, g, most)); err != nil {
		return Range{}, err
	}
	return r, nil
}
