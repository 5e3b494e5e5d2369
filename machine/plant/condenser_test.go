package plant

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/reading"
)

// bareCondenser is a condenser on its own, with the flow, pressure and air of a medium-temperature machine.
func bareCondenser() (condenser, condenserIn) {
	return condenser{ntu: 0.8, us: 0.6, ud: 0.4, volume: 0.067, air: 2e4}, condenserIn{m: 1, dew: 318, airT: 303}
}

// TestBlow_Effectiveness: effectiveness of a stream that meets one temperature. Source: Kays and London, Compact Heat
// Exchangers, table of effectiveness for a capacity ratio of zero: 0.393, 0.632, 0.865 and 0.950 at 0.5, 1, 2 and 3
// transfer units (three digits).
func TestBlow_Effectiveness(t *testing.T) {
	for ntu, want := range map[float64]float64{0.5: 0.393, 1: 0.632, 2: 0.865, 3: 0.950} {
		if got := blow(1, ntu, 0).eff; math.Abs(got-want) > 0.0006 {
			t.Errorf("%g transfer units: effectiveness %.4f, table %.3f", ntu, got, want)
		}
	}
	if a := blow(2e4, 0.8, 0); a.capacity != 2e4 || a.ntu != 0.8 {
		t.Errorf("no air lost: %+v", a)
	}
	last := blow(2e4, 0.8, 0)
	for _, lost := range []float64{0.1, 0.3, 0.6, 0.9, 0.99} {
		a := blow(2e4, 0.8, lost)
		if a.capacity*a.eff >= last.capacity*last.eff || a.ntu*a.capacity >= last.ntu*last.capacity || a.eff <= last.eff {
			t.Errorf("%g of the air lost: conductance %.0f, capacity %.0f", lost, a.ntu*a.capacity, a.capacity*a.eff)
		}
		last = a
	}
	if last.capacity*last.eff > 0.01*2e4 {
		t.Errorf("a hundredth of the air still takes %.0f W/K of 20,000", last.capacity*last.eff)
	}
}

// TestCondenser_Limits: nothing backed up leaves saturated liquid; vapour that leaves carries its share of the heat of
// evaporation; liquid backed up without end leaves at the temperature of the air.
func TestCondenser_Limits(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	c, in := bareCondenser()
	var o condenserOut
	c.outlet(f, in, &o)
	hf, _ := f.LiquidH(f.BubbleP(f.DewT(in.dew)))
	if o.h != hf || o.t != f.BubbleP(f.DewT(in.dew)) {
		t.Errorf("nothing backed up: %.3f K, %.1f J/kg over saturated", o.t-o.bubble, o.h-hf)
	}
	in.vapour = 0.25
	c.outlet(f, in, &o)
	if got := (o.h - hf) / (f.DewH(in.dew) - hf); math.Abs(got-0.25) > 1e-12 {
		t.Errorf("a quarter leaves as vapour: share %.6f", got)
	}
	in.vapour, in.liquid, c.us = 0, 0.5, 500
	c.outlet(f, in, &o)
	if math.Abs(o.t-in.airT) > 1e-6 {
		t.Errorf("liquid cooled without end is %.6f K from the air", o.t-in.airT)
	}
}

// TestCondenser_BackedUpZone: the liquid's temperature is that of a zone walked through in small steps, each giving
// heat by its conductance and difference (another way of computing). What is left is the heat capacity, which the
// closed form takes at the bubble point: 2 % of the difference to the air where the liquid starts.
func TestCondenser_BackedUpZone(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	c, in := bareCondenser()
	for _, share := range []float64{0.02, 0.1, 0.3} {
		in.liquid = share
		var o condenserOut
		c.outlet(f, in, &o)
		T, n := o.bubble, 20000
		for range n {
			_, cp := f.LiquidH(T)
			T -= c.us * c.ntu * c.air * share / float64(n) * (T - in.airT) / (in.m * cp)
		}
		if math.Abs(o.t-T) > 0.02*(o.bubble-in.airT) {
			t.Errorf("%g backed up: %.3f K, walked %.3f", share, o.t, T)
		}
	}
}

