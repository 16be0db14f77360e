package rehearse

import (
	"math"
	"testing"
)

// A winding of time constant 100 s that settles 50 K above 20 °C, at a resistance that makes the loss
// of a cold motor 1 W. Values by hand from T(t) = T∞ + (T₀ − T∞)·exp(−t/τ).
func TestBenchHeatsAndCools(t *testing.T) {
	t.Parallel()
	b := Bench{Ambient: 20, WindingTau: 100, WindingRise: 50, Resistance: 1 / warm(20), RunTime: 100, RestTime: 100,
		Pack: Pack{Full: 50, Empty: 40, Capacity: 10, Resistance: 0.1}}
	s := b.fresh()
	b.swap(s, [2]float64{0, 0})
	// One hour at 36 A takes 36 Ah, 100 s take 1 Ah: a tenth of the pack, so 1 V.
	first := b.run(s, Load{Winding: 1, Supply: 36})
	e1 := math.Exp(-1)
	near(t, "first start_temp", first.StartTemp, 20)
	near(t, "first start_volts", first.StartVolts, 50)
	near(t, "mean volts: half a volt of sag and 3.6 V of drop", first.Volts, 50-0.5-3.6)
	near(t, "mean temperature", first.Temp, 70-50*(1-e1))
	near(t, "temperature after the run", s.winding, 70-50*e1)
	second := b.run(s, Load{Winding: 1, Supply: 36})
	near(t, "second start_temp, a rest later", second.StartTemp, 20+50*(1-e1)*e1)
	near(t, "second start_volts", second.StartVolts, 49)
	for range 30 {
		first = b.run(s, Load{Winding: 1, Supply: 36})
	}
	near(t, "volts of an empty pack", first.Volts, 40-3.6)
	b.Pack.Resistance = 5
	b.swap(s, [2]float64{0, 0})
	near(t, "volts that collapse", b.run(s, Load{Supply: 36}).Volts, leastVolts*50)
}

func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-9*math.Abs(want) {
		t.Errorf("%s = %v, want %v", what, got, want)
	}
}

// The packs of a campaign differ by their spread, and everything else is the same again.
func TestSwapGivesAnotherPack(t *testing.T) {
	t.Parallel()
	b := Bench{WindingTau: 1, Pack: Pack{Full: 50, Empty: 40, Capacity: 10, Resistance: 0.1, Spread: 0.04}}
	s := b.fresh()
	s.drawn = 3
	b.swap(s, [2]float64{1, -1})
	near(t, "capacity one standard deviation up", s.capacity, 10*math.Exp(0.04))
	near(t, "resistance one down", s.internal, 0.1*math.Exp(-0.04))
	if s.drawn != 0 {
		t.Errorf("drawn = %v of a fresh pack, want 0", s.drawn)
	}
}

// Copper at 125 °C has 1 + 0.0039·100 times its resistance at 25 °C.
func TestCopper(t *testing.T) {
	t.Parallel()
	near(t, "warm(125)", warm(125), 1.39)
	near(t, "warm(25)", warm(25), 1)
}

func TestResponseIsAProductOfRatios(t *testing.T) {
	t.Parallel()
	r := Response{Base: 600, Ratio: []float64{1, 0.9}, Nominal: 40, Volts: -2, Copper: 1, Noise: 0.01}
	// 600 · 0.9 · (20/40)^−2 · 1.39 · e^0.01
	near(t, "value", r.value(1, Conditions{Volts: 20, Temp: 125}, 1), 600*0.9*4*1.39*math.Exp(0.01))
}

// A pack that comes back is the pack it was, and a session begins on a bench that has cooled down.
func TestPacksComeBackAndSessionsCool(t *testing.T) {
	t.Parallel()
	c := &Simulator{Bench: Bench{Ambient: 20, WindingTau: 240, WindingRise: 40, Resistance: 1 / warm(20), RunTime: 30, RestTime: 60, SwapTime: 60,
		Pack: Pack{Full: 1, Empty: 0.8, Capacity: 0.1, Resistance: 0.04, Spread: 0.1}},
		Loads: []Load{{Winding: 1, Supply: 1}}, Responses: []Response{{Base: 1, Ratio: []float64{1}, Nominal: 1}},
		Packs: []int{1, 2, 1, 2}, Sessions: []int{1, 1, 2, 2}}
	run := make([]int, 8)
	blocks := c.Do([][]int{run, run, run, run}, 3)
	for i := range run {
		first, other, again := blocks[0][i], blocks[1][i], blocks[2][i]
		if first.StartVolts != again.StartVolts {
			t.Errorf("run %d of pack 1 starts at %v, when it is back at %v", i+1, first.StartVolts, again.StartVolts)
		}
		if i > 0 && first.StartVolts == other.StartVolts {
			t.Errorf("run %d starts at %v on either pack", i+1, first.StartVolts)
		}
		if first.StartTemp != again.StartTemp {
			t.Errorf("run %d of the second session starts at %v °C, of the first at %v °C", i+1, again.StartTemp, first.StartTemp)
		}
	}
	if at := blocks[1][0].StartTemp; at <= 21 {
		t.Errorf("the second pack starts at %v °C, want the heat of the first", at)
	}
}
