package keep_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/record"
)

var ctx = context.Background()

// fresh is an empty tool.
func fresh(t *testing.T) (*app.App, *app.MemStore) {
	t.Helper()
	s, now := app.NewMemStore(), time.Date(2026, 7, 1, 15, 0, 0, 0, time.UTC)
	return app.New(s, app.Options{Now: func() time.Time { return now }, Rand: rand.NewChaCha8([32]byte{1}), Version: "test"}), s
}

func count(t *testing.T, s *app.MemStore) int {
	t.Helper()
	e, _, err := s.Since(ctx, 0, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	return len(e)
}

// Pictures and files travel with the events that name them, as JSON lines and as CSV; an event without its own is said by line and waits.
func TestExportImport_Contents(t *testing.T) {
	a, s := fresh(t)
	var want []record.Blob
	for n := range 3 {
		b := record.NewBlob("image/jpeg", append(bytes.Repeat([]byte{0, 255, '"', '\n'}, 500*(n+1)), byte(n)))
		want = append(want, b)
		if err := s.PutBlobs(ctx, b); err != nil {
			t.Fatal(err)
		}
		body, err := json.Marshal(record.PhotoBody{Hash: b.Hash, Type: b.Type, Width: 1, Height: 1})
		if err != nil {
			t.Fatal(err)
		}
		e := record.Event{
			ID:      record.ID(fmt.Sprintf("01900000-0000-7000-8000-%012d", n)),
			Device:  "d",
			Seq:     int64(n),
			At:      time.Date(2026, 5, 1, 8, n, 0, 0, time.UTC),
			Site:    "s",
			Machine: "m",
			Kind:    record.PhotoTaken,
			Version: 1,
			Body:    body,
		}
		if n == 2 {
			e.Version, e.Body = 2, []byte(`{"any":1}`) // of a newer program: what it names is not known here, and travels all the same
		}
		if _, err := s.Append(ctx, "", nil, e); err != nil {
			t.Fatal(err)
		}
	}
	var lines []string
	if err := keep.Export(ctx, a, func(l []byte) error { lines = append(lines, string(l)); return nil }); err != nil {
		t.Fatal(err)
	}
	var sheet strings.Builder
	if err := keep.ExportCSV(ctx, a, &sheet); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"JSON lines": strings.Join(lines, ""), "CSV": sheet.String()} {
		b, into := fresh(t)
		for round := range 2 {
			plan, err := keep.PlanImport(ctx, b, strings.NewReader(text))
			if err != nil || len(plan.Rejected) != 0 || round == 0 && (plan.Added != 3 || plan.Contents != 3) ||
				round == 1 && (plan.Added != 0 || plan.Contents != 0) {
				t.Fatalf("%s, round %d: %+v %v", name, round, plan, err)
			}
			if round == 0 {
				if got, err := into.BlobHashes(ctx, "", 9); err != nil || len(got) != 0 {
					t.Errorf("planning kept %v", got)
				}
			}
			if err := keep.Import(ctx, b, app.Act{}, plan); err != nil {
				t.Fatal(err)
			}
		}
		for _, w := range want {
			if got, err := b.Blob(ctx, w.Hash); err != nil || !bytes.Equal(got.Bytes, w.Bytes) || got.Type != w.Type {
				t.Errorf("%s: %d of %d bytes, %v", name, len(got.Bytes), len(w.Bytes), err)
			}
		}
		var again strings.Builder
		if err := keep.Export(ctx, b,
			func(l []byte) error { again.Write(l); return nil },
		); err != nil ||
			again.String() != strings.Join(lines, "") {
			t.Errorf("%s: exported again it differs (%v)", name, err)
		}
	}
	// Without its picture an event waits, damaged bytes are refused, and nothing half is kept.
	b, into := fresh(t)
	var events, damaged []string
	for _, l := range lines {
		if strings.HasPrefix(l, `{"blob"`) {
			damaged = append(damaged, strings.Replace(l, `"bytes":"A`, `"bytes":"B`, 1))
		} else {
			events = append(events, l)
		}
	}
	plan, err := keep.PlanImport(ctx, b, strings.NewReader(strings.Join(append(damaged[:2:2], events...), "")))
	if err != nil || plan.Added != 1 || plan.Contents != 0 || len(plan.Rejected) != 4 || plan.Rejected[0].Code != "bad_event" ||
		plan.Rejected[3].Code != "no_content" ||
		plan.Rejected[3].Line != 4 {
		t.Fatalf("%+v %v", plan, err)
	}
	if err := keep.Import(ctx, b, app.Act{}, plan); err != nil {
		t.Fatal(err)
	}
	if got := count(t, into); got != 1 {
		t.Errorf("%d events", got)
	}
	// The largest fits in a line.
	most := record.NewBlob("image/jpeg", bytes.Repeat([]byte{7}, record.BlobLimit))
	if err := s.PutBlobs(ctx, most); err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	if err := keep.Export(ctx, a, func(l []byte) error { all.Write(l); return nil }); err != nil {
		t.Fatal(err)
	}
	if plan, err := keep.PlanImport(ctx, b, strings.NewReader(all.String())); err != nil || len(plan.Rejected) != 0 || plan.Contents != 4 {
		t.Errorf("with the largest: %+v %v", plan, err)
	}
}

