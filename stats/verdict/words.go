package verdict

import "fmt"

// warn adds a flagged check that has no test behind it.
func (s *subject) warn(name, format string, args ...any) {
	s.out.Checks = append(s.out.Checks, Check{Name: name, Statistic: Unknown, P: Unknown, Flag: true, Message: fmt.Sprintf(format, args...)})
}

// note adds a remark that does not put the verdict in doubt.
func (s *subject) note(name, format string, args ...any) {
	s.warn(name, format, args...)
	s.out.Checks[len(s.out.Checks)-1].Flag = false
}
