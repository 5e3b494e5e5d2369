package casebook

import (
	"math"
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/fault"
)

// answer states probabilities; what is left goes to none of these.
func answer(p map[fault.Code]float64) diagnose.Posterior {
	out := diagnose.Posterior{PNone: 1}
	for _, c := range append([]fault.Code{fault.Healthy}, fault.Singles()...) {
		v := p[c]
		out.PNone -= v
		if c == fault.Healthy {
			out.PHealthy = v
		} else {
			out.Marginals = append(out.Marginals, diagnose.Marginal{Fault: c, Probability: v})
		}
	}
	return out
}

// book is n visits of each cause of walk-ins, of above-median severity, and three times as many healthy ones.
func book(n int) []Visit {
	var out []Visit
	for range 3 * n {
		out = append(out, Visit{})
	}
	for _, c := range Truths(WalkIn) {
		for range n {
			out = append(out, Visit{Causes: []Cause{{Code: c, Z: 1, Severity: 1}}})
		}
	}
	return out
}

func rates(cat *fault.Catalogue) map[fault.Code]float64 {
	out := map[fault.Code]float64{fault.Healthy: BaseRate(cat, WalkIn, fault.Healthy)}
	for _, c := range Truths(WalkIn) {
		out[c] = BaseRate(cat, WalkIn, c)
	}
	return out
}

// Scores of answers whose worth is known beforehand: somebody who knows the truth, somebody who is always wrong and
// sure of it, and somebody who knows the base rates and nothing else, which is perfectly calibrated and never sure.
// Definitions.
func TestRate_KnownAnswers(t *testing.T) {
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	visits := book(2)
	rate := func(say func(v *Visit) map[fault.Code]float64) Score {
		answers := make([]diagnose.Posterior, len(visits))
		for i := range visits {
			answers[i] = answer(say(&visits[i]))
		}
		return Rate(WalkIn, View{Set: 'a'}, visits, answers, &cat)
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-9 {
			t.Errorf("%s: %.6f, want %.6f", what, got, want)
		}
	}
	s := rate(func(v *Visit) map[fault.Code]float64 { return map[fault.Code]float64{v.Truth(): 1} })
	near("knows: first", s.First, 1)
	near("knows: instruments", s.FirstLying, 1)
	near("knows: false alarms", s.FalseAlarm, 0)
	near("knows: alarms", s.Detected, 1)
	near("knows: sure", s.SureShare, 1)
	near("knows: sure and right", s.SureRight, 1)
	near("knows: log", s.LogTruth, 0)
	near("knows: calibration", s.CalibrationError, 0)
	if s.N != len(visits) || s.Physical != 2*11 {
		t.Errorf("%d visits, %d physical", s.N, s.Physical)
	}
	s = rate(func(v *Visit) map[fault.Code]float64 {
		if v.Truth() == fault.Healthy {
			return map[fault.Code]float64{fault.LowCharge: 1}
		}
		return map[fault.Code]float64{fault.Healthy: 1}
	})
	near("wrong: first", s.First, 0)
	near("wrong: in the first two", s.FirstTwo, 0)
	near("wrong: false alarms", s.FalseAlarm, 1)
	near("wrong: alarms", s.Detected, 0)
	near("wrong: sure and right", s.SureRight, 0)
	near("wrong: log", s.LogTruth, math.Log(1e-6)) // no answer costs more than one in a million
	near("wrong: calibration", s.CalibrationError, 1)
	base := rates(&cat)
	s = rate(func(*Visit) map[fault.Code]float64 { return base })
	near("base rates: calibration", s.CalibrationErrorAll, 0)
	near("base rates: sure", s.SureShare, 0)
	entropy := 0.0
	for _, p := range base {
		entropy += p * math.Log(p)
	}
	near("base rates: log", s.LogTruth, entropy)
}

