package circuit

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/reading"
	"coldwright/units"
)

func sheet(boxF, ambientF, suctionPsig, headPsig, altitude float64) reading.Sheet {
	m := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, AltitudeM: altitude}
	amb := m.AmbientPressure()
	return reading.Sheet{Machine: m, Readings: []reading.Reading{
		{At: reading.BoxAir, Value: float64(units.Fahrenheit(boxF))},
		{At: reading.Ambient, Value: float64(units.Fahrenheit(ambientF))},
		{At: reading.SuctionPressure, Value: float64(units.Psig(suctionPsig).Absolute(amb))},
		{At: reading.DischargePressure, Value: float64(units.Psig(headPsig).Absolute(amb))},
	}}
}

// TestAnalyze_WalkInFreezer: R-404A, valve and receiver, TD 10 °F, split 30 °F. Common practice, no source; ±1 °F, ±1 psi.
func TestAnalyze_WalkInFreezer(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	for _, c := range []struct{ box, amb, ps, pd, wantS, wantSp, wantD, wantDp float64 }{
		{3, 73, 12, 203, -7, 26, 103, 247},
		{1, 76, 24, 252, -9, math.NaN(), 106, math.NaN()},
	} {
		a := Analyze(sheet(c.box, c.amb, c.ps, c.pd, 0), f)
		if len(a.Expected) != 2 {
			t.Fatal(a.Expected)
		}
		for i, want := range [][2]float64{{c.wantS, c.wantSp}, {c.wantD, c.wantDp}} {
			e := a.Expected[i]
			gotF, gotP := units.Temp(e.Temp).F(), float64(units.Pressure(e.P).Gauge(units.Atm))/units.Psi
			// The card's high-side column is the bubble point (247.2 psig at 103 °F); the split here is taken at the
			// dew point, 2 psi or 0.6 °F lower. So the card is met within 1 psi, or within 1 °F when its pressure is
			// read back as a dew point.
			back := units.Temp(f.DewP(float64(units.Psig(want[1]).Absolute(units.Atm)))).F()
			if math.Abs(gotF-want[0]) > 0.01 || math.Abs(gotP-want[1]) > 1.01 && math.Abs(back-want[0]) > 1 {
				t.Errorf("box %g, ambient %g: expect %.2f °F, %.2f psig; want %g, %g", c.box, c.amb, gotF, gotP, want[0], want[1])
			}
		}
	}
	// Repaired: 24 psig is −10 °F, 252 psig is 105 °F, one degree off each.
	a := Analyze(sheet(1, 76, 24, 252, 0), f)
	for i, want := range []float64{-10, 105} {
		if got := units.Temp(a.Saturation[i].Dew).F(); math.Abs(got-want) > 1 {
			t.Errorf("saturation %.2f °F, want %g ± 1", got, want)
		}
		if off := units.TempDiff(a.Expected[i].OffK).F(); math.Abs(off) > 2 {
			t.Errorf("%.2f °F off, want about one", off)
		}
	}
}

// At 1,600 m a gauge reading of 20 psig is 32.11 psia, not 34.70: the standard atmosphere has 101,325 Pa·(1 −
// 2.25577e-5·1600)^5.25588 = 83,524 Pa there (ISO 2533). Treated as sea level the R-404A dew temperature would be as
// much higher as the 2.58 psi are on the slope of the saturation line, about 3.3 °F.
func TestAnalyze_Altitude(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	high, sea := Analyze(sheet(0, 80, 20, 250, 1600), f), Analyze(sheet(0, 80, 20, 250, 0), f)
	if got := high.Saturation[0].P / units.Psi; math.Abs(got-32.11) > 0.01 {
		t.Errorf("%.3f psia, want 32.11", got)
	}
	by := 2.58 * units.Psi / f.DewSlope(0.5*float64(sea.Saturation[0].Dew+high.Saturation[0].Dew)) / units.Fahr
	if d := units.TempDiff(sea.Saturation[0].Dew - high.Saturation[0].Dew).F(); math.Abs(d-by) > 0.05 {
		t.Errorf("sea level reads %.2f °F higher, by the slope %.2f", d, by)
	}
}