// TestCondenser_DesuperheatZone: the surface that cools the discharge gas is that of a zone walked through in small
// steps with one heat capacity (another way of computing the logarithmic mean).
func TestCondenser_DesuperheatZone(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	c, in := bareCondenser()
	var o condenserOut
	c.outlet(f, in, &o)
	t2 := in.dew + 35
	h2 := vapourH(f, o.p, t2)
	z := c.surface(in, &o, t2, h2)
	cp := (h2 - o.hg) / (t2 - in.dew)
	area, n := 0.0, 20000
	for i := range n {
		T := in.dew + (t2-in.dew)*(float64(i)+0.5)/float64(n)
		area += in.m * cp * (t2 - in.dew) / float64(n) / (c.ud * c.ntu * c.air * (T - in.airT))
	}
	if math.Abs(z.desuperheating/area-1) > 1e-6 {
		t.Errorf("desuperheating takes %.6f of the surface, walked %.6f", z.desuperheating, area)
	}
	if z := c.surface(in, &o, in.dew, o.hg); z.desuperheating != 0 {
		t.Errorf("saturated gas needs %.4f for desuperheating", z.desuperheating)
	}
}

// TestCondenser_Directions: more flow, warmer or less air and a lower head need more surface.
func TestCondenser_Directions(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	c, in := bareCondenser()
	need := func(set func(*condenserIn)) float64 {
		x := in
		set(&x)
		var o condenserOut
		c.outlet(f, x, &o)
		return c.surface(x, &o, x.dew+35, vapourH(f, o.p, x.dew+35)).sum()
	}
	base := need(func(*condenserIn) {})
	for name, set := range map[string]func(*condenserIn){
		"a fifth more flow": func(x *condenserIn) { x.m *= 1.2 },
		"air 3 K warmer":    func(x *condenserIn) { x.airT += 3 },
		"a third less air":  func(x *condenserIn) { x.lost = 0.33 },
		"head 3 K lower":    func(x *condenserIn) { x.dew -= 3 },
	} {
		if got := need(set); got < 1.1*base {
			t.Errorf("%s: needs %.3f of the surface, %.3f before", name, got, base)
		}
	}
}

// TestCondenser_ThereAndBack: the condenser sized for a design point needs just its surface there, with receiver and
// without, and gives the subcooling asked for.
func TestCondenser_ThereAndBack(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	for _, subcool := range []float64{-1, 0, 3, 8} { // below zero: with receiver
		d := built(t, reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer}, nil).design
		d.Receiver, d.Subcool = subcool < 0, math.Max(0, subcool)
		c := condenser{ntu: d.NTUc, us: d.US, ud: d.UD}
		in := condenserIn{m: 1, dew: d.AmbientT + d.Split, airT: d.AmbientT}
		var o condenserOut
		c.outlet(f, in, &o)
		t2 := in.dew + 30
		h2 := vapourH(f, o.p, t2)
		liquid, leaving := c.size(&d, &o, in.dew, t2, h2)
		in.liquid = liquid
		c.outlet(f, in, &o)
		if used := c.surface(in, &o, t2, h2).sum() + liquid; math.Abs(used-1) > 1e-12 {
			t.Errorf("subcooling %g: the design point uses %.12f of the surface", subcool, used)
		}
		if math.Abs(o.t-leaving) > 1e-9 {
			t.Errorf("subcooling %g: leaves at %.9f K, sized for %.9f", subcool, o.t, leaving)
		}
		if subcool > 0 {
			if got := o.bubble - (leaving - d.LiquidCool*(leaving-d.AmbientT)); math.Abs(got-subcool) > 1e-9 {
				t.Errorf("subcooling behind the unit %.9f K, asked %g", got, subcool)
			}
		}
	}
}
