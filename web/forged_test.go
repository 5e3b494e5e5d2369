package web_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/record"
)

// forgeries are drawn in a usual run; COLDWRIGHT_FORGERIES asks for more.
const forgeries = 120

// odd are values somebody may put into an event that has none of its kind, within and beyond what is allowed.
var odd = []any{
	0.0, 1.0, -1.0, 1e-300, 200.0, 399.0, 9999.0, 1e6, 1e9, 1e308, -1e308, -40.0,
	"", "x", "yes", "before", "R-717", "2026-01-01", "2999-01-01",
	strings.Repeat("w", 3999), strings.Repeat("w", 900_000), "<script>alert(1)</script>", "\u202e", "=1+1", "\x00", true, nil,
	[]any{},
	map[string]any{},
}

// forge puts an odd value in the place of a leaf of a body.
func forge(rng *rand.Rand, body json.RawMessage) json.RawMessage {
	var doc any
	if json.Unmarshal(body, &doc) != nil {
		return body
	}
	var puts []func(any)
	var walk func(at any, put func(any))
	walk = func(at any, put func(any)) {
		switch x := at.(type) {
		case map[string]any:
			keys := make([]string, 0, len(x))
			for k := range x {
				keys = append(keys, k)
			}
			slices.Sort(keys)
			for _, k := range keys {
				walk(x[k], func(v any) { x[k] = v })
			}
		case []any:
			for i := range x {
				walk(x[i], func(v any) { x[i] = v })
			}
		default:
			puts = append(puts, put)
		}
	}
	walk(doc, func(v any) { doc = v })
	if len(puts) == 0 {
		return body
	}
	puts[rng.IntN(len(puts))](odd[rng.IntN(len(odd))])
	b, err := json.Marshal(doc)
	if err != nil {
		return body
	}
	return b
}

// An event that somebody made up is refused, or it stands in the record and breaks nothing: every page of its machine and
// the lists answer, nothing fails that is ours, and the program starts again on it.
func TestForged(t *testing.T) {
	ctx := context.Background()
	n, seed := forgeries, uint64(time.Now().UnixNano()%1_000_000)
	if v, err := strconv.Atoi(os.Getenv("COLDWRIGHT_FORGERIES")); err == nil {
		n = v
	}
	t.Logf("seed %d", seed)
	rng := rand.New(rand.NewPCG(seed, 600))
	d := open(t)
	if err := keep.Demo(ctx, d.app); err != nil {
		t.Fatal(err)
	}
	events, _, err := d.store.Since(ctx, 0, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	byKind := map[record.Kind][]record.Event{}
	var kinds []record.Kind
	for _, e := range events {
		if e.Site != "" || e.Machine == "" {
			if byKind[e.Kind] == nil {
				kinds = append(kinds, e.Kind)
			}
			byKind[e.Kind] = append(byKind[e.Kind], e)
		}
	}
	taken := 0
	for i := range n {
		of := byKind[kinds[rng.IntN(len(kinds))]]
		e := of[rng.IntN(len(of))]
		e.ID, e.Seq, e.Order, e.Link = record.ID(fmt.Sprintf("019f7b00-0000-7000-8000-%012d", i)), int64(1_000_000+i), time.Time{}, ""
		e.Device, e.At, e.Body = "forger", d.now, forge(rng, e.Body)
		if rng.IntN(10) == 0 {
			e.At = []time.Time{time.Unix(0, 0).UTC(), d.now.AddDate(-20, 0, 0), d.now.AddDate(5, 0, 0), d.now.AddDate(900, 0, 0)}[rng.IntN(4)]
		}
		line, err := json.Marshal(e)
		if err != nil {
			continue // no line can hold it
		}
		plan, err := keep.PlanImport(ctx, d.app, bytes.NewReader(line))
		if err != nil || plan.Added == 0 {
			continue
		}
		if err := keep.Import(ctx, d.app, app.Act{}, plan); err != nil {
			t.Fatalf("%s: %v", line, err)
		}
		taken++
		pages := []string{"/"}
		switch {
		case e.Visit != "":
			at := "/visits/" + string(e.Visit)
			pages = append(pages, at, at+"/report", at+[]string{"/judge", "/readings", "/search", "/charge", "/tight", "/dry", "/cold"}[rng.IntN(7)])
		case e.Machine != "":
			pages = append(pages, "/machines/"+string(e.Machine), "/machines/"+string(e.Machine)+"/room")
		case e.Site != "":
			pages = append(pages, "/sites/"+string(e.Site))
		default:
			pages = append(pages, "/cylinders")
		}
		for _, p := range pages {
			if got := d.get(p); got.status >= 500 || len(d.logged) > 0 {
				t.Fatalf("seed %d: %s: %d, %v after %.300s", seed, p, got.status, d.logged, line)
			}
		}
	}
	t.Logf("%d of %d forged events were taken", taken, n)
	// The same log under a program that begins: its lists, and what is judged before anybody looks.
	app.New(d.store, app.Options{Now: func() time.Time { return d.now }, Rand: rand.NewChaCha8([32]byte{3})}).Warm(ctx)
	for _, p := range []string{"/", "/machines", "/cylinders", "/duties"} {
		if got := d.get(p); got.status >= 500 {
			t.Errorf("%s: %d", p, got.status)
		}
	}
}
