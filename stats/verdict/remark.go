package verdict

import "fmt"

// Remark is a check in words, without a test behind it.
func Remark(name string, flag bool, format string, args ...any) Check {
	return Check{Name: name, Statistic: Unknown, P: Unknown, Flag: flag, Message: fmt.Sprintf(format, args...)}
}
