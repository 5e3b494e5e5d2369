package diagnose

import (
	"context"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// TestRun_ShortFreezer: both sides low, glass bubbling: short of refrigerant first, healthy out (below 1 %), a
// restriction ahead of the glass the rival, and the drop across the drier the reading that separates them. Common
// practice, no source.
func TestRun_ShortFreezer(t *testing.T) {
	p := run(t, freezer(3, 73, 12, 203, reading.Bubbling), testkit.Fit(t, "R-404A"), Options{})
	if p.Ranked[0].Name() != "low_charge" || p.PHealthy >= 0.01 || p.Ranked[1].Name() != "restriction_before_glass" {
		t.Errorf("first %s, second %s, healthy %.4f", p.Ranked[0].Name(), p.Ranked[1].Name(), p.PHealthy)
	}
	if len(p.Next) == 0 || p.Next[0].At != "drier_out" {
		t.Errorf("next reading %+v", p.Next)
	}
	// The restriction would show a larger drop than the shortage.
	drop := map[string]float64{}
	for _, s := range p.Next[0].Shows {
		drop[s.Name] = s.Band.Mid
	}
	if drop["restriction_before_glass"] < drop["low_charge"]+1 {
		t.Errorf("drops %v", drop)
	}
	for _, e := range p.Expected {
		if e.At == reading.SuctionPressure && (e.In || e.Off > -5) {
			t.Errorf("suction is %.1f K off and in the band: %v", e.Off, e.In)
		}
	}
}

// TestRun_Repaired: the same machine one degree off on both sides, glass clear: healthy comes first. Common practice, no source.
func TestRun_Repaired(t *testing.T) {
	p := run(t, freezer(1, 76, 24, 252, reading.Clear), testkit.Fit(t, "R-404A"), Options{})
	if p.Ranked[0].Name() != "healthy" || p.LackOfFit > 2 {
		t.Errorf("first %s %.3f, healthy %.3f, fit %.2f", p.Ranked[0].Name(), p.Ranked[0].Probability, p.PHealthy, p.LackOfFit)
	}
}

// TestRun_DrierDecides: after the drier reading the answer turns on what it shows (direction: common practice, no source).
func TestRun_DrierDecides(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	with := func(drop float64) Posterior {
		s := freezer(3, 73, 12, 203, reading.Bubbling)
		s.Readings = append(
			s.Readings,
			reading.Reading{At: reading.DrierIn, Value: degF(95)},
			reading.Reading{At: reading.DrierOut, Value: degF(95 - drop)},
		)
		return run(t, s, f, Options{})
	}
	if p := with(1.5); p.Ranked[0].Name() != "low_charge" || p.Marginal(fault.LowCharge) < 0.85 {
		t.Errorf("drop 1.5 °F: %s %.3f", p.Ranked[0].Name(), p.Marginal(fault.LowCharge))
	}
	if p := with(12); p.Marginal(fault.RestrictionBeforeGlass) < 0.85 {
		t.Errorf("drop 12 °F: %s, restriction %.3f", p.Ranked[0].Name(), p.Marginal(fault.RestrictionBeforeGlass))
	}
}

// TestRun_Properties: probabilities add up; the same sheet gives the same answer; the order of readings changes
// nothing; more than two faults never appear.
func TestRun_Properties(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	s := freezer(3, 73, 12, 203, reading.Bubbling)
	a, b := run(t, s, f, Options{}), run(t, s, f, Options{})
	if printed(a) != printed(b) {
		t.Error("two runs differ")
	}
	s.Readings[0], s.Readings[3] = s.Readings[3], s.Readings[0]
	s.Readings[1], s.Readings[2] = s.Readings[2], s.Readings[1]
	c := run(t, s, f, Options{})
	if printed(a) != printed(c) {
		t.Error("the order of the readings changes the answer")
	}
	sum := 0.0
	for _, h := range a.Ranked {
		sum += h.Probability
		if len(h.Faults) < 1 || len(h.Faults) > 2 {
			t.Errorf("%v", h.Faults)
		}
	}
	if sum > 1+1e-9 || sum < 0.98 {
		t.Errorf("probabilities shown add up to %.4f", sum)
	}
}

// TestRun_PriorOnly: readings that carry no information leave the prior (identity): with enormous uncertainties the
// posterior of singles and healthy keeps the ratio of the base rates.
func TestRun_PriorOnly(t *testing.T) {
	s := freezer(0, 80, 20, 280, reading.GlassUnknown)
	for i := range s.Readings {
		if s.Readings[i].At.Kind() == reading.KindPressure {
			s.Readings[i].U = 3e6
		}
	}
	p := run(t, s, testkit.Fit(t, "R-404A"), Options{NoPairs: true})
	c, _ := fault.Shipped()
	for _, h := range p.Ranked {
		if len(h.Faults) != 1 || h.Faults[0] <= fault.NoneOfThese {
			continue
		}
		row, _ := c.Find(h.Faults[0])
		total := 0.0
		for _, f := range c.Faults {
			total += f.BaseRate
		}
		want := (1 - c.HealthyRate - c.NoneRate) * row.BaseRate / total / c.HealthyRate
		if got := h.Probability / p.PHealthy; math.Abs(math.Log(got/want)) > 0.1 {
			t.Errorf("%s: ratio to healthy %.4f, base rates %.4f", h.Name(), got, want)
		}
	}
}

// TestRun_LaplaceAgainstMonteCarlo: the evidence of healthy and of one fault against brute-force averaging of the
// likelihood over the prior (an independent method). 0.5 nat is asked: a factor of 1.6 on a probability, less than any
// base rate is known to.
func TestRun_LaplaceAgainstMonteCarlo(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	c, _ := fault.Shipped()
	s := freezer(0, 80, 16, 262, reading.GlassUnknown)
	m, _ := s.Machine.Resolve()
	q, err := setUp(s, m, f, &c)
	if err != nil {
		t.Fatal(err)
	}
	air, _ := c.Find(fault.CoilAir)
	n := 20000
	if testing.Short() {
		n = 6000
	}
	for _, h := range []*hypothesis{{n: plant.NumNuisances}, {n: plant.NumNuisances + 1, faults: []*fault.Fault{air}}} {
		starts := [][maxParams]float64{{}}
		q.fit(h, starts, nil)
		rng := rand.New(rand.NewPCG(3, 5))
		sum := 0.0
		for range n {
			var x [maxParams]float64
			for j := range h.n {
				x[j] = rng.NormFloat64()
			}
			p, ok := q.evaluate(h, &x, nil)
			if !ok {
				continue
			}
			prior := 0.0
			for j := range h.n {
				prior += 0.5 * x[j] * x[j]
			}
			sum += math.Exp(-(p.obj - prior))
		}
		if d := h.logZ - math.Log(sum/float64(n)); math.Abs(d) > 0.5 {
			t.Errorf("faults %d: Laplace %.3f, averaging %.3f", len(h.faults), h.logZ, math.Log(sum/float64(n)))
		}
	}
}

// TestRun_NoneFits: readings no cause explains (superheat and head that contradict each other by tens of kelvin) are called so.
func TestRun_NoneFits(t *testing.T) {
	s := freezer(0, 80, 20, 280, reading.Clear)
	s.Readings = append(
		s.Readings,
		reading.Reading{At: reading.DischargeLine, Value: degF(40)},
		reading.Reading{At: reading.LiquidLine, Value: degF(170)},
		reading.Reading{At: reading.CondenserAirOff, Value: degF(30)},
	)
	p := run(t, s, testkit.Fit(t, "R-404A"), Options{})
	found := false
	for _, w := range p.Warnings {
		found = found || w.Code == NoneFits
	}
	if !found || p.PNone < 0.5 {
		t.Errorf("none of these %.3f, first %s", p.PNone, p.Ranked[0].Name())
	}
}

// TestRun_EarlyWidens: three minutes after the start the same readings say less.
func TestRun_EarlyWidens(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	s := freezer(3, 73, 12, 203, reading.GlassUnknown)
	late := run(t, s, f, Options{NoPairs: true})
	three := 3.0
	s.RunningMin = &three
	early := run(t, s, f, Options{NoPairs: true})
	if early.PHealthy <= late.PHealthy {
		t.Errorf("healthy %.2e early, %.2e late", early.PHealthy, late.PHealthy)
	}
}

func TestRun_Refused(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	s := freezer(0, 80, 20, 280, reading.Clear)
	s.Readings = s.Readings[:1]
	if _, err := Run(context.Background(), Evidence{s, f}, Options{}); err == nil {
		t.Error("one reading was judged")
	}
	s = freezer(0, 80, 280, 20, reading.Clear)
	if _, err := Run(context.Background(), Evidence{s, f}, Options{}); err == nil || !strings.Contains(err.Error(), "judge.swapped") {
		t.Errorf("swapped gauges: %v", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Run(ctx, Evidence{freezer(0, 80, 20, 280, reading.Clear), f}, Options{}); err == nil {
		t.Error("a cancelled run answered")
	}
}

func BenchmarkSingles(b *testing.B) {
	f, s := testkit.Fit(b, "R-404A"), benchSheet()
	for b.Loop() {
		run(b, s, f, Options{NoPairs: true})
	}
}

func BenchmarkPairs(b *testing.B) {
	f, s := testkit.Fit(b, "R-404A"), benchSheet()
	for b.Loop() {
		run(b, s, f, Options{})
	}
}

// Nothing is judged in the first minutes after a start or a defrost.
func TestRun_TooEarly(t *testing.T) {
	f, s := testkit.Fit(t, "R-404A"), benchSheet()
	two := 2.0
	for _, set := range []func(*reading.Sheet){
		func(s *reading.Sheet) { s.RunningMin = &two },
		func(s *reading.Sheet) { s.SinceDefrostMin = &two },
	} {
		q := s
		set(&q)
		if _, err := Run(context.Background(), Evidence{q, f}, Options{}); err == nil || !strings.Contains(err.Error(), "minutes=2)") {
			t.Errorf("judged after two minutes: %v", err)
		}
	}
}
