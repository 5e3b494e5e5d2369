package air

import (
	"errors"
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/units"
)

func c(t float64) float64 { return t + 273.15 }

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
		testkit.Near(t, "humidity ratio", s.W, r.w, 0.007*r.w, source)
		testkit.Near(t, "enthalpy kJ/kg", s.H/1e3, r.h, 0.3, source)
		testkit.Near(t, "volume, m³/kg dry air", (1+s.W)/s.Rho, r.v, 0.0012*r.v, source)
	}
}

// Limits: dry air is an ideal gas; density falls with altitude as the pressure does; nonsense is refused.
func TestState_Limits(t *testing.T) {
	dry, err := FromRH(c(-60), 0.001, 101325) // 10 nPa of vapour
	if err != nil {
		t.Fatal(err)
	}
	testkit.Near(t, "dry density", dry.Rho, 101325/(287.042*c(-60)), 1e-5, "ideal gas")
	testkit.Near(t, "dry enthalpy", dry.H, -60*1006, 30, "definition, cp of ASHRAE Fundamentals (2017), ch. 1, Eq. (28)")
	// Wet air is lighter than dry air of the same temperature and pressure, by 0.378 pw/p (ratio of the molar masses).
	wet, err1 := FromRH(c(30), 1, 101325)
	less, err2 := FromRH(c(30), 0.001, 101325)
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	testkit.Near(t, "lighter by", 1-wet.Rho/less.Rho, 0.378*0.999*4246.9/101325, 2e-4, "ideal gases, 1 − 18.015/28.965; steam table")
	high, err := units.Atmosphere(1600)
	if err != nil {
		t.Fatal(err)
	}
	a, err1 := FromRH(c(20), 0.5, 101325)
	b, err2 := FromRH(c(20), 0.5, float64(high))
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	testkit.Near(t, "density at 1,600 m over sea level", b.Rho/a.Rho, float64(high)/101325, 0.002, "ideal gas, less what the vapour changes")
	var r *RangeError
	for name, f := range map[string]func() (State, error){
		"rh above 1":        func() (State, error) { return FromRH(c(20), 1.1, 101325) },
		"rh nan":            func() (State, error) { return FromRH(c(20), math.NaN(), 101325) },
		"too hot":           func() (State, error) { return FromRH(c(120), 0.5, 101325) },
		"no pressure":       func() (State, error) { return FromRH(c(20), 0.5, 0) },
		"rh zero":           func() (State, error) { return FromRH(c(20), 0, 101325) },
		"boiling":           func() (State, error) { return FromRH(c(80), 1, 40e3) },
		"infinite pressure": func() (State, error) { return FromRH(c(20), 0.5, math.Inf(1)) },
		"nan":               func() (State, error) { return FromRH(math.NaN(), 0.5, 101325) },
	} {
		if s, err := f(); !errors.As(err, &r) {
			t.Errorf("%s: %+v, %v", name, s, err)
		}
	}
}

// TestWetBulb: 20 °C at 50 % has a wet bulb of 13.7 °C (worked example of Stull (2011), J. Appl. Meteor. Climatol.
// 50:2267-2269, whose fit is good to 0.3 K and rounds to 0.1); the rating point of air conditioners, 80 °F with a wet bulb
// of 67 °F, is printed as 51 % (AHRI 210/240, from memory); it is the inverse of FromWetBulb; saturated air is its own
// wet bulb.
func TestWetBulb(t *testing.T) {
	got, err := WetBulb(c(20), 0.5, 101325)
	if err != nil {
		t.Fatal(err)
	}
	testkit.Near(t, "wet bulb of 20 °C, 50 %", got, c(13.7), 0.15, "Stull (2011)")
	rating, err := FromWetBulb(float64(units.Fahrenheit(80)), float64(units.Fahrenheit(67)), 101325)
	if err != nil {
		t.Fatal(err)
	}
	testkit.Near(t, "80 °F, wet bulb 67 °F", rating.RH, 0.51, 0.005, "AHRI 210/240, from memory")
	for _, T := range []float64{-20, 3, 26.67, 45} {
		for _, rh := range []float64{0.15, 0.5, 0.9, 1} {
			for _, p := range []float64{70e3, 101325} {
				b, err := WetBulb(c(T), rh, p)
				if err != nil {
					t.Fatal(err)
				}
				s, err := FromWetBulb(c(T), b, p)
				if err != nil {
					t.Fatal(err)
				}
				if math.Abs(b-c(0)) > 0.3 { // there water and ice meet
					testkit.Near(t, "there and back", s.RH, rh, 1e-6, "definition")
				}
			}
		}
	}
	if _, err := WetBulb(c(20), 1.2, 101325); err == nil {
		t.Error("more than saturated air was accepted")
	}
}

// TestFromWetBulb: a state of an ASHRAE example (Fundamentals, ch. 1: 40 °C with 20 °C wet bulb at sea level has a
// humidity ratio of 6.5 g/kg and 14 % relative humidity, read from its chart, from memory); saturated air has one
// temperature; the wet bulb of air whose enthalpy is known goes back to it within what the wet bulb's own enthalpy is
// worth (adiabatic saturation: definition).
func TestFromWetBulb(t *testing.T) {
	const source = "ASHRAE Fundamentals, ch. 1, psychrometric chart, example, from memory"
	s, err := FromWetBulb(c(40), c(20), 101325)
	if err != nil {
		t.Fatal(err)
	}
	testkit.Near(t, "humidity ratio", s.W, 0.0065, 0.0002, source)
	testkit.Near(t, "relative humidity", s.RH, 0.14, 0.005, source)
	for _, T := range []float64{-25, -5, 5, 26.67} {
		s, err := FromWetBulb(c(T), c(T), 95e3)
		if err != nil {
			t.Fatal(err)
		}
		testkit.Near(t, "saturated", s.RH, 1, 1e-9, "definition")
		wet := T - 0.4
		drier, err := FromWetBulb(c(T), c(wet), 95e3)
		if err != nil {
			t.Fatal(err)
		}
		// h + (W* − W) h_w* = h*: what evaporates at the wet bulb brings the enthalpy of its water or ice.
		star, err := FromRH(c(wet), 1, 95e3)
		if err != nil {
			t.Fatal(err)
		}
		hw := 4186 * wet
		if wet < 0 {
			hw = -333.4e3 + 2100*wet
		}
		testkit.Near(t, "adiabatic saturation", drier.H+(star.W-drier.W)*hw, star.H, 60, "definition")
	}
	for _, bad := range [][2]float64{{20, 21}, {20, -20}, {-120, -121}} {
		if _, err := FromWetBulb(c(bad[0]), c(bad[1]), 101325); err == nil {
			t.Errorf("%g °C with %g °C wet bulb was accepted", bad[0], bad[1])
		}
	}
}
