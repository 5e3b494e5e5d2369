package verdict_test

import (
	"testing"

	"pgregory.net/rapid"

	"coldwright/fail"
	"coldwright/machine/charge"
	"coldwright/machine/fault"
	"coldwright/proof/pulldown"
	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/units"
	"coldwright/verdict"
)

func TestProofs(t *testing.T) {
	set, at, above := units.Fahrenheit(36), units.Fahrenheit(37.9), units.Fahrenheit(38.1)
	hold := func(v standing.Verdict) verdict.Proof { return verdict.OfStanding(&standing.Result{Verdict: v}) }
	rise := func(v vacuum.Verdict) verdict.Proof { return verdict.OfVacuum(&vacuum.Result{Verdict: v}) }
	weigh := func(a charge.Advice, known bool) verdict.Proof {
		return verdict.OfCharge(&charge.Progress{Advice: a}, known)
	}
	record := func(count int, e ...templog.Excursion) verdict.Proof {
		return verdict.OfRecord(&templog.Record{Excursions: e, Count: count})
	}
	pull := func(v pulldown.Verdict, box *units.Temp) verdict.Proof {
		return verdict.OfCold(&pulldown.Result{Verdict: v}, box, &set)
	}
	overPlate := standing.Result{Verdict: standing.TightWithin, Plate: fail.Of(fail.Forbidden, "pressure", "a test", nil)}
	for _, c := range []struct {
		name  string
		got   verdict.Proof
		stage verdict.Stage
		state verdict.State
		rule  verdict.ProofRule
	}{
		{"held", hold(standing.TightWithin), verdict.Tight, verdict.Proven, verdict.HeldWithinLimits},
		{"held above the plate", verdict.OfStanding(&overPlate), verdict.Tight, verdict.Open, verdict.HeldAbovePlate},
		{"lost", hold(standing.Leaking), verdict.Tight, verdict.Failed, verdict.PressureLost},
		{"undecided", hold(standing.Undecided), verdict.Tight, verdict.Open, verdict.HoldUndecided},
		{"no leak seen", hold(standing.NoLeakSeen), verdict.Tight, verdict.Open, verdict.NoPressureLost},
		{"dry, no leak seen", rise(vacuum.DryNoLeakSeen), verdict.Dry, verdict.Proven, verdict.VacuumDryNoLeak},
		{"dry", rise(vacuum.DryAndTight), verdict.Dry, verdict.Proven, verdict.VacuumDry},
		{"vacuum leaks", rise(vacuum.Leak), verdict.Dry, verdict.Failed, verdict.VacuumLeaks},
		{"moist", rise(vacuum.Moisture), verdict.Dry, verdict.Failed, verdict.VacuumMoist},
		{"both", rise(vacuum.Both), verdict.Dry, verdict.Failed, verdict.VacuumBoth},
		{"too cold to say", rise(vacuum.CannotProveDry), verdict.Dry, verdict.Open, verdict.VacuumDryOpen},
		{"vacuum undecided", rise(vacuum.Undecided), verdict.Dry, verdict.Open, verdict.VacuumUndecided},
		{"weighed in", weigh(charge.StopReached, true), verdict.Charged, verdict.Proven, verdict.WeighedIn},
		{"weighed in to nobody knows what", weigh(charge.StopReached, false), verdict.Charged, verdict.Open, verdict.WeighedUnplaced},
		{"too much", weigh(charge.TooMuch, true), verdict.Charged, verdict.Failed, verdict.WeighedTooMuch},
		{"still adding", weigh(charge.SlowDown, true), verdict.Charged, verdict.Open, verdict.WeighingOpen},
		{"reached", pull(pulldown.Reached, &above), verdict.Cold, verdict.Proven, verdict.SetPointReached},
		{"at the set point", verdict.OfCold(nil, &at, &set), verdict.Cold, verdict.Proven, verdict.BoxAtSetPoint},
		{"above it", verdict.OfCold(nil, &above, &set), verdict.Cold, verdict.Open, verdict.BoxAboveIt},
		{"falling", pull(pulldown.Falling, &above), verdict.Cold, verdict.Open, verdict.BoxAboveIt},
		{"flat", pull(pulldown.Stalled, &above), verdict.Cold, verdict.Failed, verdict.PullDownFlat},
		{"warmer", pull(pulldown.Warming, &above), verdict.Cold, verdict.Failed, verdict.PullDownWarming},
		{"no set point", verdict.OfCold(nil, &at, nil), verdict.Cold, verdict.Open, verdict.NotDone},
		{"never above", record(0), verdict.Recorded, verdict.Proven, verdict.RecordWithin},
		{"defrosts", record(1, templog.Excursion{Defrost: true, Sure: true}), verdict.Recorded, verdict.Proven, verdict.RecordWithin},
		{"above", record(1, templog.Excursion{Sure: true}), verdict.Recorded, verdict.Failed, verdict.RecordAbove},
		{"perhaps above", record(1, templog.Excursion{}), verdict.Recorded, verdict.Open, verdict.RecordPerhaps},
		{"more than were looked at", record(2, templog.Excursion{Defrost: true}), verdict.Recorded, verdict.Open, verdict.RecordPerhaps},
		{"unjudged", verdict.Unjudged(verdict.Dry), verdict.Dry, verdict.Open, verdict.NotJudged},
	} {
		if c.got.Stage != c.stage || c.got.State != c.state || c.got.Rule != c.rule {
			t.Errorf("%s: %+v, want %s %s by %s", c.name, c.got, c.stage, c.state, c.rule)
		}
	}
}

