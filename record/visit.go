package record

import (
	"cmp"
	"encoding/json"
	"slices"
	"time"

	"coldwright/leak"
	"coldwright/machine/reading"
	"coldwright/units"
)

// Taken is a reading with its event.
type Taken struct {
	Event ID
	At    time.Time
	reading.Reading
}

// Point is a pull-down point.
type Point struct {
	Event  ID
	At     time.Time
	Minute float64
	Box    units.Temp
	Text   string
}

// Pull is a pull-down test.
type Pull struct {
	Started  time.Time
	SetPoint units.Temp
	Points   []Point
}

// Work is work done, Move refrigerant moved, Leak a leak found: each with its event.
type (
	Work struct {
		Event ID
		At    time.Time
		WorkBody
	}
	Move struct {
		Event ID
		At    time.Time
		Order time.Time // its place among all events
		MoveBody
	}
	Leak struct {
		Event ID
		At    time.Time
		LeakBody
	}
	Note struct {
		Event ID
		At    time.Time
		NoteBody
	}
	Photo struct {
		Event ID
		At    time.Time
		PhotoBody
	}
	// Look is a place looked at in a leak search.
	Look struct {
		Event ID
		At    time.Time
		LookBody
	}
	// Find is a leak found in a leak search. Confirmed: by bubbles, in this visit. Last is the act that brought it to its stage.
	Find struct {
		Place     string
		Stage     leak.Stage
		Last      ID
		At        time.Time
		Confirmed bool
	}
)

// The tests after a repair, each with its event and its readings in order of their minutes.
type (
	// Hold is a standing-pressure test.
	Hold struct {
		Event   ID
		Started time.Time
		HoldStartBody
		Points []HoldReading
	}
	// HoldReading is a look at gauge and thermometers.
	HoldReading struct {
		Event ID
		At    time.Time
		HoldPointBody
	}
	// Rise is a vacuum rise test.
	Rise struct {
		Event   ID
		Started time.Time
		RiseStartBody
		Points []RiseReading
	}
	// RiseReading is a look at the vacuum gauge.
	RiseReading struct {
		Event ID
		At    time.Time
		RisePointBody
	}
	// ScaleReading is a look at the scale.
	ScaleReading struct {
		Event ID
		At    time.Time
		Order time.Time // its place among all events
		ScaleBody
	}
	// ColdFile is a logger's file kept with the visit.
	ColdFile struct {
		Event ID
		At    time.Time
		ColdBody
	}
)

// Moment is when something began, by the clock.
type Moment struct {
	Event ID
	At    time.Time
}

// End is one end of a visit: before or after the repair.
type End struct {
	Readings        []Taken
	Seen            reading.Seen
	RunningMin      *float64
	SinceDefrostMin *float64
	Moments         map[string]Moment // by word, the last of each; a number of minutes typed later goes first
	Pull            *Pull
	LastAt          time.Time
}

// Visit is one visit to a machine.
type Visit struct {
	ID, Machine, Site ID
	Opened, Closed    time.Time // Closed is zero while it is open
	By                string
	Complaint, Food   string
	Reason            string // why somebody came; empty: not said
	Phase             Phase
	Before, After     End
	Work              []Work
	Moves             []Move
	Leaks             []Leak
	LeakSet           LeakSetBody
	Looks             []Look
	Finds             []Find // in the order in which they were found
	Notes             []Note
	Photos            []Photo
	Holds             []Hold // standing-pressure tests, the oldest first; the last one counts
	Rises             []Rise // vacuum rise tests
	ChargeSet         ChargeSetBody
	Scale             []ScaleReading
	Cold              []ColdFile
	Healthy           bool   // judged healthy at its end
	Confirmed         string // fault code
	Close             CloseBody
	Signatures        []Signature // the oldest first; of a role the last one counts
	Unread            int         // entries of the visit that this program cannot read
}

// End returns one end of the visit.
func (v *Visit) End(p Phase) *End {
	if p == After {
		return &v.After
	}
	return &v.Before
}

