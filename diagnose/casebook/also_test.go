package casebook

import (
	"context"
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/verdict/threshold"
)

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
		answers, err := Judge(context.Background(), visits, see, diagnose.Options{})
		if err != nil {
			t.Fatal(err)
		}
		for i, p := range answers {
			act := p.Advice.Code == diagnose.AdviseAct || len(p.Marginals) > 0 && p.Marginals[0].Probability >= threshold.Certain
			open := fault.Unknown
			if act {
				for _, m := range p.Marginals[1:] {
					if m.Probability >= 0.25 && !m.Fault.Instrument() {
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
			then, err := diagnose.Run(context.Background(), diagnose.Evidence{Sheet: s, Fit: visits[i].Fit}, diagnose.Options{})
			if err != nil {
				t.Fatal(err)
			}
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
