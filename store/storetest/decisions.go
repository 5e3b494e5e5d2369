package storetest

import (
	"context"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/units"
)

// marks: an append that was decided on less than what is there is refused whole, and its form is not burnt.
func marks(t *testing.T, s app.Store, space int) {
	ctx := context.Background()
	a := Event(space, 1)
	ofSite := Event(space, 500)
	ofSite.Machine, ofSite.Visit = "", ""
	ofSite.Kind, ofSite.Body = record.SiteSaved, []byte(`{"name":"Marked kitchen","altitude_m":0}`)
	for _, e := range []record.Event{a, ofSite} {
		if _, err := s.Append(ctx, "", nil, e); err != nil {
			t.Fatal(err)
		}
	}
	n := 1
	for _, c := range []struct {
		what    string
		on      []app.Mark
		changed bool
	}{
		{"as it is", []app.Mark{{Machine: a.Machine, Events: 1}, {Site: a.Site, Events: 1}}, false},
		{"the machine moved", []app.Mark{{Site: a.Site, Events: 1}, {Machine: a.Machine, Events: 1}}, true},
		{"the machine as it is now", []app.Mark{{Machine: a.Machine, Events: 4}}, false},
		{"the site moved", []app.Mark{{Machine: a.Machine, Events: 6}, {Site: a.Site, Events: 0}}, true},
		{"more than there is", []app.Mark{{Machine: a.Machine, Events: 8}}, true},
		{"a machine without events", []app.Mark{{Machine: ID(space, 77)}}, false},
		{"a site without events", []app.Mark{{Site: ID(space, 78)}}, false},
		{"nothing looked at", nil, false},
	} {
		n++
		form := string(ID(space, 600+n))
		fresh, err := s.Append(ctx, form, c.on, Event(space, 2*n), Event(space, 2*n+1))
		all, readErr := s.ByID(ctx, ID(space, 2*n), ID(space, 2*n+1))
		if readErr != nil {
			t.Fatal(readErr)
		}
		switch {
		case !c.changed && (err != nil || !fresh || len(all) != 2):
			t.Errorf("%s: %v %v, %d of 2 events", c.what, fresh, err, len(all))
		case c.changed && (fail.CodeOf(err) != fail.Conflict || fresh || len(all) != 0):
			t.Errorf("%s: %v %v, %d of 0 events", c.what, fresh, err, len(all))
		case c.changed:
			if fresh, err := s.Append(ctx, form, nil, Event(space, 2*n)); err != nil || !fresh {
				t.Errorf("%s: its form is burnt: %v %v", c.what, fresh, err)
			}
		default:
			// A form that was sent is told before anybody asks what moved.
			if fresh, err := s.Append(ctx, form, []app.Mark{{Machine: a.Machine}}, Event(space, 2*n)); err != nil || fresh {
				t.Errorf("%s: sent twice: %v %v", c.what, fresh, err)
			}
		}
	}
}

// hands is how many people press the same button at once.
const hands = 20

