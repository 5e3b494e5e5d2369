package plant

import (
	"math"
	"testing"

	"coldwright/machine/reading"
	"coldwright/units"
)

// TestLiquidLine_Riser: what a column of liquid at 110 °F costs of pressure and of subcooling, as a maker of condensing
// units prints it in an installation manual (pressure loss of liquid refrigerant in liquid line risers; psi and °F at 10,
// 25 and 50 ft): half of the last digit and 1.5 % of the pressure, 0.2 °F and 6 % of the temperature, whose steps in that
// table differ by as much.
func TestLiquidLine_Riser(t *testing.T) {
	for _, c := range []struct {
		name    string
		ft      float64
		psi, of float64
	}{
		{"R-134a", 10, 4.9, 2.0},
		{"R-134a", 25, 12.3, 5.2},
		{"R-134a", 50, 24.6, 11.0},
		{"R-22", 10, 4.8, 1.6},
		{"R-22", 25, 12.1, 3.8},
		{"R-22", 50, 24.2, 8.0},
		{"R-404A", 10, 4.1, 1.1},
		{"R-404A", 25, 10.2, 2.7},
		{"R-404A", 50, 20.4, 5.6},
	} {
		p := machine(t, c.name, true, reading.Valve)
		T := float64(units.Fahrenheit(110))
		l := liquidLine{lift: c.ft * units.Foot, rho: 1000}
		var from condenserOut
		from.p = p.f.BubbleT(T)
		from.bubble, from.t = T, T
		from.hf, from.cp = p.f.LiquidH(T)
		from.h, from.hfg = from.hf, 1e5
		var o liquidOut
		l.outlet(p.f, liquidIn{m: 1, from: &from, dew: p.f.DewP(from.p), p: from.p, least: units.Bar, ambient: T}, &o)
		psi := (from.p - o.p) / units.Psi
		of := units.TempDiff(T - p.f.BubbleP(o.p)).F()
		if math.Abs(psi-c.psi) > 0.05+0.015*c.psi || math.Abs(of-c.of) > 0.2+0.06*c.of {
			t.Errorf("%s, %g ft: %.2f psi and %.2f °F, printed %g and %g", c.name, c.ft, psi, of, c.psi, c.of)
		}
	}
}

// TestDesign_Lines: the usual length said is the usual design; a longer line loses more, by less than its length, takes
// up heat in proportion to it and holds as much more; the lift stands as said, below the unit too.
func TestDesign_Lines(t *testing.T) {
	of := func(length, lift float64) Design {
		m := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer}
		if length > 0 {
			m.LineLength = &length
		}
		if lift != 0 {
			m.Lift = &lift
		}
		r, _ := m.Resolve()
		return FromMachine(r)
	}
	usual, said := of(0, 0), of(coef.lines.usual, 0)
	if usual != said {
		t.Errorf("the usual length said:\n%+v\nnot said:\n%+v", said, usual)
	}
	four := of(4*coef.lines.usual, -6)
	if r := four.SuctionDrop / usual.SuctionDrop; math.Abs(r-2) > 1e-9 {
		t.Errorf("four times the length loses %.3f times as much", r)
	}
	if r := four.LiquidDrop / usual.LiquidDrop; !(r > 1 && r < 2) {
		t.Errorf("of liquid %.3f times as much: half of it is the drier's", r)
	}
	for name, r := range map[string]float64{
		"heat": four.SuctionNTU / usual.SuctionNTU, "suction volume": four.VS / usual.VS, "liquid volume": four.VL / usual.VL,
	} {
		if math.Abs(r-4) > 1e-9 {
			t.Errorf("%s: %.3f times for four times the length", name, r)
		}
	}
	if four.Lift != -6 || !four.LiftKnown {
		t.Errorf("lift %.1f m", four.Lift)
	}
	d, in := four, Inputs{}
	Shift(&d, &in, NSuctionDrop, 0.7)
	if d.Lift != -6 || d.SuctionDrop <= four.SuctionDrop || d.LiquidDrop <= four.LiquidDrop {
		t.Error("what is not known of the lines moves a lift that is")
	}
}

// TestPlant_LongLines: the machine with long lines brings warmer gas to its compressor, at a pressure further under
// the coil's.
func TestPlant_LongLines(t *testing.T) {
	at := func(length, lift, ambient float64) Result {
		m := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, LineLength: &length, Lift: &lift}
		r, _ := m.Resolve()
		p := built(t, m, nil)
		res := p.Solve(Inputs{BoxT: float64(r.Box), AmbientT: ambient}, Change{}, Options{})
		if res.Trip != TripNone {
			t.Fatal(res.Trip)
		}
		return res
	}
	hot := float64(units.Fahrenheit(90))
	short := at(5, 0, hot)
	long := at(50, 0, hot)
	if a, b := long.Out[SuctionLineT]-long.Out[CoilOutletT], short.Out[SuctionLineT]-short.Out[CoilOutletT]; a < 3*b {
		t.Errorf("gas is warmed by %.1f K over 50 m, %.1f K over 5 m", a, b)
	}
	if a, b := long.Out[CoilDew]-long.Out[SuctionDew], short.Out[CoilDew]-short.Out[SuctionDew]; a < 2*b {
		t.Errorf("suction stands %.2f K under the coil over 50 m, %.2f K over 5 m", a, b)
	}
}

// TestAccumulator: it is a piece of suction line: none changes nothing, and it adds what it is said to lose.
func TestAccumulator(t *testing.T) {
	yes := true
	m := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer}
	r, _ := m.Resolve()
	without := FromMachine(r)
	m.Accumulator = &yes
	r, _ = m.Resolve()
	with := FromMachine(r)
	a := accumulator(coef.accumulator)
	if with.SuctionDrop-without.SuctionDrop != a.drop || with.VS <= without.VS || with.SuctionNTU <= without.SuctionNTU {
		t.Errorf("%+v", with)
	}
	d := without
	accumulator{}.inSeries(&d)
	if d != without {
		t.Error("none changes the line")
	}
}
