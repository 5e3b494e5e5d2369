package record

import (
	"encoding/json"
	"slices"
)

// each calls f for every understood event that was not withdrawn, in order; f says whether it could read it. What it
// returns are those that hold and could not be read: of a kind or version this program does not know, or with a body
// it cannot make out.
func each(events []Event, f func(Event) bool) (unread []Event) {
	events = slices.Clone(events)
	Sort(events)
	gone := Gone(events)
	for _, e := range events {
		if gone[e.ID] || e.Known() && e.Kind == Withdrawn {
			continue
		}
		if !e.Known() || !f(e) {
			unread = append(unread, e)
		}
	}
	return unread
}

// TakenBack reports whether a withdrawal may name an event of a kind: what a page offers to take back. What a site or a
// machine is, that a visit began and that it was closed is corrected by saying it anew, never by taking it away: closed
// stays closed, also where an old log says otherwise.
func (k Kind) TakenBack() bool {
	switch k {
	case ReadingTaken, MachineTimed, PullPoint, WorkDone, GasMoved, LeakFound, LeakLooked, LeakStep, JudgedHealthy, CauseConfirmed, Noted,
		HoldStarted, HoldPoint, RiseStarted, RisePoint, ScaleRead, ColdRecorded, PhotoTaken, LawHappened,
		CylinderBought, CylinderSent, CylinderMoved, CylinderWeighed, SignedReport, LessonSetAside:
		return true
	}
	return false
}

// corrects reports whether an event may name another as what no longer holds: a withdrawal takes back what can be, and
// anything else takes the place of its like.
func (e Event) corrects(other Event) bool {
	return e.ID != other.ID && other.Kind.TakenBack() && (e.Kind == Withdrawn || e.Kind == other.Kind)
}

// Gone are the events that no longer hold among those given. A correction of what cannot be corrected counts for
// nothing, as do those that go round in a circle.
func Gone(events []Event) map[ID]bool {
	correcting, named := 0, map[ID]Event{}
	for _, e := range events {
		if e.Known() && e.Corrects != "" {
			correcting++
			named[e.Corrects], named[e.ID] = Event{}, Event{}
		}
	}
	gone := map[ID]bool{}
	if correcting == 0 {
		return gone
	}
	for _, e := range events {
		if _, ok := named[e.ID]; ok {
			named[e.ID] = e
		}
	}
	for _, e := range events {
		if !e.Known() || e.Corrects == "" || !e.corrects(named[e.Corrects]) {
			continue
		}
		if e.Kind == Withdrawn || !circle(e, named) {
			gone[e.Corrects] = true
		}
	}
	return gone
}

// circle reports whether what an event takes the place of takes, in the end, the place of the event itself.
func circle(e Event, named map[ID]Event) bool {
	at := e.Corrects
	for range len(named) {
		if at == "" {
			return false
		}
		if at == e.ID {
			return true
		}
		at = named[at].Corrects
	}
	return true
}

// decode reads the body of an event.
func decode[T any](e Event) (b T, ok bool) {
	ok = json.Unmarshal(e.Body, &b) == nil
	return b, ok
}
