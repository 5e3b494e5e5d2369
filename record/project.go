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

// Site is a place with machines.
type Site struct {
	ID ID
	SiteBody
}

// Machine is a machine with its visits.
type Machine struct {
	ID, Site ID
	MachineBody
	AltitudeM float64
	Visits    []*Visit  // oldest first
	Room      *RoomBody // nil until somebody measured the room
	Parts     []PartBody
	Photos    []Photo // of the machine itself, the oldest first
	// Facts counts the events of the log that can bear on a judgement, those taken back and their withdrawals too:
	// the same number, nothing has changed.
	Facts     int
	Law       LawBody
	LawEvents []LawEvent // in the order in which they were entered
	// LeakStages is how far each place of the leak catalogue has come, over all visits.
	LeakStages map[string]leak.Stage
}

// LawEvent is something the rules count, with its event.
type LawEvent struct {
	Event ID
	At    time.Time
	LawEventBody
}

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
}

// End returns one end of the visit.
func (v *Visit) End(p Phase) *End {
	if p == After {
		return &v.After
	}
	return &v.Before
}

// ProjectSite folds the events of a site; the last saved state wins.
func ProjectSite(events []Event) (Site, bool) {
	var s Site
	ok := false
	each(events, func(e Event) {
		if e.Kind == SiteSaved && json.Unmarshal(e.Body, &s.SiteBody) == nil {
			s.ID, ok = e.Site, true
		}
	})
	return s, ok
}

// each calls f for every understood event that was not withdrawn, in order.
func each(events []Event, f func(Event)) {
	events = slices.Clone(events)
	Sort(events)
	gone := map[ID]bool{}
	for _, e := range events {
		if e.Known() && e.Corrects != "" {
			gone[e.Corrects] = true
		}
	}
	for _, e := range events {
		if e.Known() && !gone[e.ID] && e.Kind != Withdrawn {
			f(e)
		}
	}
}

// ProjectMachine folds the events of one machine.
func ProjectMachine(events []Event) (Machine, bool) {
	var m Machine
	ok := false
	visits := map[ID]*Visit{}
	for _, e := range events {
		if e.Kind != Noted && e.Kind != PhotoTaken {
			m.Facts++
		}
	}
	each(events, func(e Event) {
		if e.Kind == MachineSaved {
			var b MachineBody
			if json.Unmarshal(e.Body, &b) == nil {
				m.ID, m.Site, m.MachineBody, ok = e.Machine, e.Site, b, true
			}
			return
		}
		if e.Kind == RoomSaved {
			var b RoomBody
			if json.Unmarshal(e.Body, &b) == nil {
				m.Room = &b
			}
			return
		}
		if e.Kind == PartsSaved {
			var b PartsBody
			if json.Unmarshal(e.Body, &b) == nil {
				m.Parts = b.Parts
			}
			return
		}
		if e.Kind == PhotoTaken && e.Visit == "" {
			var b PhotoBody
			if json.Unmarshal(e.Body, &b) == nil {
				m.Photos = append(m.Photos, Photo{e.ID, e.At, b})
			}
			return
		}
		if e.Kind == LawSaved {
			var b LawBody
			if json.Unmarshal(e.Body, &b) == nil {
				m.Law = b
			}
			return
		}
		if e.Kind == LawHappened {
			var b LawEventBody
			if json.Unmarshal(e.Body, &b) == nil {
				m.LawEvents = append(m.LawEvents, LawEvent{e.ID, e.At, b})
			}
			return
		}
		if e.Visit == "" {
			return
		}
		v := visits[e.Visit]
		if v == nil {
			v = &Visit{ID: e.Visit, Machine: e.Machine, Site: e.Site, Opened: e.At, Phase: Before, By: e.By}
			visits[e.Visit] = v
			m.Visits = append(m.Visits, v)
		}
		if e.Kind == LeakStep {
			m.step(v, e)
			return
		}
		v.apply(e)
	})
	slices.SortStableFunc(m.Visits, func(a, b *Visit) int { return a.Opened.Compare(b.Opened) })
	return m, ok
}

// step moves a find on. A find that an earlier visit left open goes on from there. An act that does not follow, as
// when two devices are merged, stays in the log and changes nothing.
func (m *Machine) step(v *Visit, e Event) {
	var b StepBody
	if json.Unmarshal(e.Body, &b) != nil {
		return
	}
	was := m.LeakStages[b.Place]
	now, err := was.Next(leak.Act(b.Act))
	if err != nil || now == was {
		return
	}
	if m.LeakStages == nil {
		m.LeakStages = map[string]leak.Stage{}
	}
	m.LeakStages[b.Place] = now
	i := slices.IndexFunc(v.Finds, func(f Find) bool { return f.Place == b.Place })
	if i < 0 {
		i = len(v.Finds)
		v.Finds = append(v.Finds, Find{Place: b.Place})
	}
	f := &v.Finds[i]
	f.Stage, f.Last, f.At = now, e.ID, e.At
	switch now {
	case leak.Confirmed:
		f.Confirmed = true
		v.Leaks = append(v.Leaks, Leak{e.ID, e.At, LeakBody{Place: b.Place, How: "bubbles"}})
	case leak.Repaired:
		v.Work = append(v.Work, Work{e.ID, e.At, WorkBody{Code: "leak_repaired", Text: b.Place}})
	case leak.Rechecked:
		v.Work = append(v.Work, Work{e.ID, e.At, WorkBody{Code: "leak_rechecked", Text: b.Place}})
	}
}

