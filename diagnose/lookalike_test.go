package diagnose

import (
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// TestRun_LookAlike: a restriction between glass and valve, and a valve that feeds too little, give a machine the same
// state at every place that can be read (both are a smaller passage at one place of the circuit: mass balance), so that no
// reading parts them and only the hand does, however much is read. A dirty condenser and a short charge are parted by a
// reading as long as one is left.
func TestRun_LookAlike(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	mc := machineOf("R-404A", reading.WalkInFreezer)
	for _, c := range []fault.Code{fault.RestrictionAfterGlass, fault.ValveUnderfeeding} {
		s, ok := clean(t, mc, f, cause(t, c, 0.7))
		if !ok {
			t.Fatal("the machine trips")
		}
		p := run(t, s, f, Options{NoPairs: true})
		x := p.Advice.LookAlike
		if x == nil || x.A.Inseparable() != x.B.Inseparable() || x.A == x.B {
			t.Errorf("%s: look alike %+v; first %v", c, x, p.Marginals[:3])
		}
	}
	s := freezer(-5, 90, 8, 210, reading.Bubbling)
	if p := run(t, s, f, Options{NoPairs: true}); p.Advice.LookAlike != nil {
		t.Errorf("with two gauges and the glass read: look alike %+v of %v", p.Advice.LookAlike, p.Marginals[:3])
	}
}
