package app_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/record"
)

// Pictures and files travel with the events that name them, as JSON lines and as CSV; an event without its own is said by line and waits.
func TestExportImport_Contents(t *testing.T) {
	a, s, _ := fresh(t)
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
			ID: record.ID(fmt.Sprintf("01900000-0000-7000-8000-%012d", n)), Device: "d", Seq: int64(n), At: time.Date(2026, 5, 1, 8, n, 0, 0, time.UTC), Site: "s", Machine: "m", Visit: "v",
			Kind: record.PhotoTaken, Version: 1, Body: body,
		}
		if n == 2 {
			e.Version, e.Body = 2, []byte(`{"any":1}`) // of a newer program: what it names is not known here, and travels all the same
		}
		if _, err := s.Append(ctx, "", e); err != nil {
			t.Fatal(err)
		}
	}
	var lines []string
	if err := a.Export(ctx, func(l []byte) error { lines = append(lines, string(l)); return nil }); err != nil {
		t.Fatal(err)
	}
	var sheet strings.Builder
	if err := a.ExportCSV(ctx, &sheet); err != nil {
		t.Fatal(err)
	}
	for name, text := range map[string]string{"JSON lines": strings.Join(lines, ""), "CSV": sheet.String()} {
		b, into, _ := fresh(t)
		for round := range 2 {
			plan, err := b.PlanImport(ctx, strings.NewReader(text))
			if err != nil || len(plan.Rejected) != 0 || round == 0 && (plan.Added != 3 || plan.Contents != 3) || round == 1 && (plan.Added != 0 || plan.Contents != 0) {
				t.Fatalf("%s, round %d: %+v %v", name, round, plan, err)
			}
			if round == 0 {
				if got, err := into.BlobHashes(ctx, "", 9); err != nil || len(got) != 0 {
					t.Errorf("planning kept %v", got)
				}
			}
			if err := b.Import(ctx, app.Act{}, plan); err != nil {
				t.Fatal(err)
			}
		}
		for _, w := range want {
			if got, err := b.Blob(ctx, w.Hash); err != nil || !bytes.Equal(got.Bytes, w.Bytes) || got.Type != w.Type {
				t.Errorf("%s: %d of %d bytes, %v", name, len(got.Bytes), len(w.Bytes), err)
			}
		}
		var again strings.Builder
		if err := b.Export(ctx, func(l []byte) error { again.Write(l); return nil }); err != nil || again.String() != strings.Join(lines, "") {
			t.Errorf("%s: exported again it differs (%v)", name, err)
		}
	}
	// Without its picture an event waits, damaged bytes are refused, and nothing half is kept.
	b, into, _ := fresh(t)
	var events, damaged []string
	for _, l := range lines {
		if strings.HasPrefix(l, `{"blob"`) {
			damaged = append(damaged, strings.Replace(l, `"bytes":"A`, `"bytes":"B`, 1))
		} else {
			events = append(events, l)
		}
	}
	plan, err := b.PlanImport(ctx, strings.NewReader(strings.Join(append(damaged[:2:2], events...), "")))
	if err != nil || plan.Added != 1 || plan.Contents != 0 || len(plan.Rejected) != 4 || plan.Rejected[0].Code != "bad_event" || plan.Rejected[3].Code != "no_content" || plan.Rejected[3].Line != 4 {
		t.Fatalf("%+v %v", plan, err)
	}
	if err := b.Import(ctx, app.Act{}, plan); err != nil {
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
	if err := a.Export(ctx, func(l []byte) error { all.Write(l); return nil }); err != nil {
		t.Fatal(err)
	}
	if plan, err := b.PlanImport(ctx, strings.NewReader(all.String())); err != nil || len(plan.Rejected) != 0 || plan.Contents != 4 {
		t.Errorf("with the largest: %+v %v", plan, err)
	}
}
