package plant

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"coldwright/machine/reading"
	"coldwright/units"
)

// TestFlooding_Holds: with flooding set at 90 °F the condensing temperature holds at 20 and 50 °F outside, which takes
// charge; without control it falls with the weather; set higher, it holds higher (definition of the control).
func TestFlooding_Holds(t *testing.T) {
	p := machine(t, "R-404A", true, reading.Valve)
	d := p.design
	d.Head, d.HeadSet = reading.Flooding, float64(units.Fahrenheit(90))
	q, err := New(d, p.f)
	if err != nil {
		t.Fatal(err)
	}
	last := 2.0
	for _, amb := range []float64{20, 50} {
		r := q.Solve(at(0, amb), Change{}, Options{})
		if r.Trip != TripNone || math.Abs(units.Temp(r.Out[DischargeDew]).F()-90) > 0.1 || r.Out[Flooded] < 0.05 {
			t.Errorf("%g °F outside: head %.2f °F, flooded %.2f, %v", amb, units.Temp(r.Out[DischargeDew]).F(), r.Out[Flooded], r.Trip)
		}
		if c := r.Out[ChargeShare]; c >= last-0.1 {
			t.Errorf("%g °F outside: %.2f of the just-empty charge, %.2f in the colder air", amb, c, last)
		} else {
			last = c
		}
	}
	free := p.Solve(at(0, 20), Change{}, Options{})
	if f := units.Temp(free.Out[DischargeDew]).F(); f > 60 || f < 20 {
		t.Errorf("without control at 20 °F outside: head %.1f °F", f)
	}
	r, stuck := q.Solve(at(0, 20), Change{}, Options{}), q.Solve(at(0, 20), Change{HeadShift: 14}, Options{})
	if d := stuck.Out[DischargeDew] - r.Out[DischargeDew]; math.Abs(d-14) > 0.1 {
		t.Errorf("set 14 K higher, head rises %.2f K", d)
	}
}

// TestFlooding_PublishedShare: how much of the condenser is flooded, by the air outside. Source: a maker's manual for
// walk-in units with R-404A, table of the share of the condenser to flood at −15 °F evaporating: 0.35, 0.56, 0.68,
// 0.74, 0.79, 0.82 and 0.86 at 70, 60, 50, 40, 30, 20 and 0 °F. The table does not name its head and split; 1 − share
// goes as 12.4/(89.1 − ambient) in °F throughout, which is what the machine here is built with. The model floods less,
// since it condenses to a mean temperature below dew and the machine moves more at a lower head than at design.
func TestFlooding_PublishedShare(t *testing.T) {
	p := built(t, reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer}, func(d *Design) {
		d.BoxT, d.TD, d.Split = float64(units.Fahrenheit(-5)), 10*units.Fahr, 12.4*units.Fahr
		d.Head, d.HeadSet, d.Reserve = reading.Flooding, float64(units.Fahrenheit(89.1)), 0.7 // charge to flood it at 0 °F
	})
	worst := 0.0
	for amb, want := range map[float64]float64{70: 0.35, 60: 0.56, 50: 0.68, 40: 0.74, 30: 0.79, 20: 0.82, 0: 0.86} {
		r := p.Solve(at(-5, amb), Change{}, Options{})
		worst = math.Max(worst, math.Abs(r.Out[Flooded]-want))
		if r.Trip != TripNone || math.Abs(r.Out[Flooded]-want) > 0.08 {
			t.Errorf("%g °F outside: %.3f flooded, table %.2f, %v", amb, r.Out[Flooded], want, r.Trip)
		}
	}
	t.Logf("largest difference from the table %.3f", worst)
}

