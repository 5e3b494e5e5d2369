package record

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"coldwright/reading"
)

var day = time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)

func id(n int) ID { return ID(fmt.Sprintf("01900000-0000-7000-8000-%012d", n)) }

func event(n int, k Kind, b any) Event {
	text, err := json.Marshal(b)
	if err != nil {
		panic(err)
	}
	return Event{ID: id(n), Device: "a", Seq: int64(n), At: day.Add(time.Duration(n) * time.Minute), Site: id(900), Machine: id(901), Visit: id(902), Kind: k, Version: 1, Body: text}
}

func sample() []Event {
	m := event(1, MachineSaved, MachineBody{Name: "Walk-in freezer", Refrigerant: "R-404A", Application: "walk-in freezer"})
	m.Visit = ""
	later := event(9, Withdrawn, EmptyBody{})
	later.Corrects = id(4)
	return []Event{
		m, event(2, VisitOpened, OpenBody{"will not hold"}), event(3, ReadingTaken, ReadingBody{At: "box_air", Value: 257, Text: "3 F", Phase: Before}),
		event(4, ReadingTaken, ReadingBody{At: "suction_pressure", Value: 184e3, Text: "12 psig", Phase: Before}), event(5, ThingsSeen, SeenBody{map[string]string{"glass": "bubbling"}, Before}),
		event(6, ReadingTaken, ReadingBody{At: "box_air", Value: 258, Text: "4 F", Phase: Before}), event(7, PullPoint, PullPointBody{10, 258, "4", Before}),
		event(8, WorkDone, WorkBody{"leak_repaired", ""}), later, event(10, VisitClosed, CloseBody{Mechanic: "A. Mechanic"}),
	}
}

func TestProjectMachine(t *testing.T) {
	m, ok := ProjectMachine(sample())
	if !ok || len(m.Visits) != 1 {
		t.Fatal(ok, m)
	}
	v := m.Visits[0]
	// The second box reading replaces the first, the withdrawn suction reading is gone, the visit is closed.
	if len(v.Before.Readings) != 1 || v.Before.Readings[0].Value != 258 || v.Before.Seen.Glass != reading.Bubbling || v.Closed.IsZero() || len(v.Work) != 1 || len(v.Before.Pull.Points) != 1 {
		t.Errorf("%+v", v)
	}
}

// The order in which events arrive changes nothing, appending twice changes nothing, and merging is commutative (properties).
func TestMerge_Properties(t *testing.T) {
	want, _ := ProjectMachine(sample())
	rapid.Check(t, func(t *rapid.T) {
		ev := sample()
		rng := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		rng.Shuffle(len(ev), func(i, j int) { ev[i], ev[j] = ev[j], ev[i] })
		k := rapid.IntRange(0, len(ev)).Draw(t, "cut")
		a, b := Merge(ev[:k], ev), Merge(ev[k:], ev[:k])
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
	for _, e := range sample() {
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