// pictureless is a sheet of events whose first one has a broken time.
func pictureless(sheet string) string {
	head, rest, _ := strings.Cut(sheet, "\n")
	for strings.Contains(strings.SplitN(rest, "\n", 2)[0], ",blob,") {
		_, rest, _ = strings.Cut(rest, "\n")
	}
	return head + "\n" + strings.Replace(rest, ":00:00Z", "", 1)
}

func TestExportImport(t *testing.T) {
	a, _ := fresh(t)
	if err := keep.Demo(ctx, a); err != nil {
		t.Fatal(err)
	}
	var lines []string
	if err := keep.Export(ctx, a, func(l []byte) error { lines = append(lines, string(l)); return nil }); err != nil {
		t.Fatal(err)
	}
	b, s := fresh(t)
	all := strings.Join(lines, "")
	// Pictures come first.
	for len(lines) > 0 && strings.HasPrefix(lines[0], `{"blob"`) {
		lines = lines[1:]
	}
	// What is wrong in a file is said by line, with what would be done; planning changes nothing.
	changed := strings.Replace(lines[1], `"seq":`, `"seq":9`, 1)
	bad := strings.Replace(lines[3], `"version":1`, `"version":0`, 1)
	plan, err := keep.PlanImport(ctx, b, strings.NewReader(lines[0]+lines[1]+"\n{broken\n"+lines[2]+lines[0]+changed+bad))
	if err != nil || plan.Added != 3 || plan.Known != 1 || count(t, s) != 0 {
		t.Fatalf("%+v %v", plan, err)
	}
	for i, want := range []struct {
		line int
		code string
	}{{4, "not_json"}, {7, "twice"}, {8, "bad_event"}} {
		if i >= len(plan.Rejected) || plan.Rejected[i].Line != want.line || plan.Rejected[i].Code != want.code {
			t.Errorf("rejected %d: %+v, want %v", i, plan.Rejected, want)
		}
	}
	for n := range 2 { // the second time adds nothing
		plan, err := keep.PlanImport(ctx, b, strings.NewReader(all))
		if err != nil || len(plan.Rejected) != 0 || plan.Added+plan.Known != len(lines) ||
			n == 0 && (plan.Known != 0 || len(plan.Sites) < 3 || len(plan.Machines) < 6 || plan.Visits < 6) ||
			n == 1 && plan.Added != 0 {
			t.Fatalf("round %d: %+v %v", n, plan, err)
		}
		if err := keep.Import(ctx, b, app.Act{}, plan); err != nil {
			t.Fatal(err)
		}
	}
	plan, err = keep.PlanImport(ctx, b, strings.NewReader(changed))
	if err != nil || plan.Added != 0 || len(plan.Rejected) != 1 || plan.Rejected[0].Code != "other_content" {
		t.Errorf("an event that is here with other content: %+v %v", plan, err)
	}
	// CSV carries the same, byte for byte.
	var sheet strings.Builder
	if err := keep.ExportCSV(ctx, a, &sheet); err != nil {
		t.Fatal(err)
	}
	c, _ := fresh(t)
	plan, err = keep.PlanImport(ctx, c, strings.NewReader(sheet.String()))
	if err != nil || plan.Added != len(lines) {
		t.Fatalf("%+v %v", plan, err)
	}
	if err := keep.Import(ctx, c, app.Act{}, plan); err != nil {
		t.Fatal(err)
	}
	var again strings.Builder
	if err := keep.Export(ctx, c, func(l []byte) error { again.Write(l); return nil }); err != nil || again.String() != all {
		t.Errorf("through CSV: %d bytes, want %d (%v)", again.Len(), len(all), err)
	}
	for text, line := range map[string]int{"id,device,when\n": 1, pictureless(sheet.String()): 2} {
		plan, err := keep.PlanImport(ctx, c, strings.NewReader(text))
		if line == 1 && (err == nil || !strings.Contains(err.Error(), "line 1")) ||
			line == 2 && (err != nil || len(plan.Rejected) != 1 || plan.Rejected[0].Line != 2) {
			t.Errorf("%.40q: %+v %v", text, plan, err)
		}
	}
	if count(t, s) != len(lines) {
		t.Errorf("%d events, want %d", count(t, s), len(lines))
	}
	first, err1 := a.Machines(ctx, "", 0, 100)
	other, err2 := b.Machines(ctx, "", 0, 100)
	x, y := first.Rows, other.Rows
	if err1 != nil || err2 != nil || len(x) != len(y) || len(x) < 6 || first.Total != len(x) {
		t.Fatal(err1, err2, len(x), len(y))
	}
	for i := range x {
		if x[i].Machine.ID != y[i].Machine.ID || x[i].LostG != y[i].LostG || x[i].Reason != y[i].Reason {
			t.Errorf("row %d differs", i)
		}
	}
	// The demo: several sites, a year of visits, one in progress, on top of the list.
	sites, err := a.Sites(ctx)
	if err != nil || len(sites) < 3 || x[0].Open == nil || x[0].Reason != "open_visit" {
		t.Errorf("%d sites, first %s (%v)", len(sites), x[0].Reason, err)
	}
	if err := keep.Demo(ctx, a); err != nil {
		t.Error("a second call disturbs the demo")
	}
}

