package diagnose

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"testing"

	"coldwright/fail"
	"coldwright/internal/testkit"
	"coldwright/machine/circuit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// randomSheet is anything a person might write down: readings near what could be, anywhere in what a place may show, at
// its ends, twice, missing; any instrument; everything seen.
func randomSheet(rng *rand.Rand, name string, f *refrigerant.Fit) reading.Sheet {
	m := reading.Machine{
		Refrigerant: name,
		Application: reading.Application(rng.IntN(int(reading.Other) + 1)),
		Expansion:   reading.Expansion(rng.IntN(int(reading.Capillary) + 1)),
		HeadControl: reading.HeadControl(rng.IntN(int(reading.VariableFan) + 1)),
	}
	if rng.IntN(2) == 0 {
		a := 3 + 20*rng.Float64()
		m.RatedAmps = &a
	}
	for _, plate := range []**float64{&m.LockedAmps, &m.RatedPower, &m.RatedCapacity} {
		if rng.IntN(3) == 0 {
			v := 20 + 4000*rng.Float64()
			*plate = &v
		}
	}
	if rng.IntN(3) == 0 {
		yes := rng.IntN(2) == 0
		m.Receiver = &yes
	}
	s := reading.Sheet{Machine: m}
	r, _ := m.Resolve()
	box, out := float64(r.Box)+4*rng.NormFloat64(), float64(r.Ambient)-10+8*rng.NormFloat64()
	near := func(p reading.Place) float64 {
		switch p {
		case reading.SuctionPressure, reading.CoilPressure:
			return f.DewT(box - 4 - 8*rng.Float64())
		case reading.DischargePressure, reading.LiquidPressure:
			return f.DewT(out + 8 + 15*rng.Float64())
		case reading.StandingPressure:
			return f.DewT(out + 2*rng.NormFloat64())
		case reading.BoxAir, reading.BoxDisplay, reading.CoilAirOff, reading.CoilOutletLine:
			return box - 5*rng.Float64()
		case reading.DischargeLine:
			return out + 20 + 50*rng.Float64()
		case reading.SuctionLine:
			return box + (out-box)*rng.Float64()
		case reading.Amps, reading.HeaterAmps:
			return 12 * rng.Float64()
		case reading.Power:
			return 3000 * rng.Float64()
		case reading.BoxHumidity:
			return 0.2 + 0.8*rng.Float64()
		}
		return out + 10*rng.Float64()
	}
	mild := rng.IntN(2) == 0 // half the sheets are plausible but for one or two readings
	for _, p := range reading.Places() {
		if rng.IntN(5) < 2 && p != reading.SuctionPressure && p != reading.DischargePressure {
			continue
		}
		lo, hi := p.Range()
		v := near(p)
		if k := rng.IntN(12); !mild && k < 6 || k == 0 {
			switch rng.IntN(4) {
			case 0:
				v = lo
			case 1:
				v = hi
			case 2: // beyond
				v = hi + (hi-lo)*rng.Float64()
			default:
				v = lo + (hi-lo)*rng.Float64()
			}
		}
		x := reading.Reading{At: p, Value: v, Instrument: reading.Instrument(rng.IntN(int(reading.ByHand) + 1))}
		if rng.IntN(6) == 0 {
			x.U = math.Abs(x.Instrument.U(p)) * math.Exp(2*rng.NormFloat64())
		}
		s.Readings = append(s.Readings, x)
		if rng.IntN(15) == 0 {
			s.Readings = append(s.Readings, reading.Reading{At: p, Value: near(p)})
		}
	}
	some := func(n int) int { return rng.IntN(n+2) - min(1, rng.IntN(2)) }
	word := func(n int) int { return max(0, min(n, some(n))) }
	share := func() *float64 {
		if rng.IntN(2) == 0 {
			return nil
		}
		v := float64(rng.IntN(5)) / 4
		return &v
	}
	s.Seen = reading.Seen{
		Glass: reading.Glass(word(3)), CondenserDirt: reading.Level(word(3)), CoilIce: reading.Level(word(3)),
		CoilFans: share(), CondenserFans: share(), ReceiverLevel: share(),
		OilMarks: reading.Mark(word(2)), FrostOnCompressor: reading.Mark(word(2)), BypassFrost: reading.Mark(word(2)),
		Door: reading.Door(word(3)),
	}
	if rng.IntN(3) == 0 {
		v := 200 * rng.Float64()
		s.RunningMin = &v
	}
	if rng.IntN(4) == 0 {
		s.RoomLoad = &reading.RoomLoad{Share: 2 * rng.Float64(), U: 0.05 + 0.2*rng.Float64()}
	}
	return s
}

