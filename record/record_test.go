package record

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"coldwright/leak"
	"coldwright/machine/reading"
)

var day = time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)

func id(n int) ID { return ID(fmt.Sprintf("01900000-0000-7000-8000-%012d", n)) }

func event(n int, k Kind, b any) Event {
	text, err := json.Marshal(b)
	if err != nil {
		panic(err)
	}
	return Event{
		ID:      id(n),
		Device:  "a",
		Seq:     int64(n),
		At:      day.Add(time.Duration(n) * time.Minute),
		Site:    id(900),
		Machine: id(901),
		Visit:   id(902),
		Kind:    k,
		Version: 1,
		Body:    text,
	}
}

func sample() []Event {
	m := event(1, MachineSaved, MachineBody{Name: "Walk-in freezer", Refrigerant: "R-404A", Application: "walk-in freezer"})
	m.Visit = ""
	later := event(9, Withdrawn, EmptyBody{})
	later.Corrects = id(4)
	return []Event{
		m,
		event(2, VisitOpened, OpenBody{Complaint: "will not hold"}),
		event(3, ReadingTaken, ReadingBody{At: "box_air", Value: 257, Text: "3 F", Phase: Before}),
		event(
			4,
			ReadingTaken,
			ReadingBody{At: "suction_pressure", Value: 184e3, Text: "12 psig", Phase: Before},
		),
		event(5, ThingsSeen, SeenBody{map[string]string{"glass": "bubbling"}, Before}),
		event(
			6,
			ReadingTaken,
			ReadingBody{At: "box_air", Value: 258, Text: "4 F", Phase: Before},
		),
		event(7, PullPoint, PullPointBody{10, 258, "4", Before}),
		event(8, WorkDone, WorkBody{"leak_repaired", ""}),
		later,
		event(10, VisitClosed, CloseBody{Mechanic: "A. Mechanic"}),
	}
}

// search is a leak search over two visits: looked at, found, confirmed and repaired in the first, re-checked in the second.
func search() []Event {
	second := func(e Event) Event { e.Visit = id(903); return e }
	p := 900e3
	return append(
		sample()[:2],
		event(
			20,
			LeakSet,
			LeakSetBody{HighPa: &p, Charge: "refrigerant", Draught: true},
		),
		event(21, LeakLooked, LookBody{Place: "flare_high", Method: "detector", Saw: "nothing"}),
		event(
			22,
			LeakLooked,
			LookBody{Place: "coil_ends", Method: "detector", Saw: "signal", LeakSetBody: LeakSetBody{HighPa: &p}},
		),
		event(23, LeakStep, StepBody{"coil_ends", "found"}),
		event(
			24,
			LeakStep,
			StepBody{"coil_ends", "bubbles"},
		),
		event(25, LeakStep, StepBody{"coil_ends", "repaired"}),
		event(26, LeakStep, StepBody{"drier", "repaired"}),
		second(event(40, VisitOpened, OpenBody{Complaint: "re-check"})),
		second(event(41, LeakStep, StepBody{"coil_ends", "tight"})),
	)
}

func TestProjectMachine_LeakSearch(t *testing.T) {
	for _, e := range search() {
		if err := e.Check(); err != nil {
			t.Errorf("%s: %v", e.Kind, err)
		}
	}
	m, _ := ProjectMachine(search())
	if len(m.Visits) != 2 {
		t.Fatal(m.Visits)
	}
	v, w := m.Visits[0], m.Visits[1]
	if len(v.Looks) != 2 || v.Looks[1].Saw != "signal" || *v.Looks[1].HighPa != 900e3 || !v.LeakSet.Draught || v.LeakSet.LowPa != nil {
		t.Errorf("looks %+v, set %+v", v.Looks, v.LeakSet)
	}
	// The repair of a drier that was never found changes nothing; the leak counts as found with its confirmation and as work with its repair.
	if len(v.Finds) != 1 || v.Finds[0].Stage != leak.Repaired || !v.Finds[0].Confirmed || len(v.Leaks) != 1 ||
		v.Leaks[0].Place != "coil_ends" ||
		len(v.Work) != 1 ||
		v.Work[0].Code != "leak_repaired" {
		t.Errorf("first visit: finds %+v, leaks %+v, work %+v", v.Finds, v.Leaks, v.Work)
	}
	if len(w.Finds) != 1 || w.Finds[0].Stage != leak.Rechecked || w.Finds[0].Confirmed || len(w.Leaks) != 0 ||
		m.LeakStages["coil_ends"] != leak.Rechecked {
		t.Errorf("second visit: %+v, stages %v", w.Finds, m.LeakStages)
	}
	// Without the confirmation what builds on it falls away.
	gone := event(50, Withdrawn, EmptyBody{})
	gone.Corrects = id(24)
	if m, _ := ProjectMachine(append(search(), gone)); m.LeakStages["coil_ends"] != leak.Found ||
		len(m.Visits[0].Leaks)+len(m.Visits[0].Work) != 0 {
		t.Errorf("after taking the confirmation back: %v", m.LeakStages)
	}
}