func TestOfVisit(t *testing.T) {
	of := func(p float64) *verdict.Judgement {
		return verdict.Form(verdict.Facts{Readings: 8, PHealthy: 0.99 - p, Suspects: suspects(fault.LowCharge, p)})
	}
	sick, likely, even, well := of(0.97), of(0.8), of(0.5), of(0.02)
	odd := verdict.Form(verdict.Facts{Readings: 8, PNone: 0.9, Suspects: suspects(fault.LowCharge, 0.05)})
	cold := []verdict.Proof{{Stage: verdict.Cold, State: verdict.Proven, Rule: verdict.BoxAtSetPoint}}
	for _, c := range []struct {
		name    string
		f       verdict.VisitFacts
		outcome verdict.Outcome
		because verdict.Because
		healthy verdict.Status
		rule    verdict.HealthyRule
	}{
		{
			"nothing",
			verdict.VisitFacts{},
			verdict.NeedsMoreWork, verdict.NoCause, verdict.Unknown, verdict.HealthyUnjudged,
		},
		{
			"found",
			verdict.VisitFacts{Before: sick},
			verdict.NeedsMoreWork, verdict.CauseIs, verdict.No, verdict.HealthyNot,
		},
		{
			"likely",
			verdict.VisitFacts{Before: likely},
			verdict.NeedsMoreWork, verdict.CauseLikely, verdict.No, verdict.HealthyNot,
		},
		{
			"even",
			verdict.VisitFacts{Before: even},
			verdict.NeedsMoreWork, verdict.CauseUnclear, verdict.Unknown, verdict.HealthyOpen,
		},
		{
			"nothing fits",
			verdict.VisitFacts{Before: odd},
			verdict.NeedsMoreWork, verdict.CauseUnclear, verdict.No, verdict.HealthyNoFit,
		},
		{
			"a leak found",
			verdict.VisitFacts{Before: even, LeakFound: true},
			verdict.NeedsMoreWork, verdict.FoundLeak, verdict.Unknown, verdict.HealthyOpen,
		},
		{
			"sound",
			verdict.VisitFacts{Before: well},
			verdict.Works, verdict.NoCause, verdict.Yes, verdict.HealthyLikely,
		},
		{
			"sound, then something was done",
			verdict.VisitFacts{Before: well, Changed: true},
			verdict.NeedsMoreWork, verdict.NoCause, verdict.Unknown, verdict.HealthyChanged,
		},
		{
			"mended",
			verdict.VisitFacts{Before: sick, After: well, AfterCounts: true, Changed: true, ReadAfter: true, Proofs: cold},
			verdict.ColdAgain, verdict.CauseIs, verdict.Yes, verdict.HealthyLikely,
		},
		{
			"cold again, and the readings still point to a cause",
			verdict.VisitFacts{Before: sick, After: even, AfterCounts: true, Changed: true, ReadAfter: true, Proofs: cold},
			verdict.ColdNotSettled, verdict.CauseIs, verdict.Unknown, verdict.HealthyOpen,
		},
		{
			"mended, not cold yet",
			verdict.VisitFacts{Before: sick, After: well, AfterCounts: true, Changed: true, ReadAfter: true},
			verdict.Works, verdict.CauseIs, verdict.Yes, verdict.HealthyLikely,
		},
		{
			"not mended",
			verdict.VisitFacts{Before: sick, After: even, AfterCounts: true, Changed: true, ReadAfter: true},
			verdict.NotYetProven, verdict.CauseIs, verdict.Unknown, verdict.HealthyOpen,
		},
		{
			"cold, nothing done",
			verdict.VisitFacts{Before: even, ReadAfter: true, Proofs: cold},
			verdict.HoldsCold, verdict.CauseUnclear, verdict.Unknown, verdict.HealthyOpen,
		},
	} {
		c.f.Stages = verdict.Stages()
		v := verdict.OfVisit(c.f)
		if v.Outcome != c.outcome || v.Because != c.because || v.Healthy != c.healthy || v.HealthyRule != c.rule {
			t.Errorf("%s: %s, %s, healthy %v by %s", c.name, v.Outcome, v.Because, v.Healthy, v.HealthyRule)
		}
		if len(v.Proofs) != len(verdict.Stages()) {
			t.Errorf("%s: %+v", c.name, v.Proofs)
		}
	}
	if p := verdict.OfVisit(verdict.VisitFacts{Stages: []verdict.Stage{verdict.Tight}, Closed: true}).Proofs; len(p) != 1 ||
		p[0].State != verdict.Skipped {
		t.Errorf("closed without it: %+v", p)
	}
}

