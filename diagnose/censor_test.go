package diagnose

import (
	"context"
	"errors"
	"math"
	"testing"

	"coldwright/fail"
	"coldwright/internal/testkit"
	"coldwright/machine/circuit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

// TestCensored_Head: a head beyond what the refrigerant is known for speaks as loudly as one just before it, and the
// machine must be stopped.
func TestCensored_Head(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	_, hi := f.PRange()
	s := freezer(-1, 75, 20, 0, reading.Clear)
	at := func(pa float64) Posterior {
		s.Readings[3].Value = pa
		return run(t, s, f, Options{})
	}
	before := at(0.995 * hi)
	for _, over := range []float64{1.005, 1.02, 1.1, 1.3} {
		p := at(over * hi)
		if p.PHealthy > 0.01 || p.Ranked[0].Faults[0] == fault.Healthy {
			t.Errorf("head %.3f of what is known: healthy %.3f", over, p.PHealthy)
		}
		if got, want := p.Marginal(fault.CondenserAir), before.Marginal(fault.CondenserAir); math.Abs(got-want) > 0.25 {
			t.Errorf("head %.3f of what is known: condenser air %.3f, just before %.3f", over, got, want)
		}
		if !warned(p, HeadAtCutOut) || !warned(p, circuit.PressureOutside) {
			t.Errorf("head %.3f of what is known: not said: %v", over, p.Warnings)
		}
	}
}

// TestCensored_LikelihoodIsTheTail: the log probability falls from nothing to that of the tail, and its slope is the one
// a step uses.
func TestCensored_LikelihoodIsTheTail(t *testing.T) {
	for _, tl := range []*tails{&heavy, &light} {
		for _, c := range []censor{atLeast, atMost} {
			o := observation{y: 300, measure: 0.6, discrepancy: 0.8, tails: tl, censored: c}
			side := map[censor]float64{atLeast: 1, atMost: -1}[c]
			if far := o.log(300+side*20, 1); far < -1e-6 {
				t.Errorf("well beyond the limit is not certain: %g", far)
			}
			if half := o.log(300, 1); math.Abs(half-math.Log(0.5)) > 1e-12 {
				t.Errorf("at the limit: %g", half)
			}
			for pred := 285.0; pred < 315; pred += 0.7 {
				const h = 1e-5
				want := (o.log(pred+h, o.sigma()) - o.log(pred-h, o.sigma())) / (2 * h)
				got, curve := o.slopeOfLog(pred)
				if math.Abs(got-want) > 1e-5*(1+math.Abs(want)) || curve < 0 {
					t.Errorf("slope at %g: %g, want %g; curvature %g", pred, got, want, curve)
				}
			}
		}
	}
}

// TestPressures_JudgedOrRefused: every pressure from deep vacuum to beyond the critical one is judged or refused in words
// for every refrigerant, and what is judged counts: none is left out in silence.
func TestPressures_JudgedOrRefused(t *testing.T) {
	refused, judged := 0, 0
	for _, name := range refrigerant.Designations() {
		r, err := refrigerant.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		f, err := r.Fit()
		if err != nil {
			continue // said where the refrigerant is chosen
		}
		lo, hi := f.PRange()
		crit := r.Limits().PCrit
		box, out := 268.15, 303.15
		for _, c := range []struct {
			at reading.Place
			pa float64
		}{
			{reading.SuctionPressure, 5e3},
			{reading.SuctionPressure, 0.8 * lo},
			{reading.SuctionPressure, 1.02 * hi},
			{reading.DischargePressure, 1.02 * hi},
			{reading.DischargePressure, 1.2 * crit},
			{reading.DischargePressure, 0.9 * lo},
		} {
			if c.at.Check(c.pa) != nil {
				continue // refused where it is typed
			}
			// The other gauge and all else stay as they would be.
			low, high := f.DewT(box-8), f.DewT(math.Min(out+15, 0.99*f.DewP(hi)))
			if c.at == reading.SuctionPressure {
				low = c.pa
				high = math.Max(high, 1.01*low)
			} else {
				high = c.pa
				low = math.Min(low, 0.99*high)
			}
			s := reading.Sheet{Machine: reading.Machine{Refrigerant: name, Application: reading.WalkInCooler}, Readings: []reading.Reading{
				{At: reading.BoxAir, Value: box},
				{At: reading.Ambient, Value: out},
				{At: reading.SuctionPressure, Value: low},
				{At: reading.DischargePressure, Value: high},
			}}
			p, err := Run(context.Background(), Evidence{s, f}, Options{NoPairs: true})
			if err != nil {
				if said := (*fail.Error)(nil); !errors.As(err, &said) || said.Key == "" {
					t.Errorf("%s, %s %g: refused without words: %v", name, c.at, c.pa, err)
				}
				refused++
				continue
			}
			judged++
			held := false
			for _, it := range p.Ranked[0].Evidence {
				held = held || it.At == c.at.String()
			}
			for _, h := range p.Ranked {
				for _, it := range h.Evidence {
					held = held || it.At == c.at.String()
				}
			}
			// Where nothing runs at all no cause has evidence; then it is said that the readings fit nothing.
			if !held && !warned(p, NoneFits) {
				t.Errorf("%s, %s %g: left out in silence", name, c.at, c.pa)
			}
			if c.at == reading.DischargePressure && c.pa > hi && !warned(p, HeadAtCutOut) {
				t.Errorf("%s, head %g: the machine is not stopped", name, c.pa)
			}
		}
	}
	t.Logf("%d judged, %d refused in words", judged, refused)
	if judged < 200 {
		t.Errorf("only %d were judged", judged)
	}
}
