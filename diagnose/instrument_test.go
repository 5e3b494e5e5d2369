package diagnose

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
)

// TestRun_TwoThermometers: a box display 8 K from a probe beside it, everything else as it should be. With errors of
// 1.7 K (display), 0.6 K (probe) and 0.7 K (places), all normal, and a lying display of 3 K, a lie is N(8; 0,
// 3.57)/N(8; 0, 1.94) times as likely as honest instruments, over what was thought of the machine without the
// display: Bayes' rule by hand. The tails of the residuals may take 1.3 nats of it. A difference of 2 K says nothing.
func TestRun_TwoThermometers(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	with := func(off float64) Posterior {
		s := freezer(1, 76, 24, 252, reading.Clear)
		if off != 0 {
			s.Readings = append(s.Readings, reading.Reading{At: reading.BoxDisplay, Value: degF(1) + off})
		}
		return run(t, s, f, Options{})
	}
	density := func(x, sd float64) float64 { return math.Exp(-0.5*x*x/(sd*sd)) / sd }
	p, before := with(8), with(0)
	odds := p.Marginal(fault.BoxThermometer) / (1 - p.Marginal(fault.BoxThermometer))
	honest := math.Sqrt(1.7*1.7 + 0.6*0.6 + 0.7*0.7)
	was := before.Marginal(fault.BoxThermometer) / (1 - before.Marginal(fault.BoxThermometer))
	want := density(8, math.Hypot(honest, 3)) / density(8, honest) * was
	if math.Log(odds) < math.Log(want)-1.3 || math.Log(odds) > math.Log(want)+0.5 {
		t.Errorf("odds %.2f, by hand %.2f", odds, want)
	}
	if p.Ranked[0].Name() != "box_thermometer" || p.Advice.Prove != fault.BoxThermometer {
		t.Errorf("first %s, to prove %v", p.Ranked[0].Name(), p.Advice.Prove)
	}
	if p := with(2); p.Marginal(fault.BoxThermometer) > 0.05 || p.Advice.Prove != fault.Unknown {
		t.Errorf("2 K apart: %.3f, to prove %v", p.Marginal(fault.BoxThermometer), p.Advice.Prove)
	}
}

// TestRun_OneGauge: a head gauge that reads 30 psi high does so wherever it is hung. Standing pressure 30 psi high as
// well speaks for the gauge; standing pressure where it belongs at that temperature speaks against it: ten times and
// more between the two. Air in the circuit raises both too. Definition.
func TestRun_OneGauge(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	with := func(off float64) float64 {
		s := freezer(1, 76, 24, 252+30, reading.Clear)
		standing := f.DewT(degF(76)) + off*float64(units.Psi)
		s.Readings = append(s.Readings, reading.Reading{At: reading.StandingPressure, Value: standing})
		p := run(t, s, f, Options{})
		return p.Marginal(fault.DischargeGauge)
	}
	if same, right := with(30), with(0); same < 10*right {
		t.Errorf("head gauge %.4f with standing pressure off by the same, %.4f with standing pressure right", same, right)
	}
}

// A bare clamp on a cold line leans toward the air around it: the same line read with insulation and, leaning,
// without leads to the same first cause, and the bare one counts for less. A reading with its own stated uncertainty
// is taken as it is. Source: definition; the share is judgement.
func TestRun_BareClamp(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	var amb float64
	sheet := func(lean float64, by reading.Instrument) reading.Sheet {
		s := benchSheet()
		s.Readings = append([]reading.Reading(nil), s.Readings...)
		if r, ok := s.Find(reading.Ambient); ok {
			amb = r.Value
		}
		found := false
		for i := range s.Readings {
			r := &s.Readings[i]
			if r.At == reading.LiquidLine || r.At == reading.SuctionLine {
				r.Value, r.Instrument, found = r.Value+lean*(amb-r.Value), by, true
			}
		}
		if !found {
			t.Fatal("the sheet reads no line in the unit")
		}
		return s
	}
	plain := run(t, sheet(0, reading.Clamp), f, Options{NoPairs: true})
	bare := run(t, sheet(bareShare, reading.BareClamp), f, Options{NoPairs: true})
	if plain.Ranked[0].Name() != bare.Ranked[0].Name() || math.Abs(plain.Ranked[0].Probability-bare.Ranked[0].Probability) > 0.15 {
		t.Errorf(
			"insulated %s %.2f, bare %s %.2f",
			plain.Ranked[0].Name(),
			plain.Ranked[0].Probability,
			bare.Ranked[0].Name(),
			bare.Ranked[0].Probability,
		)
	}
	m, _ := sheet(0, reading.Clamp).Machine.Resolve()
	a, b := observe(sheet(0, reading.Clamp), m, f, 1), observe(sheet(bareShare, reading.BareClamp), m, f, 1)
	for i := range a.obs {
		x, y := a.obs[i], b.obs[i]
		if x.at != reading.SuctionLine && x.at != reading.LiquidLine {
			continue
		}
		if math.Abs(x.y-y.y) > 1e-9 || y.measure <= x.measure || math.Abs(y.si(f, y.y)-y.measured) > 1e-9 {
			t.Errorf("%s: %g against %g K, u %g against %g", x.at, x.y, y.y, x.measure, y.measure)
		}
	}
}
