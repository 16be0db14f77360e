package verdict

import (
	"fairrun/stats/internal/accuracy"
)

// page is this package's section of docs/accuracy.md, filled by the tests that
// hold numbers against outside references.
var page = accuracy.Section{Package: "stats/verdict"}

// onR is where most lines were measured.
const onR = "data sets of R"
