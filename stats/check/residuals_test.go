package check

import (
	"testing"

	"gonum.org/v1/gonum/mat"
)

// fit is a fit of the invented bench data in make.R, in run order.
type fit struct {
	Name       string
	Residuals  []float64
	Leverages  []float64
	Sigma2     float64
	DF         int
	Pack       []int32
	Basis      [][]float64
	T          []number
	P          []number
	Adjusted   []number
	Worst      []float64 // row, t, p
	Straight   []float64 // F, df1, df2, p
	Bent       []float64
	DW         float64
	DWPositive float64 `json:"dw_positive"`
	DWNegative float64 `json:"dw_negative"`
}

func readFits(t *testing.T) []fit {
	t.Helper()
	var ref struct{ Fits []fit }
	readReference(t, "r.json", &ref)
	if len(ref.Fits) != 4 {
		t.Fatalf("%d fits, want 4", len(ref.Fits))
	}
	return ref.Fits
}

func (f fit) basis() *mat.Dense {
	m := mat.NewDense(len(f.Basis), len(f.Basis[0]), nil)
	for i, row := range f.Basis {
		m.SetRow(i, row)
	}
	return m
}

// orthonormal returns a basis of independent columns.
func orthonormal(columns [][]float64) *mat.Dense {
	x := mat.NewDense(len(columns[0]), len(columns), nil)
	for j, c := range columns {
		x.SetCol(j, c)
	}
	var qr mat.QR
	qr.Factorize(x)
	var q mat.Dense
	qr.QTo(&q)
	return mat.DenseCopyOf(q.Slice(0, len(columns[0]), 0, len(columns)))
}
