package check

import (
	"errors"
	"testing"
)

func TestGamesHowell(t *testing.T) {
	var ref struct {
		GamesHowell []struct {
			Name   string
			Alpha  float64
			Groups [][]float64
			Want   [][9]float64 // level, against, difference, se, df, t, p, low, high
		}
	}
	readReference(t, "exact.json", &ref)
	if len(ref.GamesHowell) != 3 {
		t.Fatalf("%d cases, want 3", len(ref.GamesHowell))
	}
	for _, c := range ref.GamesHowell {
		got, err := GamesHowell(c.Groups, c.Alpha)
		if err != nil || len(got) != len(c.Want) {
			t.Fatalf("%s: %d pairs, %v, want %d", c.Name, len(got), err, len(c.Want))
		}
		for i, w := range c.Want {
			g := got[i]
			if g.Level != int(w[0]) || g.Against != int(w[1]) {
				t.Errorf("%s: pair %d is %d against %d, want %v against %v", c.Name, i, g.Level, g.Against, w[0], w[1])
			}
			wantNear(t, c.Name+" difference", g.Difference, w[2], 1e-12)
			wantNear(t, c.Name+" se", g.SE, w[3], 1e-12)
			wantNear(t, c.Name+" df", g.DF, w[4], 1e-12)
			wantNear(t, c.Name+" t", g.T, w[5], 1e-12)
			wantNear(t, c.Name+" p", g.P, w[6], 1e-9)
			wantNear(t, c.Name+" low", g.Low, w[7], 1e-8)
			wantNear(t, c.Name+" high", g.High, w[8], 1e-8)
		}
	}
}

// With two groups the studentized range is √2·|t|, so the pair is Welch's t test.
func TestGamesHowellOfTwoGroupsIsWelch(t *testing.T) {
	groups := [][]float64{{8.31, 8.27, 8.40, 8.35, 8.29, 8.33}, {8.52, 8.61, 8.40, 8.75}}
	w, err := Welch(groups)
	if err != nil {
		t.Fatal(err)
	}
	for _, alpha := range []float64{0.1, 0.01} {
		p, err := GamesHowell(groups, alpha)
		if err != nil {
			t.Fatal(err)
		}
		wantNear(t, "P", p[0].P, w.P, 1e-9)
		wantNear(t, "t²", p[0].T*p[0].T, w.Statistic, 1e-12)
	}
	// At alpha = P the interval just touches zero.
	p, err := GamesHowell(groups, w.P)
	if err != nil {
		t.Fatal(err)
	}
	if p[0].Low/p[0].Difference > 1e-8 || p[0].Low/p[0].Difference < -1e-8 {
		t.Errorf("interval at alpha = P starts at %v, want 0", p[0].Low)
	}
}

func TestGamesHowellErrors(t *testing.T) {
	if _, err := GamesHowell([][]float64{{1, 2}, {3}}, 0.05); !errors.Is(err, ErrLoneRun) {
		t.Errorf("lone run: %v", err)
	}
	if _, err := GamesHowell([][]float64{{1, 1}, {2, 2}, {1, 3}}, 0.05); !errors.Is(err, ErrNoSpread) {
		t.Errorf("two groups without spread: %v", err)
	}
	p, err := GamesHowell([][]float64{{1, 1, 1}, nil, {1, 2, 3}}, 0.05)
	if err != nil || len(p) != 1 || p[0].Level != 2 || p[0].Against != 0 || p[0].DF != 2 {
		t.Errorf("one group without spread: %v, %v; want one pair, 2 against 0, on 2 df", p, err)
	}
	defer func() {
		if recover() != badAlpha {
			t.Error("alpha 0 did not panic")
		}
	}()
	_, _ = GamesHowell([][]float64{{1, 2}, {3, 4}}, 0)
}

func TestDunn(t *testing.T) {
	var ref struct {
		Dunn []struct {
			Name   string
			Groups [][]float64
			Want   [][5]float64 // level, against, difference of mean ranks, z, p
		}
	}
	readReference(t, "exact.json", &ref)
	for _, c := range ref.Dunn {
		got, err := Dunn(c.Groups)
		if err != nil || len(got) != len(c.Want) {
			t.Fatalf("%s: %d pairs, %v, want %d", c.Name, len(got), err, len(c.Want))
		}
		var ps []float64
		for i, w := range c.Want {
			g := got[i]
			if g.Level != int(w[0]) || g.Against != int(w[1]) {
				t.Errorf("%s: pair %d is %d against %d, want %v against %v", c.Name, i, g.Level, g.Against, w[0], w[1])
			}
			if w[2] == 0 && g.Difference == 0 {
				continue
			}
			wantNear(t, c.Name+" difference", g.Difference, w[2], 1e-13)
			wantNear(t, c.Name+" z", g.Z, w[3], 1e-13)
			wantNear(t, c.Name+" p", g.P, w[4], 1e-12)
			ps = append(ps, w[4])
		}
		if len(ps) != len(got) {
			continue
		}
		for i, want := range Holm(ps) {
			wantNear(t, c.Name+" adjusted", got[i].Adjusted, want, 1e-12)
		}
	}
}
