package diagnose

import (
	"math"
	"slices"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// withPower is a clean sheet with what the compressor of a machine of 3 kW at its design point draws, off by a factor.
func withPower(t *testing.T, f *refrigerant.Fit, off float64, causes ...injected) reading.Sheet {
	t.Helper()
	mc := machineOf("R-404A", reading.WalkInFreezer)
	s, ok := clean(t, mc, f, causes...)
	if !ok {
		t.Fatal("the machine trips")
	}
	m, _ := mc.Resolve()
	p, err := plant.New(plant.FromMachine(m), f)
	if err != nil {
		t.Fatal(err)
	}
	var ch plant.Change
	for _, c := range causes {
		ch = fault.Apply(ch, c.Code, c.Severity)
	}
	r := p.Solve(plant.Inputs{BoxT: float64(m.Box), AmbientT: degF(80)}, ch, plant.Options{})
	w := off * r.Out[plant.PowerRatio] * 3 * units.Kilo
	s.Readings = append(slices.Clone(s.Readings), reading.Reading{At: reading.Power, Value: w})
	return s
}

func notCompared(p Posterior, at reading.Place) bool {
	return slices.ContainsFunc(p.Warnings, func(w reading.Finding) bool {
		return w.Code == NotCompared && slices.Contains(w.At, at.String())
	})
}

// Power counts where a healthy visit on file has it: a compressor that leaks inside draws less for what the other
// readings say, one that draws what it drew speaks against it, and powers that no cause explains leave none that fits.
// The sheet leaves out amps and the discharge line, which would tell the same. Directions: a leaking compressor moves
// less refrigerant and does less work on it (mass and energy balance).
func TestRun_PowerCounts(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	leaking := cause(t, fault.CompressorValves, 0.5)
	judge := func(off float64, power bool) Posterior {
		s := withPower(t, f, off, leaking)
		s.HealthyVisits = []reading.Sheet{withPower(t, f, 1)}
		s.Readings = slices.DeleteFunc(s.Readings, func(r reading.Reading) bool {
			return r.At == reading.Amps || r.At == reading.DischargeLine || r.At == reading.Power && !power
		})
		return run(t, s, f, Options{NoPairs: true})
	}
	without, with := judge(1, false), judge(1, true)
	a, b := without.Marginal(fault.CompressorValves), with.Marginal(fault.CompressorValves)
	if b < a+0.01 {
		t.Errorf("leaking compressor %.3f without its power, %.3f with it", a, b)
	}
	if notCompared(with, reading.Power) {
		t.Error("a power that counts is said not to")
	}
	at := slices.IndexFunc(with.Expected, func(e Expectation) bool { return e.At == reading.Power })
	if at < 0 || !with.Expected[at].Read || with.Expected[at].Band.Low < 2000 || with.Expected[at].Band.High > 4000 {
		t.Errorf("what a healthy machine draws: %+v", with.Expected)
	}
	for _, off := range []float64{1.0 / 30, 30} { // 0.1 and 90 kW
		p := judge(off, true)
		if p.LackOfFit < 3.5 || math.Abs(p.PHealthy-with.PHealthy)+math.Abs(p.PNone-with.PNone) < 0.01 {
			t.Errorf("power off by a factor of %.3g: lack of fit %.2f, healthy %.3f, none %.3f", off, p.LackOfFit, p.PHealthy, p.PNone)
		}
	}
}

// What a machine draws when it is healthy is only known from itself: the same powers in other units, which is a larger
// machine of the same build, give the same answer. Identity.
func TestRun_PowerScale(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	judge := func(size float64) Posterior {
		s := withPower(t, f, size, cause(t, fault.CompressorValves, 0.5))
		s.HealthyVisits = []reading.Sheet{withPower(t, f, size)}
		s.Readings = slices.DeleteFunc(s.Readings, func(r reading.Reading) bool {
			return r.At == reading.Amps || r.At == reading.DischargeLine
		})
		return run(t, s, f, Options{NoPairs: true})
	}
	one, ten := judge(1), judge(10)
	if p := one.Marginal(fault.CompressorValves); p > 0.99 {
		t.Errorf("so sure (%.4f) that the power decides nothing", p)
	}
	same(t, "ten times the machine", one, ten, 1e-9)
}

// Without a healthy visit that has it, power is neither judged nor asked for, and the answer says that it did not count;
// so with a current on a plate without one.
func TestRun_PowerAlone(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	s := withPower(t, f, 1, cause(t, fault.CompressorValves, 0.5))
	bare := s
	bare.Readings = slices.DeleteFunc(slices.Clone(s.Readings), func(r reading.Reading) bool { return r.At == reading.Power })
	with, without := run(t, s, f, Options{NoPairs: true}), run(t, bare, f, Options{NoPairs: true})
	same(t, "power alone", with, without, 0)
	if !notCompared(with, reading.Power) || notCompared(without, reading.Power) {
		t.Errorf("warnings %+v with power, %+v without", with.Warnings, without.Warnings)
	}
	if slices.ContainsFunc(without.Next, func(n Next) bool { return n.At == reading.Power.String() }) {
		t.Error("power is asked for, and nothing is there to compare it with")
	}
	s.Machine.RatedAmps = nil
	if p := run(t, s, f, Options{NoPairs: true}); !notCompared(p, reading.Amps) {
		t.Errorf("amps without a rated current: %+v", p.Warnings)
	}
	// Where it would count and was not read, it may be asked for, in watts.
	bare.HealthyVisits = []reading.Sheet{withPower(t, f, 1)}
	bare.Readings = bare.Readings[:4] // box, outside air and two pressures
	for _, n := range run(t, bare, f, Options{NoPairs: true}).Next {
		if n.At == reading.Power.String() && (n.Risk != RiskLive || n.Shows[0].Band.Mid < 500 || n.Shows[0].Band.Mid > 5000) {
			t.Errorf("%+v", n)
		}
	}
}

// A plate says what a compressor draws to about a fifth: a sound machine at 0.7 of its rated-load current, as many run,
// stays about as likely sound as without that reading; a current of three times the plate's fits nothing, and that is
// said; one healthy visit at which it was read makes it count for more than the plate does.
func TestRun_CurrentByThePlate(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	judge := func(share float64, read, before bool) Posterior {
		s := withPower(t, f, 1)
		now := s.Readings[slices.IndexFunc(s.Readings, func(r reading.Reading) bool { return r.At == reading.Amps })].Value
		rated := now / share
		s.Machine.RatedAmps = &rated
		if before {
			s.HealthyVisits = []reading.Sheet{withPower(t, f, 1)}
		}
		s.Readings = slices.DeleteFunc(s.Readings, func(r reading.Reading) bool {
			return r.At == reading.Power || r.At == reading.Amps && !read
		})
		return run(t, s, f, Options{NoPairs: true})
	}
	without := judge(1, false, false)
	for _, share := range []float64{0.7, 0.9, 1.05} {
		if p := judge(share, true, false); p.PHealthy < without.PHealthy-0.05 {
			t.Errorf("at %g of the plate's current healthy is %.3f, %.3f without it", share, p.PHealthy, without.PHealthy)
		}
	}
	if p := judge(3, true, false); p.LackOfFit < 3.5 || !warned(p, NoneFits) {
		t.Errorf("three times the plate's current: lack of fit %.2f, %+v", p.LackOfFit, p.Warnings)
	}
	at := func(p Posterior) Band {
		i := slices.IndexFunc(p.Expected, func(e Expectation) bool { return e.At == reading.Amps })
		return p.Expected[i].Band
	}
	plate, visit := at(judge(0.9, true, false)), at(judge(0.9, true, true))
	if a, b := plate.High-plate.Low, visit.High-visit.Low; b > 0.5*a {
		t.Errorf("the band is %.3g wide by the plate, %.3g by a healthy visit", a, b)
	}
}

// The power of a compressor counts by its plate: by the watts it draws or the capacity it makes. Neither is as good as a
// healthy visit. What counts may be asked for.
func TestRun_PowerByThePlate(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	watts := 3 * units.Kilo / platePower
	judge := func(plate func(m *reading.Machine), off float64) Posterior {
		s := withPower(t, f, off)
		plate(&s.Machine)
		return run(t, s, f, Options{NoPairs: true})
	}
	byPower := func(m *reading.Machine) { m.RatedPower = &watts }
	sound := judge(byPower, 1)
	if notCompared(sound, reading.Power) || !slices.Contains(sound.Used, reading.Power) {
		t.Errorf("a power with the plate's beside it does not count: %v, %+v", sound.Used, sound.Warnings)
	}
	if four := judge(byPower, 4); four.LackOfFit < 3.5 || !warned(four, NoneFits) {
		t.Errorf("four times the plate's power: lack of fit %.2f, %+v", four.LackOfFit, four.Warnings)
	}
	// By its capacity, through the model's coefficient of performance: of R-404A at −26 and 49 °C makers print 1.0 to 1.5
	// (common practice, no source).
	cold := 3 * units.Kilo * 1.25
	byCold := judge(func(m *reading.Machine) { m.RatedCapacity = &cold }, 1)
	i := slices.IndexFunc(byCold.Expected, func(e Expectation) bool { return e.At == reading.Power })
	if i < 0 || !byCold.Expected[i].In {
		t.Errorf("power by the plate's capacity: %+v", byCold.Expected)
	}
	bare := withPower(t, f, 1, cause(t, fault.CompressorValves, 0.5))
	bare.Machine.RatedPower, bare.Machine.RatedAmps = &watts, nil
	bare.Readings = bare.Readings[:4] // box, outside air and two pressures
	q := run(t, bare, f, Options{NoPairs: true})
	m, _ := bare.Machine.Resolve()
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	if p, err := setUp(bare, m, f, &cat); err != nil {
		t.Fatal(err)
	} else if _, ok := p.channel(reading.Power); !ok {
		t.Error("power is no candidate by the plate")
	} else if _, ok := p.channel(reading.Amps); ok {
		t.Error("a current without anything to compare it with is a candidate")
	}
	for _, n := range q.Next {
		if n.At == reading.Amps.String() {
			t.Error("a current is asked for that nothing is there to compare with")
		}
	}
}
