package size_test

import (
	"math"
	"testing"

	"coldwright/gasflow"
	"coldwright/internal/testkit"
	"coldwright/proof/size"
	"coldwright/units"
)

// Nitrogen through the same hole at the same pressures is the same flow (identity); from 10 to 20 bar against 1 bar a
// viscous leak passes 399/99 times as much and a molecular one 19/9 times (Poiseuille, Knudsen). Three grams a year go
// through a hole that is mostly the one and a little of the other.
func TestOf_Identities(t *testing.T) {
	const out = 1e5
	test := gasflow.Drive{Gas: gasflow.Nitrogen(gasflow.Room), Inside: 10e5, Outside: out}
	nitrogen := testkit.Refrigerant(t, "R-728")
	for _, c := range []struct {
		working            units.Pressure
		viscous, molecular float64
	}{{10e5, 1, 1}, {20e5, 399.0 / 99, 19.0 / 9}} {
		l, err := size.Of(nitrogen, c.working, gasflow.PerYear(3, nitrogen.MolarMass()), test, out)
		if err != nil {
			t.Fatal(err)
		}
		// 1e-4: the viscosity of nitrogen is computed from its constants here, from the file there.
		if math.Abs(l.Viscous/3-c.viscous) > 1e-3 || math.Abs(l.Molecular/3-c.molecular) > 1e-3 || l.Working != c.working {
			t.Errorf("%g bar: %+v, want %g and %g times 3 g", float64(c.working)/units.Bar, l, c.viscous, c.molecular)
		}
		if g := l.GramsPerYear / 3; g > c.viscous+1e-3 || g < c.viscous-0.15*(c.viscous-c.molecular)-1e-3 {
			t.Errorf("%g bar: %g times 3 g, want %g less little", float64(c.working)/units.Bar, g, c.viscous)
		}
	}
}

// Where no pressure is given the refrigerant stands at its dew pressure at 40 °C: R-134a at 1017 kPa (ASHRAE Handbook
// of Fundamentals, saturation table of R-134a: 1016.6; from memory), and carbon dioxide 5 K under its critical point.
func TestOf_WorkingPressure(t *testing.T) {
	test := gasflow.Drive{Gas: gasflow.Nitrogen(gasflow.Room), Inside: 10e5, Outside: 1e5}
	l, err := size.Of(testkit.Refrigerant(t, "R-134a"), 0, 1e-9, test, 1e5)
	if err != nil || math.Abs(float64(l.Working)/units.Kilo-1016.6) > 1 {
		t.Errorf("R-134a: %+v %v", l, err)
	}
	carbon := testkit.Refrigerant(t, "R-744")
	l, err = size.Of(carbon, 0, 1e-9, test, 1e5)
	if err != nil || float64(l.Working) >= carbon.Limits().PCrit || float64(l.Working) < 0.85*carbon.Limits().PCrit {
		t.Errorf("R-744: %+v %v", l, err)
	}
}
