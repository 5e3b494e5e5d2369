package record

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"coldwright/leak"
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

// search is a leak search over two visits: looked at, found, confirmed and repaired in the first, re-checked in the second.
func search() []Event {
	second := func(e Event) Event { e.Visit = id(903); return e }
	p := 900e3
	return append(sample()[:2],
		event(20, LeakSet, LeakSetBody{HighPa: &p, Charge: "refrigerant", Draught: true}), event(21, LeakLooked, LookBody{Place: "flare_high", Method: "detector", Saw: "nothing"}),
		event(22, LeakLooked, LookBody{Place: "coil_ends", Method: "detector", Saw: "signal", LeakSetBody: LeakSetBody{HighPa: &p}}), event(23, LeakStep, StepBody{"coil_ends", "found"}),
		event(24, LeakStep, StepBody{"coil_ends", "bubbles"}), event(25, LeakStep, StepBody{"coil_ends", "repaired"}), event(26, LeakStep, StepBody{"drier", "repaired"}),
		second(event(40, VisitOpened, OpenBody{"re-check"})), second(event(41, LeakStep, StepBody{"coil_ends", "tight"})))
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
	if len(v.Finds) != 1 || v.Finds[0].Stage != leak.Repaired || !v.Finds[0].Confirmed || len(v.Leaks) != 1 || v.Leaks[0].Place != "coil_ends" || len(v.Work) != 1 || v.Work[0].Code != "leak_repaired" {
		t.Errorf("first visit: finds %+v, leaks %+v, work %+v", v.Finds, v.Leaks, v.Work)
	}
	if len(w.Finds) != 1 || w.Finds[0].Stage != leak.Rechecked || w.Finds[0].Confirmed || len(w.Leaks) != 0 || m.LeakStages["coil_ends"] != leak.Rechecked {
		t.Errorf("second visit: %+v, stages %v", w.Finds, m.LeakStages)
	}
	// Without the confirmation what builds on it falls away.
	gone := event(50, Withdrawn, EmptyBody{})
	gone.Corrects = id(24)
	if m, _ := ProjectMachine(append(search(), gone)); m.LeakStages["coil_ends"] != leak.Found || len(m.Visits[0].Leaks)+len(m.Visits[0].Work) != 0 {
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
	if len(v.Before.Readings) != 1 || v.Before.Readings[0].Value != 258 || v.Before.Seen.Glass != reading.Bubbling || v.Closed.IsZero() || len(v.Work) != 1 || len(v.Before.Pull.Points) != 1 {
		t.Errorf("%+v", v)
	}
}

// The order in which events arrive changes nothing, appending twice changes nothing, and merging is commutative (properties).
func TestMerge_Properties(t *testing.T) {
	whole := func() []Event { return Merge(sample(), search()) }
	want, _ := ProjectMachine(whole())
	rapid.Check(t, func(t *rapid.T) {
		ev := whole()
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
	for _, e := range append(sample(), search()...) {
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