// Whatever the facts: what is proven or failed is so by a rule with a name that says it, cold again is never said of a
// box that is not proven cold, and of several records the worst one counts.
func TestOfVisit_Properties(t *testing.T) {
	rules := map[verdict.ProofRule]bool{}
	for _, r := range verdict.ProofRules() {
		rules[r] = true
	}
	rapid.Check(t, func(t *rapid.T) {
		var all []verdict.Proof
		for v := standing.TightWithin; v <= standing.NoLeakSeen; v++ {
			all = append(all, verdict.OfStanding(&standing.Result{Verdict: v}))
		}
		for v := vacuum.DryAndTight; v <= vacuum.DryNoLeakSeen; v++ {
			all = append(all, verdict.OfVacuum(&vacuum.Result{Verdict: v}))
		}
		set, box := units.Celsius(3), units.Celsius(rapid.Float64Range(-5, 20).Draw(t, "box"))
		for v := pulldown.TooShort; v <= pulldown.Warming; v++ {
			all = append(all, verdict.OfCold(&pulldown.Result{Verdict: v}, &box, &set))
		}
		for _, sure := range []bool{false, true} {
			all = append(all, verdict.OfRecord(&templog.Record{Excursions: []templog.Excursion{{Sure: sure}}, Count: 1}))
		}
		f := verdict.VisitFacts{
			Stages: verdict.Stages(), Closed: rapid.Bool().Draw(t, "closed"), Changed: rapid.Bool().Draw(t, "changed"),
			ReadAfter: rapid.Bool().Draw(t, "read"), AfterCounts: rapid.Bool().Draw(t, "after"),
			Proofs: rapid.SliceOfN(rapid.SampledFrom(all), 0, 6).Draw(t, "proofs"),
		}
		for _, to := range []**verdict.Judgement{&f.Before, &f.After} {
			if rapid.Bool().Draw(t, "judged") {
				*to = verdict.Form(drawn(t))
			}
		}
		v := verdict.OfVisit(f)
		for _, p := range v.Proofs {
			if !rules[p.Rule] {
				t.Fatalf("%s is %s by no known rule: %q", p.Stage, p.State, p.Rule)
			}
			if p.State == verdict.Skipped && (!f.Closed || p.Rule != verdict.NotDone) {
				t.Fatalf("skipped: %+v", p)
			}
		}
		cold := v.Proof(verdict.Cold).State == verdict.Proven
		if (v.Outcome == verdict.ColdAgain || v.Outcome == verdict.HoldsCold) && !cold {
			t.Fatalf("%s without proof", v.Outcome)
		}
		if v.Outcome == verdict.ColdAgain && f.After != nil && f.After.Healthy == verdict.No {
			t.Fatal("cold again, and a cause is likely")
		}
		if v.Outcome == verdict.Works && !(f.After != nil && f.After.Healthy == verdict.Yes) &&
			!(f.Before != nil && f.Before.Healthy == verdict.Yes && !f.Changed) {
			t.Fatal("works, and nothing says that nothing is wrong")
		}
		if v.Healthy == verdict.Yes && (v.Judged() == nil || v.Judged().Healthy != verdict.Yes) {
			t.Fatal("healthy by no judgement")
		}
		for _, p := range v.Proofs {
			if p.Stage == verdict.Recorded && p.State == verdict.Failed && v.Proof(verdict.Recorded).State != verdict.Failed {
				t.Fatal("a record above its limit does not count")
			}
		}
	})
}
