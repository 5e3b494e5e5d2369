package app

import (
	"slices"

	"coldwright/leak"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/verdict/threshold"
)

// AfterCounts reports which end of a visit says how the machine stands: of an open visit the one it is at, of a closed
// one the one after the work when that was read.
func AfterCounts(v *record.Visit) bool {
	if v.Closed.IsZero() {
		return v.Phase == record.After
	}
	return len(v.After.Readings) >= threshold.EnoughToJudge
}

// LastBox is the last known air of the box at an end of a visit: of its pull-down, else as read. ok is false without one.
func LastBox(e *record.End) (t units.Temp, ok bool) {
	if e.Pull != nil && len(e.Pull.Points) > 0 {
		return e.Pull.Points[len(e.Pull.Points)-1].Box, true
	}
	for _, t := range e.Readings {
		if t.Reading.At == reading.BoxAir {
			return units.Temp(t.Value), true
		}
	}
	return 0, false
}

// judgeVisit is the verdict on what was wanted of a visit. Stages whose tests were not asked for are left out of it.
func (v *VisitView) judgeVisit(want Parts) verdict.Visit {
	w := v.Visit
	f := verdict.VisitFacts{
		Before:      v.Before.Judged,
		After:       v.After.Judged,
		AfterCounts: AfterCounts(w),
		Closed:      !w.Closed.IsZero(),
		Changed:     len(w.Work)+len(w.Moves) > 0,
		LeakFound:   len(w.Leaks) > 0,
		StillLeaks:  stillLeaks(v.Machine, w),
		ReadAfter:   len(w.After.Readings) > 0 || w.After.Pull != nil && len(w.After.Pull.Points) > 0,
	}
	add := func(s verdict.Stage, p ...verdict.Proof) {
		f.Stages = append(f.Stages, s)
		f.Proofs = append(f.Proofs, p...)
	}
	if t := v.Hold; want.Tests || t != nil {
		switch {
		case t == nil:
			add(verdict.Tight)
		case t.Err != nil:
			add(verdict.Tight, verdict.Unjudged(verdict.Tight))
		default:
			add(verdict.Tight, verdict.OfStanding(&t.Result))
		}
	}
	if t := v.Rise; want.Tests || t != nil {
		switch {
		case t == nil:
			add(verdict.Dry)
		case t.Err != nil:
			add(verdict.Dry, verdict.Unjudged(verdict.Dry))
		default:
			add(verdict.Dry, verdict.OfVacuum(&t.Result))
		}
	}
	if want.Charge {
		switch c := v.Charge; {
		case v.ChargeErr != nil && len(w.Scale) > 0:
			add(verdict.Charged, verdict.Unjudged(verdict.Charged))
		case c == nil || c.Progress == nil:
			add(verdict.Charged)
		default:
			add(verdict.Charged, verdict.OfCharge(c.Progress, c.StartKnown && c.Answer != nil))
		}
	}
	box, known := LastBox(&w.After)
	judged := slices.Contains(want.Judge, record.After) || slices.Contains(want.Judge, Current) && w.Phase == record.After
	if judged || !f.ReadAfter {
		set := v.Machine.SetPoint()
		at := &box
		if !known {
			at = nil
		}
		add(verdict.Cold, verdict.OfCold(v.After.Pull, at, &set))
	}
	if want.Cold {
		add(verdict.Recorded)
		for i := range v.Cold {
			if v.Cold[i].Err != nil {
				f.Proofs = append(f.Proofs, verdict.Unjudged(verdict.Recorded))
			} else {
				f.Proofs = append(f.Proofs, verdict.OfRecord(&v.Cold[i].Result))
			}
		}
	}
	return verdict.OfVisit(f)
}

// stillLeaks reports whether with a visit a leak of its machine was confirmed and not repaired.
func stillLeaks(m *record.Machine, v *record.Visit) bool {
	for _, stage := range leakStages(m, v) {
		if stage == leak.Confirmed || stage == leak.StillLeaking {
			return true
		}
	}
	return false
}
