package question

import (
	"context"
	"fmt"
	"io"
	"slices"
	"strings"

	"fairrun/design/table"
	"fairrun/stats/linmod"
	"fairrun/stats/mixed"
	"fairrun/stats/power"
	"fairrun/stats/verdict"
)

// File asks for a verdict on a file of results without a plan: the
// roles of its columns, and what is asked of them.
type File struct {
	Responses    []string
	Treatments   []string
	Interactions bool
	Blocks       []string
	FixedBlocks  bool     // the verdict is to hold for these blocks, not for others like them
	Random       []string // "A", or "B within A"
	Covariates   []string
	Margin       *verdict.Margin // nil: none stated; the same for every response
	Better       string          // "higher", "lower" or ""
	Scale        verdict.Scale   // "": log for a relative margin, otherwise raw
	Compare      verdict.Compare
	Baseline     []string         // one level a treatment, or one combination "a1 b1" of several
	OneSided     bool             // with a baseline: only which levels are better is asked
	Contrasts    []verdict.Chosen // Factor may be left out where there is one family only
	Family       verdict.Span     // "" is each factor
	Alpha, Power float64
}

// Judge reads the columns from r, whose name in messages is file, and judges
// them. A row with an empty response counts as not measured. A column "status"
// that was given no other role and holds the words of a run sheet says which
// runs failed and which are void.
func (q File) Judge(ctx context.Context, file string, r io.Reader) (*verdict.Verdict, error) {
	if err := q.check(); err != nil {
		return nil, err
	}
	columns, err := table.ReadColumns(file, r, table.Wanted{
		Categorical: q.categorical(),
		Numeric:     slices.Concat(q.Responses, q.Covariates),
		Optional:    q.optional(),
	})
	if err != nil {
		return nil, err
	}
	d := q.data(columns)
	var others []string
	if len(columns.Optional) > 0 {
		d.Status, others = statusOf(columns.Optional[0])
	}
	v, err := verdict.Analyse(ctx, d, q.request(file, columns))
	if err == nil && len(others) > 0 {
		for i := range v.Responses {
			v.Responses[i].Checks = append(v.Responses[i].Checks, unread(others))
		}
	}
	return v, err
}

// categorical lists the columns of categories: treatments, blocks, then those
// that only random factors are made of.
func (q File) categorical() []string {
	names := slices.Concat(q.Treatments, q.Blocks)
	for _, r := range q.Random {
		for _, part := range nested(r) {
			if !slices.Contains(names, part) {
				names = append(names, part)
			}
		}
	}
	return names
}

// nested are the columns of a random factor, "pack within motor", the outermost first.
func nested(name string) []string {
	parts := strings.Split(name, " within ")
	slices.Reverse(parts)
	return parts
}

// optional is the column of statuses, unless it has another role.
func (q File) optional() []string {
	if slices.Contains(slices.Concat(q.Responses, q.categorical(), q.Covariates), statusColumn) {
		return nil
	}
	return []string{statusColumn}
}

// check says what is wrong with the question before the file is read.
func (q File) check() error {
	refuse := func(format string, args ...any) error {
		return &verdict.RequestError{Text: fmt.Sprintf(format, args...)}
	}
	switch {
	case len(q.Responses) == 0:
		return refuse("name the column that was measured: --response COLUMN")
	case len(q.Treatments) == 0:
		return refuse("name the column that is compared: --factor COLUMN")
	case q.Better != "" && q.Better != "higher" && q.Better != "lower":
		return refuse("better is %q; it can be \"higher\" or \"lower\"", q.Better)
	case q.Scale != "" && q.Scale != verdict.Raw && q.Scale != verdict.Log:
		return refuse("scale is %q; it can be \"raw\" or \"log\"", q.Scale)
	case q.Compare == verdict.Baseline && len(q.Baseline) == 0:
		return refuse("to compare with a baseline, name its level: --baseline LEVEL")
	}
	role := map[string]string{}
	for _, r := range []struct {
		name    string
		columns []string
	}{{"response", q.Responses}, {"factor", q.Treatments}, {"block", q.Blocks}, {"random factor", q.Random}, {"covariate", q.Covariates}} {
		for _, c := range r.columns {
			if was, taken := role[c]; taken && was == r.name {
				return refuse("column %q is named twice as %s", c, was)
			} else if taken {
				return refuse("column %q is named as %s and as %s; it can be one of them", c, was, r.name)
			}
			role[c] = r.name
		}
	}
	return nil
}

