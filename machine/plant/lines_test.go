package plant

import (
	"math"
	"math/rand/v2"
	"testing"

	"coldwright/machine/reading"
	"coldwright/units"
)

// bareLiquid is a liquid line on its own and what enters it.
func bareLiquid(t *testing.T) (liquidLine, liquidIn, *Plant) {
	t.Helper()
	p := machine(t, "R-404A", true, reading.Valve)
	d := p.design
	var o condenserOut
	p.condenser.outlet(p.f, condenserIn{m: 1, dew: d.AmbientT + d.Split, airT: d.AmbientT}, &o)
	return p.liquid, liquidIn{m: 1, from: &o, dew: d.AmbientT + d.Split, p: o.p, least: 3 * units.Bar, ambient: d.AmbientT}, &p
}

// TestLiquidLine_Limits: without a cooled stretch the liquid stays as it is; with endless conductance it reaches the
// air; without flow no pressure is lost but that of its height.
func TestLiquidLine_Limits(t *testing.T) {
	l, in, p := bareLiquid(t)
	var o liquidOut
	l.ua = 0
	l.outlet(p.f, in, &o)
	if o.t != in.from.bubble || o.h != in.from.hf {
		t.Errorf("no cooling: %.6f K, %.3f J/kg away", o.t-in.from.bubble, o.h-in.from.hf)
	}
	l.ua = 1e9
	l.outlet(p.f, in, &o)
	if math.Abs(o.t-in.ambient) > 1e-6 {
		t.Errorf("endless cooling: %.6f K from the air", o.t-in.ambient)
	}
	in.m = 1e-9
	l.outlet(p.f, in, &o)
	if want := in.p - o.rho*9.80665*l.lift; math.Abs(o.p-want) > 1 || math.Abs(o.glassP-in.p) > 1 {
		t.Errorf("no flow: %.1f Pa at the device, its column leaves %.1f", o.p, want)
	}
}

// TestLiquidLine_Losses: all liquid, the loss goes with the square of the flow, and a restriction adds what it is said
// to add at design flow; flash gas in the line costs more, and shows in the glass.
func TestLiquidLine_Losses(t *testing.T) {
	l, in, p := bareLiquid(t)
	run := func(m, before, vapour float64) (o liquidOut) {
		x := in
		x.m, x.before, x.vapour = m, before, vapour
		from := *in.from
		from.h = from.hf + vapour*from.hfg
		x.from = &from
		l.outlet(p.f, x, &o)
		return o
	}
	one := run(1, 0, 0)
	if got := in.p - one.glassP; math.Abs(got/(coef.liquidLine.beforeGlass*l.drop)-1) > 0.01 {
		t.Errorf("design flow loses %.0f Pa ahead of the glass, designed for %.0f", got, coef.liquidLine.beforeGlass*l.drop)
	}
	two := run(2, 0, 0)
	if got := (in.p - two.glassP) / (in.p - one.glassP); math.Abs(got-4) > 0.05 { // its temperature changes a little
		t.Errorf("twice the flow loses %.3f times as much", got)
	}
	const more = 1.5 * units.Bar
	if got := one.glassP - run(1, more, 0).glassP; math.Abs(got/more-1) > 0.05 {
		t.Errorf("1.5 bar of restriction adds %.0f Pa", got)
	}
	wet := run(1, 0, 0.1)
	rv, _, _ := p.f.DewVapour(in.dew)
	x := (wet.h - in.from.hf) / in.from.hfg
	thinner := (x*wet.rho/rv + 1 - x) * one.rho / wet.rho
	if got := (in.p - wet.glassP) / (in.p - one.glassP); math.Abs(got/thinner-1) > 1e-3 || x < 0.05 || wet.glassVapour <= x {
		t.Errorf("%.3f of vapour loses %.4f times as much, by its volume %.4f; quality at the glass %.3f", x, got, thinner, wet.glassVapour)
	}
}