// An event of a file that brings no number gets one when it is taken in, and is known when it comes again.
func TestImport_WithoutNumber(t *testing.T) {
	a, s := fresh(t)
	line := `{"id":"01900000-0000-7000-8000-000000000001","device":"van","seq":0,"at":"2026-05-01T08:00:00Z","site":"s",` +
		`"kind":"site_saved","version":1,"body":{"name":"Kitchen","altitude_m":0}}` + "\n"
	for round, want := range []int{1, 0} {
		plan, err := keep.PlanImport(ctx, a, strings.NewReader(line))
		if err != nil || plan.Added != want || len(plan.Rejected) != 0 {
			t.Fatalf("round %d: %+v %v", round, plan, err)
		}
		if err := keep.Import(ctx, a, app.Act{}, plan); err != nil {
			t.Fatal(err)
		}
	}
	e, _, err := s.Since(ctx, 0, 9)
	if err != nil || len(e) != 1 || e[0].Seq != 1 {
		t.Errorf("%+v %v", e, err)
	}
}

// What is no event is said by its line, and a file of something else is put down before it fills the memory. What speaks of
// what is not there, of another machine, or of times that have not come is said too.
func TestPlanImport_Refused(t *testing.T) {
	a, s := fresh(t)
	_, err := keep.PlanImport(ctx, a, strings.NewReader(strings.Repeat("1\n", 1<<20)))
	if err == nil || !strings.Contains(err.Error(), "import.many") {
		t.Errorf("a million lines of 1: %v", err)
	}
	event := func(n int, change func(*record.Event)) string {
		e := record.Event{
			ID: record.ID(fmt.Sprintf("01900000-0000-7000-8000-%012d", n)), Device: "d", Seq: int64(n),
			At: time.Date(2026, 5, 1, 8, n, 0, 0, time.UTC), Site: "s", Machine: "m", Visit: "v", Kind: record.Noted, Version: 1,
			Body: json.RawMessage(`{"text":"a"}`),
		}
		change(&e)
		b, err := json.Marshal(e)
		if err != nil {
			t.Fatal(err)
		}
		return string(b) + "\n"
	}
	for says, line := range map[string]string{
		"lies in the future": event(1, func(e *record.Event) { e.At = e.At.AddDate(3, 0, 0) }),
		"neither here nor in the file": event(2, func(e *record.Event) {
			e.Kind, e.Corrects, e.Body = record.Withdrawn, "01900000-0000-7000-8000-000000000077", json.RawMessage(`{}`)
		}),
		"is outside 150 to 400": event(3, func(e *record.Event) {
			e.Kind, e.Body = record.PullStarted, json.RawMessage(`{"set_point_k":1e308,"phase":"before"}`)
		}),
		"is nested": event(4, func(e *record.Event) {
			e.Kind, e.Body = "from_the_future", json.RawMessage(strings.Repeat("[", 90)+strings.Repeat("]", 90))
		}),
		"was changed after": event(5, func(e *record.Event) { e.Link = strings.Repeat("0", 64) }),
	} {
		plan, err := keep.PlanImport(ctx, a, strings.NewReader(line))
		if err != nil || plan.Added != 0 || len(plan.Rejected) != 1 || !strings.Contains(plan.Rejected[0].Detail, says) {
			t.Errorf("%s: %+v %v", says, plan, err)
		}
	}
	begins := event(8, func(e *record.Event) { e.Kind, e.Body = record.VisitOpened, json.RawMessage(`{}`) })
	two := begins + event(7, func(e *record.Event) { e.Machine = "other" })
	plan, err := keep.PlanImport(ctx, a, strings.NewReader(two))
	if err != nil || plan.Added != 1 || len(plan.Rejected) != 1 || !strings.Contains(plan.Rejected[0].Detail, "another machine") {
		t.Errorf("a visit of two machines: %+v %v", plan, err)
	}
	// A visit that began nowhere does not appear by what is said of it.
	for _, e := range []string{
		event(10, func(*record.Event) {}),
		event(11, func(e *record.Event) {
			e.Kind, e.Body = record.ReadingTaken, json.RawMessage(`{"at":"box_air","value":257,"text":"3 F","phase":"before"}`)
		}),
		event(12, func(e *record.Event) {
			e.Kind, e.Body = record.GasMoved, json.RawMessage(`{"direction":"added","grams":500,"text":"500 g"}`)
		}),
	} {
		plan, err := keep.PlanImport(ctx, a, strings.NewReader(e))
		if err != nil || plan.Added != 0 || len(plan.Rejected) != 1 ||
			!strings.Contains(plan.Rejected[0].Detail, "a visit that is neither here") {
			t.Errorf("%s: %+v %v", e, plan, err)
		}
		if plan, err = keep.PlanImport(ctx, a, strings.NewReader(e+begins)); err != nil || plan.Added != 2 || plan.Visits != 1 {
			t.Errorf("with its beginning: %+v %v", plan, err)
		}
	}
	// What stands for good is not withdrawn.
	gone := begins + event(13, func(e *record.Event) {
		e.Kind, e.Corrects, e.Body = record.Withdrawn, "01900000-0000-7000-8000-000000000008", json.RawMessage(`{}`)
	})
	plan, err = keep.PlanImport(ctx, a, strings.NewReader(gone))
	if err != nil || plan.Added != 1 || len(plan.Rejected) != 1 || !strings.Contains(plan.Rejected[0].Detail, "cannot be taken back") {
		t.Errorf("the beginning of a visit withdrawn: %+v %v", plan, err)
	}
	if n := count(t, s); n != 0 {
		t.Errorf("%d events were taken", n)
	}
}
