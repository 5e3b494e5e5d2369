package verdict

import (
	"slices"

	"coldwright/diagnose"
	"coldwright/machine/fault"
)

// Sight is something that is certain by itself and said first, whatever the readings make of the cause.
type Sight struct {
	Code  string     // of diagnose's list of sights
	Cause fault.Code // that was seen, Unknown where it does not say which
}

// sights are the certain things among what a judgement noticed, the most urgent first.
func sights(p *diagnose.Posterior) (out []Sight) {
	for _, code := range diagnose.SightCodes() {
		for _, w := range p.Warnings {
			if w.Code == code {
				out = append(out, Sight{code, diagnose.SightCause(code)})
				break
			}
		}
	}
	return out
}

// MustStop reports whether the machine must be stopped before anything else is done.
func (j *Judgement) MustStop() bool {
	return j != nil && slices.ContainsFunc(j.Sights, func(s Sight) bool { return s.Code == diagnose.HeadAtCutOut })
}

// seen is the code of the sight that showed a cause; empty where none did.
func (j *Judgement) seen(c fault.Code) string {
	for _, s := range j.Sights {
		if s.Cause == c && c != fault.Unknown {
			return s.Code
		}
	}
	return ""
}

// seenFirst is what to do where something is certain by itself: stop, or put right what was seen. ok is false where
// nothing is, or where the readings are certain of a cause that was not seen.
func (j *Judgement) seenFirst(lead Suspect, certain bool) (kind StepKind, rule StepRule, cause fault.Code, ok bool) {
	if len(j.Sights) == 0 {
		return "", "", fault.Unknown, false
	}
	if j.MustStop() {
		kind, rule, cause = Hands, StopFirst, lead.Code
	}
	for _, s := range j.Sights {
		if s.Cause != fault.Unknown && !certain {
			cause = s.Cause
			if rule == "" {
				rule = FaultSeen
			}
			break
		}
	}
	if cause != fault.Unknown {
		kind = Act
	}
	return kind, rule, cause, rule != ""
}
