package verdict

import (
	"fmt"

	"fairrun/stats/words"
)

// concord is how far the orders that might have been drawn and the model agree.
type concord struct {
	test      Randomised
	alpha     float64
	model     Number   // p of the F test
	differ    []string // comparisons that are clear of zero by one of both only
	between   int      // of those, how many lie between whole plots and are called different by the model alone
	plots     bool     // there are whole plots
	interplay bool     // the model judges by how far specimens agree, which the orders do not
}

// words says whether the orders call the same differences real as the model does;
// survives is nil where that is no question.
func (c concord) words() (said Check, survives *bool) {
	no, yes := false, true
	r := c.test
	model, lot := float64(c.model) <= c.alpha, float64(r.P) <= c.alpha
	orders := fmt.Sprintf("%d orders drawn afresh", r.Orders)
	if r.Exact {
		orders = fmt.Sprintf("all %d orders that might have been drawn", r.Orders)
	}
	var found string
	switch {
	case c.interplay && (model != lot || len(c.differ) > 0):
		return Remark(randomisation, false, "over %s the treatments differ with %s on the specimens that were tested; that others of their type answer alike is what the intervals are about", orders, words.P(float64(r.P))), nil
	case model && !lot:
		found = fmt.Sprintf("the F test calls the treatments different (%s), the randomisation test over %s does not (%s)", words.P(float64(c.model)), orders, words.P(float64(r.P)))
	case lot && !model:
		found = fmt.Sprintf("the randomisation test over %s calls the treatments different (%s), the F test does not (%s)", orders, words.P(float64(r.P)), words.P(float64(c.model)))
	case len(c.differ) > 0 && c.between == len(c.differ):
		return Remark(randomisation, false, "over %s all differences within whole plots are called as by the interval; between whole plots, %s: real by the model alone. Few whole plots can be set in few ways, so that the orders show little there, where the model leans on normal noise", orders, called(c.differ)), &no
	case len(c.differ) > 0:
		found = fmt.Sprintf("by the randomisation test over %s and by the interval, %s", orders, called(c.differ))
	default:
		return Remark(randomisation, false, "over %s the same differences are clear of zero (%s for all treatments together)%s", orders, words.P(float64(r.P)), r.steps()), &yes
	}
	why := "it is a near thing, or the noise is not as the model has it; the randomisation test leans on the draw alone"
	if c.plots {
		why = "both judge a difference by the noise of what it was made on, but few whole plots can be set in few ways, so that the orders show little between them, where the model leans on normal noise; where that is not it, it is a near thing"
	}
	return Remark(randomisation, true, "%s: %s%s", found, why, r.steps()), &no
}

// called says of some comparisons that they are called differently.
func called(names []string) string {
	return words.List(names, 5) + words.Agree(len(names), " is", " are") + " called differently"
}

// steps says what few orders do to p-values.
func (r *Randomised) steps() string {
	if !r.Exact || r.Orders >= 100 {
		return ""
	}
	return fmt.Sprintf("; p takes steps of 1/%d, and each pair is judged with its own difference taken out, so that of two pairs that with the larger t may have the larger p", r.Orders)
}
