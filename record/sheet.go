package record

import (
	"encoding/json"
	"slices"
	"time"

	"coldwright/machine/reading"
)

// Sheet is one end of a visit as a sheet, with the earlier visits of the machine that were judged healthy.
func (m *Machine) Sheet(v *Visit, p Phase) reading.Sheet {
	s := m.bare(v, p)
	s.Reason = v.reason(p)
	for _, old := range m.healthyBefore(v) {
		s.HealthyVisits = append(s.HealthyVisits, m.healthy(old))
	}
	return s
}

// reason says why somebody came, as the odds of an end need it: a complaint is of how the machine was met, and says
// nothing of how it was left.
func (v *Visit) reason(p Phase) reading.Reason {
	r, err := reading.ParseReason(v.Reason)
	if err != nil || p == After && r == reading.Complaint {
		return reading.ReasonUnknown
	}
	return r
}

// healthy is a healthy visit as a sheet: how the machine was left, else how it was met.
func (m *Machine) healthy(v *Visit) reading.Sheet {
	if len(v.After.Readings) < 2 {
		return m.bare(v, Before)
	}
	return m.bare(v, After)
}

// Healthy is a visit that was judged healthy, as a sheet.
type Healthy struct {
	Visit ID
	Sheet reading.Sheet
}

// Healthies lists the healthy visits of a machine, the oldest first.
func (m *Machine) Healthies() (out []Healthy) {
	for _, v := range m.Visits {
		if v.Healthy {
			out = append(out, Healthy{v.ID, m.healthy(v)})
		}
	}
	return out
}

// healthyBefore lists the healthy visits before one that its bands are learned from: the last three are enough, and newer ones count more.
func (m *Machine) healthyBefore(v *Visit) []*Visit {
	var out []*Visit
	for _, old := range m.Visits {
		if old.ID == v.ID {
			break
		}
		if old.Healthy {
			out = append(out, old)
		}
	}
	if n := len(out); n > 3 {
		out = out[n-3:]
	}
	return out
}

func (m *Machine) bare(v *Visit, p Phase) reading.Sheet {
	e := v.End(p)
	s := reading.Sheet{Machine: m.Plate(), Seen: e.Seen}
	var last time.Time
	for _, t := range e.Readings {
		s.Readings = append(s.Readings, t.Reading)
		if t.At.After(last) {
			last = t.At
		}
	}
	s.RunningMin, s.SinceDefrostMin = e.Minutes(last)
	return s
}

// Minutes says how long the machine has run and how long the last defrost is over at a time, as typed or by the
// clock; while it defrosts that is 0. nil: nobody said.
func (e *End) Minutes(now time.Time) (running, sinceDefrost *float64) {
	running, sinceDefrost = e.RunningMin, e.SinceDefrostMin
	since := func(word string) *float64 {
		m, ok := e.Moments[word]
		if !ok || now.IsZero() {
			return nil
		}
		v := max(0, now.Sub(m.At).Minutes())
		return &v
	}
	if v := since(SwitchedOn); v != nil {
		running = v
	}
	began, defrosted := e.Moments[DefrostBegan]
	if v := since(DefrostEnded); v != nil {
		sinceDefrost = v
	} else if defrosted && !now.Before(began.At) {
		sinceDefrost = new(float64)
	}
	return running, sinceDefrost
}

// RestsOn returns the last entry that the judgement of one end of a visit rests on: the plate, the room, why somebody
// came, what was read, seen and timed at that end, its pull-down, and at the healthy visits before, and what of it was
// taken back.
//
//   - in: the machine's events, a visit of it, an end
//   - out: the entry; false where there is none
func (m *Machine) RestsOn(events []Event, v *Visit, p Phase) (last Event, ok bool) {
	before := map[ID]bool{}
	for _, old := range m.healthyBefore(v) {
		before[old.ID] = true
	}
	bears := func(e Event) bool {
		switch e.Kind {
		case MachineSaved, RoomSaved:
			return true
		case JudgedHealthy:
			return before[e.Visit]
		case VisitOpened, Arrived:
			var b struct{ Reason *string }
			return e.Visit == v.ID && json.Unmarshal(e.Body, &b) == nil && b.Reason != nil
		case ReadingTaken, ThingsSeen, Running, MachineTimed, PullStarted, PullPoint:
			var b struct{ Phase Phase }
			return before[e.Visit] || e.Visit == v.ID && json.Unmarshal(e.Body, &b) == nil && v.End(b.Phase) == v.End(p)
		}
		return false
	}
	counts := map[ID]bool{}
	for _, e := range events {
		if e.Known() && bears(e) {
			counts[e.ID] = true
		}
	}
	all := slices.Clone(events)
	Sort(all)
	for _, e := range slices.Backward(all) {
		if e.Known() && (counts[e.ID] || e.Kind == Withdrawn && counts[e.Corrects]) {
			return e, true
		}
	}
	return Event{}, false
}