func TestProjectMachine(t *testing.T) {
	m, ok := ProjectMachine(sample())
	if !ok || len(m.Visits) != 1 {
		t.Fatal(ok, m)
	}
	v := m.Visits[0]
	// The second box reading replaces the first, the withdrawn suction reading is gone, the visit is closed.
	if len(v.Before.Readings) != 1 || v.Before.Readings[0].Value != 258 || v.Before.Seen.Glass != reading.Bubbling || v.Closed.IsZero() ||
		len(v.Work) != 1 ||
		len(v.Before.Pull.Points) != 1 {
		t.Errorf("%+v", v)
	}
}

// proof is a visit with every test after a repair; the second standing test is taken back with its points.
func proof() []Event {
	plate, coldest, before := 2.2e6, 262.0, int64(0)
	room := event(
		80,
		RoomSaved,
		RoomBody{LengthM: 3, WidthM: 2.4, HeightM: 2.4, WallsU: 0.23, CeilingU: 0.23, OutsideK: 300, OutsideRH: 0.5},
	)
	room.Visit = ""
	gone := event(79, Withdrawn, EmptyBody{})
	gone.Corrects = id(64)
	return append(
		sample()[:2],
		event(60, HoldStarted, HoldStartBody{PlatePa: &plate, VolumesM3: []float64{0.012, 0.008}}),
		event(61, HoldPoint, HoldPointBody{Test: id(60), Minute: 60, PressurePa: 1.13e6, GasK: []float64{296, 295}, Text: "149.2"}),
		event(62, HoldPoint, HoldPointBody{Test: id(60), Minute: 0, PressurePa: 1.14e6, GasK: []float64{297, 296}, Text: "150"}),
		event(
			64,
			HoldStarted,
			HoldStartBody{},
		),
		event(65, HoldPoint, HoldPointBody{Test: id(64), PressurePa: 1e6, GasK: []float64{297}, Text: "130"}),
		event(
			66,
			RiseStarted,
			RiseStartBody{ColdestK: &coldest, Criterion: "ufgs_15182"},
		),
		event(67, RisePoint, RisePointBody{Test: id(66), Minute: 0, PressurePa: 40, Text: "300"}),
		event(68, RisePoint, RisePointBody{Test: id(66), Minute: 2, PressurePa: 42, Text: "315"}),
		event(
			70,
			ChargeSet,
			ChargeSetBody{InBeforeG: &before},
		),
		event(71, ScaleRead, ScaleBody{Cylinder: "C-131", GrossG: 14000, TareG: 4000, Text: "14 kg"}),
		event(72, ScaleRead, ScaleBody{Cylinder: "C-131", GrossG: 12500, Text: "12.5 kg"}),
		event(75, ColdRecorded, ColdBody{Name: "box.csv", SHA256: "00", Bytes: 3, File: []byte{1, 2, 3}, Rule: "cold_holding"}),
		gone,
		room,
	)
}

// lawful is what the rules ask beside the plate; the second thing that happened is taken back.
func lawful() []Event {
	gone := event(94, Withdrawn, EmptyBody{})
	gone.Corrects = id(93)
	list := []Event{
		event(91, LawSaved, LawBody{Class: "comfort cooling", Hermetic: true}),
		event(92, LawHappened, LawEventBody{What: "mothballed", On: "2026-05-01"}),
		event(93, LawHappened, LawEventBody{What: "retired"}),
		gone,
	}
	for i := range list {
		list[i].Visit = ""
	}
	return list
}

