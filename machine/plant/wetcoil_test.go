package plant

import (
	"math"
	"testing"

	"coldwright/air"
	"coldwright/internal/testkit"
	"coldwright/machine/reading"
	"coldwright/units"
)

// TestMoist_Saturation: enthalpy of saturated air near the coil, against the relations of moist air it is drawn from.
func TestMoist_Saturation(t *testing.T) {
	for _, near := range []float64{275, 283, 262, 255} {
		a := moist(near+12, 0.6, 95e3, near)
		want, err := air.FromRH(near+12, 0.6, 95e3)
		if err != nil || a.h != want.H {
			t.Fatalf("entering %.1f J/kg, %v", a.h, err)
		}
		for _, off := range []float64{-12, -5, 0, 4, 8, 12} {
			T := near + off
			if (T < units.ZeroC) != (near < units.ZeroC) {
				continue // one side of freezing
			}
			s, err := air.FromRH(T, 1, 95e3)
			if err != nil {
				t.Fatal(err)
			}
			h, slope := a.saturated(T)
			up, _ := a.saturated(T + 0.01)
			if math.Abs(h-s.H) > 0.01*s.W*2.5e6 || math.Abs((up-h)/0.01/slope-1) > 1e-3 {
				t.Errorf("%.0f K at %+.0f: %.1f J/kg, moist air %.1f; slope %.1f, differenced %.1f", near, off, h, s.H, slope, (up-h)/0.01)
			}
		}
	}
}

// TestWetSurface_Limits: dry air leaves the surface dry; more humid air gives more, without a step; saturated air near
// the coil gives at most what the slope of its enthalpy says; water's share is nothing on a dry surface, and heat of
// water and of air add up.
func TestWetSurface_Limits(t *testing.T) {
	s := airSide{1e3, 1.35, 1 - math.Exp(-1.35)}
	tm, T := units.ZeroC+10.7, units.ZeroC+26.7
	last := 1.0
	for rh := 0.02; rh < 1; rh += 0.01 {
		a := moist(T, rh, 101325, tm)
		b := wetSurface(&a, s, tm, T-tm)
		if b < last || b > last+0.05 {
			t.Errorf("humidity %.2f: ×%.4f after ×%.4f", rh, b, last)
		}
		l := latent(&a, s, tm, T-tm, b)
		if rh < 0.3 && (b > 1.0005 || l != 0) {
			t.Errorf("humidity %.2f: ×%.4f, %.3f water's", rh, b, l)
		}
		if l < 0 || l > 0.85 {
			t.Errorf("humidity %.2f: %.3f water's", rh, l)
		}
		last = b
	}
	a := moist(units.ZeroC+12, 1, 101325, units.ZeroC+10)
	_, slope := a.saturated(units.ZeroC + 11)
	if b := wetSurface(&a, s, units.ZeroC+10, 2); b > slope/a.cp {
		t.Errorf("saturated air: ×%.3f, slope ×%.3f", b, slope/a.cp)
	}
}

// TestWetCoil_Standard: what a wet coil takes over a dry one at the same temperatures, against the wet factors of EN
// 328 (second-hand, as the EnergyPlus refrigeration model has them): 1.35 at 10 °C air and 0 °C, 1.15 at 0 and −8.
// Humidity 0.85 there, from memory. The model's are above: it wets the whole surface and leaves frost its temperature.
// What a machine uses is the change from its design humidity: the factor of the coil is sized with it.
func TestWetCoil_Standard(t *testing.T) {
	s := airSide{1e3, coef.design.ntuEvaporator, 1 - math.Exp(-coef.design.ntuEvaporator)}
	for _, c := range []struct{ air, te, want, most float64 }{{10, 0, 1.35, 0.17}, {0, -8, 1.15, 0.17}} {
		a := moist(units.ZeroC+c.air, 0.85, 101325, units.ZeroC+c.te)
		got := wetSurface(&a, s, units.ZeroC+c.te, c.air-c.te)
		t.Logf("%g °C air, %g °C: ×%.3f, standard ×%.2f (%+.0f %%)", c.air, c.te, got, c.want, 100*(got/c.want-1))
		if math.Abs(got/c.want-1) > c.most {
			t.Errorf("%g °C air, %g °C: ×%.3f, standard ×%.2f", c.air, c.te, got, c.want)
		}
	}
}