// used reports whether a reading of a sheet counted: it stands among the evidence of a cause, is what all else is counted
// from, or is named as left out.
func used(p *Posterior, s reading.Sheet, at reading.Place) bool {
	switch at {
	case reading.BoxAir, reading.Ambient:
		return true // every other reading is counted from them
	case reading.BoxWetBulb, reading.BoxHumidity:
		if slices.Contains(p.Used, at) {
			return true
		}
	case reading.BoxDisplay:
		if _, probe := s.Find(reading.BoxAir); !probe {
			return true
		}
	case reading.CondenserFaceAir:
		if _, air := s.Find(reading.Ambient); !air {
			return true
		}
	}
	for i := range p.Ranked {
		if slices.ContainsFunc(p.Ranked[i].Evidence, func(it Item) bool { return it.At == at.String() }) {
			return true
		}
	}
	return slices.ContainsFunc(p.Warnings, func(w reading.Finding) bool {
		return (w.Code == NotCompared || w.Code == circuit.PressureOutside || w.Code == reading.OutOfRange) && slices.Contains(w.At, at.String())
	})
}

// TestRandomSheets: whatever is written down, no panic, probabilities that add up to one, nothing read left out in
// silence, and something to do next; or a refusal in words. COLDWRIGHT_SHEETS sets how many, COLDWRIGHT_SEED the seed.
func TestRandomSheets(t *testing.T) {
	count, seed := 250, uint64(20261130)
	if testing.Short() {
		count = 40
	}
	if v, err := strconv.Atoi(os.Getenv("COLDWRIGHT_SHEETS")); err == nil {
		count = v
	}
	if v, err := strconv.ParseUint(os.Getenv("COLDWRIGHT_SEED"), 10, 64); err == nil {
		seed = v
	}
	t.Logf("seed %d, %d sheets", seed, count)
	names := []string{"R-404A", "R-134a", "R-448A", "R-290", "R-410A", "R-407C", "R-22", "R-744"}
	refused := map[string]int{}
	judgedN, noState := 0, 0
	for i := range count {
		rng := rand.New(rand.NewPCG(seed, uint64(i)))
		name := names[rng.IntN(len(names))]
		f := testkit.Fit(t, name)
		s := randomSheet(rng, name, f)
		p, err := Run(context.Background(), Evidence{s, f}, Options{NoPairs: i%4 != 0})
		if err != nil {
			said := (*fail.Error)(nil)
			if !errors.As(err, &said) || said.Key == "" {
				t.Errorf("sheet %d: refused without words: %v", i, err)
				continue
			}
			refused[said.Key]++
			continue
		}
		judgedN++
		sum := 0.0
		for _, h := range p.Ranked {
			sum += h.Probability
			if math.IsNaN(h.Probability) || h.Probability < 0 {
				t.Errorf("sheet %d: %s is %g", i, h.Name(), h.Probability)
			}
		}
		// What is less than one in ten thousand may be left off the list.
		if sum > 1+1e-9 || sum < 0.99 {
			t.Errorf("sheet %d: probabilities add up to %g", i, sum)
		}
		if !slices.Contains(AdviceCodes(), p.Advice.Code) || p.Advice.Code == AdviseRead && len(p.Next) == 0 {
			t.Errorf("sheet %d: nothing to do next: %+v", i, p.Advice)
		}
		if !slices.ContainsFunc(p.Ranked, func(h Hypothesis) bool { return h.Evidence != nil }) {
			noState++ // no cause runs at all: that nothing fits is said instead
			if !warned(p, NoneFits) {
				t.Errorf("sheet %d: no cause runs and nothing says so", i)
			}
			continue
		}
		for _, x := range s.Readings {
			if !used(&p, s, x.At) {
				t.Errorf("sheet %d: %s %s %g is left out in silence", i, name, x.At, x.Value)
			}
		}
	}
	t.Logf("%d judged (%d where nothing runs), refused: %v", judgedN, noState, refused)
	if judgedN < count/5 {
		t.Errorf("only %d of %d were judged", judgedN, count)
	}
}

