package app_test

import (
	"context"
	"errors"
	"math/rand/v2"
	"sync"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/record"
	"coldwright/refrigerant"
)

// watched is a store that counts what is read of it, and fails where it is told to.
type watched struct {
	app.Store
	sites, blob error

	mu    sync.Mutex
	reads map[string]int
}

func (s *watched) read(what string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.reads == nil {
		s.reads = map[string]int{}
	}
	s.reads[what]++
}

func (s *watched) MachineEvents(ctx context.Context, id record.ID) ([]record.Event, error) {
	s.read("machine")
	return s.Store.MachineEvents(ctx, id)
}

func (s *watched) SiteEvents(ctx context.Context, id record.ID) ([]record.Event, error) {
	s.read("site")
	if s.sites != nil {
		return nil, s.sites
	}
	return s.Store.SiteEvents(ctx, id)
}

func (s *watched) MachineOf(ctx context.Context, id record.ID) (record.ID, error) {
	s.read("visit")
	return s.Store.MachineOf(ctx, id)
}

func (s *watched) Blob(ctx context.Context, hash string) (record.Blob, error) {
	if s.blob != nil {
		return record.Blob{}, s.blob
	}
	return s.Store.Blob(ctx, hash)
}

// over is an App over a store that is watched.
func over(s *watched) *app.App {
	now := time.Date(2026, 7, 1, 15, 0, 0, 0, time.UTC)
	return app.New(s, app.Options{Now: func() time.Time { return now }, Rand: rand.NewChaCha8([32]byte{2}), Version: "test"})
}

// Everything a page or a report says of a visit comes from one look at the log.
func TestVisit_ReadOnce(t *testing.T) {
	a, s, _ := fresh(t)
	site, machine, visit := house(t, a)
	w := &watched{Store: s}
	b := over(w)
	both := []record.Phase{record.Before, record.After}
	everything := app.Parts{
		Judge: both, Tests: true, Charge: true, Cold: true, Clocks: true, Content: true, Pictures: true,
		Chart: &refrigerant.ChartOptions{},
	}
	for name, look := range map[string]func() error{
		"a visit":  func() error { return second(b.Visit(ctx, visit, app.Parts{})) },
		"a report": func() error { return second(b.Visit(ctx, visit, everything)) },
		"a search": func() error { return second(b.LeakSearch(ctx, visit)) },
		"a machine": func() error {
			return second(b.Machine(ctx, machine, app.MachineParts{Clocks: true, Retrofit: "R-448A"}))
		},
		"its room":     func() error { return second(b.Room(ctx, machine)) },
		"its drift":    func() error { return second(b.Drift(ctx, machine)) },
		"its circuit":  func() error { return second(b.Parts(ctx, machine)) },
		"a site alone": func() error { return second(b.Site(ctx, site)) },
	} {
		w.reads = nil
		if err := look(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		for what, n := range w.reads {
			if n != 1 {
				t.Errorf("%s: the %s is read %d times", name, what, n)
			}
		}
		if len(w.reads) == 0 {
			t.Errorf("%s: nothing is read", name)
		}
	}
}

// Without the site nobody knows the altitude: no pressure is taken for absolute, and what failed is said.
func TestVisit_SiteNotRead(t *testing.T) {
	a, s, _ := fresh(t)
	_, machine, visit := house(t, a)
	broken := errors.New("disk")
	b := over(&watched{Store: s, sites: broken})
	n := count(t, s)
	for name, err := range map[string]error{
		"a visit":     second(b.Visit(ctx, visit, app.Parts{})),
		"a machine":   second(b.Machine(ctx, machine, app.MachineParts{})),
		"its room":    second(b.Room(ctx, machine)),
		"its drift":   second(b.Drift(ctx, machine)),
		"a search":    second(b.LeakSearch(ctx, visit)),
		"new reading": b.SaveReadings(ctx, app.Act{}, visit, record.Before, app.Observed{}),
		"a new plate": second(b.SaveMachine(ctx, app.Act{}, "x", "", record.MachineBody{
			Name: "Cooler", Refrigerant: "R-22", Application: "walk-in cooler",
		})),
	} {
		if !errors.Is(err, broken) || fail.CodeOf(err) == fail.NotFound {
			t.Errorf("%s: %v", name, err)
		}
	}
	if count(t, s) != n {
		t.Error("something was written")
	}
	if err := second(a.SaveMachine(ctx, app.Act{}, "nowhere", "", record.MachineBody{
		Name: "Cooler", Refrigerant: "R-22", Application: "walk-in cooler",
	})); fail.CodeOf(err) != fail.NotFound {
		t.Errorf("at no site: %v", err)
	}
}

// A program that starts again numbers on: of two readings at one instant the later one holds.
func TestEvents_NumberedOn(t *testing.T) {
	a, s, c := fresh(t)
	_, _, visit := house(t, a)
	save := func(a *app.App, text string) {
		t.Helper()
		mustAll(t, a.SaveReadings(ctx, app.Act{}, visit, record.Before, app.Observed{
			Entries: []app.Entry{{Place: reading.BoxAir, Text: text, Unit: "°F"}},
		}))
	}
	save(a, "37")
	again := app.New(s, app.Options{Now: c.now, Rand: rand.NewChaCha8([32]byte{9}), Version: "test", Device: "bench"})
	save(again, "41")
	if got := view(t, again, visit).Visit.Before.Readings; len(got) != 1 || got[0].Text != "41" && got[0].Text != "41 °F" {
		t.Errorf("the reading before holds: %+v", got)
	}
	all, _, err := s.Since(ctx, 0, 100)
	if err != nil {
		t.Fatal(err)
	}
	for i, e := range all {
		if e.Seq != int64(i+1) {
			t.Errorf("event %d has number %d", i+1, e.Seq)
		}
	}
}

// Who waits for a judgement that another began leaves when it has to; the judgement goes on.
func TestVisit_WaiterLeaves(t *testing.T) {
	a, _, _ := fresh(t)
	_, _, visit := house(t, a)
	mustAll(t, a.SaveReadings(ctx, app.Act{}, visit, record.Before, app.Observed{Entries: []app.Entry{
		{Place: reading.BoxAir, Text: "37", Unit: "°F"},
		{Place: reading.SuctionPressure, Text: "2", Unit: "psig"},
	}}))
	judged := app.Parts{Judge: []record.Phase{app.Current}}
	first := make(chan error)
	go func() {
		v, err := a.Visit(ctx, visit, judged)
		if err == nil && v.Before.Posterior == nil {
			err = errors.New("not judged")
		}
		first <- err
	}()
	soon, cancel := context.WithTimeout(ctx, time.Millisecond)
	defer cancel()
	if v, err := a.Visit(soon, visit, judged); !errors.Is(err, context.DeadlineExceeded) || v != nil {
		t.Errorf("a waiter whose time was over: %v", err)
	}
	select {
	case <-first:
		t.Fatal("the first had its answer before the waiter left")
	default:
	}
	if err := <-first; err != nil {
		t.Error(err)
	}
}
