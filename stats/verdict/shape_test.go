package verdict

import (
	"context"
	"errors"
	"strings"
	"testing"

	"fairrun/stats/linmod"
	"fairrun/stats/parallel"
	"fairrun/stats/power"
)

// TestShape: a mistake in shape panics on the caller's goroutine, so that it can be recovered.
func TestShape(t *testing.T) {
	for _, c := range []struct {
		name string
		bend func(d *Data, q *Request)
		want string
	}{
		{"a row too few", func(d *Data, _ *Request) { d.Blocks[0].Code = d.Blocks[0].Code[1:] }, panicLength},
		{"treatment code too large", func(d *Data, _ *Request) { d.Treatments[0].Code[3] = 3 }, panicCode},
		{"treatment code too small", func(d *Data, _ *Request) { d.Treatments[0].Code[3] = -2 }, panicCode},
		{"block code too large", func(d *Data, _ *Request) { d.Blocks[0].Code[0] = 9 }, panicCode},
		{"code of a part", func(d *Data, _ *Request) { d.Parts = []linmod.Factor{{Name: "pack", Code: make([]int32, 9)}} }, panicCode},
		{"slopes by a factor too short", func(d *Data, _ *Request) {
			d.Covariates = []linmod.Covariate{{Name: "position", Value: make([]float64, 9), By: &linmod.Factor{}}}
		}, panicLength},
		{"no values", func(d *Data, _ *Request) { d.Responses[0].Values = nil }, panicValues},
		{"status", func(d *Data, _ *Request) { d.Status = make([]Status, 9); d.Status[8] = Void + 1 }, panicStatus},
		{"drawn treatment", func(d *Data, _ *Request) { d.Draw = &Draw{Treatments: 1, Drawn: d.Treatments[0].Code} }, panicTreatments},
		{"no orders", func(d *Data, _ *Request) { d.Draw = &Draw{Treatments: 3, Drawn: d.Treatments[0].Code} }, panicOrders},
		{"chosen level", func(_ *Data, q *Request) { q.Chosen = [][]int{{0}, {3}} }, panicChosen},
		{"chosen combination", func(_ *Data, q *Request) { q.Chosen = [][]int{{0, 1}} }, panicChosen},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, q := levelled(t, 3, 3, 1), Request{}
			d.Blocks = []linmod.Factor{{Name: "pack", Levels: []string{"1", "2", "3"}, Code: []int32{0, 1, 2, 0, 1, 2, 0, 1, 2}}}
			c.bend(&d, &q)
			defer func() {
				if got := recover(); got != c.want {
					t.Errorf("panic %v, want %q", got, c.want)
				}
			}()
			v, err := Analyse(context.Background(), d, q)
			t.Errorf("%v, error %v; want a panic", v, err)
		})
	}
}

// TestUnknownWords: a word of the request that has no meaning is refused, not ignored.
func TestUnknownWords(t *testing.T) {
	for _, c := range []struct {
		ask  func(m *Measured, q *Request)
		says string
	}{
		{func(m *Measured, _ *Request) { m.Scale = "lin" }, `scale is "lin"`},
		{func(m *Measured, _ *Request) { m.Better = "more" }, `better is "more"`},
		{func(_ *Measured, q *Request) { q.Compare = "all" }, `compare is "all"`},
		{func(_ *Measured, q *Request) { q.Looks = &Stage{Of: 2, Spending: 7, Fractions: []float64{0.5}} }, "spending of the looks is 7"},
		{func(_ *Measured, q *Request) {
			q.Looks = &Stage{Of: 2, Spending: power.Pocock, Fractions: []float64{0.5, 0.5}}
		}, "must be above zero and ascend"},
		{func(_ *Measured, q *Request) { q.Alpha = 1 }, "alpha is 1"},
		{func(_ *Measured, q *Request) { q.Power = -1 }, "power is -1"},
	} {
		d, q := levelled(t, 3, 3, 1), Request{}
		c.ask(&d.Responses[0], &q)
		_, err := Analyse(context.Background(), d, q)
		var request *RequestError
		if !errors.As(err, &request) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("error %v, want one that says %q", err, c.says)
		}
	}
}

// TestNoScale: a response is analysed on the raw scale unless it says otherwise, and says so.
func TestNoScale(t *testing.T) {
	d := levelled(t, 3, 3, 1)
	d.Responses[0].Scale = ""
	if r := judgedAt(t, d, Request{}); r.Scale != Raw || r.Comparisons[0].Verdict == "" {
		t.Errorf("scale %q, want %q", r.Scale, Raw)
	}
}

// TestPanicReachesCaller: a panic on one of the goroutines that judge can be recovered.
func TestPanicReachesCaller(t *testing.T) {
	d := levelled(t, 3, 3, 1)
	d.Responses[0].Scale = Log
	d.Responses[0].Margin = nil
	d.Draw = &Draw{Treatments: 3, Drawn: d.Treatments[0].Code, Orders: 500, Sampler: func(int) func([]int32) { panic("no lot") }}
	defer func() {
		if p, ok := recover().(*parallel.Panic); !ok || p.Value != "no lot" {
			t.Errorf("recovered %v, want the sampler's panic", p)
		}
	}()
	v, err := Analyse(context.Background(), d, Request{})
	t.Errorf("%v, error %v; want a panic", v, err)
}
