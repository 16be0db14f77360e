package design

import (
	"fmt"
	"strings"
	"time"
)

// Size is what a plan writes to say how long its blocks are.
func (b Block) Size() string {
	if b.Runs > 0 {
		return fmt.Sprintf("runs = %d", b.Runs)
	}
	return fmt.Sprintf("replicates = %d", b.Replicates)
}

// TimeText writes a time as a plan does: "1 h 30 min", "40 s".
func TimeText(d time.Duration) string {
	var parts []string
	for _, u := range []struct {
		name string
		size time.Duration
	}{{"h", time.Hour}, {"min", time.Minute}} {
		if n := d / u.size; n > 0 {
			parts = append(parts, fmt.Sprintf("%d %s", n, u.name))
			d -= n * u.size
		}
	}
	if d > 0 || parts == nil {
		parts = append(parts, plainTime(d))
	}
	return strings.Join(parts, " ")
}