// TestEveryPlaceCounts: what is asked for counts. On each place that a judgement offers to read, two values far apart
// leave two different lists of causes.
func TestEveryPlaceCounts(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	base := freezer(3, 75, 14, 230, reading.GlassUnknown)
	amps := 9.0
	base.Machine.RatedAmps = &amps
	healthy := base
	healthy.Readings = append(slices.Clone(base.Readings), reading.Reading{At: reading.Power, Value: 1800})
	base.HealthyVisits = []reading.Sheet{healthy}
	values := map[reading.Place][2]float64{
		reading.CoilPressure: {psig(15), psig(24)}, reading.LiquidPressure: {psig(228), psig(190)},
		reading.StandingPressure: {psig(150), psig(190)}, reading.CoilAirOff: {degF(-4), degF(1)},
		reading.BoxDisplay: {degF(3), degF(12)}, reading.CondenserFaceAir: {degF(75), degF(90)},
		reading.CondenserAirOff: {degF(85), degF(105)}, reading.CoilOutletLine: {degF(-8), degF(2)},
		reading.SuctionLine: {degF(-8), degF(45)}, reading.DischargeLine: {degF(130), degF(220)},
		reading.LiquidLine: {degF(80), degF(100)}, reading.DrierIn: {degF(80), degF(100)},
		reading.DrierOut: {degF(70), degF(98)}, reading.Amps: {5, 9}, reading.Power: {1200, 1900}, reading.HeaterAmps: {0, 8},
	}
	for _, at := range reading.Places() {
		if _, given := base.Find(at); given || at == reading.BoxWetBulb || at == reading.BoxHumidity { // a freezer's coil counts as dry: below
			continue
		}
		v, ok := values[at]
		if !ok {
			t.Errorf("%s has no values to try", at)
			continue
		}
		var got [2]Posterior
		for k := range got {
			s := base
			s.Readings = append(slices.Clone(base.Readings), reading.Reading{At: at, Value: v[k]})
			got[k] = run(t, s, f, Options{NoPairs: true})
		}
		moved := math.Abs(got[0].PHealthy - got[1].PHealthy)
		for _, c := range fault.Singles() {
			moved = math.Max(moved, math.Abs(got[0].Marginal(c)-got[1].Marginal(c)))
		}
		if moved < 0.02 {
			t.Errorf("%s: from %g to %g no probability moves by more than %.4f", at, v[0], v[1], moved)
		}
	}
	room := testkit.Fit(t, "R-410A")
	for at, v := range map[reading.Place][2]float64{
		reading.BoxWetBulb: {float64(units.Celsius(13)), float64(units.Celsius(24))}, reading.BoxHumidity: {0.2, 0.85},
	} {
		var got [2]Posterior
		for k := range got {
			s := dryRoom(t, 13, false)
			s.Readings = append(s.Readings, reading.Reading{At: at, Value: v[k]})
			got[k] = run(t, s, room, Options{NoPairs: true})
		}
		if moved := math.Abs(got[0].PHealthy - got[1].PHealthy); moved < 0.02 {
			t.Errorf("%s: from %g to %g healthy moves by %.4f", at, v[0], v[1], moved)
		}
	}
}
