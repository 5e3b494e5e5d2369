package record

import (
	"encoding/json"
	"testing"
	"time"
)

// A judgement rests on what was read at its end and what the machine is, not on a note, the other end or a signature.
func TestMachine_RestsOn(t *testing.T) {
	at := time.Date(2026, 7, 1, 9, 0, 0, 0, time.UTC)
	var events []Event
	put := func(id ID, visit ID, k Kind, corrects ID, body any) {
		b, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		at = at.Add(time.Minute)
		events = append(events, Event{
			ID: id, Device: "d", Seq: int64(len(events) + 1), At: at, Site: "s", Machine: "m", Visit: visit, Kind: k, Version: 1,
			Corrects: corrects, Body: b,
		})
	}
	want := func(what string, p Phase, id ID) {
		t.Helper()
		m, _ := ProjectMachine(events)
		v, ok := m.Visit("now")
		if !ok {
			t.Fatal("no visit")
		}
		if e, ok := m.RestsOn(events, v, p); !ok || e.ID != id {
			t.Errorf("%s: %s rests on %q, want %q", what, p, e.ID, id)
		}
	}
	put("plate", "", MachineSaved, "", MachineBody{Name: "Freezer", Refrigerant: "R-404A"})
	put("old open", "old", VisitOpened, "", OpenBody{})
	put("old reading", "old", ReadingTaken, "", ReadingBody{At: "box_air", Value: 255, Phase: Before})
	put("open", "now", VisitOpened, "", OpenBody{})
	want("another visit's readings", Before, "plate")
	put("healthy", "old", JudgedHealthy, "", EmptyBody{})
	want("a healthy visit", Before, "healthy")
	put("reading", "now", ReadingTaken, "", ReadingBody{At: "box_air", Value: 256, Phase: Before})
	put("note", "now", Noted, "", NoteBody{Text: "door"})
	put("work", "now", WorkDone, "", WorkBody{Code: "coil_cleaned"})
	want("a note and work", Before, "reading")
	want("the other end", After, "healthy")
	put("after", "now", ReadingTaken, "", ReadingBody{At: "box_air", Value: 255, Phase: After})
	put("closed", "now", VisitClosed, "", CloseBody{Mechanic: "Van 7"})
	want("closing", Before, "reading")
	want("closing", After, "after")
	put("back", "now", Withdrawn, "reading", EmptyBody{})
	want("taken back", Before, "back")
	want("taken back", After, "after")
	put("note back", "now", Withdrawn, "note", EmptyBody{})
	put("plate again", "", MachineSaved, "", MachineBody{Name: "Freezer", Refrigerant: "R-448A"})
	want("another plate", After, "plate again")
}
