package plant

import (
	"math"
	"testing"

	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

// coilOf is the coil of a freezer on its own, and what enters it at its design point.
func coilOf(t *testing.T, name string) (evaporator, evaporatorIn, Plant) {
	t.Helper()
	p := built(t, reading.Machine{Refrigerant: name, Application: reading.WalkInFreezer}, nil)
	var s state
	d := p.design
	p.eval(Inputs{BoxT: d.BoxT, AmbientT: d.AmbientT}, &Change{}, modeFree, &[4]float64{d.BoxT - d.TD, 0, d.AmbientT + d.Split, 0}, &s)
	return p.evaporator, evaporatorIn{
		m: 1, dew: d.BoxT - d.TD, p: p.f.DewT(d.BoxT - d.TD), liquidH: s.liquid.h, liquidT: s.liquid.t, boxT: d.BoxT,
	}, p
}

func runCoil(f *refrigerant.Fit, e evaporator, x exchanger, in evaporatorIn) (o evaporatorOut) {
	low := f.Isobar(in.p)
	e.outlet(f, &low, x, in, &moistAir{}, &o)
	return o
}

// TestEvaporator_ThereAndBack: the coil sized for a design superheat gives it back.
func TestEvaporator_ThereAndBack(t *testing.T) {
	for _, name := range []string{"R-404A", "R-134a", "R-448A", "R-290"} {
		e, in, p := coilOf(t, name)
		o := runCoil(p.f, e, exchanger{}, in)
		want := p.design.SHRatio * p.design.TD
		// The coil is sized with the heat capacity at its outlet and run with that at the middle of its difference.
		if got := o.t - in.dew; math.Abs(got-want) > 0.02 {
			t.Errorf("%s: superheat %.4f K, sized for %.4f", name, got, want)
		}
	}
}

// TestEvaporator_Limits: without flow the gas reaches the air; superheat never exceeds the difference to it; with much
// flow liquid leaves and the outlet is saturated; no air boils nothing.
func TestEvaporator_Limits(t *testing.T) {
	e, in, p := coilOf(t, "R-404A")
	in.m = 1e-6
	if o := runCoil(p.f, e, exchanger{}, in); math.Abs(o.t-in.boxT) > 1e-6 || o.wetted > 1e-5 {
		t.Errorf("no flow: %.6f K from the air, %.2g wetted", o.t-in.boxT, o.wetted)
	}
	last := math.Inf(1)
	for m := 0.1; m < 3; m += 0.05 {
		in.m = m
		o := runCoil(p.f, e, exchanger{}, in)
		if sh := o.t - in.dew; sh > in.boxT-in.dew || o.bulb > last {
			t.Errorf("flow %.2f: superheat %.3f K of %.3f, bulb %.3f after %.3f", m, sh, in.boxT-in.dew, o.bulb, last)
		}
		last = runCoil(p.f, e, exchanger{}, in).bulb
	}
	in.m = 2
	o := runCoil(p.f, e, exchanger{}, in)
	if o.vapour >= 1 || o.bulb >= 0 || o.t > in.dew {
		t.Errorf("twice the flow: %.3f leaves as vapour, bulb %.2f K", o.vapour, o.bulb)
	}
	// Flooded, the coil moves what its whole surface can, whatever the flow.
	q := in.m * (o.h - o.hIn)
	in.m = 2.5
	o2 := runCoil(p.f, e, exchanger{}, in)
	if q2 := in.m * (o2.h - o2.hIn); math.Abs(q2/q-1) > 1e-9 {
		t.Errorf("flooded: %.3f W with twice the flow, %.3f with two and a half times", q, q2)
	}
	in.m, in.lostAir = 1, 0.999
	if o := runCoil(p.f, e, exchanger{}, in); o.h-o.hIn > 0.02*(o.hg-o.hIn) {
		t.Errorf("a thousandth of the air: still %.3f of the heat", (o.h-o.hIn)/(o.hg-o.hIn))
	}
}

// TestEvaporator_DryZone: the superheat is that of a zone walked through in small steps with one heat capacity
// (another way of computing).
func TestEvaporator_DryZone(t *testing.T) {
	e, in, p := coilOf(t, "R-404A")
	in.m = 0.8
	o := runCoil(p.f, e, exchanger{}, in)
	cp := p.f.VapourH(in.p, in.dew+0.5*(in.boxT-in.dew)).T
	T, n := in.dew, 20000
	for range n {
		T += e.uv * e.ntu * e.air * (1 - o.wetted) / float64(n) * (in.boxT - T) / (in.m * cp)
	}
	if math.Abs(o.t-T) > 1e-3 {
		t.Errorf("superheat %.4f K, walked %.4f", o.t-in.dew, T-in.dew)
	}
}

// TestEvaporator_GlideMean: along a coil that a blend boils in, heat goes by the difference to each place's
// temperature; the model takes the middle of inlet and dew. Against the integral over vapour shares with the
// equation's temperatures, of a blend with 6 K of glide.
func TestEvaporator_GlideMean(t *testing.T) {
	e, in, p := coilOf(t, "R-448A")
	o := runCoil(p.f, e, exchanger{}, in)
	r, err := refrigerant.Load("R-448A")
	if err != nil {
		t.Fatal(err)
	}
	// dA = dh/(T_box − T): the mean difference is harmonic in the heat given.
	sum, n := 0.0, 24
	for i := range n {
		h := o.hIn + (o.hg-o.hIn)*(float64(i)+0.5)/float64(n)
		s, err := r.StatePH(in.p, h, refrigerant.Options{})
		if err != nil {
			t.Fatal(err)
		}
		sum += 1 / (in.boxT - s.T) / float64(n)
	}
	mean := in.m * (o.hg - o.hIn) / (o.air.capacity * o.air.eff * o.wetted)
	t.Logf("mean difference %.3f K, integral %.3f", mean, 1/sum)
	if math.Abs(mean*sum-1) > 0.06 {
		t.Errorf("mean difference %.3f K, integral %.3f", mean, 1/sum)
	}
}

// TestEvaporator_FloodedBlend: where liquid and vapour of a blend leave together, the outlet is as warm as the
// equation of state says for that pressure and enthalpy (another way of computing than the fit).
func TestEvaporator_FloodedBlend(t *testing.T) {
	r448, err := refrigerant.Load("R-448A")
	if err != nil {
		t.Fatal(err)
	}
	p := machine(t, "R-448A", true, reading.Valve)
	wet := p.Solve(Inputs{BoxT: p.design.BoxT, AmbientT: p.design.AmbientT}, Change{ValveOver: 1.2}, Options{})
	m := math.Exp(wet.U[1])
	// Enthalpy at the coil outlet from the balance of the coil: no heat is exchanged on the liquid's way to the valve.
	hl, _ := p.f.LiquidH(wet.Out[LiquidLineT])
	h := hl + wet.Out[Capacity]*p.nominal.capacity/m
	s, err := r448.StatePH(p.f.DewT(wet.Out[CoilDew]), h, refrigerant.Options{})
	if err != nil {
		t.Fatal(err)
	}
	if s.VapourMass > 0.99 || math.Abs(s.T-wet.Out[CoilOutletT]) > 0.5 {
		t.Errorf("flooded outlet: %.2f K with %.3f vapour, the equation %.2f", wet.Out[CoilOutletT], s.VapourMass, s.T)
	}
}