// rooftop is a packaged air conditioner without receiver, R-410A, its plate at 80 °F and 67 °F wet bulb,
// 95 °F outside.
func rooftop(t *testing.T, e reading.Expansion, td, split float64) Plant {
	t.Helper()
	no := false
	return built(t, reading.Machine{
		Refrigerant: "R-410A", Application: reading.AirConditioning, Expansion: e, Receiver: &no,
	}, func(d *Design) { d.TD, d.Split, d.SHRatio = td, split, 6/td })
}

// humidity of air of a dry and a wet bulb, °C.
func humidity(t *testing.T, dry, wet float64) float64 {
	t.Helper()
	s, err := air.FromWetBulb(units.ZeroC+dry, units.ZeroC+wet, 101325)
	if err != nil {
		t.Fatal(err)
	}
	return s.RH
}

// TestWetCoil_WetBulb: capacity of an air conditioner over the wet bulb of its return air at one dry bulb, against the
// curve of a published direct-expansion model (EnergyPlus example file, as the LBNL Buildings library has it: capacity
// over entering wet bulb and outdoor temperature, °C, range 12.8 to 23.9), at 35 °C outside. Evaporating temperature
// goes about kelvin for kelvin with the wet bulb while the surface is wet (our reading of makers' tables), and not at all
// once it is dry.
func TestWetCoil_WetBulb(t *testing.T) {
	curve := func(x, y float64) float64 {
		return 0.942587793 + 0.009543347*x + 0.00068377*x*x - 0.011042676*y + 5.249e-6*y*y - 9.72e-6*x*y
	}
	p := rooftop(t, reading.Valve, 19.5, 11)
	at := func(wet float64) Result {
		in := Inputs{BoxT: p.design.BoxT, AmbientT: p.design.AmbientT, Humidity: humidity(t, 26.67, wet)}
		r := p.Solve(in, Change{}, Options{})
		if r.Trip != TripNone {
			t.Fatalf("%g °C wet bulb: %v", wet, r.Trip)
		}
		return r
	}
	base := at(19.44)
	for _, wet := range []float64{15, 17, 22} {
		r := at(wet)
		got, want := r.Out[Capacity]/base.Out[Capacity], curve(wet, 35)/curve(19.44, 35)
		t.Logf("%g °C wet bulb: capacity ×%.3f, curve ×%.3f; evaporating %.2f K, superheat %.1f", wet, got, want, r.Out[CoilDew]-units.ZeroC,
			r.Out[CoilOutletT]-r.Out[CoilDew])
		if math.Abs(got-want) > 0.05 {
			t.Errorf("%g °C wet bulb: capacity ×%.3f, curve ×%.3f", wet, got, want)
		}
	}
	// A dry coil keeps its temperature, a wet one follows.
	if d := (at(21).Out[CoilDew] - at(19).Out[CoilDew]) / 2; d < 0.7 || d > 1.2 {
		t.Errorf("a wet coil moves by %.2f K per kelvin of wet bulb", d)
	}
	if d := at(12).Out[CoilDew] - at(11).Out[CoilDew]; math.Abs(d) > 1e-6 {
		t.Errorf("a dry coil moves by %.4f K per kelvin of wet bulb", d)
	}
}

