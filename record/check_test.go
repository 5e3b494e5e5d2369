package record

import (
	"encoding/json"
	"slices"
	"strings"
	"testing"
	"time"

	"coldwright/fail"
)

// whole is at least one event of every known kind, each of them sound.
func whole() []Event {
	cylinder := func(n int, k Kind, b CylinderBody) Event {
		e := event(n, k, b)
		e.Site, e.Machine, e.Visit = "", "", ""
		return e
	}
	site := event(200, SiteSaved, SiteBody{Name: "Kitchen", AltitudeM: 1600, Zone: "America/Denver", Jurisdiction: "US"})
	site.Machine, site.Visit = "", ""
	one, some, cold := 1.0, int64(900), 250.0
	plate := event(201, MachineSaved, MachineBody{
		Name: "Freezer", Refrigerant: "R-448A", Application: "walk-in freezer", Expansion: "valve", SetPointK: &cold, DesignTDK: &one,
		FullChargeG: &some, RatedAmps: &one, Exchanger: &one, CrankcaseGaugePa: &one, Installed: "2019",
	})
	plate.Visit = ""
	line := PartBody{Slot: "liquid", Kind: "liquid line", Size: "3/8", Length: "10 m", VolumeM3: 0.0004}
	parts := event(202, PartsSaved, PartsBody{[]PartBody{line}})
	parts.Visit = ""
	out := append(sample(), search()...)
	out = append(out, proof()...)
	out = append(out, lawful()...)
	out = append(out, pictures()...)
	return append(
		out, site, plate, parts,
		event(203, Arrived, ArriveBody{Complaint: "warm", Food: "moved"}),
		event(204, Running, RunningBody{Minutes: &one, SinceDefrostMin: &one, Phase: Before}),
		event(205, MachineTimed, TimedBody{What: DefrostBegan, AgoMin: 3, Phase: After}),
		event(206, PullStarted, PullStartBody{SetPointK: 255, Phase: Before}),
		event(207, PhaseChanged, PhaseBody{After}),
		event(208, GasMoved, MoveBody{Direction: "added", Grams: 700, Refrigerant: "R-448A", Text: "700 g", SameLeak: "yes"}),
		event(209, LeakFound, LeakBody{Place: "flare", How: "bubbles"}),
		event(210, JudgedHealthy, EmptyBody{}),
		event(211, CauseConfirmed, ConfirmBody{"low_charge"}),
		event(212, SignedReport, SignBody{Role: Customer, Name: "Kitchen lead", How: SignPaper, Content: Content(nil, sample(), id(902))}),
		cylinder(213, CylinderBought, CylinderBody{Cylinder: "C-1", Refrigerant: "R-448A", Grams: 9000, How: "bought", Text: "9 kg"}),
		cylinder(214, CylinderSent, CylinderBody{Cylinder: "C-1", Refrigerant: "R-448A", Grams: 10, How: "supplier", On: "2026-05-30"}),
		cylinder(215, CylinderMoved, CylinderBody{Cylinder: "C-1", Refrigerant: "R-448A", Grams: 10, Other: "C-2"}),
		cylinder(216, CylinderWeighed, CylinderBody{Cylinder: "C-1", Refrigerant: "R-448A", Text: "0"}),
	)
}

// forged puts each of some values in the place of each leaf of a body, one at a time.
func forged(body json.RawMessage, values ...any) (out []json.RawMessage) {
	var doc any
	if json.Unmarshal(body, &doc) != nil {
		return nil
	}
	var walk func(at any, put func(any))
	walk = func(at any, put func(any)) {
		switch x := at.(type) {
		case map[string]any:
			for k, v := range x {
				walk(v, func(n any) { x[k] = n })
			}
		case []any:
			for i, v := range x {
				walk(v, func(n any) { x[i] = n })
			}
		default:
			for _, v := range values {
				put(v)
				if b, err := json.Marshal(doc); err == nil {
					out = append(out, b)
				}
			}
			put(at)
		}
	}
	walk(doc, func(any) {})
	return out
}