// data gives the columns their roles.
func (q File) data(c *table.Columns) verdict.Data {
	d := verdict.Data{Name: func(row int) string { return fmt.Sprintf("row %d", c.FileRow(row)) }}
	for i := range c.Categorical {
		f := factor(c, i)
		switch {
		case i < len(q.Treatments):
			d.Treatments = append(d.Treatments, f)
		case i < len(q.Treatments)+len(q.Blocks):
			d.Blocks = append(d.Blocks, f)
			d.Parts = append(d.Parts, f)
		}
	}
	if !q.FixedBlocks {
		d.Sample = q.Blocks
	}
	for _, name := range q.Random {
		var parts []linmod.Factor
		for _, part := range nested(name) {
			parts = append(parts, factor(c, slices.Index(q.categorical(), part)))
		}
		if len(parts) == 1 {
			d.Random = append(d.Random, parts[0])
		} else {
			d.Random = append(d.Random, mixed.Nested(parts...))
		}
	}
	for i := range c.Numeric {
		n := &c.Numeric[i]
		if i >= len(q.Responses) {
			d.Noted = append(d.Noted, linmod.Covariate{Name: n.Name, Value: n.Values.Floats()})
			continue
		}
		scale := q.Scale
		if scale == "" {
			if scale = verdict.Raw; q.Margin != nil && q.Margin.Relative {
				scale = verdict.Log
			}
		}
		d.Responses = append(d.Responses, verdict.Measured{Name: n.Name, Better: q.Better, Margin: q.Margin, Scale: scale, Values: &n.Values})
	}
	return d
}

// factor is a column of categories as the model takes it.
func factor(c *table.Columns, i int) linmod.Factor {
	return linmod.Factor{Name: c.Categorical[i].Name, Levels: c.Categorical[i].Levels, Code: c.Categorical[i].Code}
}

// request is what is asked of the columns.
func (q File) request(file string, c *table.Columns) verdict.Request {
	r := verdict.Request{
		Title: file, Interactions: q.Interactions, Compare: q.Compare, Baseline: q.Baseline,
		Alpha: q.Alpha, Power: q.Power, Family: q.Family,
	}
	r.OneSided = q.OneSided
	for _, chosen := range q.Contrasts {
		if chosen.Factors == nil && (q.Interactions || len(q.Treatments) == 1) {
			chosen.Factors = q.Treatments
		}
		r.Contrasts = append(r.Contrasts, chosen)
	}
	if len(q.Treatments) > 1 && len(q.Baseline) == 1 {
		if levels := split(q.Baseline[0], c.Categorical[:len(q.Treatments)]); levels != nil {
			r.Baseline = levels
		}
	}
	if len(q.Blocks) > 0 && len(q.Random) == 0 {
		r.Growth = byBlocks(c, len(q.Treatments))
	}
	return r
}

// split takes a combination of levels joined by blanks apart; nil when it is
// none of the columns' levels.
func split(text string, columns []table.Category) []string {
	if len(columns) == 0 {
		if text == "" {
			return []string{}
		}
		return nil
	}
	for _, level := range columns[0].Levels {
		if len(columns) == 1 {
			if text == level {
				return []string{level}
			}
			continue
		}
		if len(text) > len(level) && text[:len(level)] == level && text[len(level)] == ' ' {
			if rest := split(text[len(level)+1:], columns[1:]); rest != nil {
				return append([]string{level}, rest...)
			}
		}
	}
	return nil
}

// byBlocks is the growth by blocks that hold as many runs of each treatment as those of a file do,
// on average and at least one.
func byBlocks(c *table.Columns, treatments int) verdict.Growth {
	cells := 1
	for i := range c.Categorical[:treatments] {
		cells *= max(1, len(c.Categorical[i].Levels))
	}
	blocks := max(1, len(c.Categorical[treatments].Levels))
	block := power.Design{Treatments: max(2, cells), Blocks: 1, Replicates: max(1, c.Rows/(cells*blocks))}
	return func(_ string, levels int, now power.Precision) (power.Growth, float64) {
		block := block
		block.Compared = levels
		return block.MoreBlocks(now), float64(block.Replicates)
	}
}