// TestAirShare_Solves: the share of the air that variable fans move gives just the capacity asked for, and cycling
// fans run that share of the time (identity); a control by flooding leaves the air alone.
func TestAirShare_Solves(t *testing.T) {
	for _, ntu := range []float64{0.3, 0.8, 2} {
		for _, area := range []float64{0.02, 0.2, 0.6, 0.95} {
			s := headControl{kind: reading.VariableFan}.airShare(area, ntu)
			a := blow(1, ntu, 0)
			got := s * (1 - math.Exp(-ntu*math.Pow(s, -coef.airSide.exponent)))
			if math.Abs(got/(area*a.eff)-1) > 1e-10 || s > area {
				t.Errorf("%g of the surface at %g units: share %.6f moves %.9f, asked %.9f", area, ntu, s, got, area*a.eff)
			}
			if s := (headControl{kind: reading.FanCycling}).airShare(area, ntu); s != area {
				t.Errorf("cycling: %.6f of the time for %g", s, area)
			}
			if s := (headControl{kind: reading.Flooding}).airShare(area, ntu); s != 1 {
				t.Errorf("flooding moves %.3f of the air", s)
			}
		}
	}
}

// TestRegulators_Limits: a crankcase regulator lets low pressures through and caps high ones; an evaporator regulator
// far above its setting loses what it is sized for and shuts below.
func TestRegulators_Limits(t *testing.T) {
	c := crankcaseRegulator{set: 2 * units.Bar}
	if got := c.outlet(1.5 * units.Bar); math.Abs(got-1.5*units.Bar) > 1 {
		t.Errorf("below its setting it takes %.1f Pa", 1.5*units.Bar-got)
	}
	if got := c.outlet(4 * units.Bar); math.Abs(got-2*units.Bar) > 1 {
		t.Errorf("at twice its setting %.0f Pa pass", got)
	}
	for p := 1.5 * units.Bar; p < 2.5*units.Bar; p += 500 {
		if c.outlet(p+500) <= c.outlet(p) || c.outlet(p) > p || c.outlet(p) > c.set {
			t.Errorf("%.0f Pa ahead: %.0f behind", p, c.outlet(p))
		}
	}
	e := evaporatorRegulator{set: 2 * units.Bar, slope: 8e3}
	e.size(3*units.Bar, 10)
	if got, want := 3*units.Bar-e.outlet(1, 3*units.Bar, 10), coef.evaporatorRegulator.openDrop*e.slope; math.Abs(got/want-1) > 0.01 {
		t.Errorf("wide open it takes %.0f Pa, sized for %.0f", got, want)
	}
	if o := e.opening(3 * units.Bar); math.Abs(o-1) > 0.01 {
		t.Errorf("far above its setting %.3f open", o)
	}
	if o := e.opening(1.5 * units.Bar); o > 1.05*coef.evaporatorRegulator.shut {
		t.Errorf("far below its setting %.3f open", o)
	}
	if got := e.outlet(0, 2.1*units.Bar, 10); math.Abs(got-2.1*units.Bar) > 1 {
		t.Errorf("without flow it takes %.1f Pa", 2.1*units.Bar-got)
	}
}

// TestCrankcaseRegulator_Enthalpy: gas keeps its enthalpy through the regulator: throttled from where the line ends,
// it is the colder the more is taken.
func TestCrankcaseRegulator_Enthalpy(t *testing.T) {
	m := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer}
	free := built(t, m, nil)
	held := built(t, m, func(d *Design) { d.CrankcaseP = free.f.DewT(d.BoxT - d.TD + 2) })
	in := Inputs{BoxT: free.design.BoxT + 15, AmbientT: free.design.AmbientT}
	r := held.Solve(in, Change{}, Options{Tolerance: 1e-12})
	var s state
	held.eval(in, &Change{}, r.Mode, &r.U, &s)
	// The line's end from its law, the compressor's from the outputs.
	end := in.AmbientT - (in.AmbientT-r.Out[CoilOutletT])*math.Exp(-held.suction.ntu/s.m)
	pe := held.f.DewT(r.U[0])
	line := pe - held.suction.resistance*s.m*s.m/s.evaporator.rho
	a, b := vapourH(held.f, line, end), vapourH(held.f, held.f.DewT(r.Out[SuctionDew]), r.Out[SuctionLineT])
	if math.Abs(a-b) > 1 || end-r.Out[SuctionLineT] < 0.2 || line-s.suction.p < 1e4 {
		t.Errorf("ahead %.2f J/kg at %.3f K, behind %.2f at %.3f K, %.0f Pa taken", a, end, b, r.Out[SuctionLineT], line-s.suction.p)
	}
}

