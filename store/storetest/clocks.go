package storetest

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
)

// jumps are how far a clock may go between two things that are done.
var jumps = []time.Duration{
	0, time.Second, time.Minute, 24 * time.Hour, -24 * time.Hour, 365 * 24 * time.Hour, -365 * 24 * time.Hour, -time.Nanosecond, time.Hour,
}

// clocks: what is written last counts last, whatever the clocks say, and where it was made elsewhere it keeps its place.
func clocks(t *testing.T, s app.Store, space int) {
	ctx := context.Background()
	rng := rand.New(rand.NewPCG(uint64(space), 7))
	now := time.Date(2030, 1, 1, 0, 0, 0, 0, time.UTC)
	var want []record.ID
	for n := range 60 {
		e := Event(space, n+1)
		now = now.Add(jumps[rng.IntN(len(jumps))])
		e.Device, e.Seq, e.At = fmt.Sprintf("hand-%d-%d", space, n%2), 0, now
		if _, err := s.Append(ctx, "", nil, e); err != nil {
			t.Fatal(err)
		}
		want = append(want, e.ID)
	}
	got, err := s.MachineEvents(ctx, Event(space, 1).Machine)
	if err != nil {
		t.Fatal(err)
	}
	var ids []record.ID
	for i, e := range got {
		ids = append(ids, e.ID)
		if i > 0 && !e.Order.After(got[i-1].Order) {
			t.Errorf("%s does not stand behind %s", e.ID, got[i-1].ID)
		}
		if e.Order.Before(e.At) {
			t.Errorf("%s stands before its own time", e.ID)
		}
	}
	if !slices.Equal(ids, want) {
		t.Errorf("the order is another than that of what was done: %v, want %v", ids, want)
	}
	// An event from elsewhere keeps the place it was given, or has that of its own time.
	for i, order := range []time.Time{got[10].Order.Add(1), {}} {
		e := Event(space, 100+i)
		e.Device, e.Seq, e.At, e.Order = fmt.Sprint("elsewhere-", space), int64(5+i), day, order
		if _, err := s.Append(ctx, "", nil, e); err != nil {
			t.Fatal(err)
		}
		all, err := s.ByID(ctx, e.ID)
		if order.IsZero() {
			order = e.At
		}
		if err != nil || len(all) != 1 || !all[0].Order.Equal(order) {
			t.Errorf("%+v %v, want its place at %v", all, err, order)
		}
	}
	// Each is linked to the one before it of its device.
	last := map[string]string{}
	all, _, err := s.Since(ctx, 0, 1<<30)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range all {
		link := e.Link
		if e.Prev, e.Link = "", ""; link != e.Hash(last[e.Device]) {
			t.Errorf("%s of %s is not linked to what was before it", e.ID, e.Device)
		}
		last[e.Device] = link
	}
	// A visit belongs to one machine.
	e := Event(space, 200)
	e.Machine = ID(space, 90000009)
	if _, err := s.Append(ctx, "", nil, e); fail.CodeOf(err) != fail.BadData {
		t.Errorf("a visit of another machine: %v", err)
	}
	if held, err := s.Quarantine(ctx, e.Machine, 10); err != nil || len(held) != 0 {
		t.Errorf("in quarantine: %v %v", held, err)
	}
}
