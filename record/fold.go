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
	gone := map[ID]bool{}
	for _, e := range events {
		if e.Known() && e.Corrects != "" {
			gone[e.Corrects] = true
		}
	}
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

// decode reads the body of an event.
func decode[T any](e Event) (b T, ok bool) {
	ok = json.Unmarshal(e.Body, &b) == nil
	return b, ok
}
