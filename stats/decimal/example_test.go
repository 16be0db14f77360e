package decimal_test

import (
	"fmt"

	"fairrun/stats/decimal"
)

// Start of thrust by a clock that counts microseconds since 1970: a float64 has a
// quarter of a microsecond left for what tells the runs apart.
func ExampleColumn_Centre() {
	var start decimal.Column
	for _, text := range []string{"1700000000000000.4", "1700000000000000.3", "1700000000000001.1"} {
		if err := start.Append([]byte(text)); err != nil {
			fmt.Println(err)
			return
		}
	}
	offset, dev := start.Centre()
	fmt.Printf("%.2f and %v\n", offset, dev)
	fmt.Printf("as floats: %.2f\n", start.Floats())
	// Output:
	// 1700000000000001.00 and [-0.6 -0.7 0.1]
	// as floats: [1700000000000000.50 1700000000000000.25 1700000000000001.00]
}

// A decimal comma is for the reader of the table to turn into a point.
func ExampleColumn_Append() {
	var c decimal.Column
	fmt.Println(c.Append([]byte("12,5")))
	// Output: "12,5": not a decimal number (digits, one decimal point at most, an exponent such as e-3)
}