func TestProjectMachine_Proof(t *testing.T) {
	for _, e := range append(proof(), lawful()...) {
		if err := e.Check(); err != nil {
			t.Errorf("%s: %v", e.Kind, err)
		}
	}
	m, _ := ProjectMachine(append(proof(), lawful()...))
	if m.Law.Class != "comfort cooling" || !m.Law.Hermetic || len(m.LawEvents) != 1 || m.LawEvents[0].What != "mothballed" ||
		m.LawEvents[0].Event != id(92) {
		t.Errorf("for the law: %+v %+v", m.Law, m.LawEvents)
	}
	v := m.Visits[0]
	h, r := v.Hold(), v.Rise()
	if len(v.Holds) != 1 || len(h.Points) != 2 || h.Points[0].Text != "150" || *h.PlatePa != 2.2e6 || len(h.VolumesM3) != 2 ||
		!h.Started.Equal(day.Add(time.Hour)) {
		t.Errorf("standing pressure: %+v", v.Holds)
	}
	if len(r.Points) != 2 || r.Criterion != "ufgs_15182" || *r.ColdestK != 262 || r.VolumeM3 != nil {
		t.Errorf("rise: %+v", r)
	}
	if *v.ChargeSet.InBeforeG != 0 || len(v.Scale) != 2 || v.Scale[1].GrossG != 12500 || len(v.Cold) != 1 || len(v.Cold[0].File) != 3 {
		t.Errorf("charge %+v, scale %+v, record %+v", v.ChargeSet, v.Scale, v.Cold)
	}
	if len(m.Visits) != 1 || m.Room == nil || m.Room.FloorU != nil || m.Room.LengthM != 3 {
		t.Errorf("room: %+v, %d visits", m.Room, len(m.Visits))
	}
	large := event(90, ColdRecorded, ColdBody{Name: "x", Bytes: ColdFileLimit + 1})
	if large.Check() == nil {
		t.Error("a file beyond the limit was accepted")
	}
}

// pictures is photos and notes of a visit and of the machine; one of each is taken back, one note is put right.
func pictures() []Event {
	hash := func(s string) string { return HashOf([]byte(s)) }
	photo := func(n int, step, place, caption string) Event {
		return event(
			n,
			PhotoTaken,
			PhotoBody{Hash: hash(caption), Type: "image/jpeg", Width: 4, Height: 3, Caption: caption, Where: Where{step, place}},
		)
	}
	plate := photo(100, "plate", "", "plate")
	plate.Visit = ""
	blurred := photo(101, "plate", "", "blurred")
	blurred.Visit = ""
	gone := event(102, Withdrawn, EmptyBody{})
	gone.Visit, gone.Corrects = "", id(101)
	right := event(106, Noted, NoteBody{Text: "the clamp rubs", Where: Where{Step: "look"}})
	right.Corrects = id(105)
	lost := event(109, Withdrawn, EmptyBody{})
	lost.Corrects = id(104)
	return append(
		sample()[:2],
		plate,
		blurred,
		gone,
		photo(103, "search", "coil_ends", "bubbles"),
		photo(104, "look", "", "thumb"),
		event(
			105,
			Noted,
			NoteBody{Text: "the clam rubs", Where: Where{Step: "look"}},
		),
		right,
		event(107, Noted, NoteBody{Text: "key at the desk"}),
		lost,
	)
}

func TestProjectMachine_Pictures(t *testing.T) {
	for _, e := range pictures() {
		if err := e.Check(); err != nil {
			t.Errorf("%s: %v", e.Kind, err)
		}
	}
	m, _ := ProjectMachine(pictures())
	if len(m.Photos) != 1 || m.Photos[0].Caption != "plate" || m.Photos[0].Event != id(100) || len(m.Visits) != 1 {
		t.Errorf("of the machine: %+v, %d visits", m.Photos, len(m.Visits))
	}
	v := m.Visits[0]
	if len(v.Photos) != 1 || v.Photos[0].Place != "coil_ends" || v.Photos[0].Step != "search" {
		t.Errorf("photos: %+v", v.Photos)
	}
	if len(v.Notes) != 2 || v.Notes[0].Text != "the clamp rubs" || v.Notes[0].Step != "look" || v.Notes[1].Where != (Where{}) {
		t.Errorf("notes: %+v", v.Notes)
	}
	for what, b := range map[string]any{
		"no hash":        PhotoBody{Type: "image/jpeg", Width: 1, Height: 1},
		"another type":   PhotoBody{Hash: HashOf(nil), Type: "image/svg+xml", Width: 1, Height: 1},
		"no size":        PhotoBody{Hash: HashOf(nil), Type: "image/jpeg"},
		"a capital hash": PhotoBody{Hash: strings.ToUpper(HashOf(nil)), Type: "image/jpeg", Width: 1, Height: 1},
	} {
		if event(120, PhotoTaken, b).Check() == nil {
			t.Errorf("a photo with %s was accepted", what)
		}
	}
	nowhere := event(121, PhotoTaken, PhotoBody{Hash: HashOf(nil), Type: "image/jpeg", Width: 1, Height: 1})
	nowhere.Visit, nowhere.Site = "", ""
	if nowhere.Check() == nil {
		t.Error("a photo of nothing was accepted")
	}
}

