package design_test

import (
	"strings"
	"testing"
	"time"

	"fairrun/design"

	"pgregory.net/rapid"
)

func TestDifferencesRefusesOtherSchemas(t *testing.T) {
	form := (&design.Plan{Title: "a"}).Canonical()
	for _, old := range []string{"", "[]", "{}", `{"schema":"fairrun.plan/9"}`, "null"} {
		if got, err := design.Differences([]byte(old), form); err == nil || !strings.Contains(err.Error(), "the old plan") {
			t.Errorf("Differences from %q = %v, %v; want an error", old, got, err)
		}
		if _, err := design.Differences(form, []byte(old)); err == nil || !strings.Contains(err.Error(), "the new plan") {
			t.Errorf("no error for %q as the new plan", old)
		}
	}
}

// Two plans have differences exactly when their canonical forms differ.
func TestDifferencesMissNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := campaigns().Draw(t, "a")
		b := a
		switch rapid.IntRange(0, 5).Draw(t, "part") {
		case 0:
			b.Responses = append([]design.Response(nil), a.Responses...)
			b.Responses[0] = responses().Draw(t, "response")
		case 1:
			b.Factors = append([]design.Factor(nil), a.Factors...)
			b.Factors[0] = factors().Draw(t, "factor")
		case 2:
			b.Budget = budgets().Draw(t, "budget")
		case 5:
			b.Signals = signals().Draw(t, "signals")
		case 4:
			b.Session, b.Items = sessions().Draw(t, "session"), items().Draw(t, "items")
		case 3:
			b = campaigns().Draw(t, "b")
		}
		got, err := design.Differences(a.Canonical(), b.Canonical())
		if err != nil {
			t.Fatal(err)
		}
		if same := a.Hash() == b.Hash(); same != (len(got) == 0) {
			t.Fatalf("hashes equal: %v, differences: %q", same, got)
		}
	})
}

// Generators of plans: plain structs, not all of them plans a person could run.

func amounts() *rapid.Generator[design.Amount] {
	return rapid.Custom(func(t *rapid.T) design.Amount {
		if rapid.Bool().Draw(t, "none") {
			return design.Amount{}
		}
		return design.Amount{Set: true, Value: rapid.Float64Range(1e-9, 1e9).Draw(t, "value"), Relative: rapid.Bool().Draw(t, "relative")}
	})
}

func responses() *rapid.Generator[design.Response] {
	return rapid.Custom(func(t *rapid.T) design.Response {
		return design.Response{
			Name:   rapid.SampledFrom([]string{"x", "y"}).Draw(t, "name"),
			Unit:   rapid.SampledFrom([]string{"", "none", "N"}).Draw(t, "unit"),
			Better: rapid.SampledFrom([]string{"lower", "higher"}).Draw(t, "better"),
			Margin: amounts().Draw(t, "margin"), Noise: amounts().Draw(t, "noise"),
			Scale: rapid.SampledFrom([]string{"raw", "log"}).Draw(t, "scale"),
		}
	})
}

func signals() *rapid.Generator[[]design.Signal] {
	one := rapid.Custom(func(t *rapid.T) design.Signal {
		return design.Signal{Name: rapid.SampledFrom([]string{"rpm", "power"}).Draw(t, "name"), Unit: rapid.SampledFrom([]string{"", "W"}).Draw(t, "unit"),
			Formula: rapid.SampledFrom([]string{"erpm / 7", "volts * amps"}).Draw(t, "formula")}
	})
	return rapid.SliceOfNDistinct(one, 1, 1, func(s design.Signal) string { return s.Name })
}

func factors() *rapid.Generator[design.Factor] {
	return rapid.Custom(func(t *rapid.T) design.Factor {
		f := design.Factor{
			Name:    rapid.SampledFrom([]string{"f", "g"}).Draw(t, "name"),
			Unit:    rapid.SampledFrom([]string{"", "A"}).Draw(t, "unit"),
			Levels:  rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"0", "1", "1.0", "2"}), 2, 4, rapid.ID[string]).Draw(t, "levels"),
			Numeric: rapid.Bool().Draw(t, "numeric"),
		}
		if rapid.Bool().Draw(t, "has baseline") {
			f.Baseline = rapid.SampledFrom(f.Levels).Draw(t, "baseline")
		}
		return f
	})
}

