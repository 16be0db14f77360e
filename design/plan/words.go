package plan

import (
	"fmt"
	"strings"

	"fairrun/stats/words"
)

// oneOf returns advice that names the words allowed, the nearest first when there is one.
func oneOf(found string, allowed ...string) string {
	if w := words.Nearest(found, allowed); w != "" {
		return fmt.Sprintf("did you mean %q? allowed: %s", w, strings.Join(allowed, ", "))
	}
	return "allowed: " + strings.Join(allowed, ", ")
}