func (v *Visit) apply(e Event) {
	b := body(e.Kind)
	if json.Unmarshal(e.Body, b) != nil {
		return
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
		v.Opened, v.Complaint = e.At, b.Complaint
		if e.By != "" {
			v.By = e.By
		}
	case *ArriveBody:
		if b.Complaint != "" {
			v.Complaint = b.Complaint
		}
		v.Food = b.Food
	case *ReadingBody:
		p, err := reading.ParsePlace(b.At)
		if err != nil {
			return
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
		v.Scale = append(v.Scale, ScaleReading{e.ID, e.At, *b})
	case *ColdBody:
		v.Cold = append(v.Cold, ColdFile{e.ID, e.At, *b})
	case *PhaseBody:
		v.Phase = b.Phase
	case *WorkBody:
		v.Work = append(v.Work, Work{e.ID, e.At, *b})
	case *MoveBody:
		v.Moves = append(v.Moves, Move{e.ID, e.At, *b})
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

// Plate returns the machine as a judgement needs it.
func (m *Machine) Plate() reading.Machine {
	temp := func(v *float64) *units.Temp {
		if v == nil {
			return nil
		}
		t := units.Temp(*v)
		return &t
	}
	diff := func(v *float64) *units.TempDiff {
		if v == nil {
			return nil
		}
		t := units.TempDiff(*v)
		return &t
	}
	a, _ := reading.ParseApplication(m.Application)
	x, _ := reading.ParseExpansion(m.Expansion)
	h, _ := reading.ParseHeadControl(m.HeadControl)
	box := temp(m.DesignBoxK)
	if box == nil {
		box = temp(m.SetPointK)
	}
	out := reading.Machine{
		Refrigerant: m.Refrigerant,
		Application: a,
		Expansion:   x,
		Receiver:    m.Receiver,
		HeadControl: h,
		HeadSet:     temp(m.HeadSetK),
		Design: reading.Design{
			Box:        box,
			Ambient:    temp(m.DesignAmbK),
			TD:         diff(m.DesignTDK),
			Split:      diff(m.DesignSplitK),
			Subcooling: diff(m.DesignSubcoolK),
		},
		AltitudeM: m.AltitudeM,
		RatedAmps: m.RatedAmps,
		Exchanger: m.Exchanger,
	}
	absolute := func(gauge *float64) *units.Pressure {
		if gauge == nil {
			return nil
		}
		p := out.AmbientPressure() + units.Pressure(*gauge)
		return &p
	}
	out.CrankcaseRegulator, out.EvaporatorRegulator = absolute(m.CrankcaseGaugePa), absolute(m.EvaporatorGaugePa)
	return out
}

// Sheet is one end of a visit as a sheet, with the earlier visits of the machine that were judged healthy.
func (m *Machine) Sheet(v *Visit, p Phase) reading.Sheet {
	s := m.bare(v, p)
	for _, old := range m.healthyBefore(v) {
		end := After
		if len(old.After.Readings) < 2 {
			end = Before
		}
		s.HealthyVisits = append(s.HealthyVisits, m.bare(old, end))
	}
	return s
}

// healthyBefore lists the healthy visits before one that its bands are learned from: the last three are enough, and newer ones count more.
func (m *Machine) healthyBefore(v *Visit) []*Visit {
	var out []*Visit
	for _, old := range m.Visits {
		if old.Healthy && old.ID != v.ID && old.Opened.Before(v.Opened) {
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

// Visit finds a visit.
func (m *Machine) Visit(id ID) (*Visit, bool) {
	for _, v := range m.Visits {
		if v.ID == id {
			return v, true
		}
	}
	return nil, false
}

// Open returns the open visit of a machine.
func (m *Machine) Open() (*Visit, bool) {
	for _, v := range slices.Backward(m.Visits) {
		if v.Closed.IsZero() {
			return v, true
		}
	}
	return nil, false
}

// SetPoint is what the box must hold: the stated set point, the design box, or the application's usual one.
func (m *Machine) SetPoint() units.Temp {
	if m.SetPointK != nil {
		return units.Temp(*m.SetPointK)
	}
	r, _ := m.Plate().Resolve()
	return r.Box
}