// TestCrankcaseRegulator: in a warm box the compressor's suction stays at the set pressure while the coil's does not;
// below it nothing changes.
func TestCrankcaseRegulator(t *testing.T) {
	m := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer}
	free := built(t, m, nil)
	set := free.f.DewT(free.design.BoxT - free.design.TD + 4)
	held := built(t, m, func(d *Design) { d.CrankcaseP = set })
	for _, warm := range []float64{0, 15, 25} {
		in := Inputs{BoxT: free.design.BoxT + warm, AmbientT: free.design.AmbientT}
		a, b := free.Solve(in, Change{}, Options{}), held.Solve(in, Change{}, Options{})
		if b.Trip != TripNone {
			t.Fatalf("%g K above design: %v", warm, b.Trip)
		}
		ps := held.f.DewT(b.Out[SuctionDew])
		switch {
		case warm == 0 && math.Abs(a.Out[SuctionDew]-b.Out[SuctionDew]) > 0.1:
			t.Errorf("at design the regulator moves suction by %.2f K", b.Out[SuctionDew]-a.Out[SuctionDew])
		case warm > 0 && (ps > set*1.001 || free.f.DewT(a.Out[SuctionDew]) < 1.1*set):
			t.Errorf("%g K above design: suction %.0f Pa, set %.0f, without %.0f", warm, ps, set, free.f.DewT(a.Out[SuctionDew]))
		case warm > 0 && (b.Out[CoilDew] < a.Out[CoilDew]+1 || b.Out[AmpsRatio] >= a.Out[AmpsRatio]):
			t.Errorf(
				"%g K above design: coil %.1f K against %.1f without, amps %.2f against %.2f",
				warm,
				b.Out[CoilDew],
				a.Out[CoilDew],
				b.Out[AmpsRatio],
				a.Out[AmpsRatio],
			)
		}
	}
}

// TestEvaporatorRegulator: when the load falls the coil stays near its set pressure and the compressor's suction falls instead.
func TestEvaporatorRegulator(t *testing.T) {
	m := reading.Machine{Refrigerant: "R-134a", Application: reading.WalkInCooler}
	dry := func(d *Design) { d.Humidity = 0 } // the regulator alone
	free := built(t, m, dry)
	set := free.design.BoxT - free.design.TD
	held := built(t, m, func(d *Design) { dry(d); d.CoilP = free.f.DewT(set) })
	for _, cold := range []float64{0, -4, -8} {
		in := Inputs{BoxT: free.design.BoxT + cold, AmbientT: free.design.AmbientT}
		for _, ch := range []Change{{}, {CoilAir: 0.5}} {
			a, b := free.Solve(in, ch, Options{}), held.Solve(in, ch, Options{})
			if b.Trip != TripNone {
				t.Fatalf("%g K: %v", cold, b.Trip)
			}
			if b.Out[CoilDew] < set-1.3*coef.evaporatorRegulator.band || // the band is one of pressure
				b.Out[CoilDew] > in.BoxT {
				t.Errorf("%g K, %+v: coil %.2f K under its set temperature", cold, ch, set-b.Out[CoilDew])
			}
			if cold < 0 && (b.Out[CoilDew] < a.Out[CoilDew]+0.5 || b.Out[SuctionDew] > a.Out[SuctionDew]) {
				t.Errorf(
					"%g K, %+v: coil %.2f against %.2f without, suction %.2f against %.2f",
					cold,
					ch,
					b.Out[CoilDew],
					a.Out[CoilDew],
					b.Out[SuctionDew],
					a.Out[SuctionDew],
				)
			}
		}
	}
	if _, err := New(
		func() Design { d := held.design; d.CoilP = held.f.DewT(set + 6); return d }(),
		held.f,
	); err == nil ||
		!strings.Contains(err.Error(), "machine.regulator_above_coil") {
		t.Errorf("a regulator set 6 K above the coil it holds was accepted: %v", err)
	}
}

