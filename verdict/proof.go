package verdict

import (
	"coldwright/fail"
	"coldwright/machine/charge"
	"coldwright/proof/pulldown"
	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// Stage is something about a repair that can be proven.
type Stage string

// The stages, in the order in which they happen.
const (
	Tight    Stage = "tight"  // it holds its gas: standing pressure
	Dry      Stage = "dry"    // nothing but refrigerant will be in it: vacuum
	Charged  Stage = "charge" // by weight
	Cold     Stage = "cold"   // the box holds what it must: pull-down or the air at the end
	Recorded Stage = "record" // a logger's record stays within its limit
)

// Stages lists them.
func Stages() []Stage { return []Stage{Tight, Dry, Charged, Cold, Recorded} }

// State is where the proof of a stage stands.
type State int

// The states.
const (
	Open    State = iota + 1 // not decided, or not begun while the visit is open
	Proven                   // by the rule named
	Failed                   // shown to be otherwise
	Skipped                  // the visit was closed without it
)

var states = [...]string{"unknown", "open", "proven", "failed", "skipped"}

func (s State) String() string { return states[s] }

// MarshalText writes the word.
func (s State) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// States lists them.
func States() []State { return []State{Open, Proven, Failed, Skipped} }

// ProofRule names what puts a stage into its state.
type ProofRule string

// The rules.
const (
	NotDone   ProofRule = "not_done"
	NotJudged ProofRule = "cannot_be_judged"

	HeldWithinLimits ProofRule = "standing_pressure_held"
	PressureLost     ProofRule = "standing_pressure_lost"
	NoPressureLost   ProofRule = "standing_pressure_no_leak_seen" // a leak that matters would not have shown
	HoldUndecided    ProofRule = "standing_pressure_undecided"
	HeldAbovePlate   ProofRule = "standing_pressure_held_above_the_plate" // tight, and a part stood above what it is made for

	VacuumDry       ProofRule = "vacuum_dry_and_tight"
	VacuumDryNoLeak ProofRule = "vacuum_dry_no_leak_seen"
	VacuumLeaks     ProofRule = "vacuum_leaks"
	VacuumMoist     ProofRule = "vacuum_moist"
	VacuumBoth      ProofRule = "vacuum_leaks_and_moist"
	VacuumDryOpen   ProofRule = "vacuum_tight_dryness_open"
	VacuumUndecided ProofRule = "vacuum_undecided"

	WeighedIn       ProofRule = "weighed_to_the_full_charge"
	WeighedTooMuch  ProofRule = "weighed_above_the_full_charge"
	WeighingOpen    ProofRule = "weighing_not_finished"
	WeighedUnplaced ProofRule = "full_charge_or_start_unknown"

	SetPointReached ProofRule = "pull_down_reached_the_set_point"
	BoxAtSetPoint   ProofRule = "box_stands_at_the_set_point"
	BoxAboveIt      ProofRule = "box_above_the_set_point"
	PullDownFlat    ProofRule = "pull_down_stopped_falling"
	PullDownWarming ProofRule = "pull_down_getting_warmer"

	RecordWithin  ProofRule = "record_within_the_limit"
	RecordAbove   ProofRule = "record_above_the_limit"
	RecordPerhaps ProofRule = "record_perhaps_above_the_limit"
)

// proves lists the rules that prove a stage, fails those that show it to be otherwise.
var (
	proves = map[ProofRule]bool{
		HeldWithinLimits: true, VacuumDry: true, VacuumDryNoLeak: true, WeighedIn: true, SetPointReached: true, BoxAtSetPoint: true,
		RecordWithin: true,
	}
	fails = map[ProofRule]bool{
		PressureLost: true, VacuumLeaks: true, VacuumMoist: true, VacuumBoth: true, WeighedTooMuch: true, PullDownFlat: true,
		PullDownWarming: true, RecordAbove: true,
	}
)

// ProofRules lists the rules.
func ProofRules() []ProofRule {
	return []ProofRule{
		NotDone, NotJudged, HeldWithinLimits, PressureLost, NoPressureLost, HoldUndecided, HeldAbovePlate,
		VacuumDry, VacuumDryNoLeak, VacuumLeaks, VacuumMoist, VacuumBoth, VacuumDryOpen, VacuumUndecided,
		WeighedIn, WeighedTooMuch, WeighingOpen, WeighedUnplaced,
		SetPointReached, BoxAtSetPoint, BoxAboveIt, PullDownFlat, PullDownWarming,
		RecordWithin, RecordAbove, RecordPerhaps,
	}
}

// Proof is where one stage stands, and by which rule. Reason is the test's own code for what is missing.
type Proof struct {
	Stage  Stage
	State  State
	Rule   ProofRule
	Reason string
}

func by(s Stage, r ProofRule, reason string) Proof {
	p := Proof{Stage: s, State: Open, Rule: r, Reason: reason}
	switch {
	case proves[r]:
		p.State = Proven
	case fails[r]:
		p.State = Failed
	}
	return p
}

// missing is a stage nobody has shown anything of.
func missing(s Stage, closed bool) Proof {
	p := by(s, NotDone, "")
	if closed {
		p.State = Skipped
	}
	return p
}

// Unjudged is a stage whose test cannot be judged.
func Unjudged(s Stage) Proof { return by(s, NotJudged, "") }

// OfStanding is what a standing-pressure test proves.
func OfStanding(r *standing.Result) Proof {
	switch r.Verdict {
	case standing.TightWithin:
		if fail.CodeOf(r.Plate) == fail.Forbidden {
			return by(Tight, HeldAbovePlate, "")
		}
		return by(Tight, HeldWithinLimits, "")
	case standing.NoLeakSeen:
		if fail.CodeOf(r.Plate) == fail.Forbidden {
			return by(Tight, HeldAbovePlate, "")
		}
		return by(Tight, NoPressureLost, "")
	case standing.Leaking:
		return by(Tight, PressureLost, "")
	}
	return by(Tight, HoldUndecided, r.Reason)
}

// OfVacuum is what a vacuum rise test proves.
func OfVacuum(r *vacuum.Result) Proof {
	switch r.Verdict {
	case vacuum.DryAndTight:
		return by(Dry, VacuumDry, "")
	case vacuum.DryNoLeakSeen:
		return by(Dry, VacuumDryNoLeak, "") // the stage asks for dryness alone
	case vacuum.Leak:
		return by(Dry, VacuumLeaks, "")
	case vacuum.Moisture:
		return by(Dry, VacuumMoist, "")
	case vacuum.Both:
		return by(Dry, VacuumBoth, "")
	case vacuum.CannotProveDry:
		return by(Dry, VacuumDryOpen, r.Reason)
	}
	return by(Dry, VacuumUndecided, r.Reason)
}

// OfCharge is what the scale proves; known says that the full charge and what was in before are known.
func OfCharge(p *charge.Progress, known bool) Proof {
	switch {
	case !known:
		return by(Charged, WeighedUnplaced, "")
	case p.Advice == charge.StopReached:
		return by(Charged, WeighedIn, "")
	case p.Advice == charge.TooMuch:
		return by(Charged, WeighedTooMuch, "")
	}
	return by(Charged, WeighingOpen, p.Advice.String())
}

// OfRecord is what a logger's record proves. What is only perhaps above its limit leaves it open; recognised defrosts do not count.
func OfRecord(r *templog.Record) Proof {
	perhaps := r.Count > len(r.Excursions)
	for _, e := range r.Excursions {
		if e.Defrost {
			continue
		}
		if e.Sure {
			return by(Recorded, RecordAbove, "")
		}
		perhaps = true
	}
	if perhaps {
		return by(Recorded, RecordPerhaps, "")
	}
	return by(Recorded, RecordWithin, "")
}

// Holds reports whether a box counts as holding its set point.
func Holds(box, set units.Temp) bool { return float64(box.Sub(set)) <= threshold.AtSetPoint }

// OfCold is what the end of the work proves about the cold: the pull-down after it, nil for none, and the last known air
// of the box, nil for none.
func OfCold(pull *pulldown.Result, box, set *units.Temp) Proof {
	switch {
	case set == nil || pull == nil && box == nil:
		return by(Cold, NotDone, "")
	case pull != nil && pull.Verdict == pulldown.Reached:
		return by(Cold, SetPointReached, "")
	case box != nil && Holds(*box, *set):
		return by(Cold, BoxAtSetPoint, "")
	case pull != nil && pull.Verdict == pulldown.Stalled:
		return by(Cold, PullDownFlat, "")
	case pull != nil && pull.Verdict == pulldown.Warming:
		return by(Cold, PullDownWarming, "")
	}
	reason := ""
	if pull != nil {
		reason = pull.Verdict.String()
	}
	return by(Cold, BoxAboveIt, reason)
}

// PullsWell reports whether a pull-down needs nobody yet: it has reached its set point, falls well, is not decided, or has too
// few points to say.
func PullsWell(r *pulldown.Result) bool {
	switch r.Verdict {
	case pulldown.Reached, pulldown.Falling, pulldown.Undecided:
		return true
	}
	return r.N < threshold.PullPoints
}
