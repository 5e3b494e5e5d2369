package verdict

import (
	"slices"

	"coldwright/machine/fault"
)

// Outcome is what a visit comes to, for the customer.
type Outcome string

// The outcomes.
const (
	ColdAgain      Outcome = "cold_again"       // something was done and the cold is proven
	ColdNotSettled Outcome = "cold_not_settled" // … and the readings after it still point to a cause
	Works          Outcome = "works"            // nothing wrong is likely, on the readings at the end
	HoldsCold      Outcome = "holds"            // the cold is proven, nothing was done
	NotYetProven   Outcome = "not_yet_proven"   // read at the end, and not proven
	ItStillLeaks   Outcome = "still_leaks"      // a leak is seen and open, whatever else is proven
	NeedsMoreWork  Outcome = "needs_more_work"  // nothing shows that it is right
)

// Outcomes lists them.
func Outcomes() []Outcome {
	return []Outcome{ColdAgain, ColdNotSettled, Works, HoldsCold, NotYetProven, ItStillLeaks, NeedsMoreWork}
}

// Because is how surely the customer is told the cause.
type Because string

// How sure.
const (
	NoCause      Because = "no_cause"
	FoundLeak    Because = "leak_found"
	CauseIs      Because = "certain"
	CauseLikely  Because = "most_likely"
	CauseUnclear Because = "not_certain"
)

// Becauses lists them.
func Becauses() []Because { return []Because{NoCause, FoundLeak, CauseIs, CauseLikely, CauseUnclear} }

// VisitFacts are what the verdict on a visit is formed from.
type VisitFacts struct {
	Before, After *Judgement // nil: not judged
	AfterCounts   bool       // of the two ends the one after the work counts
	Closed        bool
	Changed       bool // work was done, or refrigerant moved
	LeakFound     bool
	StillLeaks    bool // a leak is confirmed and not repaired, or leaks after its repair
	ReadAfter     bool // readings or a pull-down after the work
	// Stages are those the verdict is on. Of them Proofs are what was shown; one without any is open, or skipped once the
	// visit is closed.
	Stages []Stage
	Proofs []Proof
}

// Visit is the verdict on a visit.
type Visit struct {
	Before, After *Judgement
	AfterCounts   bool
	Outcome       Outcome
	Because       Because
	Cause         fault.Code // of Because; Unknown where none is named
	Healthy       Status
	HealthyRule   HealthyRule
	Instruments   []Instrument // proven wrong at either end, each once
	Proofs        []Proof      // of the stages asked for, in order; several records are several proofs
}

// HealthyChanged: something was done since it was read, and it was not read again.
const HealthyChanged HealthyRule = "changed_since_it_was_read"

// OfVisit is the verdict on a visit.
func OfVisit(f VisitFacts) Visit {
	v := Visit{Before: f.Before, After: f.After, AfterCounts: f.AfterCounts}
	for _, s := range Stages() {
		if !slices.Contains(f.Stages, s) {
			continue
		}
		n := len(v.Proofs)
		for _, p := range f.Proofs {
			if p.Stage == s && p.Rule != NotDone {
				v.Proofs = append(v.Proofs, p)
			}
		}
		if len(v.Proofs) == n {
			v.Proofs = append(v.Proofs, missing(s, f.Closed))
		}
	}
	for _, j := range []*Judgement{f.Before, f.After} {
		if j == nil {
			continue
		}
		for _, i := range j.Instruments {
			if !proven(v.Instruments, i.Fault) {
				v.Instruments = append(v.Instruments, i)
			}
		}
	}
	v.Because, v.Cause = because(f)
	cold := v.Proof(Cold).State == Proven
	switch {
	case f.StillLeaks:
		v.Outcome = ItStillLeaks
	case cold && f.Changed && pointsElsewhere(f.After):
		v.Outcome = ColdNotSettled
	case cold && f.Changed:
		v.Outcome = ColdAgain
	case f.After != nil && f.After.Healthy == Yes:
		v.Outcome = Works
	case !f.Changed && f.Before != nil && f.Before.Healthy == Yes:
		v.Outcome, v.Because, v.Cause = Works, NoCause, fault.Unknown
	case cold:
		v.Outcome = HoldsCold
	case f.ReadAfter:
		v.Outcome = NotYetProven
	default:
		v.Outcome = NeedsMoreWork
	}
	switch j := v.Judged(); {
	case j == nil:
		v.Healthy, v.HealthyRule = Unknown, HealthyUnjudged
	case f.Changed && !f.AfterCounts:
		v.Healthy, v.HealthyRule = Unknown, HealthyChanged
	default:
		v.Healthy, v.HealthyRule = j.Healthy, j.HealthyRule
	}
	return v
}

// pointsElsewhere reports whether a judgement still speaks of a cause: of a box that is cold again with such readings
// nobody may read that all is well.
func pointsElsewhere(j *Judgement) bool {
	if j == nil || j.Healthy == Yes || j.HealthyRule == HealthyUnread {
		return false
	}
	return j.Healthy == No || j.Cause.First.Code != fault.Healthy
}

// Judged is the judgement of the end that counts, nil where that one is not judged.
func (v *Visit) Judged() *Judgement {
	if v.AfterCounts {
		return v.After
	}
	return v.Before
}

// Proof is the proof of a stage; of several records the worst.
func (v *Visit) Proof(s Stage) Proof {
	var out Proof
	for _, p := range v.Proofs {
		if p.Stage == s && (out.Stage == "" || p.State == Failed || out.State == Proven) {
			out = p
		}
	}
	return out
}

// because is the cause before the work, as sure as the judgement is.
func because(f VisitFacts) (Because, fault.Code) {
	if f.LeakFound {
		return FoundLeak, fault.LowCharge
	}
	if f.Before == nil {
		return NoCause, fault.Unknown
	}
	if f.Before.Cause.Kind == DoesNotFit {
		return CauseUnclear, fault.Unknown
	}
	lead, ok := f.Before.Leading()
	if !ok {
		return NoCause, fault.Unknown
	}
	switch lead.Level() {
	case AlmostCertain:
		return CauseIs, lead.Code
	case Likely:
		return CauseLikely, lead.Code
	}
	return CauseUnclear, fault.Unknown
}