// TestFans_HoldHead: fans hold the head at its set value in the cold, the air they move takes the heat, and a machine
// short of charge is held too; the state is continuous where the fans reach full speed. Source: definition of the
// controls; energy balance of the air.
func TestFans_HoldHead(t *testing.T) {
	for _, head := range []reading.HeadControl{reading.FanCycling, reading.VariableFan} {
		for _, receiver := range []bool{true, false} {
			name := fmt.Sprintf("%v, receiver %v", head, receiver)
			m := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, Receiver: &receiver}
			p := built(t, m, func(d *Design) { d.Head, d.HeadSet = head, float64(units.Fahrenheit(95)) })
			none := built(t, m, nil)
			for _, ch := range []Change{{}, {LowCharge: 0.2}, {CondenserAir: 0.3}, {HeadShift: 4}} {
				in := Inputs{BoxT: p.design.BoxT, AmbientT: float64(units.Fahrenheit(20))}
				r := p.Solve(in, ch, Options{})
				if r.Trip != TripNone || math.Abs(r.Out[DischargeDew]-p.design.HeadSet-ch.HeadShift) > 0.01 {
					t.Errorf("%s %+v: head %.2f K off, %v", name, ch, r.Out[DischargeDew]-p.design.HeadSet-ch.HeadShift, r.Trip)
				}
				// Less air than full: it leaves warmer than full air would, and colder than the refrigerant condenses.
				if full := none.Solve(
					in,
					ch,
					Options{},
				); r.Out[CondenserOffT] < full.Out[CondenserOffT]+1 ||
					r.Out[CondenserOffT] > r.Out[DischargeDew] {
					t.Errorf(
						"%s %+v: air off %.1f K, with all fans %.1f, head %.1f",
						name,
						ch,
						r.Out[CondenserOffT],
						full.Out[CondenserOffT],
						r.Out[DischargeDew],
					)
				}
			}
			if ok, low := p.Solve(
				at(-5, 20),
				Change{},
				Options{},
			), p.Solve(
				at(-5, 20),
				Change{LowCharge: 0.25},
				Options{},
			); low.Out[GlassQuality] < 0.02 ||
				low.Out[CoilDew] > ok.Out[CoilDew]-0.5 {
				t.Errorf(
					"%s: a quarter short shows glass %.3f and the coil at %.1f K against %.1f",
					name,
					low.Out[GlassQuality],
					low.Out[CoilDew],
					ok.Out[CoilDew],
				)
			}
			// Across the ambient at which the fans reach full speed nothing jumps.
			prev := p.Solve(at(-5, 40), Change{}, Options{})
			modes := map[int]bool{prev.Mode: true}
			for f := 40.25; f <= 80; f += 0.25 {
				r := p.Solve(at(-5, f), Change{}, Options{})
				for _, o := range []Output{DischargeDew, CondenserOffT, LiquidLineT, CoilOutletT} {
					if math.Abs(r.Out[o]-prev.Out[o]) > 0.6 {
						t.Errorf("%s: output %d jumps by %.2f K at %g °F outside", name, o, r.Out[o]-prev.Out[o], f)
					}
				}
				prev = r
				modes[r.Mode] = true
			}
			if len(modes) < 2 {
				t.Errorf("%s: the fans never reach full speed", name)
			}
		}
	}
}

// TestFans_TooMuchCharge: liquid that stands in the condenser takes area from a machine whose head is held; when
// there is none to spare the head rises.
func TestFans_TooMuchCharge(t *testing.T) {
	for _, head := range []reading.HeadControl{reading.FanCycling, reading.VariableFan, reading.Flooding} {
		p := built(
			t,
			reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer},
			func(d *Design) { d.Head, d.HeadSet = head, float64(units.Fahrenheit(95)) },
		)
		ok, over := p.Solve(at(-5, 55), Change{}, Options{}), p.Solve(at(-5, 55), Change{OverCharge: 0.6}, Options{})
		if math.Abs(ok.Out[DischargeDew]-p.design.HeadSet) > 0.01 || over.Out[DischargeDew] < ok.Out[DischargeDew]+1 {
			t.Errorf("%v: head %.1f K, with 0.6 of the condenser flooded %.1f", head, ok.Out[DischargeDew], over.Out[DischargeDew])
		}
	}
}
