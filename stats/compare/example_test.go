package compare_test

import (
	"fmt"

	"fairrun/stats/compare"
)

// Four levels of a setting, 24 degrees of freedom: a difference of 24 ms with a
// standard error of 7 ms, and a margin of 10 ms.
func ExampleJudge() {
	c := compare.Pairs{Levels: 4}.Critical(0.05, 24)
	low, high := 24-c*7, 24+c*7
	fmt.Printf("%.1f to %.1f: %s\n", low, high, compare.Judge(low, high, 10))
	// Output: 4.7 to 43.3: real
}