// No number beyond what can be, no text that no paper can hold and no word that means nothing is taken, in any field of any kind.
func TestEvent_Meaning(t *testing.T) {
	// A site below the sea, a regulator set below the air, a file of one byte.
	may := []string{`"altitude_m":-40,`, `_gauge_pa":-40,`, `"file_gz":[1]`}
	seen, tried := map[Kind]bool{}, 0
	for _, e := range whole() {
		if err := e.Check(); err != nil {
			t.Errorf("%s %s: %v", e.Kind, e.Body, err)
		}
		seen[e.Kind] = true
		values := []any{1e308, -1e308, -40.0, "\x00", strings.Repeat("a", TextLimit+1), "a\x1bb", []any{1}, map[string]any{"a": 1}}
		for _, b := range forged(e.Body, values...) {
			f := e
			f.Body = b
			tried++
			switch err := f.Check(); {
			case err == nil && !slices.ContainsFunc(may, func(s string) bool { return strings.Contains(string(b), s) }):
				t.Errorf("%s %.200s is taken", e.Kind, b)
			case err != nil && fail.CodeOf(err) == fail.Internal:
				t.Errorf("%s %.200s: %v has no words", e.Kind, b, err)
			}
		}
	}
	for _, k := range kinds {
		if !seen[k] {
			t.Errorf("no event of kind %s was tried", k)
		}
	}
	t.Logf("%d forged bodies refused", tried)
}

func TestEvent_Form(t *testing.T) {
	for what, change := range map[string]func(*Event){
		"a year behind every date":   func(e *Event) { e.At = time.Date(2999, 1, 1, 0, 0, 0, 0, time.UTC) },
		"a clock that was never set": func(e *Event) { e.At = time.Unix(0, 0) },
		"a body of a million":        func(e *Event) { e.Body = json.RawMessage(`{"text":"` + strings.Repeat("a", BodyLimit) + `"}`) },
		"a deep body": func(e *Event) {
			e.Kind, e.Body = "from_the_future", json.RawMessage(strings.Repeat("[", 100_000)+strings.Repeat("]", 100_000))
		},
		"broken letters":      func(e *Event) { e.Body = json.RawMessage("{\"text\":\"\xff\"}") },
		"a name of broken":    func(e *Event) { e.By = "a\xff" },
		"a device of control": func(e *Event) { e.Device = "a\x00b" },
		"a long device":       func(e *Event) { e.Device = strings.Repeat("a", NameLimit+1) },
		"a line in a machine": func(e *Event) { e.Machine = "a\nb" },
		"a day to come":       func(e *Event) { e.Kind, e.Body = LawHappened, json.RawMessage(`{"what":"retired","on":"2999-01-01"}`) },
		"an unknown gas": func(e *Event) {
			e.Kind, e.Body = MachineSaved, json.RawMessage(`{"name":"a","refrigerant":"R-9999","application":"walk-in freezer"}`)
		},
	} {
		e := event(1, Noted, NoteBody{Text: "a"})
		change(&e)
		if err := e.Check(); err == nil || fail.CodeOf(err) == fail.Internal {
			t.Errorf("%s: %v", what, err)
		}
	}
}

func BenchmarkCheck(b *testing.B) {
	all := whole()
	for b.Loop() {
		for _, e := range all {
			if err := e.Check(); err != nil {
				b.Fatal(err)
			}
		}
	}
}

// kinds are those of version 1.
var kinds = []Kind{
	SiteSaved, MachineSaved, VisitOpened, Arrived, ReadingTaken, Withdrawn, ThingsSeen, Running, MachineTimed, PullStarted, PullPoint,
	PhaseChanged, WorkDone, GasMoved, LeakFound, LeakSet, LeakLooked, LeakStep, JudgedHealthy, CauseConfirmed, VisitClosed, Noted,
	HoldStarted, HoldPoint, RiseStarted, RisePoint, ChargeSet, ScaleRead, ColdRecorded, RoomSaved, PartsSaved, PhotoTaken, LawSaved,
	LawHappened, CylinderBought, CylinderSent, CylinderMoved, CylinderWeighed, SignedReport,
}
