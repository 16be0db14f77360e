package verdict

import (
	"cmp"
	"context"
	"errors"
	"slices"

	"fairrun/stats/check"
	"fairrun/stats/compare"
	"fairrun/stats/linmod"
	"fairrun/stats/parallel"
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
//
// When ctx ends, Analyse stops after the step in hand and returns the error of ctx: within 100 ms,
// but for mixed models of very many runs and files of very many rows.
func Analyse(ctx context.Context, d Data, q Request) (*Verdict, error) {
	q, err := q.settled(d)
	if err != nil {
		return nil, err
	}
	d.checkShape()
	q.checkShape(&d)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	judged := make([]*judgement, len(d.Responses))
	var faults []error
	for i, m := range d.Responses {
		m.Scale = cmp.Or(m.Scale, Raw)
		s, err := measure(m, d.Status, d.rowName)
		if err != nil {
			faults = append(faults, err)
		}
		judged[i] = &judgement{measured: m, sample: s}
	}
	if len(faults) > 0 && len(faults) == len(judged) {
		return nil, errors.Join(faults...)
	}
	var running parallel.Group
	for _, j := range judged {
		running.Go(func() { j.judge(ctx, d, &q) })
	}
	running.Wait()
	if d.Draw != nil && ctx.Err() == nil {
		if err := randomise(ctx, &d, &q, judged); err != nil {
			return nil, err
		}
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	v := &Verdict{Schema: Schema, Campaign: Campaign{q.Title, q.Scope, q.Holds}, Responses: []Response{}}
	for _, j := range judged {
		v.Responses = append(v.Responses, j.answer)
	}
	v.acrossResponses()
	v.FalseAlarms = v.falseAlarms(&q)
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

// judgement is the answer for one response with how it was reached, as far as the
// randomisation test asks.
type judgement struct {
	measured Measured
	sample   sample
	answer   Response
	fit      *fit // nil when nothing could be fitted
	families []judgedFamily
	level    float64 // that adjusted p-values of comparisons are compared with
	doubts   doubts
}

// judgedFamily is a family with its comparisons.
type judgedFamily struct {
	family
	compared
}

// judge reaches the answer: the model is fitted, the noise divided into its parts, the levels of each
// family are compared, and the model is checked. It stops early at the end of ctx.
func (j *judgement) judge(ctx context.Context, d Data, q *Request) {
	o, y := &j.answer, j.sample.y
	*o = unanswered(j.measured)
	add := func(said remarks) { o.Checks = append(o.Checks, said...) }
	j.level = q.Alpha
	o.Looks, o.Runs = q.Looks.Looks(), j.sample.runs()
	var said remarks
	o.Failures, said = failures(d.Treatments, j.sample.became, q.Alpha)
	add(said)
	if j.sample.unscaled != "" {
		o.Model = describe(&d)
		add(remarks{Remark(scaleCheck, true, "%s. Correct what is wrong; make a run failed that did not do its job, void if it was spoiled; or, where such values are right, give an absolute margin, or use the raw scale. To leave them out would bend the result", j.sample.unscaled)})
		return
	}
	d.Noted, said = leaveOut(d.Noted, y, d.rowName)
	add(said)

	f, said, err := fitModel(&d, q, y)
	add(said)
	o.Model = describe(&d).fitted(f)
	if err != nil {
		add(remarks{Remark("comparison", true, "%v", err)})
		return
	}
	if ctx.Err() != nil {
		return
	}
	j.fit = f
	add(unused(f.squares.Used, y, d.rowName))
	if rows := f.estimator.anova(); rows != nil {
		o.ANOVA = rows
	}
	all := f.estimator.joint()
	o.Effect = Effect{all.Eta2, all.Omega2, all.Omega2Partial}
	o.Overall = Overall{F: all.F, DF: all.DF, DenDF: all.DenDF, P: all.P, PHolm: all.P, PHochberg: all.P}
	add(f.noNoise())
	add(moved(d.Noted, linmod.Model{Blocks: slices.Concat(d.Recovered, d.Blocks), Covariates: d.Covariates, Factors: f.model.Factors, Order: f.model.Order}, y))
	crossed := crossings(&d, f, y)
	if ctx.Err() != nil {
		return
	}
	o.Noise, said = inParts(f.estimator.noise(q.Alpha), &d, q, f, crossed, y)
	add(said)

	t := terms{j.sample.centre, j.measured.Scale, j.measured.Margin, j.measured.Better}
	by := yardstick{rule{q.Alpha, q.Looks, f.variance > 0, 1}, t, compare.NewSpread(f.estimator.sd())}
	more := replicating(&d, q, f)
	families, said := gather(f.estimator, d.Treatments, q)
	add(said)
	laws, held := q.hold(families, len(d.Responses), by)
	for i, family := range families {
		if ctx.Err() != nil {
			return
		}
		means, said := adjustedMeans(family, q.Chosen, by)
		add(said)
		compared, said := comparisons(family, q, laws.of[i], held)
		add(said)
		more.needed(family, compared, held)
		j.families = append(j.families, judgedFamily{family, compared})
		o.Means, o.Comparisons = append(o.Means, means...), append(o.Comparisons, compared.list...)
		o.Contrasts = append(o.Contrasts, trended(family, q, compared, laws.aside, held)...)
		o.Contrasts = append(o.Contrasts, contrasts(family, chosen(family, q.Contrasts, t.plainMargin()), laws.aside, held)...)
		choice := choose(family, compared, q, held)
		if family.average {
			o.BestAverages = append(o.BestAverages, choice.levels...)
		} else {
			o.Best = append(o.Best, choice.levels...)
		}
		o.SmallestGood = cmp.Or(o.SmallestGood, choice.smallest)
		o.Alternatives = append(o.Alternatives, compared.others...)
		o.Alternatives = append(o.Alternatives, compared.kenwardRoger.alternative()...)
		if o.Looks != nil && !o.Looks.Level.Known() && compared.level.Known() {
			o.Looks.Level, j.level = compared.level, float64(compared.level)
		}
	}
	if f.carry != nil {
		o.CarryOver, said = carriedOver(f, j.families, y, by, o.ANOVA)
		add(said)
	}
	said, read, real := addUp(&d, q, f, o.ANOVA, y)
	add(said)
	o.Read = read
	if real {
		for _, family := range families {
			o.Simple = append(o.Simple, simpleEffects(family, d.Treatments, held)...)
		}
	}
	if ctx.Err() != nil || f.variance == 0 || f.squares.DF == 0 || f.squares.RSS == 0 {
		return
	}

	said, j.doubts = checkRuns(f.squares, d.Treatments, d.rowName)
	add(said)
	add(checkOrder(&d, f, y))
	if f.carry == nil {
		add(checkCarryOver(&d, f, y))
	}
	others, said := alternatives(&d, q, f, j.doubts, o.Comparisons, o.Overall.P, t.sign(), y)
	add(said)
	o.Alternatives = append(o.Alternatives, others...)
	for _, c := range crossed {
		said, bold := c.alikeIn(&d, f)
		add(said)
		if bold {
			others, said := c.asSample(&d, q, f, o.Comparisons, t, y)
			add(said)
			o.Alternatives = append(o.Alternatives, others...)
		}
	}
}

// unanswered is the answer for a response of which nothing is known yet.
func unanswered(m Measured) Response {
	u := Unknown
	return Response{
		Name: m.Name, Unit: m.Unit, Better: m.Better, Margin: m.Margin, Scale: m.Scale,
		ANOVA: []ANOVARow{}, Means: []Mean{}, Comparisons: []Comparison{}, Contrasts: []Contrast{}, Simple: []SimpleEffect{},
		Alternatives: []Alternative{}, Checks: []Check{}, Best: []string{}, BestAverages: []string{},
		Noise:  Noise{SD: u, Low: u, High: u, DF: u, Repeatability: u, Reproducibility: u, Components: []Component{}, Differences: []Difference{}},
		Effect: Effect{u, u, u}, Overall: Overall{u, u, u, u, u, u},
	}
}