// The hash of "abc" is that of FIPS 180-4, in NIST's example values for SHA-256.
func TestBlob(t *testing.T) {
	b := NewBlob("image/jpeg", []byte("abc"))
	if b.Hash != "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad" || b.Check() != nil {
		t.Errorf("%s %v", b.Hash, b.Check())
	}
	for what, b := range map[string]Blob{
		"nothing": NewBlob("image/jpeg", nil), "too much": NewBlob("image/jpeg", make([]byte, BlobLimit+1)),
		"other bytes": {b.Hash, "image/jpeg", []byte("abd")},
		"no type":     NewBlob("", []byte("abc")), "two lines": NewBlob("image/jpeg\r\nX: y", []byte("abc")),
	} {
		if b.Check() == nil {
			t.Errorf("%s was accepted", what)
		}
	}
	most := NewBlob("text/csv", make([]byte, BlobLimit))
	if err := most.Check(); err != nil {
		t.Error(err)
	}
	// An event names what it needs: a photo its picture, a logger's file of today itself, one of before blobs nothing.
	for _, c := range []struct {
		e    Event
		want int
	}{
		{event(1, PhotoTaken, PhotoBody{Hash: b.Hash}), 1},
		{event(1, ColdRecorded, ColdBody{SHA256: b.Hash}), 1},
		{event(1, ColdRecorded, ColdBody{SHA256: b.Hash, File: []byte{1}}), 0},
		{event(1, Noted, NoteBody{}), 0},
	} {
		if got := c.e.Blobs(); len(got) != c.want || c.want == 1 && got[0] != b.Hash {
			t.Errorf("%s names %v", c.e.Kind, got)
		}
	}
}

// The order in which events arrive changes nothing, appending twice changes nothing, and merging is commutative (properties).
func TestMerge_Properties(t *testing.T) {
	whole := func() []Event { return merge(merge(merge(merge(sample(), search()), proof()), pictures()), lawful()) }
	want, _ := ProjectMachine(whole())
	rapid.Check(t, func(t *rapid.T) {
		ev := whole()
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		rng.Shuffle(len(ev), func(i, j int) { ev[i], ev[j] = ev[j], ev[i] })
		k := rapid.IntRange(0, len(ev)).Draw(t, "cut")
		a, b := merge(ev[:k], ev), merge(ev[k:], ev[:k])
		if !reflect.DeepEqual(a, b) {
			t.Fatal("merging depends on the order")
		}
		got, _ := ProjectMachine(a)
		if !reflect.DeepEqual(got, want) {
			t.Fatal("the projection depends on the order of arrival")
		}
	})
}

func TestEvent_UnknownPasses(t *testing.T) {
	e := event(1, "fleet_painted", map[string]any{"colour": "plain"})
	if e.Known() || e.Check() != nil {
		t.Error("an unknown kind must pass untouched")
	}
	e = event(1, ReadingTaken, ReadingBody{})
	e.Version = 7
	if e.Known() || e.Check() != nil {
		t.Error("a newer version must pass untouched")
	}
	m, ok := ProjectMachine(append(sample(), event(50, "fleet_painted", 1)))
	if !ok || len(m.Visits) != 1 {
		t.Error("an unknown kind disturbs the projection")
	}
}