// Of three severity intervals one holds the truth, one lies above it and one below; a restriction after the glass and an
// underfeeding valve count as one, whichever is the truth and whichever is named. Definitions.
func TestRate_CoverageAndMerged(t *testing.T) {
	cat, _ := fault.Shipped()
	visits := []Visit{
		{Causes: []Cause{{Code: fault.CoilAir, Z: 1, Severity: 0.4}}},
		{Causes: []Cause{{Code: fault.ValveUnderfeeding, Z: 1, Severity: 0.3}}},
		{Causes: []Cause{{Code: fault.CoilAir, Z: 1, Severity: 0.5}}},
		{Causes: []Cause{{Code: fault.RestrictionAfterGlass, Z: 1, Severity: 0.4}}},
	}
	a, b := answer(map[fault.Code]float64{fault.CoilAir: 1}), answer(map[fault.Code]float64{fault.RestrictionAfterGlass: 1})
	one := func(c fault.Code, low, high float64) []diagnose.Hypothesis {
		return []diagnose.Hypothesis{{Faults: []fault.Code{c}, Severity: []diagnose.Severity{{Fault: c, Low: low, High: high}}}}
	}
	a.Ranked, b.Ranked = one(fault.CoilAir, 0.35, 0.45), one(fault.ValveUnderfeeding, 0.35, 0.45)
	c := answer(map[fault.Code]float64{fault.ValveUnderfeeding: 1})
	s := Rate(WalkIn, View{Set: 'a'}, visits, []diagnose.Posterior{a, b, a, c}, &cat)
	if s.Coverage != 1.0/3 || s.First != 1 {
		t.Errorf("coverage %g, want 1/3; first %g, want 1", s.Coverage, s.First)
	}
}

// Pairs and instruments, scored on answers of known worth: the pair named first, second (behind what is no cause), fourth
// and not at all; an instrument found beside the cause of the circuit, and one that misleads. Definitions.
func TestRatePairs_RateInstrument(t *testing.T) {
	one := func(c fault.Code) diagnose.Hypothesis { return diagnose.Hypothesis{Faults: []fault.Code{c}} }
	pair := diagnose.Hypothesis{Faults: []fault.Code{fault.CoilAir, fault.LowCharge}}
	say := func(p map[fault.Code]float64, ranked ...diagnose.Hypothesis) diagnose.Posterior {
		out := answer(p)
		out.PNone, out.Ranked = 0, ranked // marginals of pairs do not add up to one
		return out
	}
	answers := []diagnose.Posterior{
		say(map[fault.Code]float64{fault.LowCharge: 0.9, fault.CoilAir: 0.8}, pair),
		say(map[fault.Code]float64{fault.Healthy: 0.7, fault.CoilAir: 0.6, fault.LowCharge: 0.5}, one(fault.CoilAir), pair),
		say(
			map[fault.Code]float64{fault.OverCharge: 0.7, fault.LowCharge: 0.2},
			one(fault.OverCharge), one(fault.LowCharge), one(fault.CoilAir), pair,
		),
		say(map[fault.Code]float64{fault.OverCharge: 0.7, fault.LowCharge: 0.2}, one(fault.OverCharge)),
	}
	visits := make([]Visit, len(answers))
	for i := range visits {
		visits[i].Causes = []Cause{{Code: fault.LowCharge}, {Code: fault.CoilAir}}
	}
	p := RatePairs(visits, answers)
	if p.Exact != 0.25 || p.TopThree != 0.5 || p.Both != 0.5 || p.Either != 0.5 ||
		math.Abs(p.Marginals[0]-0.45) > 1e-12 || math.Abs(p.Marginals[1]-0.35) > 1e-12 {
		t.Errorf("%+v", p)
	}
	lying := []Cause{{Code: fault.SuctionGauge}, {Code: fault.CoilAir}}
	found := say(map[fault.Code]float64{fault.SuctionGauge: 0.6, fault.CoilAir: 0.55})
	misled := answer(map[fault.Code]float64{fault.SuctionGauge: 0.2, fault.LowCharge: 0.7})
	s := RateInstrument([]Visit{{Causes: lying}, {Causes: lying}}, []diagnose.Posterior{found, misled})
	if s.First != 0.5 || s.FirstTwo != 1 || s.CircuitFirst != 0.5 || s.Misled != 0.5 || math.Abs(s.Probability-0.4) > 1e-12 {
		t.Errorf("%+v", s)
	}
}