func budgets() *rapid.Generator[*design.Budget] {
	return rapid.Custom(func(t *rapid.T) *design.Budget {
		if rapid.Bool().Draw(t, "none") {
			return nil
		}
		b := &design.Budget{Run: duration(t, "run"), Rest: duration(t, "rest"), Swap: duration(t, "swap")}
		if rapid.Bool().Draw(t, "has hours") {
			b.Hours = duration(t, "hours")
		}
		if rapid.Bool().Draw(t, "has supply") {
			b.Supply = &design.Supply{
				Capacity: rapid.Float64Range(1e-3, 1e3).Draw(t, "capacity"), Unit: rapid.SampledFrom([]string{"Ah", "Wh"}).Draw(t, "unit"),
				Usable: rapid.Float64Range(1e-3, 1).Draw(t, "usable"), PerRun: rapid.Float64Range(1e-3, 1e3).Draw(t, "per run")}
		}
		if rapid.Bool().Draw(t, "has changeover") {
			b.Changeover = []design.Changeover{{Factor: "f", Time: duration(t, "changeover")}}
		}
		return b
	})
}

func campaigns() *rapid.Generator[design.Plan] {
	return rapid.Custom(func(t *rapid.T) design.Plan {
		return design.Plan{
			Title: rapid.SampledFrom([]string{"a", "b"}).Draw(t, "title"), Scope: "s",
			Factors:      []design.Factor{factors().Draw(t, "factor")},
			Interactions: rapid.Bool().Draw(t, "interactions"),
			Block:        design.Block{Name: "pack", Several: rapid.SampledFrom([]string{"", "charges"}).Draw(t, "plural"), Count: rapid.IntRange(1, 3).Draw(t, "count"), Replicates: rapid.IntRange(0, 2).Draw(t, "replicates")},
			Drift:        design.Drift{Model: rapid.SampledFrom([]string{"none", "linear"}).Draw(t, "model"), Own: rapid.Bool().Draw(t, "own")},
			Responses:    []design.Response{responses().Draw(t, "response")},
			Analysis: design.Analysis{Alpha: 0.05, Power: rapid.Float64Range(0.5, 0.99).Draw(t, "power"), Compare: "pairs", Looks: rapid.IntRange(1, 2).Draw(t, "looks"),
				Spending: rapid.SampledFrom([]design.Spending{"", "obrien-fleming", "pocock"}).Draw(t, "spending")},
			Readings: []design.Reading{{Name: "start_volts", Unit: "V"}},
			Budget:   budgets().Draw(t, "budget"),
			Signals:  signals().Draw(t, "signals"),

			Session: sessions().Draw(t, "session"), Items: items().Draw(t, "items"),
		}
	})
}

func sessions() *rapid.Generator[*design.Session] {
	return rapid.Custom(func(t *rapid.T) *design.Session {
		if rapid.Bool().Draw(t, "none") {
			return nil
		}
		s := &design.Session{Name: rapid.SampledFrom([]string{"day", "trip"}).Draw(t, "name"), Blocks: rapid.IntRange(1, 3).Draw(t, "blocks")}
		if rapid.Bool().Draw(t, "has hours") {
			s.Hours = duration(t, "hours")
		}
		return s
	})
}

func items() *rapid.Generator[*design.Items] {
	return rapid.Custom(func(t *rapid.T) *design.Items {
		if rapid.Bool().Draw(t, "none") {
			return nil
		}
		return &design.Items{Name: rapid.SampledFrom([]string{"cell", "battery"}).Draw(t, "name"),
			Labels: rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"P1", "P2", "P1, P2", "\""}), 2, 4, rapid.ID[string]).Draw(t, "labels")}
	})
}

func duration(t *rapid.T, label string) time.Duration {
	return time.Duration(rapid.IntRange(1, 86_400_000).Draw(t, label)) * time.Millisecond
}
