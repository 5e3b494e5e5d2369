package diagnose

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/reading"
)

// TestRun_HistoryNarrows: an earlier healthy visit narrows what a healthy machine would show.
func TestRun_HistoryNarrows(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	s := freezer(0, 80, 21, 281, reading.Clear)
	before := run(t, s, f, Options{NoPairs: true})
	h := freezer(-3, 70, 19, 241, reading.Clear)
	h.Readings = append(
		h.Readings,
		reading.Reading{At: reading.CoilOutletLine, Value: degF(-9)},
		reading.Reading{At: reading.LiquidLine, Value: degF(97)},
	)
	s.HealthyVisits = []reading.Sheet{h}
	after := run(t, s, f, Options{NoPairs: true})
	width := func(p Posterior) float64 {
		for _, e := range p.Expected {
			if e.At == reading.DischargePressure {
				return e.Dew.High - e.Dew.Low
			}
		}
		return math.NaN()
	}
	if a, b := width(after), width(before); !(a < 0.8*b) {
		t.Errorf("band of the head is %.2f K with history, %.2f without", a, b)
	}
	if after.Expected[0].Basis != "history" {
		t.Error("the basis is not named")
	}
}

// TestRun_HistorySettles: a machine whose air off the coil reads 1.5 K over the design at every healthy visit: what
// is expected of it comes closer with every visit and never runs past (property).
func TestRun_HistorySettles(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	sheet := func(air float64) reading.Sheet {
		s := freezer(0, 80, 20, 280, reading.Clear)
		if air > 0 {
			s.Readings = append(s.Readings, reading.Reading{At: reading.CoilAirOff, Value: air})
		}
		return s
	}
	mid := func(p Posterior) float64 {
		for _, e := range p.Expected {
			if e.At == reading.CoilAirOff {
				return e.Band.Mid
			}
		}
		return math.NaN()
	}
	design := mid(run(t, sheet(0), f, Options{NoPairs: true}))
	before := 0.0
	s := sheet(design + 1.5)
	for n := range 8 {
		s.HealthyVisits = append(s.HealthyVisits, sheet(design+1.5))
		off := mid(run(t, s, f, Options{NoPairs: true})) - design
		if !(off > before-0.02 && off < 1.55) {
			t.Errorf("after %d visits %.2f K over the design, before that %.2f; every visit read 1.50 (allowed: 0.02 back, to 1.55)",
				n+1, off, before)
		}
		before = off
	}
}
