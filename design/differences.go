package design

import (
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"fairrun/design/screen"
)

// Differences says in words what changed from one plan to another, both in their Canonical form,
// one change a string in the order of the plan; nil when nothing did. A factor, response or check
// whose name changed counts as taken out and added.
//
//	response "spin_up": margin was 2% and is 3%
func Differences(old, new []byte) ([]string, error) {
	was, err := parseCanonical("old", old)
	if err != nil {
		return nil, err
	}
	is, err := parseCanonical("new", new)
	if err != nil {
		return nil, err
	}
	before, after := was.facts(), is.facts()
	var changes []string
	done := map[string]bool{} // groups that came or went as a whole
	for _, f := range after {
		i := slices.IndexFunc(before, func(b fact) bool { return b.group == f.group && b.name == f.name })
		switch {
		case i >= 0 && strings.HasPrefix(f.name, orderOf) && !sameNames(before[i].text, f.text):
			// Shown by what was added and taken out.
		case i >= 0 && before[i].text != f.text:
			changes = append(changes, fmt.Sprintf("%s%s was %s and is %s", prefix(f.group), f.name, before[i].text, f.text))
		case i < 0 && !done[f.group]:
			done[f.group] = true
			changes = append(changes, f.group+" was added")
		}
	}
	for _, f := range before {
		if !slices.ContainsFunc(after, func(a fact) bool { return a.group == f.group }) && !done[f.group] {
			done[f.group] = true
			changes = append(changes, f.group+" was taken out")
		}
	}
	return changes, nil
}

// orderOf begins the name of a fact whose text is a list of names.
const orderOf = "order of "

// sameNames reports whether two lists hold the same names in any order.
func sameNames(a, b string) bool {
	x, y := strings.Split(a, ", "), strings.Split(b, ", ")
	slices.Sort(x)
	slices.Sort(y)
	return slices.Equal(x, y)
}

// prefix sets off a group before what it holds.
func prefix(group string) string {
	if group == "" {
		return ""
	}
	return group + ": "
}

func parseCanonical(which string, data []byte) (*Plan, error) {
	p := canonicalPlan{Plan: &Plan{}}
	if err := json.Unmarshal(data, &p); err != nil {
		return nil, fmt.Errorf("the %s plan cannot be read: %w", which, err)
	}
	if p.Schema != planSchema || p.Plan == nil {
		return nil, fmt.Errorf("the %s plan has the schema %q; this version of fairrun reads %q", which, p.Schema, planSchema)
	}
	return p.Plan, nil
}

// fact is one thing a plan says. Facts of a group come and go together.
type fact struct {
	group string // "" for the plan itself, else `factor "prop"`
	name  string
	text  string
}

// facts returns everything the canonical form says, in words. Two plans with the same facts are
// the same plan.
func (c *Plan) facts() []fact {
	treatments := "all combinations"
	if c.Chosen != nil {
		var names []string
		for _, t := range c.Chosen {
			names = append(names, strconv.Quote(strings.Join(t, " ")))
		}
		treatments = strings.Join(names, ", ")
	}
	var factorNames, responseNames, readingNames []string
	for _, f := range c.Factors {
		factorNames = append(factorNames, f.Name)
	}
	for _, p := range c.Responses {
		responseNames = append(responseNames, p.Name)
	}
	for _, k := range c.Readings {
		readingNames = append(readingNames, k.Name)
	}
	facts := []fact{
		{"", "title", strconv.Quote(c.Title)},
		{"", "scope", strconv.Quote(c.Scope)},
		{"", orderOf + "factors", strings.Join(factorNames, ", ")},
		{"", "treatments", treatments},
		{"", "interactions", strconv.FormatBool(c.Interactions)},
	}
	for _, f := range c.Factors {
		facts = append(facts, f.facts()...)
	}
	facts = append(facts, c.Block.facts()...)
	if c.Session != nil {
		facts = append(facts, c.Session.facts()...)
	}
	if c.Items != nil {
		facts = append(facts, c.Items.facts()...)
	}
	if c.Specimens != nil {
		facts = append(facts, c.Specimens.facts()...)
	}
	facts = append(facts,
		fact{"drift", "model", c.Drift.Model},
		fact{"drift", "own", strconv.FormatBool(c.Drift.Own)})
	facts = append(facts, c.Order.facts()...)
	facts = append(facts,
		fact{"", orderOf + "responses", strings.Join(responseNames, ", ")})
	for _, p := range c.Responses {
		facts = append(facts, p.facts()...)
	}
	for _, s := range c.Signals {
		group := fmt.Sprintf("signal %q", s.Name)
		facts = append(facts, fact{group, "unit", unitText(s.Unit)}, fact{group, "formula", strconv.Quote(s.Formula)})
	}
	facts = append(facts,
		fact{"analysis", "alpha", PlainNumber(c.Analysis.Alpha)},
		fact{"analysis", "power", PlainNumber(c.Analysis.Power)},
		fact{"analysis", "compare", c.Analysis.Compare},
		fact{"analysis", "family", c.Family()},
		fact{"analysis", "looks", strconv.Itoa(c.Analysis.Looks)},
		fact{"analysis", "spending", string(c.Analysis.Spending.settled())},
		fact{"analysis", "noise", string(c.Analysis.Noise.Settled())},
		fact{"analysis", "covariates", orNone(c.Analysis.Covariates)},
		fact{"", orderOf + "readings", strings.Join(readingNames, ", ")})
	for _, k := range c.Readings {
		group := fmt.Sprintf("reading %q", k.Name)
		facts = append(facts, fact{group, "unit", unitText(k.Unit)}, fact{group, "low", limit(k.Low)}, fact{group, "high", limit(k.High)})
	}
	if c.Budget != nil {
		facts = append(facts, c.Budget.facts()...)
	}
	return facts
}

