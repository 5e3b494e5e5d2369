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

// IAPWS: water after Wagner and Pruss (1993), ice after IAPWS (2011), another formulation than ours; they agree to 0.04 %.
func TestSaturation_OtherFormulation(t *testing.T) {
	for _, r := range [][2]float64{
		{-40, 12.84},
		{-35, 22.34},
		{-30, 38.01},
		{-25, 63.27},
		{-20, 103.24},
		{-15, 165.27},
		{-10, 259.87},
		{-5, 401.74},
		{0, 611.15},
		{5, 872.53},
		{10, 1228.11},
		{15, 1705.68},
		{20, 2339.19},
		{25, 3169.82},
		{30, 4246.92},
		{35, 5629.06},
		{40, 7385.11},
		{50, 12352.48},
		{60, 19947.38},
	} {
		p, err := Saturation(c(r[0]))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "saturation", p, r[1], 4e-4*r[1]+0.005, "IAPWS, tabulated")
	}
	// Steam table of the EnergyPlus fluid data, printed to four digits.
	for _, r := range [][2]float64{
		{1, 657.1},
		{5, 872.6},
		{10, 1228},
		{15, 1706},
		{20, 2339},
		{25, 3170},
		{30, 4247},
		{35, 5629},
		{40, 7385},
		{50, 12350},
		{60, 19950},
	} {
		p, err := Saturation(c(r[0]))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "saturation", p, r[1], 5e-4*r[1], "EnergyPlus FluidPropertiesRefData.idf")
	}
}

// Over ice and over water the equations meet at the triple point: 611.657 Pa, IAPWS.
func TestSaturation_TriplePoint(t *testing.T) {
	below, above := saturation(math.Nextafter(tripleT, 0)), saturation(tripleT)
	near(t, "over ice", below, 611.657, 0.15, "IAPWS")
	near(t, "over water", above, 611.657, 0.15, "IAPWS")
}

// Check values of the room-load reference at sea level: enthalpy and density of the air in and outside four doors.
func TestFromRH_DoorTable(t *testing.T) {
	const source = "worked door table after the ASHRAE relations"
	for _, r := range []struct{ t, rh, h, rho float64 }{
		{25, 0.5, 50.32, 1.1770},
		{2, 0.9, 11.84, 1.2799},
		{21, 0.5, 40.76, 1.1945},
		{-18, 0.9, -16.40, 1.3829},
		{32, 0.6, 78.37, 1.1445},
		{3, 0.9, 13.59, 1.2750},
		{24, 0.55, 50.22, 1.1807},
		{-2.22, 0.9, 4.81, 1.3007},
	} {
		s, err := FromRH(c(r.t), r.rh, 101325)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "enthalpy kJ/kg", s.H/1e3, r.h, 0.006, source)
		near(t, "density", s.Rho, r.rho, 7e-5, source)
	}
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
	if _, err := Saturation(100); !errors.As(err, &r) {
		t.Error("saturation at 100 K")
	}
}
