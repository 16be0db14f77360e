package verdict

import "fmt"

// Remark is a check in words, without a test behind it.
func Remark(name string, flag bool, format string, args ...any) Check {
	return Check{Name: name, Statistic: Unknown, P: Unknown, Flag: flag, Message: fmt.Sprintf(format, args...)}
}

// remarks are the checks that one part of the answer adds to it.
type remarks []Check

// warn adds a flagged check that has no test behind it.
func (r *remarks) warn(name, format string, args ...any) {
	*r = append(*r, Remark(name, true, format, args...))
}

// note adds a remark that does not put the verdict in doubt.
func (r *remarks) note(name, format string, args ...any) {
	*r = append(*r, Remark(name, false, format, args...))
}

// skip adds a check that could not be made.
func (r *remarks) skip(name string, err error) { r.note(name, "not checked: %v", err) }

// judge adds a check with its p-value: flagged with the words bad when it is under
// [doubt], otherwise with the words good. It reports whether it is flagged.
func (r *remarks) judge(name string, statistic, p float64, good, bad string) (flag bool) {
	c := Check{Name: name, Statistic: Number(statistic), P: Number(p), Flag: p < doubt, Message: good}
	if c.Flag {
		c.Message = bad
	}
	*r = append(*r, c)
	return c.Flag
}