// TestRooftop_MakersTable: healthy packaged air conditioners, R-410A, return air 80 °F and 67 °F wet bulb, against
// what a maker's installation text prints for eleven models (six sizes, two types; suction and liquid pressure over
// outdoor temperature). Each model is sized from its own line at 95 °F, which takes its factor; the other lines are
// predicted.
func TestRooftop_MakersTable(t *testing.T) {
	var suction, liquid [2]float64 // sum of squares, worst
	n := 0.0
	f := testkit.Fit(t, "R-410A")
	for name, rows := range rooftops {
		sized := rows[2]
		te := f.DewP(float64(units.Psig(sized[1]).Absolute(units.Atm)))
		tc := f.DewP(float64(units.Psig(sized[2]).Absolute(units.Atm)))
		p := rooftop(t, reading.Orifice, float64(units.Fahrenheit(80))-te, tc-float64(units.Fahrenheit(95)))
		for _, row := range rows {
			r := p.Solve(Inputs{BoxT: float64(units.Fahrenheit(80)), AmbientT: float64(units.Fahrenheit(row[0]))}, Change{}, Options{})
			if r.Trip != TripNone {
				t.Fatalf("%s at %g °F: %v", name, row[0], r.Trip)
			}
			a := r.Out[CoilDew] - f.DewP(float64(units.Psig(row[1]).Absolute(units.Atm)))
			b := r.Out[DischargeDew] - f.DewP(float64(units.Psig(row[2]).Absolute(units.Atm)))
			t.Logf("%s at %g °F: evaporating %+.1f K, condensing %+.1f, superheat %.1f", name, row[0], a, b, r.Out[CoilOutletT]-r.Out[CoilDew])
			suction[0] += a * a
			liquid[0] += b * b
			suction[1] = math.Max(suction[1], math.Abs(a))
			liquid[1] = math.Max(liquid[1], math.Abs(b))
			n++
		}
	}
	t.Logf("%g lines: evaporating %.2f K rms, %.1f at the most; condensing %.2f and %.1f", n,
		math.Sqrt(suction[0]/n), suction[1], math.Sqrt(liquid[0]/n), liquid[1])
	if suction[1] > 2 || liquid[1] > 2.5 {
		t.Errorf("evaporating is off by %.1f K, condensing by %.1f", suction[1], liquid[1])
	}
}

// TestRooftop_Superheat: superheat of a machine with an orifice over outdoor temperature and wet bulb, against the
// charging table of a maker's start-up text for split air conditioners with an orifice (27 °C or so in the room; where
// the maker gives none, none is asked). Sized at 35 °C outside and 20 °C wet bulb, 7.8 K there. Superheat is what an
// orifice leaves over: it sums up the errors of coil, orifice and compressor.
func TestRooftop_Superheat(t *testing.T) {
	p := rooftop(t, reading.Orifice, 15.7, 11)
	d := p.design
	d.SHRatio, d.Humidity = 7.8/15.7, humidity(t, 26.67, 20)
	p, err := New(d, p.f)
	if err != nil {
		t.Fatal(err)
	}
	sum, worst, n := 0.0, 0.0, 0.0
	for _, c := range []struct{ outdoor, wet, superheat float64 }{
		{18, 17, 11.7},
		{18, 20, 16.7},
		{18, 22, 20.0},
		{24, 16, 6.7},
		{24, 18, 10.0},
		{24, 22, 17.2},
		{29, 18, 6.1},
		{29, 20, 10.6},
		{29, 22, 14.4},
		{35, 18, 3.3},
		{35, 20, 7.8},
		{35, 22, 12.2},
		{41, 20, 5.0},
		{41, 22, 9.4},
		{46, 22, 7.8},
	} {
		in := Inputs{BoxT: d.BoxT, AmbientT: units.ZeroC + c.outdoor, Humidity: humidity(t, 26.67, c.wet)}
		r := p.Solve(in, Change{}, Options{})
		if r.Trip != TripNone {
			t.Fatalf("%+v: %v", c, r.Trip)
		}
		off := r.Out[CoilOutletT] - r.Out[CoilDew] - c.superheat
		t.Logf("%g °C outside, %g °C wet bulb: superheat %.1f K, table %.1f", c.outdoor, c.wet, off+c.superheat, c.superheat)
		sum += off * off
		worst = math.Max(worst, math.Abs(off))
		n++
	}
	t.Logf("%.1f K rms, %.1f at the most", math.Sqrt(sum/n), worst)
	if math.Sqrt(sum/n) > 2.5 || worst > 5.5 {
		t.Errorf("superheat is off the table by %.1f K rms, %.1f at the most", math.Sqrt(sum/n), worst)
	}
}

