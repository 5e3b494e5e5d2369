package record

import (
	"math"
	"strings"
	"testing"
)

// A number beyond what an event may have is refused, and one that an old log holds is not counted on from.
func TestEvent_Number(t *testing.T) {
	for seq, sound := range map[int64]bool{-1: false, 0: true, 1: true, SeqLimit: true, SeqLimit + 1: false, math.MaxInt64: false} {
		e := event(1, Noted, NoteBody{Text: "x"})
		e.Seq = seq
		if err := e.Check(); (err == nil) != sound {
			t.Errorf("%d: %v", seq, err)
		}
	}
	h := Head{Seq: 7}
	forged := event(2, Noted, NoteBody{Text: "x"})
	forged.Seq = math.MaxInt64
	h.Follow(forged)
	own := event(3, Noted, NoteBody{Text: "x"})
	own.Seq = 0
	if got := h.Next(own, day); got.Seq != 8 {
		t.Errorf("the next own number is %d", got.Seq)
	}
}

// One event has one id: a UUID in capitals or without its dashes where they belong is none.
func TestEvent_OneSpelling(t *testing.T) {
	const low = "0190abcd-0000-7000-8000-000000000001"
	for _, bad := range []ID{
		ID(strings.ToUpper(low)), "0190abcd-0000-7000-8000-00000000000A", "0190abcd0-000-7000-8000-000000000001",
		"0190abcd-0000-7000-8000-00000000000g",
	} {
		e := event(1, Noted, NoteBody{Text: "x"})
		if e.ID = bad; e.Check() == nil {
			t.Errorf("%s is taken as an id", bad)
		}
	}
	up := ID(strings.ToUpper(low))
	for field, put := range map[string]func(*Event){
		"site": func(e *Event) { e.Site = up }, "machine": func(e *Event) { e.Machine = up },
		"visit": func(e *Event) { e.Visit = up }, "corrects": func(e *Event) { e.Corrects = up },
	} {
		e := event(1, Noted, NoteBody{Text: "x"})
		if put(&e); e.Check() == nil {
			t.Errorf("%s in capitals is taken", field)
		}
	}
}

// A withdrawal of what no page takes back counts for nothing: the machine stays, the visit stays closed. So does a
// correction of itself, of another kind, or round in a circle.
func TestGone(t *testing.T) {
	plate := event(1, MachineSaved, MachineBody{Name: "Freezer", Refrigerant: "R-404A", Application: "walk-in freezer"})
	plate.Visit = ""
	log := []Event{
		plate, event(2, VisitOpened, OpenBody{}), event(3, ReadingTaken, ReadingBody{At: "box_air", Value: 257, Text: "3 F", Phase: Before}),
		event(4, Noted, NoteBody{Text: "one"}), event(5, Noted, NoteBody{Text: "two"}), event(6, VisitClosed, CloseBody{}),
	}
	back := func(n int, k Kind, of int, b any) Event {
		e := event(n, k, b)
		e.Corrects = id(of)
		return e
	}
	bad := []Event{
		back(10, Withdrawn, 1, EmptyBody{}), back(11, Withdrawn, 2, EmptyBody{}), back(12, Withdrawn, 6, EmptyBody{}),
		back(13, Noted, 3, NoteBody{Text: "instead of a reading"}), back(14, Noted, 14, NoteBody{Text: "itself"}),
		back(15, Noted, 16, NoteBody{Text: "a"}), back(16, Noted, 15, NoteBody{Text: "b"}),
	}
	m, ok := ProjectMachine(append(log, bad...))
	if !ok || len(m.Visits) != 1 || m.Visits[0].Closed.IsZero() || len(m.Visits[0].Before.Readings) != 1 || len(m.Visits[0].Notes) != 6 {
		t.Errorf("%v %+v", ok, m.Visits)
	}
	for _, e := range bad[:5] {
		for _, of := range append(log, bad...) {
			if of.ID == e.Corrects && e.Check() == nil && e.Fits(of) == nil {
				t.Errorf("%s of %s is taken", e.Kind, of.Kind)
			}
		}
	}
	// What can be corrected is, note by note.
	good := []Event{
		back(20, Withdrawn, 3, EmptyBody{}), back(21, Noted, 4, NoteBody{Text: "better"}), back(22, Noted, 21, NoteBody{Text: "best"}),
	}
	m, _ = ProjectMachine(append(log, good...))
	if v := m.Visits[0]; len(v.Before.Readings) != 0 || len(v.Notes) != 2 || v.Notes[1].Text != "best" {
		t.Errorf("%+v", v)
	}
}
