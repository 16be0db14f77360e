package rehearse

import (
	"fmt"
	"strings"
	"testing"
)

// The motor that the demonstration's plan describes keeps to two facts of the trade, common practice
// without source: a motor's kV is its speed without load over the voltage that drives it, and
// electrical rpm are mechanical rpm times pole pairs.
func TestThrusterMotor(t *testing.T) {
	t.Parallel()
	_, text, found := strings.Cut(ThrusterPlan, "# The motor (invented): ")
	if !found {
		t.Fatal("the plan describes no motor")
	}
	var kV, pairs, rpm, volts, electrical int
	if _, err := fmt.Sscanf(text, "%d rpm/V and %d pole pairs, so %d rpm without load at %d V, or %d electrical rpm", &kV, &pairs, &rpm, &volts, &electrical); err != nil {
		t.Fatal(err)
	}
	if rpm != kV*volts {
		t.Errorf("%d rpm at %d V, want kV times volts, %d", rpm, volts, kV*volts)
	}
	if electrical != rpm*pairs {
		t.Errorf("%d electrical rpm, want rpm times pole pairs, %d", electrical, rpm*pairs)
	}
	for _, r := range Thruster().Responses {
		if r.Nominal != float64(volts) {
			t.Errorf("the bench's nominal voltage is %v, the plan's %d", r.Nominal, volts)
		}
	}
}