// decisions: what twenty people do at the same time in two programs over one store happens once.
func decisions(t *testing.T, s app.Store, rounds int) {
	ctx := context.Background()
	var apps []*app.App
	for i := range 2 {
		var seed [32]byte
		binary.LittleEndian.PutUint64(seed[:], uint64(time.Now().UnixNano()))
		seed[31] = byte(i)
		apps = append(apps, app.New(s, app.Options{
			Now: time.Now, Rand: rand.NewChaCha8(seed), Version: "test", Device: fmt.Sprintf("program-%d-%x", i, seed[:8]),
		}))
	}
	a := apps[0]
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	// all does the same in every hand, each with a form of its own, and returns how many were told no.
	all := func(what string, refused fail.Code, do func(a *app.App, act app.Act) error) (no int) {
		t.Helper()
		var wait sync.WaitGroup
		var mu sync.Mutex
		start := make(chan struct{})
		for i := range hands {
			wait.Go(func() {
				a := apps[i%2]
				form, err := a.NewID()
				<-start
				if err == nil {
					err = do(a, app.Act{By: fmt.Sprint("hand ", i), Form: string(form)})
				}
				mu.Lock()
				defer mu.Unlock()
				switch {
				case err != nil && fail.CodeOf(err) == refused && refused != "":
					no++
				case err != nil:
					t.Errorf("%s: %v", what, err)
				}
			})
		}
		close(start)
		wait.Wait()
		return no
	}
	site, err := a.SaveSite(ctx, app.Act{}, "", record.SiteBody{Name: "Busy kitchen"})
	must(err)
	for round := range rounds {
		machine, err := a.SaveMachine(ctx, app.Act{}, site, "", record.MachineBody{
			Name: fmt.Sprint("Freezer ", round), Refrigerant: "R-404A", Application: "walk-in freezer",
		})
		must(err)
		kinds := func() map[record.Kind]int {
			t.Helper()
			events, err := s.MachineEvents(ctx, machine)
			must(err)
			out := map[record.Kind]int{}
			for _, e := range events {
				out[e.Kind]++
			}
			return out
		}
		once := func(what string, k record.Kind, want int) {
			t.Helper()
			if got := kinds()[k]; got != want {
				t.Errorf("round %d: %s: %d of %s, want %d", round, what, got, k, want)
			}
		}
		var mu sync.Mutex
		visits := map[record.ID]int{}
		all("open", "", func(a *app.App, act app.Act) error {
			id, err := a.OpenVisit(ctx, act, machine, "warm")
			mu.Lock()
			defer mu.Unlock()
			visits[id]++
			return err
		})
		once("opened", record.VisitOpened, 1)
		if len(visits) != 1 {
			t.Errorf("round %d: %d visits were named", round, len(visits))
		}
		var visit record.ID
		for visit = range visits {
		}
		for _, gross := range []string{"9000", "6800"} {
			must(a.AddScale(ctx, app.Act{}, visit, app.ScaleEntry{Cylinder: "C-1", Gross: gross, Unit: "g"}))
		}
		all("book", "", func(a *app.App, act app.Act) error { return a.BookCharge(ctx, act, visit) })
		once("booked", record.GasMoved, 1)
		all("confirm", "", func(a *app.App, act app.Act) error { return a.Confirm(ctx, act, visit, "low_charge") })
		once("confirmed", record.CauseConfirmed, 1)
		no := all("point", fail.Conflict, func(a *app.App, act app.Act) error {
			minute := 0.0
			return a.AddPull(ctx, act, visit, record.Before, &minute, "9", "°F", true, true)
		})
		once("pull-down", record.PullStarted, 1)
		once("pull-down", record.PullPoint, 1)
		if no != hands-1 {
			t.Errorf("round %d: %d of %d points were refused", round, no, hands-1)
		}
		// Notes while it is closed: what came too late is told so, and nothing stands after the closing.
		late := 0
		no = all("close", fail.Conflict, func(a *app.App, act app.Act) error {
			err := a.SaveNote(ctx, act, visit, record.Where{}, "door gasket torn", false, "")
			if err != nil && fail.CodeOf(err) == fail.Conflict {
				mu.Lock()
				defer mu.Unlock()
				late++
			} else if err != nil {
				return err
			}
			return a.CloseVisit(ctx, app.Act{By: act.By}, visit, record.CloseBody{Mechanic: "Van 7"})
		})
		once("closed", record.VisitClosed, 1)
		once("notes", record.Noted, hands-late)
		if no != hands-1 {
			t.Errorf("round %d: %d of %d closings were refused", round, no, hands-1)
		}
		v, err := a.Visit(ctx, visit, app.Parts{Content: true})
		must(err)
		all("sign", "", func(a *app.App, act app.Act) error {
			return a.Sign(ctx, act, visit, v.Content, map[record.Role]app.SignEntry{
				record.Customer: {Name: "Kitchen lead", How: record.SignTyped}, record.Mechanic: {Name: "Van 7", How: record.SignTyped},
			})
		})
		once("signed", record.SignedReport, 2)
		if v, err := a.Visit(ctx, visit, app.Parts{}); err != nil || v.Content != v.Visit.Signed(record.Mechanic).Content {
			t.Errorf("round %d: another report was signed: %v", round, err)
		}
		events, err := s.MachineEvents(ctx, machine)
		must(err)
		var note record.ID
		for _, e := range events {
			if e.Kind == record.Noted {
				note = e.ID
			}
		}
		if note != "" {
			all("take back", "", func(a *app.App, act app.Act) error { return a.Withdraw(ctx, act, visit, note) })
			once("taken back", record.Withdrawn, 1)
		}
		// One test with its first reading, though many begin one: each a whole one.
		second, err := a.OpenVisit(ctx, app.Act{}, machine, "")
		must(err)
		all("begin", "", func(a *app.App, act app.Act) error {
			return a.StartPull(ctx, act, second, record.After, units.Fahrenheit(-5), "10", "°F")
		})
		if k := kinds(); k[record.PullStarted] != k[record.PullPoint] || k[record.PullStarted] != hands+1 {
			t.Errorf("round %d: %d tests began with %d points", round, k[record.PullStarted], k[record.PullPoint])
		}
	}
}