// TestLiquidLine_TemperatureOfItsEnthalpy: the liquid's temperature takes one heat capacity for its way through the
// unit, its enthalpy is the balance. In random states the two differ by at most 0.5 % of the heat the condenser moves.
func TestLiquidLine_TemperatureOfItsEnthalpy(t *testing.T) {
	worst := 0.0
	eachSolved(t, 10, func(p *Plant, in Inputs, ch *Change, r *Result, s *state) {
		if s.liquid.h < s.condenser.hf { // liquid only
			h, _ := p.f.LiquidH(s.liquid.t)
			worst = math.Max(worst, math.Abs(h-s.liquid.h)/(s.compressor.h-s.condenser.h))
		}
	})
	t.Logf("largest difference %.2f %% of the condenser's heat", 100*worst)
	if worst > 0.005 {
		t.Errorf("temperature and enthalpy of the liquid differ by %.2f %% of the condenser's heat", 100*worst)
	}
}

// TestSuctionLine_HeatAgainstItsLaw: dry gas ends at the temperature that its conductance gives, and takes up what
// its enthalpies say. Where liquid is in the line the model counts heat instead, with one heat capacity and from the
// dew enthalpy at each end, and there the balance is not kept: in random states it is off by at most 2 % of the coil's
// heat where the gas ends wet, and 5 % where it arrives wet and ends dry.
func TestSuctionLine_HeatAgainstItsLaw(t *testing.T) {
	dry, wet, dried := 0, 0.0, 0.0
	eachSolved(t, 30, func(p *Plant, in Inputs, ch *Change, r *Result, s *state) {
		if p.crankcaseRegulator.fitted() {
			return // its own enthalpy stays: TestCrankcaseRegulator_Enthalpy
		}
		lineDew := p.f.DewP(s.suction.lineP)
		got := s.suction.h - s.suction.lineH
		coil := s.evaporator.h - s.evaporator.hIn
		gain := func(from float64) float64 {
			return coef.suctionLine.heatCapacity * (in.AmbientT - from) * (1 - math.Exp(-p.suction.ntu/s.m))
		}
		from := s.evaporator.t
		switch {
		case s.suction.lineH > p.f.DewH(lineDew):
			if p.exchanger.fitted() || p.evaporatorRegulator.fitted() {
				from, _, _ = p.f.VapourPH(s.suction.lineP, s.suction.lineH)
			}
			dry++
			want := in.AmbientT - (in.AmbientT-from)*math.Exp(-p.suction.ntu/s.m)
			if math.Abs(s.suction.t-want) > 1e-5 { // what inverting the table leaves
				t.Errorf("%.7f K at the compressor, by its conductance %.7f, %+v", s.suction.t, want, *ch)
			}
		case s.suction.h < p.f.DewH(s.suction.dew):
			wet = math.Max(wet, math.Abs(got-gain(math.Min(from, lineDew)))/coil)
		default:
			dried = math.Max(dried, math.Abs(got-gain(math.Min(from, lineDew)))/coil)
		}
	})
	t.Logf("%d dry; not balanced: wet %.1f %%, dried on the way %.1f %% of the coil's heat", dry, 100*wet, 100*dried)
	if dry < 200 || wet > 0.02 || dried > 0.05 {
		t.Errorf("%d dry; not balanced: wet %.1f %%, dried on the way %.1f %% of the coil's heat", dry, 100*wet, 100*dried)
	}
}

