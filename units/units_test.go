package units

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"coldwright/fail"
)

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

// Conversions by definition (NIST SP 811).
func TestParse_Values(t *testing.T) {
	for _, c := range []struct {
		text string
		want float64
	}{{"-7F", 251.4833333}, {"−7 °F", 251.4833333}, {"103 F", 312.5944444}, {"-18 C", 255.15}, {"21,5 °C", 294.65}, {"300K", 300}} {
		got, err := ParseTemp(c.text, "")
		if err != nil || !near(float64(got), c.want, 1e-6) {
			t.Errorf("%q: %v (%v), want %v K", c.text, got, err, c.want)
		}
	}
	for _, c := range []struct {
		text  string
		want  float64
		gauge bool
	}{
		{"12psig", 82737.087518, true},
		{"3.4bar(g)", 340000, true},
		{"8.5 bar(a)", 850000, false},
		{"22inHg(vac)", -74500.558, true},
		{"500micron", 66.6612, false},
		{"83.4kPa", 83400, false},
		{"26 psi(g)", 179263.69, true},
		{"0.5 MPa", 500000, false},
	} {
		got, err := ParsePressure(c.text, "")
		if err != nil || !near(got.Pa, c.want, 0.01) || got.Gauge != c.gauge {
			t.Errorf("%q: %+v (%v), want %v gauge %v", c.text, got, err, c.want, c.gauge)
		}
	}
	if d, err := ParseTempDiff("12Fdiff", ""); err != nil || !near(float64(d), 6.6666667, 1e-6) {
		t.Errorf("12Fdiff: %v %v", d, err)
	}
	if d, err := ParseTempDiff("7K", ""); err != nil || d != 7 {
		t.Errorf("7K: %v %v", d, err)
	}
	if m, err := ParseMass("9 lb 8 oz", ""); err != nil || !near(float64(m), 4.30912752, 1e-8) {
		t.Errorf("9 lb 8 oz: %v %v", m, err)
	}
	// 1 ft = 0.3048 m; 1 L = 0.001 m³.
	for _, c := range []struct {
		text string
		want float64
	}{{"20L", 0.02}, {"20 l", 0.02}, {"0.5m3", 0.5}, {"1 ft³", 0.028316846592}} {
		if v, err := ParseVolume(c.text, ""); err != nil || !near(v, c.want, 1e-12) {
			t.Errorf("%q: %v (%v), want %v m³", c.text, v, err, c.want)
		}
	}
	for _, c := range []struct {
		text string
		want float64
	}{{"50%", 0.5}, {"50 %", 0.5}, {"0.5", 0.5}, {"99,9 %", 0.999}} {
		if v, err := ParseFraction(c.text); err != nil || !near(v, c.want, 1e-12) {
			t.Errorf("%q: %v (%v), want %v", c.text, v, err, c.want)
		}
	}
	if m, err := ParseLength("5249ft", ""); err != nil || !near(m, 1599.9, 0.01) {
		t.Errorf("5249ft: %v %v", m, err)
	}
	if b, err := ParseBarometer("29.92inHg", ""); err != nil || !near(float64(b), 101320.8, 1) {
		t.Errorf("29.92inHg: %v %v", b, err)
	}
}

func TestParse_Refused(t *testing.T) {
	parse := map[string]func(string) error{
		"temperature": func(s string) error { _, err := ParseTemp(s, ""); return err },
		"pressure":    func(s string) error { _, err := ParsePressure(s, ""); return err },
		"fraction":    func(s string) error { _, err := ParseFraction(s); return err },
		"mass":        func(s string) error { _, err := ParseMass(s, ""); return err },
		"volume":      func(s string) error { _, err := ParseVolume(s, ""); return err },
	}
	for _, c := range []struct {
		kind, text string
		code       fail.Code
		says       string
	}{
		{"temperature", "12", fail.BadUnit, "units.no_unit (text=12, units=[°F"},
		{"temperature", "", fail.BadValue, "units.not_a_number"},
		{"temperature", "12psig", fail.BadUnit, "units.other_unit (text=12psig, unit=psig, units=[°F"},
		{"temperature", "-500F", fail.Range, "units.absolute_zero"},
		{"temperature", "1,200F", fail.BadValue, "units.not_a_number"},
		{"pressure", "12psi", fail.BadUnit, "units.gauge_or_absolute (text=12psi, unit=psi)"},
		{"pressure", "3 bar", fail.BadUnit, "units.gauge_or_absolute (text=3 bar, unit=bar)"},
		{"pressure", "-3 bar(a)", fail.Range, "units.full_vacuum"},
		{"pressure", "-40psig", fail.Range, "units.full_vacuum"},
		{"pressure", "NaN psig", fail.BadValue, "units.not_a_number"},
		{"fraction", "120 %", fail.Range, "units.fraction"},
		{"mass", "-3kg", fail.Range, "units.not_negative"},
		{"volume", "20", fail.BadUnit, "units.no_unit (text=20, units=[L"},
		{"volume", "-20L", fail.Range, "units.not_negative"},
	} {
		err := parse[c.kind](c.text)
		var e *fail.Error
		if !errors.As(err, &e) || e.Code != c.code || !strings.Contains(e.Error(), c.says) {
			t.Errorf("%s %q: %#v, want %s saying %q", c.kind, c.text, err, c.code, c.says)
		}
	}
	if v, err := ParseTemp("12", "°F"); err != nil || !near(v.F(), 12, 1e-9) {
		t.Errorf("12 beside °F: %v %v", v, err)
	}
	if v, err := ParseTemp("12 C", "°F"); err != nil || !near(v.C(), 12, 1e-9) {
		t.Errorf("12 C beside °F: %v %v", v, err)
	}
}

