package verdict

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strings"

	"fairrun/stats/check"
	"fairrun/stats/internal/parallel"
	"fairrun/stats/linmod"
	"fairrun/stats/words"
)

// Analyse answers the request for every response of the data. It fails only
// when the request does not fit the data's columns, or no response can be put on
// its scale ([RequestError]). A single response that cannot is there without a
// verdict, and data too thin for a number are answered in words: the response's
// checks say so.
//
// Data whose columns do not fit each other (of unequal length, missing, with codes that are no
// level) are the caller's mistake: Analyse panics with one of the texts of shape.go. Responses
// are judged side by side: Data.Name is called from several goroutines.
func Analyse(d Data, q Request) (*Verdict, error) {
	q, err := q.settled(d)
	if err != nil {
		return nil, err
	}
	d.checkShape()
	q.checkShape(&d)
	v := &Verdict{Schema: Schema, Campaign: Campaign{q.Title, q.Scope, q.Holds}, Responses: []Response{}}
	var faults []error
	var judged []*subject
	for _, m := range d.Responses {
		m.Scale = cmp.Or(m.Scale, Raw)
		s := &subject{d: d, q: q, m: m}
		if err := s.measure(); err != nil {
			faults = append(faults, err)
		}
		judged = append(judged, s)
	}
	if len(faults) > 0 && len(faults) == len(judged) {
		return nil, errors.Join(faults...)
	}
	var running parallel.Group
	for _, s := range judged {
		running.Go(s.judge)
	}
	running.Wait()
	if d.Draw != nil {
		randomise(d.Draw, judged)
	}
	for _, s := range judged {
		v.Responses = append(v.Responses, s.out)
	}
	v.acrossResponses()
	return v, nil
}

// acrossResponses adjusts the overall tests for the number of responses.
func (v *Verdict) acrossResponses() {
	p := make([]float64, len(v.Responses))
	for i := range v.Responses {
		p[i] = float64(v.Responses[i].Overall.P)
	}
	holm, hochberg := check.Holm(p), check.BenjaminiHochberg(p)
	for i := range v.Responses {
		v.Responses[i].Overall.PHolm, v.Responses[i].Overall.PHochberg = Number(holm[i]), Number(hochberg[i])
	}
}

// subject is one response under analysis.
type subject struct {
	d Data
	q Request
	m Measured

	y      []float64 // deviations from centre on the scale of the analysis; NaN where there is no good run
	centre float64
	model  linmod.Model   // blocks, covariates and treatments
	within linmod.Model   // the same with what is random as blocks: what runs do within it
	fit    *linmod.Result // of within, for the checks
	fitted fitted         // what the comparisons come from
	sigma2 float64        // residual variance; 0 when there is none to speak of

	families []family
	links    []link
	asked    map[asked][]told // answers of more that are known
	doubts   doubts
	leaning  []leaning  // comparisons that rest on few whole plots in part
	crossed  []crossing // of each block that is a part of the noise, where runs are repeated in it
	unscaled string     // why the good runs cannot be put on the scale of the analysis; "" when they can
	out      Response
}

// measure counts the runs and puts the good ones on the scale of the analysis. It returns an
// error if one cannot be put there; the response has no verdict then.
func (s *subject) measure() error {
	values := s.m.Values
	if s.d.Status != nil {
		values = values.Only(func(i int) bool { return s.d.Status[i] == OK })
	}
	dev, centre := []float64(nil), 0.0
	if s.m.Scale == Log {
		var err error
		if centre, dev, err = values.LogCentre(); err != nil {
			dev = values.Floats()
			s.unscaled = s.notPositive(dev)
		}
	} else {
		centre, dev = values.Centre()
	}
	s.centre = centre
	s.y = make([]float64, len(dev))
	for i, v := range dev {
		s.y[i] = math.NaN()
		switch s.status(i, v) {
		case OK:
			s.y[i] = v
			s.out.Runs.OK++
		case Failed:
			s.out.Runs.Failed++
		case Void:
			s.out.Runs.Void++
		default:
			s.out.Runs.Todo++
		}
	}
	if s.unscaled != "" {
		return refuse("response %s: %s: give an absolute margin, or use the raw scale", s.m.Name, s.unscaled)
	}
	return nil
}

// scaleCheck is the name of the check of a response that has no verdict since a value of it
// cannot be put on its scale.
const scaleCheck = "scale"

// Unscaled says why a response has no verdict, if it is that a value of it cannot be put on its
// scale; "" otherwise.
func (r *Response) Unscaled() string {
	for _, c := range r.Checks {
		if c.Name == scaleCheck {
			return c.Message
		}
	}
	return ""
}

// mostBlamed bounds the runs that are named for a value that has no logarithm.
const mostBlamed = 5

// notPositive says which runs hold values that are no ratios.
func (s *subject) notPositive(values []float64) string {
	var held []string
	more := 0
	for i, v := range values {
		switch {
		case !(v <= 0):
		case len(held) == mostBlamed:
			more++
		default:
			held = append(held, fmt.Sprintf("%s holds %v", s.rowName(i), v))
		}
	}
	text := strings.Join(held, ", ")
	if more > 0 {
		text += fmt.Sprintf(" and %s more", words.Count(more, "run"))
	}
	return text + "; a relative margin compares ratios, which need values above zero"
}

