package air

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"coldwright/units"
)

func c(t float64) float64 { return t + 273.15 }

func near(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.6g, want %.6g ± %.2g (off %.2g); %s", what, got, want, tol, got-want, source)
	}
}

// Saturated air at sea level: ASHRAE Fundamentals (2017), ch. 1, Table 2, from memory, its last digits checked with the
// property library CoolProp 8.0.0. The table is of real air. Ours leaves out the enhancement of the vapour pressure, up
// to 0.5 % of W at sea level, and what follows from that: 0.7 % of W, 0.3 kJ/kg up to 30 °C, 0.12 % of the volume.
func TestFromRH_SaturatedAirTable(t *testing.T) {
	const source = "ASHRAE Fundamentals (2017), ch. 1, Table 2"
	for _, r := range []struct{ t, w, h, v float64 }{
		{-30, 0.0002346, -29.597, 0.6884},
		{-20, 0.0006373, -18.545, 0.7173},
		{-10, 0.0016062, -6.072, 0.7469},
		{10, 0.007661, 29.352, 0.8116},
		{20, 0.014758, 57.555, 0.8498},
		{30, 0.027329, 99.977, 0.8962},
	} {
		s, err := FromRH(c(r.t), 1, 101325)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "humidity ratio", s.W, r.w, 0.007*r.w, source)
		near(t, "enthalpy kJ/kg", s.H/1e3, r.h, 0.3, source)
		near(t, "volume, m³/kg dry air", (1+s.W)/s.Rho, r.v, 0.0012*r.v, source)
	}
	// ASHRAE Fundamentals (2017), ch. 1, example 1: 40 °C, wet bulb 20 °C, 101.325 kPa; as read off the chart there.
	s, err := FromWetBulb(c(40), c(20), 101325)
	if err != nil {
		t.Fatal(err)
	}
	const example = "ASHRAE Fundamentals, ch. 1, example 1"
	near(t, "humidity ratio", s.W, 0.0065, 1e-4, example)
	near(t, "enthalpy kJ/kg", s.H/1e3, 56.7, 0.2, example)
	near(t, "dew point °C", s.DewPoint-273.15, 7, 0.5, example)
	near(t, "relative humidity", s.RH, 0.14, 0.005, example)
	near(t, "volume", (1+s.W)/s.Rho, 0.896, 0.001, example)
}

// A state given by W, dew point or wet bulb is the same state; wet bulb lies between dew point and dry bulb.
func TestState_RoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		T := rapid.Float64Range(230, 330).Draw(t, "T")
		rh := rapid.Float64Range(0.05, 1).Draw(t, "rh")
		p := rapid.Float64Range(60e3, 105e3).Draw(t, "p")
		s, err := FromRH(T, rh, p)
		if err != nil {
			t.Fatal(err)
		}
		if !(s.DewPoint <= s.WetBulb+1e-6 && s.WetBulb <= s.T+1e-9) {
			t.Fatalf("dew %v, wet %v, dry %v", s.DewPoint, s.WetBulb, s.T)
		}
		a, err1 := FromW(T, s.W, p)
		b, err2 := FromDewPoint(T, s.DewPoint, p)
		if err := errors.Join(err1, err2); err != nil {
			t.Fatal(err)
		}
		if math.Abs(a.RH-rh) > 1e-9 || math.Abs(b.RH-rh) > 1e-8 {
			t.Fatalf("rh %v, by W %v, by dew point %v", rh, a.RH, b.RH)
		}
		if s.WetBulb == tripleT {
			return // water and ice side by side on the bulb: W is not a function of the wet bulb there
		}
		w, err := FromWetBulb(T, s.WetBulb, p)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(w.W-s.W) > 1e-8 {
			t.Fatalf("W %v, by wet bulb %v", s.W, w.W)
		}
	})
}

// Limits: dry air is an ideal gas; density falls with altitude as the pressure does; nonsense is refused.
func TestState_Limits(t *testing.T) {
	dry, err := FromW(c(20), 1e-7, 101325)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "dry density", dry.Rho, 101325/(287.042*c(20)), 1e-5, "ideal gas")
	high, err := units.Atmosphere(1600)
	if err != nil {
		t.Fatal(err)
	}
	a, err1 := FromRH(c(20), 0.5, 101325)
	b, err2 := FromRH(c(20), 0.5, float64(high))
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	near(t, "density at 1,600 m over sea level", b.Rho/a.Rho, float64(high)/101325, 0.002, "ideal gas, less what the vapour changes")
	var r *RangeError
	for name, f := range map[string]func() (State, error){
		"rh above 1":        func() (State, error) { return FromRH(c(20), 1.1, 101325) },
		"rh nan":            func() (State, error) { return FromRH(c(20), math.NaN(), 101325) },
		"too hot":           func() (State, error) { return FromRH(c(120), 0.5, 101325) },
		"no pressure":       func() (State, error) { return FromRH(c(20), 0.5, 0) },
		"fog":               func() (State, error) { return FromW(c(0), 0.02, 101325) },
		"dew above dry":     func() (State, error) { return FromDewPoint(c(0), c(1), 101325) },
		"drier than dry":    func() (State, error) { return FromWetBulb(c(40), c(5), 101325) },
		"wet above dry":     func() (State, error) { return FromWetBulb(c(4), c(5), 101325) },
		"wet at no air":     func() (State, error) { return FromWetBulb(c(6), c(5), 0) },
		"temperature of W":  func() (State, error) { return FromW(c(200), 0.01, 101325) },
		"infinite pressure": func() (State, error) { return FromW(c(20), 0.01, math.Inf(1)) },
	} {
		if s, err := f(); !errors.As(err, &r) {
			t.Errorf("%s: %+v, %v", name, s, err)
		}
	}
}