// TestAtmosphere_Table: pressures printed in the US Standard Atmosphere 1976, table I, at geometric altitudes; from memory.
// The formula takes the altitude as geopotential, which is h²/R less: it comes out 0.2 % low at 9,000 m and nothing at the
// sea; half of the last digit printed is 0.01 %.
func TestAtmosphere_Table(t *testing.T) {
	for _, c := range []struct{ m, kPa float64 }{
		{-500, 107.47}, {0, 101.325}, {500, 95.461}, {1000, 89.876}, {2000, 79.501}, {3000, 70.121}, {5000, 54.048}, {9000, 30.800},
	} {
		p, err := Atmosphere(c.m)
		if tol := 1e-4 + 2e-3*math.Pow(c.m/9000, 2); err != nil || math.Abs(float64(p)/1e3/c.kPa-1) > tol {
			t.Errorf("%g m: %.3f kPa (%v), want %.3f within %.2g", c.m, float64(p)/1e3, err, c.kPa, tol)
		}
	}
	// A gauge reads the same 20 psi everywhere; absolute it is less by what the air above is less.
	p, _ := Atmosphere(1600)
	if got := float64(Psig(20).Absolute(p)-Psig(20).Absolute(Atm)) / float64(p-Atm); !near(got, 1, 1e-9) {
		t.Errorf("gauge to absolute moves by %g of the ambient pressure's change", got)
	}
	if _, err := Atmosphere(20000); err == nil {
		t.Error("20,000 m was accepted")
	}
}

func TestTexts_RoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		k := Temp(rapid.Float64Range(1, 1900).Draw(t, "K"))
		b, _ := k.MarshalText()
		var back Temp
		if err := back.UnmarshalText(b); err != nil || !near(float64(back), float64(k), 1e-9*float64(k)) {
			t.Fatalf("%v → %s → %v (%v)", k, b, back, err)
		}
		gauge := rapid.Float64Range(-9e4, 1e7).Draw(t, "Pa")
		amb := Pressure(rapid.Float64Range(5e4, 1.1e5).Draw(t, "ambient"))
		abs := Gauge(gauge).Absolute(amb)
		if !near(float64(abs.Gauge(amb)), gauge, 1e-6) {
			t.Fatalf("gauge and absolute do not invert")
		}
		f := rapid.Float64Range(-100, 500).Draw(t, "F")
		if !near(Fahrenheit(f).F(), f, 1e-9) {
			t.Fatalf("%g °F", f)
		}
	})
}

func TestFormat(t *testing.T) {
	us, si := US(), Metric()
	for got, want := range map[string]string{
		us.FormatTemp(Fahrenheit(-7), 0): "−7 °F", si.FormatTemp(Celsius(-21.66), 1): "−21.7 °C", us.FormatDiff(FahrenheitDiff(10), 0): "10 °F",
		si.FormatDiff(5.56, 1): "5.6 K", us.FormatPressure(Psig(26).Absolute(Atm), Atm): "26.0 psig",
		us.FormatMass(Mass(9.5 * Pound)): "9 lb 8 oz", us.FormatMass(Mass(6 * Ounce)): "6 oz", us.FormatMass(Mass(14 * Pound)): "14 lb",
		// 2.326 kJ/kg each, by definition
		us.EnthalpyNumber(232.6e3, 1) + " " + us.EnthalpyUnit(): "100.0 Btu/lb", si.EnthalpyNumber(232.6e3, 1) + " " +
			si.EnthalpyUnit(): "232.6 kJ/kg",
		si.FormatMass(1.234): "1.23 kg", Fixed(-0.001, 1): "0.0", FormatUncertain(12.34, 0.6): "12.3 ± 0.6",
		FormatUncertain(230.2, 14): "230 ± 14",
	} {
		if got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{
		"12psig", "-7F", "3.4bar(g)", "22inHg(vac)", "9 lb 8 oz", "1e3 Pa", "−5 °C", "50 %", "1.2.3F", "e5F", "lb",
		"1e308kW", "1e308h", "1e308kJ/kg",
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if v, err := ParseTemp(s, ""); err == nil && !(v > 0 && v < 2000) {
			t.Errorf("%q gave %v", s, v)
		}
		if v, err := ParsePressure(s, "psig"); err == nil && (math.IsNaN(v.Pa) || math.IsInf(v.Pa, 0)) {
			t.Errorf("%q gave %v", s, v)
		}
		if v, err := ParseMass(s, "kg"); err == nil && !(v >= 0) {
			t.Errorf("%q gave %v", s, v)
		}
		for _, parse := range []func(string, string) (float64, error){
			ParsePower, ParseMinutes, ParseEnthalpy, ParseEntropy, ParseDensity,
			ParseVolume, ParseLength, ParseCurrent,
		} {
			if v, err := parse(s, ""); err == nil && (math.IsNaN(v) || math.IsInf(v, 0)) {
				t.Errorf("%q gave %v", s, v)
			}
		}
		if v, err := ParseFraction(s); err == nil && !(v >= 0 && v <= 1) {
			t.Errorf("%q gave %v", s, v)
		}
	})
}

// TestParseMinutes_ClockTime: a time of day is no number of minutes, and that is said; hours and minutes would look alike.
func TestParseMinutes_ClockTime(t *testing.T) {
	var f *fail.Error
	if _, err := ParseMinutes("11:05", "min"); !errors.As(err, &f) || f.Key != "units.clock_time" {
		t.Errorf("11:05: %v", err)
	}
	if v, err := ParseMinutes("1.5 h", "min"); err != nil || v != 90 {
		t.Errorf("1.5 h: %g, %v", v, err)
	}
}
