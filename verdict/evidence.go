package verdict

import (
	"math"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/verdict/threshold"
)

// Strength is how strongly a reading speaks: 0 not at all, 1 slightly, 2 clearly, 3 strongly.
type Strength int

// StrengthOf is the strength of evidence in nats, whichever way it speaks.
func StrengthOf(nats float64) Strength {
	switch x := math.Abs(nats); {
	case x >= threshold.Strong:
		return 3
	case x >= threshold.Clear:
		return 2
	case x >= threshold.Slight:
		return 1
	}
	return 0
}

// Evidence is a reading that speaks for or against a suspect.
type Evidence struct {
	diagnose.Item
	Strength Strength
}

// weigh parts the evidence of a hypothesis. Left out is what says nothing, what an instrument proven wrong shows, and
// what would speak against a healthy machine while standing inside the band of one: alone it cannot. Nor does a reading
// speak for a suspect that would show another, as the interval printed beside it says.
func weigh(p *diagnose.Posterior, h *diagnose.Hypothesis, wrong []Instrument) (pro, con []Evidence) {
	healthy := len(h.Faults) == 1 && h.Faults[0] == fault.Healthy
	for _, it := range h.Evidence {
		nats := it.NatsAgainstHealthy
		if healthy {
			nats = it.NatsAgainstRunner
		}
		e := Evidence{it, StrengthOf(nats)}
		againstHealthy := healthy == (nats < 0)
		if nats > 0 && outside(&it) { // closer to it than to a healthy machine, but not what it would show
			continue
		}
		if e.Strength == 0 || takenOut(wrong, it.At) || againstHealthy && inBand(p, it.At) {
			continue
		}
		if nats > 0 {
			pro = append(pro, e)
		} else {
			con = append(con, e)
		}
	}
	return pro, con
}

// outside reports whether a reading stands outside what the suspect would show.
func outside(it *diagnose.Item) bool {
	return it.Word == "" && it.IfThis.Known() && (it.Measured < it.IfThis.Low || it.Measured > it.IfThis.High)
}

// inBand reports whether a reading stands inside the band of the healthy machine.
func inBand(p *diagnose.Posterior, at string) bool {
	for _, e := range p.Expected {
		if e.At.String() == at {
			return e.Read && e.In
		}
	}
	return false
}
