package linmod

import (
	"math"
	"testing"
)

// Two sessions of two and three packs, two treatments once in each pack: packs
// tell all that sessions do, and the adjusted means are those of packs alone. By
// hand: in pack p treatment 0 gives 10p and treatment 1 gives 10p+1, 10p+2, …, so
// that the packs' means are 10(0+1+2+3+4)/5 = 20, and treatment 1 lies
// (1+2+3+4+5)/5 = 3 above.
func TestNestedBlocks(t *testing.T) {
	session := Factor{Name: "session", Levels: []string{"1", "2"}}
	pack := Factor{Name: "pack", Levels: []string{"a", "b", "c", "d", "e"}}
	treatment := Factor{Name: "treatment", Levels: []string{"0", "1"}}
	var y []float64
	for p := range 5 {
		for k := range 2 {
			session.Code = append(session.Code, int32(min(1, p/2)))
			pack.Code = append(pack.Code, int32(p))
			treatment.Code = append(treatment.Code, int32(k))
			y = append(y, float64(10*p+k*(p+1)))
		}
	}
	for name, blocks := range map[string][]Factor{"session, pack": {session, pack}, "pack, session": {pack, session}} {
		r, err := Fit(Model{Blocks: blocks, Factors: []Factor{treatment}, Order: 1}, y)
		if err != nil {
			t.Fatal(err)
		}
		m, err := r.Means(0)
		if err != nil {
			t.Fatal(err)
		}
		e := m.All()
		for k, want := range []float64{20, 23} {
			if !e.Estimable[k] || math.Abs(e.Value[k]-want) > 1e-12 {
				t.Errorf("%s: mean of treatment %d = %v (estimable %v), want %v", name, k, e.Value[k], e.Estimable[k], want)
			}
		}
	}
}
