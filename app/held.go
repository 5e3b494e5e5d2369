package app

import "coldwright/record"

// Held is an event in quarantine: it was written before somebody looked at what events mean, and means nothing.
type Held struct {
	record.Event
	Why error
}

// HeldOf says of events why they are in quarantine; every [Store] uses it.
func HeldOf(events []record.Event) []Held {
	var out []Held
	for _, e := range events {
		out = append(out, Held{e, e.Check()})
	}
	return out
}
