package storetest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
)

var day = time.Date(2026, 3, 1, 6, 0, 0, 123456789, time.UTC)

// ID makes a well-formed id from two numbers.
func ID(space, n int) record.ID {
	return record.ID(fmt.Sprintf("01900000-0000-7000-8000-%04d%08d", space, n))
}

// Event makes a note, number n of a space.
func Event(space, n int) record.Event {
	b, err := json.Marshal(record.NoteBody{Text: fmt.Sprintf("note %d", n)})
	if err != nil {
		panic(err)
	}
	return record.Event{
		ID: ID(space, n), Device: fmt.Sprintf("device-%d", space), Seq: int64(n), At: day.Add(time.Duration(n) * time.Second), Site: ID(space, 90000001),
		Machine: ID(space, 90000002), Visit: ID(space, 90000003), Kind: record.Noted, Version: 1, Body: b,
	}
}

// Run tests a store. open returns an empty store each time; space numbers keep runs on a shared database apart.
func Run(t *testing.T, open func(t *testing.T) app.Store, space int) {
	ctx := context.Background()
	t.Run("append and read back", func(t *testing.T) {
		s := open(t)
		a, b := Event(space, 2), Event(space, 1)
		if _, err := s.Append(ctx, "", a, b); err != nil {
			t.Fatal(err)
		}
		got, err := s.MachineEvents(ctx, a.Machine)
		if err != nil || len(got) != 2 || got[0].ID != b.ID || !got[1].At.Equal(a.At) || string(got[0].Body) != string(b.Body) || got[0].Seq != 1 || got[0].Device != b.Device {
			t.Fatalf("%+v %v", got, err)
		}
		if m, err := s.MachineOf(ctx, a.Visit); err != nil || m != a.Machine {
			t.Errorf("%v %v", m, err)
		}
		_, err = s.MachineOf(ctx, ID(space, 7))
		var f *fail.Error
		if !errors.As(err, &f) || f.Code != fail.NotFound {
			t.Errorf("an unknown visit: %v", err)
		}
	})
	space++
	t.Run("idempotent by id", func(t *testing.T) {
		s := open(t)
		e := Event(space, 1)
		for range 3 {
			if _, err := s.Append(ctx, "", e); err != nil {
				t.Fatal(err)
			}
		}
		other := e
		other.Body = []byte(`{"text":"changed"}`)
		if _, err := s.Append(ctx, "", other); err != nil {
			t.Fatal(err)
		}
		got, _ := s.MachineEvents(ctx, e.Machine)
		if len(got) != 1 || string(got[0].Body) != string(e.Body) {
			t.Errorf("%+v", got)
		}
	})
	space++
	t.Run("a double submit is dropped", func(t *testing.T) {
		s := open(t)
		form := string(ID(space, 55))
		fresh, err := s.Append(ctx, form, Event(space, 1))
		if err != nil || !fresh {
			t.Fatal(fresh, err)
		}
		fresh, err = s.Append(ctx, form, Event(space, 2))
		if err != nil || fresh {
			t.Fatal(fresh, err)
		}
		if got, _ := s.MachineEvents(ctx, Event(space, 1).Machine); len(got) != 1 {
			t.Errorf("%d events", len(got))
		}
	})
	space++
	t.Run("all or none", func(t *testing.T) {
		s := open(t)
		bad := Event(space, 2)
		bad.Body = []byte(`{"colour":1}`)
		if _, err := s.Append(ctx, string(ID(space, 56)), Event(space, 1), bad); err == nil {
			t.Fatal("a bad event was taken")
		}
		if got, _ := s.MachineEvents(ctx, bad.Machine); len(got) != 0 {
			t.Errorf("half of it stayed: %d events", len(got))
		}
		if fresh, err := s.Append(ctx, string(ID(space, 56)), Event(space, 1)); err != nil || !fresh {
			t.Errorf("the form of a failed submit is burnt: %v %v", fresh, err)
		}
	})
	space++
	t.Run("unknown kinds are kept", func(t *testing.T) {
		s := open(t)
		e := Event(space, 1)
		e.Kind, e.Version, e.Body = "from_the_future", 9, []byte(`{"any":[1,2]}`)
		if _, err := s.Append(ctx, "", e); err != nil {
			t.Fatal(err)
		}
		if got, _ := s.MachineEvents(ctx, e.Machine); len(got) != 1 || got[0].Version != 9 || string(got[0].Body) != `{"any":[1,2]}` {
			t.Errorf("%+v", got)
		}
	})
	space++
	t.Run("cursor", func(t *testing.T) {
		s := open(t)
		_, start, err := s.Since(ctx, 0, 1<<30)
		if err != nil {
			t.Fatal(err)
		}
		for n := range 5 {
			if _, err := s.Append(ctx, "", Event(space, n+1)); err != nil {
				t.Fatal(err)
			}
		}
		seen, cursor := 0, start
		for range 10 {
			got, next, err := s.Since(ctx, cursor, 2)
			if err != nil {
				t.Fatal(err)
			}
			if len(got) == 0 {
				break
			}
			seen += len(got)
			cursor = next
		}
		if seen != 5 {
			t.Errorf("%d of 5 events by cursor", seen)
		}
	})
	space++
	t.Run("at the same time", func(t *testing.T) {
		s := open(t)
		var wg sync.WaitGroup
		errs := make(chan error, 200)
		for w := range 4 {
			wg.Go(func() {
				for n := range 20 {
					if _, err := s.Append(ctx, "", Event(space, 1000*w+n+1)); err != nil {
						errs <- err
					}
					if _, err := s.MachineEvents(ctx, Event(space, 1).Machine); err != nil {
						errs <- err
					}
				}
			})
		}
		wg.Wait()
		close(errs)
		for err := range errs {
			t.Error(err)
		}
		if got, _ := s.MachineEvents(ctx, Event(space, 1).Machine); len(got) != 80 {
			t.Errorf("%d of 80 events", len(got))
		}
	})
}
