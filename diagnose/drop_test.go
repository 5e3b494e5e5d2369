package diagnose

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/units"
)

// A gauge moved from suction to the coil errs in both readings alike: whatever it is off, the drop stays, and what a
// judgement predicts for it stays with a lying gauge (identity). On another gauge the coil's pressure is a level of
// its own.
func TestObserve_CoilDrop(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	drop := func(off float64, coil reading.Instrument) (o observation, spread float64) {
		s := freezer(-5, 85, 15, 230, reading.Clear)
		for i := range s.Readings {
			if s.Readings[i].At == reading.SuctionPressure {
				s.Readings[i].Value += off
				s.Readings[i].Instrument = reading.DigitalGauge
			}
		}
		s.Readings = append(s.Readings, reading.Reading{At: reading.CoilPressure, Value: psig(18) + off, Instrument: coil})
		m, _ := s.Machine.Resolve()
		e := observe(s, m, f, 1)
		for _, o := range e.obs {
			if o.at == reading.CoilPressure {
				return o, o.sigma()
			}
		}
		t.Fatal("no observation")
		return o, 0
	}
	a, spread := drop(0, reading.DigitalGauge)
	b, _ := drop(20*units.Kilo, reading.DigitalGauge)
	if !a.drop || math.Abs(a.y*a.slope-3*units.Psi) > 1 || math.Abs(b.y*b.slope-a.y*a.slope) > 1e-6 || math.Abs(spread-0.7) > 0.05 {
		t.Errorf("%.4g Pa, with a gauge 20 kPa off %.4g Pa, ± %.2f K", a.y*a.slope, b.y*b.slope, spread)
	}
	if c, spread := drop(0, reading.DialGauge); c.drop || math.Abs(f.DewT(c.y)-psig(18)) > 1 || spread < 0.9 {
		t.Errorf("on another gauge: %+v ± %.2f K", c, spread)
	}
}

// Where a restricted suction line is among the suspects the coil's pressure is asked for, and read on the same gauge
// it tells more than on another one. The readings are those of the plant with the restriction in it.
func TestRun_CoilDrop(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	s := freezer(-5, 85, 15, 230, reading.Clear)
	s.Readings = append(s.Readings, reading.Reading{At: reading.CoilOutletLine}, reading.Reading{At: reading.LiquidLine})
	m, _ := s.Machine.Resolve()
	p, err := plant.New(plant.FromMachine(m), f)
	if err != nil {
		t.Fatal(err)
	}
	for _, severity := range []float64{3, 4, 6} {
		in := plant.Inputs{BoxT: degF(0), AmbientT: degF(85)}
		r := p.Solve(in, fault.Apply(plant.Change{}, fault.SuctionRestriction, severity), plant.Options{})
		if !r.Status.OK() {
			t.Fatal(r.Status)
		}
		read := func(coil reading.Instrument, known bool) Posterior {
			x := s
			x.Readings = nil
			for _, q := range s.Readings {
				q.Value, _ = Shown(q.At, in, &r.Out, 0, f)
				if q.At.Kind() == reading.KindPressure {
					q.Instrument = reading.DigitalGauge
				}
				x.Readings = append(x.Readings, q)
			}
			if known {
				v, _ := Shown(reading.CoilPressure, in, &r.Out, 0, f)
				x.Readings = append(x.Readings, reading.Reading{At: reading.CoilPressure, Value: v, Instrument: coil, U: 4 * units.Kilo})
			}
			return run(t, x, f, Options{NoPairs: true})
		}
		before, other, same := read(0, false), read(reading.DialGauge, true), read(reading.DigitalGauge, true)
		bits, rank := 0.0, 0
		for i, n := range before.Next {
			if n.At == reading.CoilPressure.String() {
				bits, rank = n.Bits, i+1
			}
		}
		c := fault.SuctionRestriction
		if rank != 1 || bits < 0.1 || same.Marginal(c) < 1.05*other.Marginal(c) || other.Marginal(c) < before.Marginal(c) {
			t.Errorf(
				"%g K: before %.3f, on another gauge %.3f, on the same %.3f; asked for at %d with %.3f bits",
				severity,
				before.Marginal(c),
				other.Marginal(c),
				same.Marginal(c),
				rank,
				bits,
			)
		}
		for _, h := range same.Ranked {
			for _, it := range h.Evidence {
				// What the reading would be is said as a pressure, around what was read.
				if it.At == reading.CoilPressure.String() && h.Name() == c.String() &&
					!(it.IfThis.Low < it.Measured && it.Measured < it.IfThis.High && it.IfThis.High-it.IfThis.Low < 100*units.Kilo) {
					t.Errorf("%g K: %+v", severity, it)
				}
			}
		}
	}
}
