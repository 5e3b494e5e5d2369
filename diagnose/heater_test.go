package diagnose

import (
	"math"
	"slices"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// heated is what a freezer shows whose defrost heater stays on at a share of its capacity, read without error.
func heated(t *testing.T, share float64) reading.Sheet {
	t.Helper()
	f := testkit.Fit(t, "R-404A")
	s := freezer(6, 80, 0, 0, reading.Clear)
	m, _ := s.Machine.Resolve()
	p, err := plant.New(plant.FromMachine(m), f)
	if err != nil {
		t.Fatal(err)
	}
	in := plant.Inputs{BoxT: degF(6), AmbientT: degF(80)}
	r := p.Solve(in, fault.Apply(plant.Change{}, fault.DefrostHeater, share), plant.Options{})
	if r.Trip != plant.TripNone {
		t.Fatal(r.Trip)
	}
	for i, at := range map[int]reading.Place{2: reading.SuctionPressure, 3: reading.DischargePressure} {
		s.Readings[i].Value, _ = Shown(at, in, &r.Out, 0, f)
	}
	for _, at := range []reading.Place{reading.CoilAirOff, reading.CoilOutletLine, reading.LiquidLine} {
		v, _ := Shown(at, in, &r.Out, 0, f)
		s.Readings = append(s.Readings, reading.Reading{At: at, Value: v})
	}
	return s
}

// TestHeater_Current: the heater's current decides between it and everything that looks like it.
func TestHeater_Current(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	s := heated(t, 0.8)
	before := run(t, s, f, Options{})
	base, _ := fault.Shipped()
	row, _ := base.Find(fault.DefrostHeater)
	if got := before.Marginal(fault.DefrostHeater); got < 3*row.BaseRate {
		t.Errorf("its own signs leave a heater at %.4f of %.4f", got, row.BaseRate)
	}
	with := func(amps float64) Posterior {
		c := s
		c.Readings = append(slices.Clone(s.Readings), reading.Reading{At: reading.HeaterAmps, Value: amps})
		return run(t, c, f, Options{})
	}
	for _, amps := range []float64{4, 9, 25} {
		p := with(amps)
		if got := p.Marginal(fault.DefrostHeater); got < 0.9 || p.PNone > 0.05 {
			t.Errorf("%g A: heater %.3f, none of these %.3f", amps, got, p.PNone)
		}
		if !warned(p, HeaterDraws) {
			t.Errorf("%g A: not said: %v", amps, p.Warnings)
		}
	}
	for _, amps := range []float64{0, 0.2} {
		p := with(amps)
		if got := p.Marginal(fault.DefrostHeater); got > 0.1*before.Marginal(fault.DefrostHeater) || warned(p, HeaterDraws) {
			t.Errorf("%g A: heater %.4f, before %.4f", amps, got, before.Marginal(fault.DefrostHeater))
		}
	}
	// A cooler has none: the current is named as not counted.
	c := s
	c.Machine.Application = reading.WalkInCooler
	c.Readings = append(slices.Clone(s.Readings), reading.Reading{At: reading.HeaterAmps, Value: 9})
	if p := run(t, c, f, Options{NoPairs: true}); !notCompared(p, reading.HeaterAmps) || p.Marginal(fault.DefrostHeater) != 0 {
		t.Error("a cooler's heater current is not named as left out")
	}
}

// TestHeater_Term: there and back, and zero is zero.
func TestHeater_Term(t *testing.T) {
	for _, a := range []float64{0, 0.3, 2, 8, 30} {
		if got := heaterAmps(heaterTerm(a)); math.Abs(got-a) > 1e-9 {
			t.Errorf("%g A comes back as %g", a, got)
		}
	}
	if math.Abs(heaterAmps(heaterOn)-8) > 1e-9 {
		t.Errorf("what is on draws %g A", heaterAmps(heaterOn))
	}
}
