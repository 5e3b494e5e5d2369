package circuit

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"coldwright/internal/testkit"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// at makes a Read of values in kPa absolute and °C, each known to a standard uncertainty of 5 kPa and 0.5 K.
func at(values map[reading.Place]float64) Read {
	return func(p reading.Place) (float64, float64, bool) {
		v, ok := values[p]
		if p.Kind() == reading.KindPressure {
			return v * 1e3, 5e3, ok
		}
		return float64(units.Celsius(v)), 0.5, ok
	}
}

func all() map[reading.Place]float64 {
	return map[reading.Place]float64{
		reading.SuctionPressure:   200.6,
		reading.DischargePressure: 1016.6,
		reading.CoilOutletLine:    -4,
		reading.SuctionLine:       5,
		reading.DischargeLine:     70,
		reading.LiquidLine:        34,
	}
}

// TestCycleOf_Table: R-134a between −10 °C (200.6 kPa) and 40 °C (1016.6 kPa). Saturated enthalpies at −10, 34 and 40
// °C from the table of the US Department of Energy's data file (IIR reference, four digits): vapour 392.7; liquid
// 247.5 at 34 °C. Vapour above saturation: heat capacity of vapour about 0.85 to 1.1 kJ/(kg K), from memory of
// printed tables, bounds the rest.
func TestCycleOf_Table(t *testing.T) {
	c := CycleOf(at(all()), testkit.Fit(t, "R-134a"), reading.Resolved{})
	if len(c.States) != 5 || len(c.Gaps) != 0 {
		t.Fatalf("%d states, gaps %v", len(c.States), c.Gaps)
	}
	for i, want := range Corners() {
		if c.States[i].At != want {
			t.Errorf("state %d is %v, want %v", i, c.States[i].At, want)
		}
	}
	near := func(what string, got, want, tol float64) {
		t.Helper()
		if math.Abs(got-want) > tol {
			t.Errorf("%s: got %.5g, want %.5g ± %.3g", what, got, want, tol)
		}
	}
	get := func(at Corner) State { s, _ := c.Find(at); return s }
	near("dew of the suction", units.Temp(c.Coil.Dew).C(), -10, 0.02)
	near("vapour at −10 °C, kJ/kg", c.Coil.HDew/1e3, 392.7, 0.15)
	near("dew of the head", units.Temp(c.Head.Dew).C(), 40, 0.05)
	near("liquid at 34 °C, kJ/kg", get(LiquidOut).H/1e3, 247.5, 0.3)
	near("expansion keeps enthalpy", get(CoilIn).H, get(LiquidOut).H, 1e-9)
	near("coil inlet stands at the suction", get(CoilIn).T, c.Coil.Dew, 0.01)
	// The lever rule of a pure fluid, with the table's 186.7 and 392.7 kJ/kg at −10 °C.
	near("vapour behind the valve", get(CoilIn).VapourMass, (247.5-186.7)/(392.7-186.7), 0.003)
	for _, s := range []struct {
		at    Corner
		above float64
		level *Level
	}{{CoilOut, 6, c.Coil}, {CompressorIn, 15, c.Suction}, {CompressorOut, 30, c.Head}} {
		dh := (get(s.at).H - s.level.HDew) / 1e3
		if dh < 0.8*s.above || dh > 1.3*s.above {
			t.Errorf("%v: %.2f kJ/kg above saturation for %g K", s.at, dh, s.above)
		}
	}
}

