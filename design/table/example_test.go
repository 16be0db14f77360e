package table_test

import (
	"fmt"
	"strings"

	"fairrun/design/table"
)

// A sheet that a spreadsheet program saved with semicolons and decimal commas is
// filled in, and keeps its ways.
func ExampleDocument() {
	d, err := table.Parse("tank.csv", []byte("run;level;thrust\r\n1;0;21,4\r\n2;4;\r\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	d.SetNumber(1, d.Column("thrust"), "22.05")
	fmt.Printf("%q\n", d.Bytes())
	// Output:
	// "run;level;thrust\r\n1;0;21,4\r\n2;4;22,05\r\n"
}

func ExampleReadColumns() {
	const data = "pack,prop,thrust\n1,P10,21.4\n1,P2,22.05\n2,P2,\n"
	c, err := table.ReadColumns("tank.csv", strings.NewReader(data), table.Wanted{
		Categorical: []string{"prop"},
		Numeric:     []string{"thrust"},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	prop, thrust := c.Categorical[0], c.Numeric[0]
	fmt.Println(prop.Levels, prop.Code)
	fmt.Println(thrust.Values.Floats(), "missing:", thrust.Missing)
	// Output:
	// [P2 P10] [1 0 0]
	// [21.4 22.05 NaN] missing: 1
}

func Example_faults() {
	_, err := table.ReadColumns("tank.csv", strings.NewReader("prop,thrust\nP2,21.4\nP10,fast\n"), table.Wanted{
		Numeric: []string{"thrust", "torque"},
	})
	fmt.Println(err)
	// Output:
	// tank.csv: there is no column "torque"; the columns are "prop", "thrust"
	// tank.csv: row 3, column 2 "thrust": "fast" is not a number; write a number, or leave the cell empty if there is none
}