// status is what became of run i, whose value is v.
func (s *subject) status(i int, v float64) Status {
	if s.d.Status != nil && s.d.Status[i] != OK {
		return s.d.Status[i]
	}
	if math.IsNaN(v) {
		return Todo
	}
	return OK
}

// judge fills in the answer.
func (s *subject) judge() {
	o := &s.out
	o.Name, o.Unit, o.Better, o.Margin, o.Scale = s.m.Name, s.m.Unit, s.m.Better, s.m.Margin, s.m.Scale
	o.ANOVA, o.Means, o.Comparisons = []ANOVARow{}, []Mean{}, []Comparison{}
	o.Contrasts, o.Simple = []Contrast{}, []SimpleEffect{}
	o.Alternatives, o.Checks, o.Best = []Alternative{}, []Check{}, []string{}
	o.Noise = Noise{SD: Unknown, Low: Unknown, High: Unknown, DF: Unknown, Repeatability: Unknown, Reproducibility: Unknown, Components: []Component{}, Differences: []Difference{}}
	o.Effect = Effect{Unknown, Unknown}
	o.Overall = Overall{Unknown, Unknown, Unknown, Unknown, Unknown, Unknown}
	o.Look = s.look()
	o.Failures = s.failures()
	if s.unscaled != "" {
		s.describe()
		s.warn(scaleCheck, "%s. Correct what is wrong; make a run failed that did not do its job, void if it was spoiled; or, where such values are right, give an absolute margin, or use the raw scale. To leave them out would bend the result", s.unscaled)
		return
	}
	s.leaveOut()
	s.describe()
	if err := s.fitModel(); err != nil {
		s.warn("comparison", "%v", err)
		return
	}
	s.anova()
	s.adjusted()
	s.inParts()
	s.families = s.gather()
	for i := range s.families {
		s.compare(i)
	}
	s.few()
	s.interplay(s.families)
	s.check()
}

// describe says what the model holds.
func (s *subject) describe() {
	m := Model{Treatments: []string{}, Blocks: []string{}, Covariates: []string{}, Random: []string{}, Method: "least squares", DFMethod: "residual"}
	for _, b := range s.d.Blocks {
		m.Blocks = append(m.Blocks, b.Name)
	}
	for _, c := range s.d.covariates() {
		m.Covariates = append(m.Covariates, covariateName(c))
	}
	m.Random = names(s.d.random())
	s.out.Model = m
}

// covariateName names a covariate, "x by block" when it has a slope of its own
// in each level of a factor.
func covariateName(c linmod.Covariate) string {
	if c.By != nil {
		return c.Name + " by " + c.By.Name
	}
	return c.Name
}

// fitModel fits blocks, covariates and treatments. An interaction order whose
// terms are all mixed up with other terms leaves the model.
func (s *subject) fitModel() error {
	order := 1
	if s.q.Interactions {
		order = len(s.d.Treatments)
	}
	if !s.comparable() {
		return ErrNoComparison
	}
	for ; ; order-- {
		s.model = linmod.Model{Blocks: s.d.Blocks, Covariates: s.d.covariates(), Factors: s.d.Treatments, Order: order}
		fit, err := linmod.Fit(s.model, s.y)
		if err != nil {
			return err
		}
		s.within, s.fit = s.model, fit
		lost := emptyTop(fit, order)
		if order == 1 || len(lost) == 0 {
			break
		}
		s.note("interaction", "%s cannot be told apart from the blocks and the other terms in these runs; the comparisons take it as absent", strings.Join(lost, ", "))
	}
	for _, row := range s.fit.ANOVA() {
		if row.Kind == linmod.TreatmentTerm {
			s.out.Model.Treatments = append(s.out.Model.Treatments, row.Name)
		}
	}
	if len(s.d.random()) > 0 {
		if err := s.random(); err != nil {
			return err
		}
	} else {
		s.byLeastSquares()
	}
	s.out.Model.Method, s.out.Model.DFMethod = s.fitted.method()
	return nil
}

// emptyTop names the interaction terms of the given order when none of them
// has a degree of freedom of its own.
func emptyTop(fit *linmod.Result, order int) []string {
	var names []string
	for _, row := range fit.ANOVA() {
		if row.Kind != linmod.TreatmentTerm || strings.Count(row.Name, ":") != order-1 {
			continue
		}
		if row.DF > 0 {
			return nil
		}
		names = append(names, row.Name)
	}
	return names
}

// comparable says whether some treatment factor has good runs at two levels.
func (s *subject) comparable() bool {
	for _, f := range s.d.Treatments {
		first := int32(-1)
		for i, v := range s.y {
			if math.IsNaN(v) || f.Code[i] < 0 {
				continue
			}
			if first >= 0 && f.Code[i] != first {
				return true
			}
			first = f.Code[i]
		}
	}
	return false
}