// Heat is conserved round the circuit: what the condenser gives off is what coil, suction line and compressor take up
// (identity of a closed cycle).
func TestCycleOf_Closes(t *testing.T) {
	for _, name := range []string{"R-134a", "R-404A", "R-448A", "R-455A", "R-290"} {
		f := testkit.Fit(t, name)
		v := all()
		v[reading.SuctionPressure], v[reading.DischargePressure] = f.DewT(263.15)/1e3, f.DewT(313.15)/1e3
		v[reading.LiquidLine] = units.Temp(f.BubbleP(f.DewT(313.15))).C() - 4
		c := CycleOf(at(v), f, reading.Resolved{})
		if len(c.States) != 5 {
			t.Fatalf("%s: %d states, gaps %v", name, len(c.States), c.Gaps)
		}
		sum := 0.0
		for i, s := range c.States {
			sum += c.States[(i+1)%5].H - s.H
		}
		if math.Abs(sum) > 1e-6 {
			t.Errorf("%s: %g J/kg are left over", name, sum)
		}
		in, _ := c.Find(CoilIn)
		out, _ := c.Find(LiquidOut)
		if in.H != out.H {
			t.Errorf("%s: expansion changes enthalpy by %g", name, in.H-out.H)
		}
		// The equation gives back pressure, enthalpy and temperature of the wet state (identity), which lies inside the glide.
		s, err := f.Refrigerant().StatePX(in.P, in.VapourMass, refrigerant.Options{})
		if err != nil || math.Abs(s.H-in.H) > 30 || math.Abs(s.T-in.T) > 0.01 {
			t.Errorf("%s: share %.4f gives %.6g J/kg, %.3f K (%v), want %.6g, %.3f", name, in.VapourMass, s.H, s.T, err, in.H, in.T)
		}
		if in.T < c.Coil.Bubble-1e-3 || in.T > c.Coil.Dew+1e-3 {
			t.Errorf("%s: %g K behind the valve is outside %g to %g", name, in.T, c.Coil.Bubble, c.Coil.Dew)
		}
	}
}

// Each missing reading leaves out its corner and says so; a reading on the wrong side is never drawn, except within
// its tolerance on the line.
func TestCycleOf_Gaps(t *testing.T) {
	f := testkit.Fit(t, "R-134a")
	for _, c := range []struct {
		name string
		edit func(map[reading.Place]float64)
		want map[Corner]Gap
	}{
		{"liquid line", func(v map[reading.Place]float64) { delete(v, reading.LiquidLine) }, map[Corner]Gap{
			LiquidOut: {LiquidOut, NotRead, reading.LiquidLine}, CoilIn: {CoilIn, NotRead, reading.LiquidLine},
		}},
		{
			"suction line", func(v map[reading.Place]float64) { delete(v, reading.SuctionLine) },
			map[Corner]Gap{CompressorIn: {CompressorIn, NotRead, reading.SuctionLine}},
		},
		{"head", func(v map[reading.Place]float64) { delete(v, reading.DischargePressure) }, map[Corner]Gap{
			LiquidOut: {LiquidOut, NotRead, reading.DischargePressure}, CompressorOut: {CompressorOut, NotRead, reading.DischargePressure},
			CoilIn: {CoilIn, NotRead, reading.DischargePressure},
		}},
		{"head beyond the data", func(v map[reading.Place]float64) { v[reading.DischargePressure] = 9000 }, map[Corner]Gap{
			LiquidOut:     {LiquidOut, OutsideData, reading.DischargePressure},
			CompressorOut: {CompressorOut, OutsideData, reading.DischargePressure}, CoilIn: {CoilIn, OutsideData, reading.DischargePressure},
		}},
		{"hot liquid", func(v map[reading.Place]float64) { v[reading.LiquidLine] = 45 }, map[Corner]Gap{
			LiquidOut: {LiquidOut, WrongSide, reading.LiquidLine}, CoilIn: {CoilIn, WrongSide, reading.LiquidLine},
		}},
		{
			"cold suction", func(v map[reading.Place]float64) { v[reading.CoilOutletLine] = -14 },
			map[Corner]Gap{CoilOut: {CoilOut, WrongSide, reading.CoilOutletLine}},
		},
	} {
		v := all()
		c.edit(v)
		got := CycleOf(at(v), f, reading.Resolved{})
		if len(got.Gaps) != len(c.want) || len(got.States)+len(got.Gaps) != 5 {
			t.Errorf("%s: gaps %v, %d states", c.name, got.Gaps, len(got.States))
		}
		for _, g := range got.Gaps {
			if c.want[g.At] != g {
				t.Errorf("%s: gap %v, want %v", c.name, g, c.want[g.At])
			}
		}
	}
	v := all()
	v[reading.CoilOutletLine], v[reading.LiquidLine] = -10.6, 40.6
	c := CycleOf(at(v), f, reading.Resolved{})
	for _, q := range []struct {
		at Corner
		T  float64
	}{{CoilOut, c.Coil.Dew}, {LiquidOut, c.Head.Bubble}} {
		if s, ok := c.Find(q.at); !ok || !s.Saturated || s.T != q.T {
			t.Errorf("%v within its tolerance: %+v (%v), want on the line at %g", q.at, s, ok, q.T)
		}
	}
	// The coil's own gauge is used for the coil, the one at the compressor for the compressor; the pressure after the
	// drier when there is no other.
	v = all()
	v[reading.CoilPressure] = 215
	delete(v, reading.DischargePressure)
	v[reading.LiquidPressure] = 1000
	c = CycleOf(at(v), f, reading.Resolved{})
	in, _ := c.Find(CoilIn)
	suction, _ := c.Find(CompressorIn)
	liquid, ok := c.Find(LiquidOut)
	if in.P != 215e3 || suction.P != 200.6e3 || !ok || liquid.P != 1000e3 {
		t.Errorf("pressures %g, %g, %g (%v)", in.P, suction.P, liquid.P, ok)
	}
}

