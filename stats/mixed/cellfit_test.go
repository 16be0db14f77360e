package mixed

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"testing"

	"fairrun/stats/linmod"
)

// cellCase is a case of testdata/cells.json, made by cells.R.
type cellCase struct {
	Y, Position  []float64
	T, Pack      []string
	Drift        bool
	MS           float64
	DF           int
	RunMS        float64 `json:"run_ms"`
	RunDF        int     `json:"run_df"`
	Name         []string
	Estimate, SE []float64
}

func (c *cellCase) model() linmod.Model {
	m := linmod.Model{Order: 1, Blocks: []linmod.Factor{coded("pack", c.Pack, "1", "2", "3")}, Factors: []linmod.Factor{coded("t", c.T, "a", "b", "c")}}
	if c.Drift {
		m.Covariates = []linmod.Covariate{{Name: "position", Value: c.Position}}
	}
	return m
}

func coded(name string, column []string, levels ...string) linmod.Factor {
	f := linmod.Factor{Name: name, Levels: levels}
	for _, s := range column {
		for k, level := range levels {
			if s == level {
				f.Code = append(f.Code, int32(k))
			}
		}
	}
	return f
}

// TestFitCells has whole cells, a run lost, a cell lost and drift agree with R's lm and emmeans.
func TestFitCells(t *testing.T) {
	data, err := os.ReadFile("testdata/cells.json")
	if err != nil {
		t.Fatal(err)
	}
	var all []cellCase
	if err := json.Unmarshal(data, &all); err != nil {
		t.Fatal(err)
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if !(math.Abs(got-want) <= 1e-11*math.Max(1, math.Abs(want))) {
			t.Errorf("%s = %.15g, want %.15g", what, got, want)
		}
	}
	for _, c := range all {
		f, err := FitCells(c.model(), []string{"pack"}, c.Y)
		if err != nil {
			t.Fatal(err)
		}
		if f.Cells.DF != c.DF || f.Runs.DF != c.RunDF {
			t.Errorf("%d and %d degrees of freedom, want %d and %d", f.Cells.DF, f.Runs.DF, c.DF, c.RunDF)
		}
		near("mean square of cells", f.Cells.Sigma2, c.MS)
		near("mean square of runs", f.Runs.Sigma2, c.RunMS)
		means, err := f.Cells.Means(0)
		if err != nil {
			t.Fatal(err)
		}
		e := means.Contrasts([][]float64{{-1, 1, 0}, {-1, 0, 1}, {0, -1, 1}})
		for i, name := range c.Name {
			near(name, e.Value[i], c.Estimate[i])
			near("standard error of "+name, math.Sqrt(e.Cov.At(i, i)*f.Cells.Sigma2), c.SE[i])
		}
	}
}

// TestFitCellsRefuses says why there is nothing to judge by.
func TestFitCellsRefuses(t *testing.T) {
	m := linmod.Model{Order: 1, Blocks: []linmod.Factor{coded("pack", []string{"1", "1", "2", "2"}, "1", "2")},
		Factors: []linmod.Factor{coded("t", []string{"a", "b", "a", "b"}, "a", "b")}}
	if _, err := FitCells(m, []string{"pack"}, []float64{1, 2, 3, 5}); !errors.Is(err, ErrOneEach) {
		t.Errorf("one run a cell: %v", err)
	}
	m.Blocks[0] = coded("pack", []string{"1", "1", "1", "1"}, "1", "2")
	if _, err := FitCells(m, []string{"pack"}, []float64{1, 2, 3, 5}); !errors.Is(err, ErrNoCells) {
		t.Errorf("one pack: %v", err)
	}
}