// What cannot be read is counted where it belongs, unless it was taken back.
func TestProjectMachine_Unread(t *testing.T) {
	all := sample()
	m, _ := ProjectMachine(all)
	if m.Unread != 0 || m.Visits[0].Unread != 0 {
		t.Fatalf("%d of the machine and %d of the visit in a sample that can be read", m.Unread, m.Visits[0].Unread)
	}
	unknown := event(50, "fleet_painted", 1)
	newer := event(51, ReadingTaken, ReadingBody{At: "box_air", Value: 270})
	newer.Version = 2
	place := event(52, ReadingTaken, ReadingBody{At: "attic", Value: 270})
	garbled := event(53, Noted, []int{1})
	plate := event(54, RoomSaved, "wide")
	plate.Visit = ""
	m, _ = ProjectMachine(append(all, unknown, newer, place, garbled, plate))
	if v := m.Visits[0]; v.Unread != 4 || m.Unread != 1 {
		t.Errorf("%d of the visit, %d of the machine", v.Unread, m.Unread)
	}
	back := event(55, Withdrawn, EmptyBody{})
	back.Corrects = newer.ID
	if m, _ = ProjectMachine(append(all, newer, back)); m.Visits[0].Unread != 0 {
		t.Error("what was taken back is still missing")
	}
	site := event(60, SiteSaved, SiteBody{Name: "Kitchen"})
	site.Machine, site.Visit = "", ""
	later := site
	later.ID, later.Version, later.Seq = newer.ID, 2, 61
	if s, ok := ProjectSite([]Event{site, later}); !ok || s.Unread != 1 || s.Name != "Kitchen" {
		t.Errorf("%+v", s)
	}
}

func TestEvent_Refused(t *testing.T) {
	for what, e := range map[string]Event{
		"no id":         {Device: "a", At: day, Kind: Noted, Version: 1, Body: []byte("{}")},
		"unknown field": event(1, WorkDone, map[string]any{"code": "x", "colour": 1}),
		"no visit":      func() Event { e := event(1, WorkDone, WorkBody{}); e.Visit = ""; return e }(),
		"not JSON":      func() Event { e := event(1, WorkDone, WorkBody{}); e.Body = []byte("{"); return e }(),
		"takes nothing": event(1, Withdrawn, EmptyBody{}),
	} {
		if e.Check() == nil {
			t.Errorf("%s was accepted", what)
		}
	}
}

func FuzzEventCheck(f *testing.F) {
	for _, e := range append(append(append(sample(), search()...), proof()...), pictures()...) {
		b, _ := json.Marshal(e)
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		var e Event
		if json.Unmarshal(b, &e) == nil && e.Check() == nil {
			ProjectMachine([]Event{e})
			ProjectSite([]Event{e})
		}
	})
}

// Cylinders belong to the house: their events name nothing else, and what takes one back names no visit either.
func TestEvent_Cylinder(t *testing.T) {
	house := func(k Kind, b any) Event {
		e := event(1, k, b)
		e.Site, e.Machine, e.Visit = "", "", ""
		return e
	}
	bought := CylinderBody{Cylinder: "404-17", Refrigerant: "R-404A", Grams: 10_900, How: "bought", With: "the counter", Text: "24 lb"}
	gone := house(Withdrawn, EmptyBody{})
	gone.Corrects = id(2)
	empty := bought
	empty.Grams = 0
	for _, e := range []Event{house(CylinderBought, bought), house(CylinderWeighed, empty), gone} {
		if err := e.Check(); err != nil {
			t.Errorf("%s: %v", e.Kind, err)
		}
	}
	half := gone
	half.Visit = id(902)
	half.Machine = ""
	for what, e := range map[string]Event{
		"at a machine": event(1, CylinderBought, bought), "nothing bought": house(CylinderBought, empty),
		"sent nowhere":  house(CylinderSent, bought),
		"moved nowhere": house(CylinderMoved, bought), "no cylinder": house(CylinderWeighed, CylinderBody{Refrigerant: "R-22"}),
		"visit without machine": half,
	} {
		if e.Check() == nil {
			t.Errorf("%s was accepted", what)
		}
	}
}

// merge is the union of two sets of events by id, in order.
func merge(a, b []Event) []Event {
	seen := map[ID]bool{}
	var out []Event
	for _, list := range [][]Event{a, b} {
		for _, e := range list {
			if !seen[e.ID] {
				seen[e.ID] = true
				out = append(out, e)
			}
		}
	}
	Sort(out)
	return out
}