// Dew for superheat, bubble for subcooling: at the dew temperature superheat is zero, at the bubble temperature
// subcooling is zero (definition).
func TestAnalyze_EndsOfGlide(t *testing.T) {
	f := testkit.Fit(t, "R-448A")
	s := sheet(0, 80, 20, 250, 0)
	s.Machine.Refrigerant = "R-448A"
	ps, pd := s.Readings[2].Value, s.Readings[3].Value
	s.Readings = append(
		s.Readings,
		reading.Reading{At: reading.CoilOutletLine, Value: f.DewP(ps)},
		reading.Reading{At: reading.LiquidLine, Value: f.BubbleP(pd)},
	)
	a := Analyze(s, f)
	sh, _ := a.Find(Superheat)
	sc, _ := a.Find(Subcooling)
	if math.Abs(sh.Value) > 1e-9 || sh.End != "dew" || math.Abs(sc.Value) > 1e-9 || sc.End != "bubble" {
		t.Errorf("superheat %g (%s), subcooling %g (%s)", sh.Value, sh.End, sc.Value, sc.End)
	}
	if g := f.DewP(pd) - f.BubbleP(pd); g < 3 || g > 6 {
		t.Errorf("glide %.2f K at head pressure; R-448A has 4 to 6 K", g)
	}
}

// Uncertainties by repeated perturbation: linear propagation must agree with the spread of re-derived values (property).
func TestAnalyze_UncertaintyByPerturbation(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	s := sheet(0, 80, 20, 250, 0)
	s.Readings = append(s.Readings, reading.Reading{At: reading.CoilOutletLine, Value: float64(units.Fahrenheit(-2))})
	a := Analyze(s, f)
	for _, key := range []string{Superheat, TD, Split, CompressionRatio} {
		q, ok := a.Find(key)
		if !ok {
			t.Fatal(key)
		}
		sum := 0.0
		for i, r := range s.Readings {
			b := s
			b.Readings = append([]reading.Reading{}, s.Readings...)
			h := 0.01 * r.Uncertainty()
			b.Readings[i].Value += h
			p := Analyze(b, f)
			v, _ := p.Find(key)
			d := (v.Value - q.Value) / 0.01
			sum += d * d
		}
		if math.Abs(math.Sqrt(sum)/q.U-1) > 0.01 {
			t.Errorf("%s: u %.4f, by perturbation %.4f", key, q.U, math.Sqrt(sum))
		}
	}
	// Superheat and TD share the gauge: positively correlated by its variance.
	if c, want := a.Cov(Superheat, TD), a.Saturation[0].U*a.Saturation[0].U; math.Abs(c/want-1) > 1e-6 {
		t.Errorf("covariance %.4f, want the gauge's %.4f", c, want)
	}
}

// Cycle example of a university text: R-134a, 215 psia in print at 130 °F. The text's tables are older than the
// equation used here, and printed to three digits: 1 %.
func TestAnalyze_PublishedCycle(t *testing.T) {
	f := testkit.Fit(t, "R-134a")
	if got := f.DewT(float64(units.Fahrenheit(130))) / units.Psi; math.Abs(got/215-1) > 0.01 {
		t.Errorf("R-134a at 130 °F: %.2f psia, in print 215", got)
	}
}

// The pressure after the drier is another place than the liquid line leaving the unit: a plugged drier must not make
// it look hotter than the head allows.
func TestAnalyze_SubcoolingOfOnePlace(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	s := sheet(0, 80, 20, 250, 0)
	pd := s.Readings[3].Value
	s.Readings = append(
		s.Readings,
		reading.Reading{At: reading.LiquidLine, Value: f.BubbleP(pd) - 2},
		reading.Reading{At: reading.LiquidPressure, Value: 0.75 * pd},
	)
	a := Analyze(s, f)
	if q, _ := a.Find(Subcooling); math.Abs(q.Value-2) > 1e-9 {
		t.Errorf("subcooling %.3f K, want 2", q.Value)
	}
	for _, x := range a.Findings {
		if x.Code == LiquidTooHot {
			t.Error("the liquid line is called too hot")
		}
	}
}

