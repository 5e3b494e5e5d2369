package diagnose

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// The liquid line read at two places: together they weigh as two readings whose model error is one and the same (the
// variance of a common part plus that of a weighted mean, definition), and both stand among the evidence.
func TestObserve_LiquidTwice(t *testing.T) {
	f, s := testkit.Fit(t, "R-404A"), benchSheet()
	line, _ := s.Find(reading.LiquidLine)
	s.Readings = append(s.Readings, reading.Reading{At: reading.DrierIn, Value: line.Value})
	m, _ := s.Machine.Resolve()
	weight, places := 0.0, map[reading.Place]bool{}
	for _, o := range observe(s, m, f, 1).obs {
		if o.at == reading.LiquidLine || o.at == reading.DrierIn {
			weight += 1 / (o.sigma() * o.sigma())
			places[o.at] = true
		}
	}
	u := reading.InstrumentUnknown.U(reading.LiquidLine)
	common, own, away := channels[reading.LiquidLine].discrepancy, u*u, drierAway*drierAway
	want := 1 / (common*common + 1/(1/own+1/(own+away)))
	if len(places) != 2 || math.Abs(weight/want-1) > 0.05 {
		t.Errorf("read at %v: weight %.3f, want %.3f", places, weight, want)
	}
	found := false
	for _, it := range run(t, s, f, Options{NoPairs: true}).Ranked[0].Evidence {
		found = found || it.At == reading.DrierIn.String()
	}
	if !found {
		t.Error("the drier's inlet is no evidence")
	}
}

// A clamp on the liquid line that reads much too cold makes the charge look too large; the drier's inlet, read as the
// machine is, brings the judgement back.
func TestRun_LiquidTwice(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	s := freezer(-5, 85, 15, 230, reading.Clear)
	s.Readings = append(
		s.Readings,
		reading.Reading{At: reading.LiquidLine, Value: degF(85)},
		reading.Reading{At: reading.CoilOutletLine, Value: degF(-8)},
	)
	for _, e := range run(t, s, f, Options{NoPairs: true}).Expected {
		for i := range s.Readings {
			if s.Readings[i].At == e.At {
				s.Readings[i].Value = e.Band.Mid
			}
		}
	}
	with := func(off float64, inlet bool) Posterior {
		x := s
		x.Readings = nil
		for _, r := range s.Readings {
			if r.At == reading.LiquidLine {
				if inlet {
					x.Readings = append(x.Readings, reading.Reading{At: reading.DrierIn, Value: r.Value})
				}
				r.Value += off
			}
			x.Readings = append(x.Readings, r)
		}
		return run(t, x, f, Options{NoPairs: true})
	}
	truth, alone, both := with(0, false), with(-6, false), with(-6, true)
	if a, b := alone.Marginal(fault.OverCharge), both.Marginal(fault.OverCharge); truth.PHealthy < 0.5 || both.PHealthy < alone.PHealthy ||
		b >= a {
		t.Errorf(
			"healthy %.3f, clamp off %.3f, with the inlet %.3f; too much refrigerant %.3f, then %.3f",
			truth.PHealthy,
			alone.PHealthy,
			both.PHealthy,
			a,
			b,
		)
	}
	t.Logf(
		"healthy %.3f, clamp off %.3f, with the inlet %.3f; too much refrigerant %.3f, then %.3f",
		truth.PHealthy,
		alone.PHealthy,
		both.PHealthy,
		alone.Marginal(fault.OverCharge),
		both.Marginal(fault.OverCharge),
	)
}
