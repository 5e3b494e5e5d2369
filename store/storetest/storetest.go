package storetest

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
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
		ID:      ID(space, n),
		Device:  fmt.Sprintf("device-%d", space),
		Seq:     int64(n),
		At:      day.Add(time.Duration(n) * time.Second),
		Site:    ID(space, 90000001),
		Machine: ID(space, 90000002),
		Visit:   ID(space, 90000003),
		Kind:    record.Noted,
		Version: 1,
		Body:    b,
	}
}

// Run tests a store. open returns an empty store each time; space numbers keep runs on a shared database apart.
func Run(t *testing.T, open func(t *testing.T) app.Store, space int) {
	ctx := context.Background()
	t.Run("append and read back", func(t *testing.T) {
		s := open(t)
		a, b := Event(space, 2), Event(space, 1)
		if _, err := s.Append(ctx, "", nil, a, b); err != nil {
			t.Fatal(err)
		}
		got, err := s.MachineEvents(ctx, a.Machine)
		if err != nil || len(got) != 2 || got[0].ID != b.ID || !got[1].At.Equal(a.At) || string(got[0].Body) != string(b.Body) ||
			got[0].Seq != 1 ||
			got[0].Device != b.Device {
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
			if _, err := s.Append(ctx, "", nil, e); err != nil {
				t.Fatal(err)
			}
		}
		other := e
		other.Body = []byte(`{"text":"changed"}`)
		if _, err := s.Append(ctx, "", nil, other); err != nil {
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
		fresh, err := s.Append(ctx, form, nil, Event(space, 1))
		if err != nil || !fresh {
			t.Fatal(fresh, err)
		}
		fresh, err = s.Append(ctx, form, nil, Event(space, 2))
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
		if _, err := s.Append(ctx, string(ID(space, 56)), nil, Event(space, 1), bad); err == nil {
			t.Fatal("a bad event was taken")
		}
		if got, _ := s.MachineEvents(ctx, bad.Machine); len(got) != 0 {
			t.Errorf("half of it stayed: %d events", len(got))
		}
		if fresh, err := s.Append(ctx, string(ID(space, 56)), nil, Event(space, 1)); err != nil || !fresh {
			t.Errorf("the form of a failed submit is burnt: %v %v", fresh, err)
		}
	})
	space++
	t.Run("unknown kinds are kept", func(t *testing.T) {
		s := open(t)
		e := Event(space, 1)
		e.Kind, e.Version, e.Body = "from_the_future", 9, []byte(`{"any":[1,2]}`)
		if _, err := s.Append(ctx, "", nil, e); err != nil {
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
			if _, err := s.Append(ctx, "", nil, Event(space, n+1)); err != nil {
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
					if _, err := s.Append(ctx, "", nil, Event(space, 1000*w+n+1)); err != nil {
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
	space++
	t.Run("a reader that follows misses nothing", func(t *testing.T) {
		s := open(t)
		_, cursor, err := s.Since(ctx, 0, 1<<30)
		if err != nil {
			t.Fatal(err)
		}
		var wg sync.WaitGroup
		errs := make(chan error, 4)
		for w := range 4 {
			wg.Go(func() {
				for n := range 40 {
					if _, err := s.Append(ctx, "", nil, Event(space, 1000*w+2*n+1), Event(space, 1000*w+2*n+2)); err != nil {
						errs <- err
						return
					}
				}
			})
		}
		done := make(chan struct{})
		go func() { wg.Wait(); close(done) }()
		seen := 0
		for ended := false; !ended; {
			select {
			case <-done:
				ended = true // one more look
			default:
			}
			got, next, err := s.Since(ctx, cursor, 1<<30)
			if err != nil {
				t.Fatal(err)
			}
			seen, cursor = seen+len(got), next
		}
		select {
		case err := <-errs:
			t.Fatal(err)
		default:
		}
		if seen != 320 {
			t.Errorf("%d of 320 events by a cursor that follows", seen)
		}
	})
	space++
	t.Run("numbers follow on", func(t *testing.T) { numbers(t, open(t), space) })
	space++
	t.Run("kinds after a cursor", func(t *testing.T) { kinds(t, open(t), space) })
	space++
	t.Run("events by id", func(t *testing.T) {
		s := open(t)
		for n := range 3 {
			if _, err := s.Append(ctx, "", nil, Event(space, n+1)); err != nil {
				t.Fatal(err)
			}
		}
		got, err := s.ByID(ctx, ID(space, 3), ID(space, 77), ID(space, 1))
		if err != nil || len(got) != 2 || got[0].ID != ID(space, 1) || got[1].ID != ID(space, 3) {
			t.Errorf("%+v %v", got, err)
		}
	})
	space++
	t.Run("contents", func(t *testing.T) { contents(t, open(t), space) })
	space++
	t.Run("lists and search", func(t *testing.T) { lists(t, open(t), space) })
	space++
	t.Run("marks", func(t *testing.T) { marks(t, open(t), space) })
	space++
	t.Run("clocks", func(t *testing.T) { clocks(t, open(t), space) })
	t.Run("decisions", func(t *testing.T) { decisions(t, open(t), 10) })
}

// numbers: an event without a number gets the next of its device, after those that brought one, once only.
func numbers(t *testing.T, s app.Store, space int) {
	ctx := context.Background()
	made := 0
	event := func(device string, seq int64) record.Event {
		made++
		e := Event(space, made)
		e.Device, e.Seq, e.At = device, seq, day
		return e
	}
	one, two := fmt.Sprintf("one-%d", space), fmt.Sprintf("two-%d", space)
	put := func(events ...record.Event) {
		t.Helper()
		if _, err := s.Append(ctx, "", nil, events...); err != nil {
			t.Fatal(err)
		}
	}
	got := func(device string) []int64 {
		t.Helper()
		all, err := s.MachineEvents(ctx, ID(space, 90000002))
		if err != nil {
			t.Fatal(err)
		}
		var out []int64
		for _, e := range all {
			if e.Device == device {
				out = append(out, e.Seq)
			}
		}
		slices.Sort(out) // what was made elsewhere stands at its own time
		return out
	}
	put(event(one, 0), event(one, 0), event(two, 0))
	put(event(one, 0), event(one, 7), event(one, 0)) // as of an import
	put(event(two, 0))
	if one, two := got(one), got(two); !slices.Equal(one, []int64{1, 2, 3, 7, 8}) || !slices.Equal(two, []int64{1, 2}) {
		t.Errorf("%v and %v", one, two)
	}
	// Two who write at once never give a number twice.
	both := fmt.Sprintf("both-%d", space)
	var wait sync.WaitGroup
	for range 2 {
		var mine []record.Event
		for range 20 {
			mine = append(mine, event(both, 0))
		}
		wait.Go(func() {
			for _, e := range mine {
				if _, err := s.Append(ctx, "", nil, e); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wait.Wait()
	if n := got(both); len(n) != 40 || n[0] != 1 || n[39] != 40 || len(slices.Compact(n)) != 40 {
		t.Errorf("%v", n)
	}
}

// kinds: events of some kinds come in the order of arrival, each once, a page at a time.
func kinds(t *testing.T, s app.Store, space int) {
	ctx := context.Background()
	_, start, err := s.Since(ctx, 0, 1<<30)
	if err != nil {
		t.Fatal(err)
	}
	var want []record.ID
	for n := range 9 {
		e := Event(space, 9-n) // order of arrival is not order of time
		switch n % 3 {
		case 0:
			e.Kind, e.Body = record.CauseConfirmed, []byte(`{"fault":"low_charge"}`)
		case 1:
			e.Kind, e.Body = record.JudgedHealthy, []byte(`{}`)
		}
		if n%3 < 2 {
			want = append(want, e.ID)
		}
		if _, err := s.Append(ctx, "", nil, e); err != nil {
			t.Fatal(err)
		}
	}
	var got []record.ID
	cursor := start
	for range 10 {
		page, next, err := s.Kinds(ctx, cursor, 4, record.CauseConfirmed, record.JudgedHealthy)
		if err != nil || len(page) > 4 {
			t.Fatal(len(page), err)
		}
		if len(page) == 0 {
			if next != cursor {
				t.Errorf("the cursor moves from %d to %d without an event", cursor, next)
			}
			break
		}
		for _, e := range page {
			got = append(got, e.ID)
		}
		cursor = next
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if page, _, err := s.Kinds(ctx, start, 10, "no_such_kind"); err != nil || len(page) != 0 {
		t.Errorf("%v %v", page, err)
	}
}

// lists: what lists and the search show follows the log, in one order in every store.
func lists(t *testing.T, s app.Store, space int) {
	ctx := context.Background()
	own := fmt.Sprintf("Quillwort%d", space) // a word of this run
	site := ID(space, 1)
	n := 100
	put := func(form string, machine, visit record.ID, at time.Time, k record.Kind, corrects record.ID, body any) record.ID {
		t.Helper()
		b, err := json.Marshal(body)
		if err != nil {
			t.Fatal(err)
		}
		n++
		e := record.Event{
			ID:       ID(space, n),
			Device:   "lists",
			Seq:      int64(n),
			At:       at,
			Site:     site,
			Machine:  machine,
			Visit:    visit,
			Kind:     k,
			Version:  1,
			Corrects: corrects,
			Body:     b,
		}
		if _, err := s.Append(ctx, form, nil, e); err != nil {
			t.Fatal(err)
		}
		return e.ID
	}
	put("", "", "", day, record.SiteSaved, "", record.SiteBody{Name: own + " kitchen", Address: "Höhenweg 3"})
	machine := func(i int) record.ID { return ID(space, 10+i) }
	visit := func(i int) record.ID { return ID(space, 30+i) }
	for i, name := range []string{"Never read", "Fine", "Topped up", "Not healthy", "Open"} {
		put(
			"",
			machine(i),
			"",
			day,
			record.MachineSaved,
			"",
			record.MachineBody{Name: name, Refrigerant: "R-448A", Application: "walk-in freezer", Serial: fmt.Sprintf("S-%d%d", space, i)},
		)
	}
	for i := 1; i < 5; i++ {
		put("", machine(i), visit(i), day.Add(time.Duration(i)*time.Hour), record.VisitOpened, "", record.OpenBody{Complaint: "too warm"})
	}
	put("", machine(2), visit(2), day.Add(2*time.Hour), record.GasMoved, "", record.MoveBody{Direction: "added", Grams: 700, Text: "700 g"})
	confirmed := put("", machine(3), visit(3), day.Add(3*time.Hour), record.CauseConfirmed, "", record.ConfirmBody{Fault: "condenser_air"})
	for i := 1; i < 4; i++ {
		if i < 3 {
			put("", machine(i), visit(i), day.Add(5*time.Hour), record.JudgedHealthy, "", record.EmptyBody{})
		}
		put(
			"",
			machine(i),
			visit(i),
			day.Add(6*time.Hour),
			record.VisitClosed,
			"",
			record.CloseBody{Advice: "Sweep the " + own + "ing pads"},
		)
	}
	names := func(q app.CardQuery) (out []string, total int) {
		t.Helper()
		cards, total, err := s.Cards(ctx, q)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range cards {
			out = append(out, c.Body.Name)
		}
		return out, total
	}
	order := []string{"Open", "Not healthy", "Topped up", "Never read", "Fine"}
	if got, total := names(app.CardQuery{Site: site, Limit: 10}); !slices.Equal(got, order) || total != 5 {
		t.Errorf("by worry: %v, %d in all, want %v", got, total, order)
	}
	if got, total := names(app.CardQuery{Site: site, Offset: 1, Limit: 2}); !slices.Equal(got, order[1:3]) || total != 5 {
		t.Errorf("a part: %v, %d in all", got, total)
	}
	if got, total := names(app.CardQuery{Terms: app.Terms(own + " topp"), Limit: 10}); !slices.Equal(got, order[2:3]) || total != 1 {
		t.Errorf("by words: %v, %d in all", got, total)
	}
	if got, total := names(
		app.CardQuery{Machines: []record.ID{machine(1), machine(4), ID(space, 99)}, Limit: 10},
	); !slices.Equal(got, []string{"Open", "Fine"}) ||
		total != 2 {
		t.Errorf("by id: %v, %d in all", got, total)
	}
	if got, total := names(app.CardQuery{Machines: []record.ID{}, Limit: 10}); len(got) != 0 || total != 0 {
		t.Errorf("none of them: %v, %d in all", got, total)
	}
	sites, err := s.SiteCards(ctx)
	if err != nil || !slices.ContainsFunc(sites, func(v record.Site) bool { return v.ID == site && v.Name == own+" kitchen" }) {
		t.Errorf("sites: %+v %v", sites, err)
	}
	find := func(query string, offset, limit int) (out []record.ID) {
		t.Helper()
		docs, err := s.Search(ctx, app.Terms(query), offset, limit)
		if err != nil {
			t.Fatal(err)
		}
		for _, d := range docs {
			out = append(out, d.ID)
		}
		return out
	}
	for _, c := range []struct {
		query string
		want  []record.ID
	}{
		{own + " kitchen höhen", []record.ID{site, machine(1), machine(0), machine(3), machine(4), machine(2)}}, // machines by title
		{own + " R448A open", []record.ID{machine(4)}},
		{own + " s-" + fmt.Sprint(space) + "3", []record.ID{machine(3)}},
		{own + "ing PADS", []record.ID{visit(3), visit(2), visit(1)}}, // the newest first
		{own + " condenser dirty", []record.ID{visit(3)}},
		{own + " too warm open", []record.ID{visit(4)}},
		{own + " 48a", nil}, // beginnings of words only
		{own + " %", find(own, 0, 20)},
	} {
		if got := find(c.query, 0, 20); !slices.Equal(got, c.want) {
			t.Errorf("%q finds %v, want %v", c.query, got, c.want)
		}
	}
	all := find(own, 0, 20)
	if got := find(own, 3, 4); len(all) != 10 || !slices.Equal(got, all[3:7]) {
		t.Errorf("a part of %v: %v", all, got)
	}
	// What is taken back or renamed is no longer found by its old words.
	put("", machine(3), visit(3), day.Add(7*time.Hour), record.Withdrawn, confirmed, record.EmptyBody{})
	if got := find(own+" condenser dirty", 0, 20); len(got) != 0 {
		t.Errorf("a cause that was taken back is found: %v", got)
	}
	put("", "", "", day.Add(8*time.Hour), record.SiteSaved, "", record.SiteBody{Name: own + " canteen"})
	if got := find(own+" kitchen", 0, 20); len(got) != 0 {
		t.Errorf("found by its old name: %v", got)
	}
	if got := find(own+" canteen", 0, 20); len(got) != 10 {
		t.Errorf("by its new name: %v", got)
	}
	if cards, _, err := s.Cards(
		ctx,
		app.CardQuery{Site: site, Limit: 1},
	); err != nil || cards[0].Site.Name != own+" canteen" || cards[0].Open == nil ||
		cards[0].Open.ID != visit(4) {
		t.Errorf("%+v %v", cards, err)
	}
	// Several write to one machine at the same time: what each wrote is found.
	var wg sync.WaitGroup
	for w := range 4 {
		wg.Go(func() {
			for i := range 5 {
				e := Event(space, 200+10*w+i)
				e.Site, e.Machine, e.Visit = site, machine(4), visit(4)
				e.Body = fmt.Appendf(nil, `{"text":"scribble%dx%d"}`, w, i)
				if _, err := s.Append(ctx, "", nil, e); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wg.Wait()
	for w := range 4 {
		for i := range 5 {
			if got := find(fmt.Sprintf("%s scribble%dx%d", own, w, i), 0, 20); !slices.Equal(got, []record.ID{visit(4)}) {
				t.Errorf("note %d of writer %d is found at %v", i, w, got)
			}
		}
	}
	r, ok := s.(interface{ Rebuild(context.Context) error })
	if !ok {
		return
	}
	before, total, err := s.Cards(ctx, app.CardQuery{Site: site, Limit: 10})
	if err != nil {
		t.Fatal(err)
	}
	all = find(own, 0, 20)
	if err := r.Rebuild(ctx); err != nil {
		t.Fatal(err)
	}
	after, again, err := s.Cards(ctx, app.CardQuery{Site: site, Limit: 10})
	if err != nil || total != again || fmt.Sprint(find(own, 0, 20)) != fmt.Sprint(all) {
		t.Errorf("after making them again: %d cards, were %d: %v", again, total, err)
	}
	for i := range after {
		if a, b := encode(t, before[i]), encode(t, after[i]); a != b {
			t.Errorf("card %d was %s, is %s", i, a, b)
		}
	}
}

func encode(t *testing.T, c app.Card) string {
	t.Helper()
	out, err := c.Encode()
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// contents: bytes are kept by their hash, once, whole, and before the events that name them.
func contents(t *testing.T, s app.Store, space int) {
	ctx := context.Background()
	code := func(err error, want fail.Code) {
		t.Helper()
		if fail.CodeOf(err) != want {
			t.Errorf("%v, want %v", err, want)
		}
	}
	all := make([]byte, 256)
	for i := range all {
		all[i] = byte(i)
	}
	own := record.NewBlob("image/jpeg", append([]byte(fmt.Sprint("picture ", space)), all...))
	none := record.HashOf([]byte(fmt.Sprint("nothing ", space)))
	_, err := s.Blob(ctx, own.Hash)
	code(err, fail.NotFound)
	// An event that names it is refused, and its form is not burnt.
	e := Event(space, 1)
	body, err := json.Marshal(record.PhotoBody{Hash: own.Hash, Type: own.Type, Width: 4, Height: 3, Caption: "bubbles"})
	if err != nil {
		t.Fatal(err)
	}
	e.Kind, e.Body = record.PhotoTaken, body
	form := string(ID(space, 57))
	_, err = s.Append(ctx, form, nil, Event(space, 2), e)
	code(err, fail.BadData)
	if got, err := s.MachineEvents(ctx, e.Machine); err != nil || len(got) != 0 {
		t.Errorf("half of it stayed: %d events, %v", len(got), err)
	}
	for range 2 {
		if err := s.PutBlobs(ctx, own, own); err != nil {
			t.Fatal(err)
		}
	}
	if fresh, err := s.Append(ctx, form, nil, Event(space, 2), e); err != nil || !fresh {
		t.Errorf("after its content was kept: %v %v", fresh, err)
	}
	got, err := s.Blob(ctx, own.Hash)
	if err != nil || got.Type != own.Type || got.Hash != own.Hash || !slices.Equal(got.Bytes, own.Bytes) {
		t.Errorf("%s, %d bytes, want %d, %v", got.Type, len(got.Bytes), len(own.Bytes), err)
	}
	if got, err := s.MissingBlobs(ctx, own.Hash, none); err != nil || !slices.Equal(got, []string{none}) {
		t.Errorf("missing: %v %v", got, err)
	}
	// All or none, and what is there stays.
	other := record.NewBlob("text/csv", []byte(fmt.Sprint("another ", space)))
	code(s.PutBlobs(ctx, other, record.Blob{Hash: own.Hash, Type: "image/png", Bytes: []byte("forged")}), fail.BadData)
	_, err = s.Blob(ctx, other.Hash)
	code(err, fail.NotFound)
	again := own
	again.Type = "text/html"
	if err := s.PutBlobs(ctx, again); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Blob(ctx, own.Hash); err != nil || got.Type != own.Type {
		t.Errorf("its type is now %q, %v", got.Type, err)
	}
	// The largest is kept, one byte more is not.
	large := make([]byte, record.BlobLimit+1)
	copy(large, fmt.Sprint(space))
	code(s.PutBlobs(ctx, record.NewBlob("image/jpeg", large)), fail.Range)
	most := record.NewBlob("image/jpeg", large[:record.BlobLimit])
	if err := s.PutBlobs(ctx, most); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Blob(ctx, most.Hash); err != nil || len(got.Bytes) != record.BlobLimit {
		t.Errorf("%d of %d bytes, %v", len(got.Bytes), record.BlobLimit, err)
	}
	// Every hash comes once, in order, a part at a time.
	var hashes []string
	for after := ""; ; {
		part, err := s.BlobHashes(ctx, after, 1)
		if err != nil || len(part) > 1 {
			t.Fatal(len(part), err)
		}
		if len(part) == 0 {
			break
		}
		after = part[0]
		hashes = append(hashes, after)
	}
	if !slices.IsSorted(hashes) || len(slices.Compact(slices.Clone(hashes))) != len(hashes) || !slices.Contains(hashes, own.Hash) ||
		!slices.Contains(hashes, most.Hash) ||
		slices.Contains(hashes, other.Hash) {
		t.Errorf("hashes: %v", hashes)
	}
	// The same and others at the same time.
	var wg sync.WaitGroup
	for w := range 4 {
		wg.Go(func() {
			for i := range 8 {
				mine := record.NewBlob("image/jpeg", fmt.Appendf(nil, "%d %d", space, (w%2)*100+i))
				if err := s.PutBlobs(ctx, mine); err != nil {
					t.Error(err)
				}
				if got, err := s.Blob(ctx, mine.Hash); err != nil || !slices.Equal(got.Bytes, mine.Bytes) {
					t.Errorf("writer %d, content %d: %v", w, i, err)
				}
			}
		})
	}
	wg.Wait()
}
