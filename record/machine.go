package record

import (
	"encoding/json"
	"slices"
	"time"

	"coldwright/leak"
	"coldwright/machine/reading"
	"coldwright/units"
)

// Machine is a machine with its visits.
type Machine struct {
	ID, Site ID
	MachineBody
	AltitudeM float64
	Visits    []*Visit  // in the order in which they began, whatever the clocks said
	Room      *RoomBody // nil until somebody measured the room
	Parts     []PartBody
	Photos    []Photo // of the machine itself, the oldest first
	// Facts counts the events of the log that can bear on a judgement, those taken back and their withdrawals too:
	// the same number, nothing has changed.
	Facts int
	// Aside is the event by which its healthy visits no longer teach others what is usual; empty: they do.
	Aside     ID
	Law       LawBody
	LawEvents []LawEvent // in the order in which they were entered
	// LeakStages is how far each place of the leak catalogue has come, over all visits.
	LeakStages map[string]leak.Stage
	Unread     int // entries of the machine, beside its visits, that this program cannot read
}

// LawEvent is something the rules count, with its event.
type LawEvent struct {
	Event ID
	At    time.Time
	LawEventBody
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
	unread := each(events, func(e Event) bool {
		switch {
		case e.Kind == MachineSaved:
			b, read := decode[MachineBody](e)
			if read {
				m.ID, m.Site, m.MachineBody, ok = e.Machine, e.Site, b, true
			}
			return read
		case e.Visit == "" || ofMachine(e.Kind):
			return m.apply(e)
		}
		v := visits[e.Visit]
		if v == nil {
			v = &Visit{ID: e.Visit, Machine: e.Machine, Site: e.Site, Opened: e.At, Phase: Before, By: e.By}
			visits[e.Visit] = v
			m.Visits = append(m.Visits, v)
		}
		if e.Kind == LeakStep {
			return m.step(v, e)
		}
		return v.apply(e)
	})
	for _, e := range unread {
		if v := visits[e.Visit]; v != nil {
			v.Unread++
		} else {
			m.Unread++
		}
	}
	return m, ok
}

// ofMachine reports whether events of a kind are about the machine, whatever visit they were entered in.
func ofMachine(k Kind) bool {
	return k == RoomSaved || k == PartsSaved || k == LawSaved || k == LawHappened || k == LessonSetAside
}

// apply takes in what is about the machine and not about a visit; false: it cannot be read.
func (m *Machine) apply(e Event) bool {
	b := body(e.Kind)
	if json.Unmarshal(e.Body, b) != nil {
		return false
	}
	switch b := b.(type) {
	case *EmptyBody:
		if e.Kind == LessonSetAside {
			m.Aside = e.ID
		}
	case *RoomBody:
		m.Room = b
	case *PartsBody:
		m.Parts = b.Parts
	case *PhotoBody:
		m.Photos = append(m.Photos, Photo{e.ID, e.At, *b})
	case *LawBody:
		m.Law = *b
	case *LawEventBody:
		m.LawEvents = append(m.LawEvents, LawEvent{e.ID, e.At, *b})
	}
	return true
}

// step moves a find on. A find that an earlier visit left open goes on from there. An act that does not follow, as
// when two devices are merged, stays in the log and changes nothing. false: it cannot
// be read.
func (m *Machine) step(v *Visit, e Event) bool {
	b, read := decode[StepBody](e)
	if !read {
		return false
	}
	was := m.LeakStages[b.Place]
	now, err := was.Next(leak.Act(b.Act))
	if err != nil || now == was {
		return true
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
	return true
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
		AltitudeM:  m.AltitudeM,
		RatedAmps:  m.RatedAmps,
		LockedAmps: m.LockedAmps,
		RatedPower: m.RatedPowerW,
		Exchanger:  m.Exchanger,

		LineLength:  m.LineLengthM,
		Lift:        m.LiftM,
		Accumulator: m.Accumulator,
	}
	if m.Room != nil {
		out.RatedCapacity = m.Room.CapacityW
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

// SetPoint is what the box must hold: the stated set point, the design box, or the application's usual one.
func (m *Machine) SetPoint() units.Temp {
	if m.SetPointK != nil {
		return units.Temp(*m.SetPointK)
	}
	r, _ := m.Plate().Resolve()
	return r.Box
}
