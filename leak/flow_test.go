package leak

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"coldwright/gasflow"
)

func TestThrough_Properties(t *testing.T) {
	r404a, n2 := gasflow.Gas{MolarMass: 0.0976, Viscosity: 12e-6}, gasflow.Nitrogen(gasflow.Room)
	rapid.Check(t, func(t *rapid.T) {
		q := math.Pow(10, rapid.Float64Range(-10, -2).Draw(t, "q"))
		run := rapid.Float64Range(1.3e5, 2.5e6).Draw(t, "run")
		p := rapid.Float64Range(5e4, 2.5e6).Draw(t, "now")
		amb := rapid.Float64Range(7e4, 1.05e5).Draw(t, "amb")
		if got := Through(q, run, run, amb, r404a, r404a); math.Abs(got-1) > 1e-12 {
			t.Fatalf("nothing changed, factor %g", got)
		}
		// A side that stands near the air's pressure while running counts as 20 kPa above it.
		if got := Through(q, amb+1, amb+20e3, amb, r404a, r404a); math.Abs(got-1) > 1e-9 {
			t.Fatalf("a side at the air's pressure: factor %g", got)
		}
		a, b := Through(q, run, p, amb, r404a, n2), Through(q, run, p*1.01, amb, r404a, n2)
		if a < 0 || b < a || p <= amb && a != 0 || math.IsNaN(a) {
			t.Fatalf("not rising with pressure: %g then %g", a, b)
		}
		// A larger leak passes more at any pressure.
		if c := Through(q*1.1, run, p, amb, r404a, n2); q*1.1*c < q*a*(1-1e-9) {
			t.Fatalf("the larger leak passes less: %g < %g", q*1.1*c, q*a)
		}
	})
}

// A standing-pressure test that sees 1 psi from 20 litres in 24 hours sees q = V dp/t (arithmetic).
func TestStandingPressure_Threshold(t *testing.T) {
	m, _ := catalogue(t).Method("standing_pressure")
	if want := 0.020 * 6894.757 / 86400; math.Abs(m.Threshold-want) > 0.05e-3 {
		t.Errorf("the catalogue says %g Pa m³/s, want %.4g", m.Threshold, want)
	}
}

func catalogue(t testing.TB) *Catalogue {
	t.Helper()
	c, err := Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return &c
}