// Above its critical point a refrigerant has no saturation to expect: R-744 (30.98 °C) on a hot day.
func TestAnalyze_NoExpectationAboveCritical(t *testing.T) {
	f := testkit.Fit(t, "R-744")
	s := reading.Sheet{
		Machine:  reading.Machine{Refrigerant: "R-744", Application: reading.WalkInCooler},
		Readings: []reading.Reading{{At: reading.Ambient, Value: 308}, {At: reading.BoxAir, Value: 275}},
	}
	for _, e := range Analyze(s, f).Expected {
		if e.At == reading.DischargePressure {
			t.Errorf("%.1f K, %.3g Pa expected", e.Temp, e.P)
		}
	}
}

func TestAnalyze_Findings(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	has := func(s reading.Sheet, code string) bool {
		for _, x := range Analyze(s, f).Findings {
			if x.Code == code {
				return true
			}
		}
		return false
	}
	with := func(p reading.Place, v float64) reading.Sheet {
		s := sheet(0, 80, 20, 250, 0)
		s.Readings = append(s.Readings, reading.Reading{At: p, Value: v})
		return s
	}
	F := func(v float64) float64 { return float64(units.Fahrenheit(v)) }
	for code, s := range map[string]reading.Sheet{
		NegativeSuperheat: with(reading.CoilOutletLine, F(-30)), OutletWarmerThanBox: with(reading.CoilOutletLine, F(12)),
		LiquidTooHot:     with(reading.LiquidLine, F(125)),
		DischargeTooCold: with(reading.DischargeLine, F(80)), LineTooCold: with(reading.LiquidLine, F(60)),
		DischargeHot:  with(reading.DischargeLine, F(240)),
		SuctionVacuum: sheet(0, 80, -2, 250, 0), PressureOutside: sheet(0, 80, 20, 900, 0), RatioHigh: sheet(0, 80, 2, 300, 0),
	} {
		if !has(s, code) {
			t.Errorf("%s is not found", code)
		}
	}
	if s := with(reading.CoilOutletLine, F(-4)); has(s, NegativeSuperheat) || has(s, OutletWarmerThanBox) {
		t.Error("a sound reading is flagged")
	}
}

func BenchmarkSolve(b *testing.B) {
	f := testkit.Fit(b, "R-404A")
	s := sheet(0, 80, 20, 250, 0)
	for b.Loop() {
		Analyze(s, f)
	}
}

// TestAnalyze_Regulators: a suction gauge behind a regulator that throttles says nothing about the coil; one at the
// coil does. Source: definition.
func TestAnalyze_Regulators(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	s := sheet(3, 73, 12, 203, 0)
	s.Readings = append(s.Readings, reading.Reading{At: reading.CoilOutletLine, Value: float64(units.Fahrenheit(-2))})
	abs := func(psig float64) *units.Pressure { p := units.Psig(psig).Absolute(units.Atm); return &p }
	derived := func(s reading.Sheet) int {
		a, n := Analyze(s, f), 0
		for _, k := range []string{Superheat, TD} {
			if _, ok := a.Find(k); ok {
				n++
			}
		}
		return n
	}
	for _, c := range []struct {
		name            string
		crank, evap     *units.Pressure
		want, withGauge int
	}{
		{"none", nil, nil, 2, 2},
		{"crankcase regulator far above", abs(25), nil, 2, 2},
		{"crankcase regulator at its setting", abs(12), nil, 0, 2},
		{"evaporator regulator", nil, abs(20), 0, 2},
	} {
		v := s
		v.Machine.CrankcaseRegulator, v.Machine.EvaporatorRegulator = c.crank, c.evap
		if got := derived(v); got != c.want {
			t.Errorf("%s: %d of superheat and TD derived, want %d", c.name, got, c.want)
		}
		v.Readings = append(
			v.Readings[:len(v.Readings):len(v.Readings)],
			reading.Reading{At: reading.CoilPressure, Value: float64(*abs(22))},
		)
		if got := derived(v); got != c.withGauge {
			t.Errorf("%s with a gauge at the coil: %d derived, want %d", c.name, got, c.withGauge)
		}
	}
	// In a warm box nobody expects more at the compressor than the crankcase regulator lets through.
	warm := sheet(40, 73, 25, 203, 0)
	warm.Machine.CrankcaseRegulator = abs(25)
	if e := Analyze(warm, f).Expected[0]; math.Abs(e.OffK) > 0.01 {
		t.Errorf("suction at the setting is %.2f K off what is expected", e.OffK)
	}
}