// TestThinAir: at equal heat, less dense air raises both temperature differences: by 8, 12 and 26 % at 1,000, 1,500 and
// 3,000 m by the exponent that the EnergyPlus refrigeration model takes for condensers (flow to the power 0.633;
// application ours), density of the standard atmosphere.
func TestThinAir(t *testing.T) {
	for _, c := range []struct{ metres, more float64 }{{1000, 1.08}, {1500, 1.12}, {3000, 1.26}} {
		p, err := units.Atmosphere(c.metres)
		if err != nil {
			t.Fatal(err)
		}
		// At the temperature that the standard atmosphere has there the air is denser than pressure alone says; the air
		// at a machine is as warm as it is.
		s := float64(p / units.Atm)
		for _, ntu := range []float64{0.7, 1.2} {
			low, high := blow(1, ntu, 0), thinned(s).blow(1, ntu, 0)
			got := low.capacity * low.eff / (high.capacity * high.eff)
			if math.Abs(got-c.more) > 0.08 {
				t.Errorf("%g m, %g transfer units: ×%.3f, there ×%.2f", c.metres, ntu, got, c.more)
			}
		}
	}
	if a := thinned(1).blow(1e3, 0.8, 0.3); a != blow(1e3, 0.8, 0.3) {
		t.Errorf("the plate's air: %+v", a)
	}
	// A whole machine: both differences widen, and the machine carries less.
	m := reading.Machine{Refrigerant: "R-134a", Application: reading.WalkInCooler}
	low := built(t, m, nil)
	m.AltitudeM = 2000
	high := built(t, m, nil)
	in := Inputs{BoxT: low.design.BoxT, AmbientT: low.design.AmbientT}
	a, b := low.Solve(in, Change{}, Options{}), high.Solve(in, Change{}, Options{})
	if b.Out[CoilDew] > a.Out[CoilDew]-0.3 || b.Out[DischargeDew] < a.Out[DischargeDew]+0.8 || b.Out[Capacity] > a.Out[Capacity] {
		t.Errorf("at 2,000 m: evaporating %+.2f K, condensing %+.2f, capacity ×%.3f",
			b.Out[CoilDew]-a.Out[CoilDew], b.Out[DischargeDew]-a.Out[DischargeDew], b.Out[Capacity]/a.Out[Capacity])
	}
}

// rooftops is outdoor temperature, °F, suction and liquid pressure, psig, of the models; one whose digits are misprinted is left out.
var rooftops = map[string][5][3]float64{
	"AC 24": {{65, 135, 250}, {80, 139, 298}, {95, 146, 363}, {105, 150, 413}, {115, 154, 463}},
	"AC 30": {{65, 135, 247}, {80, 142, 314}, {95, 150, 380}, {105, 154, 432}, {115, 157, 483}},
	"AC 36": {{65, 135, 250}, {80, 142, 326}, {95, 149, 399}, {105, 152, 446}, {115, 155, 493}},
	"AC 42": {{65, 129, 248}, {80, 139, 316}, {95, 145, 385}, {105, 147, 436}, {115, 149, 487}},
	"AC 48": {{65, 132, 265}, {80, 143, 329}, {95, 147, 400}, {105, 151, 455}, {115, 154, 509}},
	"AC 60": {{65, 130, 256}, {80, 134, 316}, {95, 141, 386}, {105, 146, 438}, {115, 152, 503}},
	"HP 24": {{65, 130, 236}, {80, 141, 294}, {95, 151, 362}, {105, 154, 414}, {115, 156, 466}},
	"HP 30": {{65, 130, 254}, {80, 139, 314}, {95, 145, 383}, {105, 149, 437}, {115, 153, 491}},
	"HP 36": {{65, 136, 267}, {80, 142, 322}, {95, 147, 391}, {105, 151, 443}, {115, 154, 494}},
	"HP 42": {{65, 127, 238}, {80, 138, 302}, {95, 147, 371}, {105, 148, 421}, {115, 148, 470}},
	"HP 48": {{65, 132, 248}, {80, 142, 317}, {95, 149, 386}, {105, 152, 438}, {115, 155, 490}},
}