func (f *Factor) facts() []fact {
	group := fmt.Sprintf("factor %q", f.Name)
	var levels []string
	for _, level := range f.Levels {
		levels = append(levels, f.Literal(level))
	}
	baseline := "none"
	if f.Baseline != "" {
		baseline = f.Literal(f.Baseline)
	}
	return []fact{
		{group, "unit", unitText(f.Unit)},
		{group, "levels", strings.Join(levels, ", ")},
		{group, "baseline", baseline},
		{group, "hard to change", strconv.FormatBool(f.HardToChange)},
	}
}

func (b Block) facts() []fact {
	plural := "regular"
	if b.Several != "" {
		plural = strconv.Quote(b.Several)
	}
	return []fact{{"block", "name", strconv.Quote(b.Name)}, {"block", "plural", plural}, {"block", "random", strconv.FormatBool(!b.Fixed)}, {"block", "count", strconv.Itoa(b.Count)}, {"block", "size", b.Size()}}
}

func (o Order) facts() []fact {
	reference, runs := "none", "none"
	if o.Reference != nil {
		reference = fmt.Sprint(o.Reference)
	}
	if s := o.Screen; s != nil {
		switch s.Key() {
		case "resolution":
			runs = "resolution " + screen.Roman(s.Resolution)
		case "fraction":
			runs = fmt.Sprintf("fraction of %d runs", s.Fraction)
		default:
			runs = fmt.Sprintf("Plackett–Burman of %d runs", s.PlackettBurman)
		}
		if s.FoldOver != "" {
			runs += ", folded over: " + s.FoldOver
			if s.FoldBlocks != nil {
				runs += fmt.Sprintf(", in blocks %v", s.FoldBlocks)
			}
		}
	}
	return []fact{
		{"order", "carry-over", strconv.FormatBool(o.CarryOver)},
		{"order", "warm-up runs", strconv.Itoa(o.Warmup)},
		{"order", "reference runs", reference},
		{"order", "screen", runs},
	}
}

func (p *Response) facts() []fact {
	group := fmt.Sprintf("response %q", p.Name)
	return []fact{
		{group, "unit", unitText(p.Unit)},
		{group, "better", p.Better},
		{group, "margin", p.Margin.String()},
		{group, "noise", p.Noise.String()},
		{group, "scale", p.Scale},
		{group, "measure", p.Measure.String()},
	}
}

func (b *Budget) facts() []fact {
	const group = "budget"
	var changes []string
	for _, c := range b.Changeover {
		changes = append(changes, fmt.Sprintf("%s %s", c.Factor, plainTime(c.Time)))
	}
	changeover := "none"
	if changes != nil {
		changeover = strings.Join(changes, ", ")
	}
	capacity, usable, use := "unlimited", "all", "nothing"
	if s := b.Supply; s != nil {
		capacity, usable, use = PlainNumber(s.Capacity)+" "+s.Unit, percent(s.Usable), PlainNumber(s.PerRun)+" "+s.Unit
	}
	return []fact{
		{group, "capacity", capacity},
		{group, "usable share", usable},
		{group, "use of a run", use},
		{group, "run", plainTime(b.Run)},
		{group, "rest", plainTime(b.Rest)},
		{group, "rest until", limit(b.RestUntil)},
		{group, "swap", plainTime(b.Swap)},
		{group, "hours", hoursLimit(b.Hours)},
		{group, "changeover", changeover},
	}
}

// hoursLimit says the longest that something may take.
func hoursLimit(d time.Duration) string {
	if d == 0 {
		return "unlimited"
	}
	return plainTime(d)
}

func PlainNumber(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

func plainTime(d time.Duration) string { return PlainNumber(d.Seconds()) + " s" }

func unitText(unit string) string {
	if unit == "" {
		return "none"
	}
	return strconv.Quote(unit)
}

// orNone lists names, "none" when there are none.
func orNone(names []string) string {
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, ", ")
}

func limit(x *float64) string {
	if x == nil {
		return "none"
	}
	return PlainNumber(*x)
}
