package diagnose

import (
	"context"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// Two equally likely causes with normal readings carry the bits of a two-level signal in Gaussian noise: 0.486 at
// levels ±1 in noise of 1 (from memory, tables of channel capacity), one bit far apart, none where both predict the
// same.
func TestParted(t *testing.T) {
	for _, c := range []struct{ mu, want float64 }{{0, 0}, {1, 0.486}, {20, 1}} {
		w, has := []float64{0.5, 0.5}, []bool{true, false}
		if got := parted(w, []float64{c.mu, -c.mu}, []float64{1, 1}, has); math.Abs(got-c.want) > 0.002 {
			t.Errorf("levels ±%g: %.4f bits, want %.3f", c.mu, got, c.want)
		}
	}
}

// Of two faults at once the first one to become certain is acted on and the other one named, with what decides it;
// the reading named brings its probability nearer to the truth over many machines. Truth is what the simulated
// machine has.
func TestAdvice_Also(t *testing.T) {
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	var fits Fits
	w := World{Kind: WalkIn, Law: Spread}
	named, taken, before, after := 0, 0, 0.0, 0.0
	for _, two := range [][2]fault.Code{
		{fault.CondenserAir, fault.LowCharge},
		{fault.CoilAir, fault.CondenserAir},
		{fault.SuctionRestriction, fault.CondenserAir},
		{fault.ValveOverfeeding, fault.CondenserAir},
	} {
		a, _ := cat.Find(two[0])
		b, _ := cat.Find(two[1])
		visits, err := w.VisitsOf(3, 12, &fits, 0.5, a, b)
		if err != nil {
			t.Fatal(err)
		}
		see := View{Set: 'd'}
		answers, err := Judge(context.Background(), visits, see, Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range answers {
			act := p.Advice.Code == AdviseAct || len(p.Marginals) > 0 && p.Marginals[0].Probability >= Certain
			open := fault.Unknown
			if act {
				for _, m := range p.Marginals[1:] {
					if m.Probability >= 0.25 && !lying(m.Fault) {
						open = m.Fault
						break
					}
				}
			}
			also := p.Advice.Also
			if (also != nil) != (open != fault.Unknown) || also != nil && (also.Fault != open || also.Probability != p.Marginal(open)) {
				t.Fatalf("%v, visit %d: marginals %v, also %+v, want %v", two, i, p.Marginals[:3], also, open)
			}
			if also == nil {
				continue
			}
			named++
			text, err := json.Marshal(p)
			if err != nil || !strings.Contains(string(text), `"also":{"fault":"`+open.String()) {
				t.Fatalf("not in JSON: %v", err)
			}
			s := visits[i].Sheet(see)
			at, err := reading.ParsePlace(also.At)
			r, ok := visits[i].today.Find(at)
			if err != nil || !ok {
				continue
			}
			s.Readings = append(s.Readings, r)
			truth := 0.0
			for _, c := range visits[i].Causes {
				if c.Code == open {
					truth = 1
				}
			}
			then := run(t, s, visits[i].Fit, Options{})
			taken++
			before += (also.Probability - truth) * (also.Probability - truth)
			m := then.Marginal(open)
			after += (m - truth) * (m - truth)
		}
	}
	t.Logf("named %d, reading taken %d, squared error %.3f before, %.3f after", named, taken, before/float64(taken), after/float64(taken))
	if named < 5 || taken < 3 || after >= before {
		t.Errorf("named %d, taken %d, squared error %.3f before, %.3f after", named, taken, before, after)
	}
}
