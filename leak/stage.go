package leak

import (
	"fmt"
)

// Stage is how far a leak has come from being found to being closed for good.
type Stage string

// The stages; the empty one is nothing found.
const (
	StageNone    Stage = ""
	Found        Stage = "found"     // something showed
	Confirmed    Stage = "confirmed" // by bubbles
	Repaired     Stage = "repaired"
	Rechecked    Stage = "rechecked" // tight with the probe or bubbles after the repair
	NotConfirmed Stage = "not_confirmed"
	StillLeaking Stage = "still_leaking"
)

// Act moves a leak from one stage to the next.
type Act string

// The acts.
const (
	ActFound     Act = "found"
	ActBubbles   Act = "bubbles"    // bubbles where it was found
	ActNoBubbles Act = "no_bubbles" // none after the wait
	ActRepaired  Act = "repaired"
	ActTight     Act = "tight" // re-checked: nothing
	ActLeaks     Act = "leaks" // re-checked: still leaks
)

// Acts lists them in the order of the work.
func Acts() []Act { return []Act{ActFound, ActBubbles, ActNoBubbles, ActRepaired, ActTight, ActLeaks} }

// Stages lists the stages in the order of the work.
func Stages() []Stage {
	return []Stage{Found, NotConfirmed, Confirmed, Repaired, StillLeaking, Rechecked}
}

var moves = map[Stage]map[Act]Stage{
	StageNone:    {ActFound: Found},
	NotConfirmed: {ActFound: Found},
	Found:        {ActBubbles: Confirmed, ActNoBubbles: NotConfirmed},
	Confirmed:    {ActRepaired: Repaired},
	Repaired:     {ActTight: Rechecked, ActLeaks: StillLeaking},
	StillLeaking: {ActRepaired: Repaired},
	Rechecked:    {ActFound: Found},
}

// Next is the stage after an act.
//
//   - in: an act
//   - out: the stage; the same one when the act has already led here
//   - errors: the act does not follow from this stage
//   - source: definition; bubbles confirm before anything is cut, and a repair counts once it was checked again
func (s Stage) Next(a Act) (Stage, error) {
	if to, ok := moves[s][a]; ok {
		return to, nil
	}
	for _, m := range moves {
		if to, ok := m[a]; ok && to == s {
			return s, nil // said twice
		}
	}
	return s, fmt.Errorf("leak: %q does not follow %q", a, s)
}

// Acts lists what may follow a stage, in the order of the work.
func (s Stage) Acts() []Act {
	var out []Act
	for _, a := range Acts() {
		if _, ok := moves[s][a]; ok {
			out = append(out, a)
		}
	}
	return out
}

// Open reports whether something is still to be done about it.
func (s Stage) Open() bool {
	return s == Found || s == Confirmed || s == Repaired || s == StillLeaking
}
