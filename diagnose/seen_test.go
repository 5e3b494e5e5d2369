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

// TestSeen_RowsAddUp: whatever the state, the answers a thing seen can have add up to one, and so do those of the broad
// hypothesis: no explanation gains by a thing being looked at.
func TestSeen_RowsAddUp(t *testing.T) {
	one := func(what string, p ...float64) {
		t.Helper()
		sum := 0.0
		for _, v := range p {
			if !(v > 0) {
				t.Errorf("%s: an answer is impossible: %v", what, p)
			}
			sum += v
		}
		if math.Abs(sum-1) > 1e-12 {
			t.Errorf("%s: %v add up to %g", what, p, sum)
		}
	}
	for x := -0.2; x <= 1; x += 0.01 {
		one("glass", pGlass(reading.Clear, x), pGlass(reading.Bubbling, x), pGlass(reading.Empty, x))
		lost := math.Max(0, x)
		one("dirt", pDirt(reading.None, lost), pDirt(reading.Some, lost), pDirt(reading.Heavy, lost))
		one("ice", pIce(reading.None, lost), pIce(reading.Some, lost), pIce(reading.Heavy, lost))
		for _, idle := range []float64{idleByMistake, idleByControl} {
			r := fans(lost, idle)
			one("fans", r[:]...)
		}
	}
	for _, ch := range []plant.Change{{}, {LowCharge: 0.2}, {OverCharge: 0.2}} {
		r := fullness(&ch)
		one("receiver", r[:]...)
	}
	one("broad glass", broad.glass[:]...)
	one("broad dirt", broad.dirt[:]...)
	one("broad ice", broad.ice[:]...)
	one("broad condenser fans", broad.condenserFans[:]...)
	one("broad coil fans", broad.coilFans[:]...)
	one("broad receiver", broad.receiver[:]...)
	// A fan share falls into one of the answers, and into that of all fans only where all run.
	for _, c := range []struct {
		share float64
		want  int
	}{{1, 0}, {0.995, 0}, {0.98, 1}, {0.75, 1}, {0.5, 2}, {0.3, 3}, {0, 4}} {
		if got := quarters(c.share); got != c.want {
			t.Errorf("%g running: answer %d, want %d", c.share, got, c.want)
		}
	}
}

// TestSeen_StoppedFans: fans seen to stand still explain warm air at the condenser's face and a high head; "none of
// these" has nothing to add.
func TestSeen_StoppedFans(t *testing.T) {
	f := testkit.Fit(t, "R-448A")
	none := 0.0
	s := freezer(1, 82, 16, 350, reading.Clear)
	s.Machine.Refrigerant = "R-448A"
	s.Readings = append(s.Readings, reading.Reading{At: reading.CondenserFaceAir, Value: degF(99)})
	s.Seen.CondenserFans = &none
	p := run(t, s, f, Options{})
	if got := p.Marginal(fault.CondenserAir); got < 0.9 || p.PNone > 0.05 {
		t.Errorf("condenser air %.3f, none of these %.3f", got, p.PNone)
	}
	if !warned(p, CondenserFansStopped) {
		t.Errorf("the stopped fans are not said: %v", p.Warnings)
	}
	// Fans that a head control holds still in the cold are no finding.
	s = freezer(1, 41, 18, 190, reading.Clear)
	set := units.Fahrenheit(90)
	s.Machine.HeadControl, s.Machine.HeadSet = reading.FanCycling, &set
	s.Seen.CondenserFans = &none
	if p := run(t, s, testkit.Fit(t, "R-404A"), Options{}); warned(p, CondenserFansStopped) {
		t.Error("fans that rest are called stopped")
	}
}

// TestSeen_Certain: what is certain is named whatever the readings say.
func TestSeen_Certain(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	half := 0.5
	for _, c := range []struct {
		code string
		see  func(*reading.Seen)
	}{
		{CondenserDirtHeavy, func(s *reading.Seen) { s.CondenserDirt = reading.Heavy }},
		{CoilIceHeavy, func(s *reading.Seen) { s.CoilIce = reading.Heavy }},
		{CoilFansStopped, func(s *reading.Seen) { s.CoilFans = &half }},
		{CondenserFansStopped, func(s *reading.Seen) { s.CondenserFans = &half }},
	} {
		s := freezer(0, 77, 19, 247, reading.Clear)
		c.see(&s.Seen)
		if p := run(t, s, f, Options{NoPairs: true}); !warned(p, c.code) {
			t.Errorf("%s is not among %v", c.code, p.Warnings)
		}
	}
	if p := run(t, freezer(0, 77, 19, 247, reading.Clear), f, Options{NoPairs: true}); p.Warnings != nil {
		for _, w := range p.Warnings {
			for _, code := range SightCodes() {
				if w.Code == code {
					t.Errorf("%s though nothing was seen", code)
				}
			}
		}
	}
}

func warned(p Posterior, code string) bool {
	for _, w := range p.Warnings {
		if w.Code == code {
			return true
		}
	}
	return false
}

// TestPairs_LeakInVacuum: a leaking circuit that runs below the pressure of the air outside has drawn in air more often
// than the two would meet by chance; above it nothing changes.
func TestPairs_LeakInVacuum(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		psig float64
		more bool
	}{{-4, true}, {10, false}} {
		s := freezer(12, 75, c.psig, 220, reading.Bubbling)
		m, _ := s.Machine.Resolve()
		q, err := setUp(s, m, f, &cat)
		if err != nil {
			t.Fatal(err)
		}
		var leak, air *hypothesis
		for _, h := range q.singles() {
			switch h.faults[0].Code {
			case fault.LowCharge:
				leak = h
			case fault.Noncondensables:
				air = h
			}
		}
		both := q.rateOfBoth(air, leak)
		if both != q.rateOfBoth(leak, air) || (both > 2*leak.rate*air.rate) != c.more {
			t.Errorf("suction %g psig: both at %.5f, by chance %.5f", c.psig, both, leak.rate*air.rate)
		}
	}
}