// TestSuctionLine_ColderThanItsGas: where the machine stands colder than the gas that leaves its coil, as an air
// conditioner in winter, the gas is cooled towards the air and stays gas.
func TestSuctionLine_ColderThanItsGas(t *testing.T) {
	p := built(t, reading.Machine{Refrigerant: "R-410A", Application: reading.AirConditioning}, nil)
	last := math.Inf(1)
	for ambient := p.design.BoxT + 6; ambient > p.design.BoxT-8; ambient-- {
		r := p.Solve(Inputs{BoxT: p.design.BoxT, AmbientT: ambient}, Change{ValveUnder: 0.3}, Options{})
		if r.Trip != TripNone {
			t.Fatalf("%.0f K outside: %v", ambient, r.Trip)
		}
		got := r.Out[SuctionLineT]
		lo, hi := math.Min(ambient, r.Out[CoilOutletT]), math.Max(ambient, r.Out[CoilOutletT])
		if got < lo-0.01 || got > hi+0.01 || math.Abs(got-last) > 1 && !math.IsInf(last, 1) {
			t.Errorf("%.0f K outside: gas %.2f K at the compressor, %.2f leaves the coil, %.2f before", ambient, got, r.Out[CoilOutletT], last)
		}
		last = got
	}
}

// TestSuctionLine_Limits: no conductance leaves the gas at its temperature; much of it brings the gas to the air; no
// flow loses no pressure; a restriction takes its kelvins at design flow.
func TestSuctionLine_Limits(t *testing.T) {
	p := machine(t, "R-404A", true, reading.Valve)
	d := p.design
	gas := func(ntu, m, restriction float64) (suctionOut, evaporatorOut) {
		te := d.BoxT - d.TD
		pe := p.f.DewT(te)
		low := p.f.Isobar(pe)
		e := evaporatorOut{t: te + 4, vapour: 1, hg: p.f.DewH(te)}
		e.rho, e.h, _ = p.f.Vapour(pe, e.t)
		l := p.suction
		l.ntu = ntu
		var o suctionOut
		l.outlet(p.f, &low, &evaporatorRegulator{}, &crankcaseRegulator{}, suctionIn{
			m: m, p: pe, dew: te, from: &e, ambient: d.AmbientT, restriction: restriction,
		}, &o)
		return o, e
	}
	if o, e := gas(1e-12, 1, 0); math.Abs(o.t-e.t) > 1e-9 {
		t.Errorf("no conductance: %.9f K warmer", o.t-e.t)
	}
	if o, _ := gas(50, 1, 0); math.Abs(o.t-d.AmbientT) > 1e-6 {
		t.Errorf("endless conductance: %.6f K from the air", o.t-d.AmbientT)
	}
	pe := p.f.DewT(d.BoxT - d.TD)
	if o, _ := gas(0.3, 1e-6, 0); math.Abs(o.p/pe-1) > 1e-9 {
		t.Errorf("no flow loses %.3f Pa", pe-o.p)
	}
	a, _ := gas(0.3, 1, 0)
	b, _ := gas(0.3, 1, 2)
	if got := a.dew - b.dew; math.Abs(got-2) > 0.15 { // the saturation line is curved
		t.Errorf("a restriction of 2 K takes %.3f K", got)
	}
	if got := (d.BoxT - d.TD) - a.dew; math.Abs(got-d.SuctionDrop) > 0.05 {
		t.Errorf("design flow loses %.3f K, designed for %g", got, d.SuctionDrop)
	}
}

// eachSolved hands on n random solved states of every kind of machine.
func eachSolved(t *testing.T, n int, do func(p *Plant, in Inputs, ch *Change, r *Result, s *state)) {
	t.Helper()
	solved := 0
	for _, o := range options(t) {
		rng := rand.New(rand.NewPCG(21, 34))
		for range n {
			d, in, ch := random(rng, o.p.design)
			p, err := New(d, o.p.f)
			if err != nil {
				continue
			}
			if d.Head != reading.HeadNone {
				in.AmbientT -= 20 * rng.Float64()
			}
			r := p.Solve(in, ch, Options{Tolerance: 1e-12})
			if !r.Status.OK() || r.Trip != TripNone {
				continue
			}
			solved++
			var s state
			p.eval(in, &ch, r.Mode, &r.U, &s)
			do(&p, in, &ch, &r, &s)
		}
	}
	if solved < 8*n {
		t.Errorf("only %d states solved", solved)
	}
}
