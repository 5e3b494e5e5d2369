package verdict

import (
	"slices"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/verdict/threshold"
)

// StepKind is what to do next.
type StepKind string

// The kinds.
const (
	Act   StepKind = "act"              // on Cause
	Prove StepKind = "prove_instrument" // Instrument, before anything else is done
	Read  StepKind = "read_next"        // at At
	Hands StepKind = "hands_and_eyes"   // no reading tells the answers apart
	Stop  StepKind = "stop"             // nothing is wrong: prove the cold
)

// StepKinds lists them.
func StepKinds() []StepKind { return []StepKind{Act, Prove, Read, Hands, Stop} }

// StepRule names why.
type StepRule string

// The rules.
const (
	CauseCertain  StepRule = "first_cause_certain"
	NothingTurns  StepRule = "no_reading_changes_the_first"
	NothingTells  StepRule = "no_reading_tells_them_apart"
	NothingLeft   StepRule = "nothing_left_to_read"
	NothingWrongS StepRule = "nothing_wrong"
	DoubtedFirst  StepRule = "instrument_doubted"
	TellsMost     StepRule = "tells_most_a_minute"
	TooLittleRead StepRule = "too_little_read"
	FaultSeen     StepRule = "a_fault_was_seen"
	StopFirst     StepRule = "stop_the_machine"
)

// Step is what to do next.
type Step struct {
	Kind StepKind
	Rule StepRule
	// Cause is what to act on; of Prove and Hands what would be acted on after it, Unknown for none.
	Cause fault.Code
	// Instrument is the one to prove first, whatever Kind is; Unknown for none.
	Instrument fault.Code
	Seen       string         // code of the sight that is acted on; empty for none
	Reading    *diagnose.Next // of Read: the reading
	Second     *diagnose.Next // of Read: the second best, nil for none
	FarLess    bool           // Second tells far less
	Together   *diagnose.NextPair
	Also       *diagnose.Also // a second cause to check for after acting
	Advice     string         // code of the judgement's advice
}

// At is the place or the thing to look at, empty unless Kind is Read.
func (s Step) At() string {
	if s.Reading == nil {
		return ""
	}
	return s.Reading.At
}

// ofMachine is a reading to take with what the suspects would show: an instrument proven wrong is none of them.
func ofMachine(n diagnose.Next, wrong []Instrument) *diagnose.Next {
	n.Shows = slices.DeleteFunc(slices.Clone(n.Shows), func(s diagnose.Show) bool {
		c, err := fault.Parse(s.Name)
		return err == nil && proven(wrong, c)
	})
	return &n
}

func next(p *diagnose.Posterior, j *Judgement) Step {
	out := Step{Advice: p.Advice.Code, Together: p.Together, Also: p.Advice.Also}
	if c := p.Advice.Prove; c != fault.Unknown && !proven(j.Instruments, c) {
		out.Instrument = c
	}
	if a := out.Also; a != nil && proven(j.Instruments, a.Fault) {
		out.Also = nil
	}
	lead, leads := j.Leading()
	if leads {
		out.Cause = lead.Code
	}
	certain := leads && lead.Probability >= threshold.Certain || j.PHealthy >= threshold.Certain
	if kind, rule, cause, ok := j.seenFirst(lead, leads && lead.Probability >= threshold.Certain); ok {
		out.Kind, out.Rule, out.Cause, out.Seen = kind, rule, cause, j.seen(cause)
		return out
	}
	most := 0.0
	for _, n := range p.Next {
		most = max(most, n.Bits)
	}
	readable := len(p.Next) > 0 && most >= threshold.TellsNothing
	decided := certain || p.Advice.Code != diagnose.AdviseRead
	if readable && (!decided || j.Cause.Kind == DoesNotFit) {
		out.Kind, out.Rule, out.Reading = Read, TellsMost, ofMachine(p.Next[0], j.Instruments)
		if len(p.Next) > 1 {
			out.Second = &p.Next[1]
			out.FarLess = out.Second.Bits < threshold.FarLess*out.Reading.Bits
		}
		return out
	}
	switch {
	case out.Instrument != fault.Unknown:
		out.Kind, out.Rule = Prove, DoubtedFirst
	case j.Healthy == Yes:
		out.Kind, out.Rule = Stop, NothingWrongS
	case p.Advice.Code == diagnose.AdviseHands && j.Cause.Kind != DoesNotFit:
		out.Kind, out.Rule = Hands, NothingTells
	case !leads:
		out.Kind, out.Rule = Hands, NothingLeft
	default:
		out.Kind, out.Rule = Act, NothingTurns
		if certain {
			out.Rule = CauseCertain
		}
	}
	return out
}