// Any readings give numbers or gaps, five in all.
func TestCycleOf_Any(t *testing.T) {
	fits := []*refrigerant.Fit{testkit.Fit(t, "R-404A"), testkit.Fit(t, "R-455A"), testkit.Fit(t, "R-744")}
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(fits).Draw(t, "fit")
		v := map[reading.Place]float64{}
		for _, p := range reading.Places() {
			if !rapid.Bool().Draw(t, p.String()) {
				continue
			}
			if p.Kind() == reading.KindPressure {
				v[p] = math.Exp(rapid.Float64Range(0, 10).Draw(t, "kPa"))
			} else {
				v[p] = rapid.Float64Range(-60, 160).Draw(t, "°C")
			}
		}
		c := CycleOf(at(v), f, reading.Resolved{})
		if len(c.States)+len(c.Gaps) != 5 {
			t.Fatalf("%d states, %d gaps", len(c.States), len(c.Gaps))
		}
		for _, s := range c.States {
			for _, x := range []float64{s.P, s.T, s.H, s.VapourMass} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("%+v", s)
				}
			}
			if s.VapourMass < 0 || s.VapourMass > 1 {
				t.Fatalf("%+v", s)
			}
		}
	})
}

// TestCycleOf_SuctionSide: behind an exchanger the coil is fed by the liquid less what the gas took up (energy
// balance, effectiveness as defined); where a regulator throttles, the gauge at the compressor is no gauge of the
// coil.
func TestCycleOf_SuctionSide(t *testing.T) {
	f := testkit.Fit(t, "R-134a")
	plain := CycleOf(at(all()), f, reading.Resolved{})
	c := CycleOf(at(all()), f, reading.Resolved{Exchanger: 0.4})
	in, _ := c.Find(CoilIn)
	out, _ := plain.Find(LiquidOut)
	// Heat capacity of the gas between −4 and 34 °C at 2 bar 0.85 to 0.95 kJ/(kg K), from memory of printed tables.
	if took := out.H - in.H; took < 0.4*38*850 || took > 0.4*38*950 {
		t.Errorf("the liquid gives %.0f J/kg to the gas", took)
	}
	v := all()
	delete(v, reading.CoilOutletLine)
	c = CycleOf(at(v), f, reading.Resolved{Exchanger: 0.4})
	if _, ok := c.Find(CoilIn); ok || len(c.Gaps) == 0 {
		t.Error("the coil's inlet is drawn without the temperature of the gas that cools the liquid")
	}
	c = CycleOf(at(all()), f, reading.Resolved{EvaporatorRegulator: 250e3})
	if _, ok := c.Find(CoilOut); ok || c.Coil != nil {
		t.Error("the coil is drawn at the pressure behind its regulator")
	}
	v = all()
	v[reading.CoilPressure] = 260
	c = CycleOf(at(v), f, reading.Resolved{EvaporatorRegulator: 250e3})
	if _, ok := c.Find(CoilOut); !ok || c.Coil == nil || c.Coil.At != reading.CoilPressure {
		t.Error("a gauge at the coil is not used")
	}
}