// apply takes in an event of the visit; false: it cannot be read.
func (v *Visit) apply(e Event) bool {
	b := body(e.Kind)
	if json.Unmarshal(e.Body, b) != nil {
		return false
	}
	touch := func(p Phase) *End {
		end := v.End(p)
		if e.At.After(end.LastAt) {
			end.LastAt = e.At
		}
		return end
	}
	switch b := b.(type) {
	case *OpenBody:
		v.Opened, v.Complaint, v.Reason = e.At, b.Complaint, b.Reason
		if e.By != "" {
			v.By = e.By
		}
	case *ArriveBody:
		if b.Complaint != "" {
			v.Complaint = b.Complaint
		}
		v.Food = b.Food
		if b.Reason != nil {
			v.Reason = *b.Reason
		}
	case *ReadingBody:
		p, err := reading.ParsePlace(b.At)
		if err != nil {
			return false
		}
		i, _ := reading.ParseInstrument(b.Instrument)
		end := touch(b.Phase)
		// A new reading at a place takes the place of the old one; the old event stays in the log.
		end.Readings = slices.DeleteFunc(end.Readings, func(t Taken) bool { return t.Reading.At == p })
		end.Readings = append(end.Readings, Taken{e.ID, e.At, reading.Reading{At: p, Value: b.Value, U: b.U, Instrument: i, Text: b.Text}})
	case *SeenBody:
		end := touch(b.Phase)
		for k, w := range b.Seen {
			_ = end.Seen.Set(k, w) // words are checked before they are written
		}
	case *RunningBody:
		end := touch(b.Phase)
		end.RunningMin, end.SinceDefrostMin = b.Minutes, b.SinceDefrostMin
		if b.Minutes != nil {
			delete(end.Moments, SwitchedOn)
		}
		if b.SinceDefrostMin != nil {
			delete(end.Moments, DefrostBegan)
			delete(end.Moments, DefrostEnded)
		}
	case *TimedBody:
		end := touch(b.Phase)
		if end.Moments == nil {
			end.Moments = map[string]Moment{}
		}
		switch b.What {
		case SwitchedOn:
			end.RunningMin = nil
		case DefrostBegan:
			end.SinceDefrostMin = nil
			delete(end.Moments, DefrostEnded)
		case DefrostEnded:
			end.SinceDefrostMin = nil
		}
		end.Moments[b.What] = Moment{e.ID, e.At.Add(-time.Duration(b.AgoMin * float64(time.Minute)))}
	case *PullStartBody:
		touch(b.Phase).Pull = &Pull{Started: e.At, SetPoint: units.Temp(b.SetPointK)}
	case *PullPointBody:
		end := touch(b.Phase)
		if end.Pull == nil {
			end.Pull = &Pull{Started: e.At.Add(-time.Duration(b.Minute * float64(time.Minute)))}
		}
		end.Pull.Points = append(end.Pull.Points, Point{e.ID, e.At, b.Minute, units.Temp(b.BoxK), b.Text})
		slices.SortStableFunc(end.Pull.Points, func(a, c Point) int {
			switch {
			case a.Minute < c.Minute:
				return -1
			case a.Minute > c.Minute:
				return 1
			}
			return 0
		})
	case *HoldStartBody:
		v.Holds = append(v.Holds, Hold{Event: e.ID, Started: e.At, HoldStartBody: *b})
	case *HoldPointBody:
		for i := range v.Holds {
			if t := &v.Holds[i]; t.Event == b.Test {
				t.Points = append(t.Points, HoldReading{e.ID, e.At, *b})
				slices.SortStableFunc(t.Points, func(a, c HoldReading) int { return cmp.Compare(a.Minute, c.Minute) })
			}
		}
	case *RiseStartBody:
		v.Rises = append(v.Rises, Rise{Event: e.ID, Started: e.At, RiseStartBody: *b})
	case *RisePointBody:
		for i := range v.Rises {
			if t := &v.Rises[i]; t.Event == b.Test {
				t.Points = append(t.Points, RiseReading{e.ID, e.At, *b})
				slices.SortStableFunc(t.Points, func(a, c RiseReading) int { return cmp.Compare(a.Minute, c.Minute) })
			}
		}
	case *ChargeSetBody:
		v.ChargeSet = *b
	case *ScaleBody:
		v.Scale = append(v.Scale, ScaleReading{e.ID, e.At, e.place(), *b})
	case *ColdBody:
		v.Cold = append(v.Cold, ColdFile{e.ID, e.At, *b})
	case *PhaseBody:
		v.Phase = b.Phase
	case *WorkBody:
		v.Work = append(v.Work, Work{e.ID, e.At, *b})
	case *MoveBody:
		v.Moves = append(v.Moves, Move{e.ID, e.At, e.place(), *b})
	case *LeakBody:
		v.Leaks = append(v.Leaks, Leak{e.ID, e.At, *b})
	case *LeakSetBody:
		v.LeakSet = *b
	case *LookBody:
		v.Looks = append(v.Looks, Look{e.ID, e.At, *b})
	case *NoteBody:
		v.Notes = append(v.Notes, Note{e.ID, e.At, *b})
	case *PhotoBody:
		v.Photos = append(v.Photos, Photo{e.ID, e.At, *b})
	case *ConfirmBody:
		v.Confirmed = b.Fault
	case *CloseBody:
		v.Closed, v.Close = e.At, *b
	case *SignBody:
		v.Signatures = append(v.Signatures, Signature{e.ID, e.At, e.By, *b})
	case *EmptyBody:
		if e.Kind == JudgedHealthy {
			v.Healthy = true
		}
	}
	return true
}

// Hold returns the standing-pressure test that counts: the last one.
func (v *Visit) Hold() *Hold {
	if n := len(v.Holds); n > 0 {
		return &v.Holds[n-1]
	}
	return nil
}

// Rise returns the vacuum rise test that counts: the last one.
func (v *Visit) Rise() *Rise {
	if n := len(v.Rises); n > 0 {
		return &v.Rises[n-1]
	}
	return nil
}
