package ledger

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"

	"coldwright/units"
)

var start = time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)

func cyl(n string) Account  { return Account{Cylinder, n} }
func mach(n string) Account { return Account{Machine, n} }

// draw makes a random but bookable set of entries: movements of every kind, corrections of anything (also of
// corrections, also twice), withdrawals.
func draw(t *rapid.T) []Entry {
	kinds := []Kind{Bought, Opening, Charge, TopUp, Recover, Transfer, Heel, SentAway, Destroy, Loss, Counted, Withdrawn}
	gases := []string{"R-404A", "R-448A", "R-22"}
	n := rapid.IntRange(1, 40).Draw(t, "n")
	var out []Entry
	for i := range n {
		e := Entry{
			ID: fmt.Sprintf("e%03d", i),
			At: start.Add(time.Duration(rapid.IntRange(0, 60*24*60).Draw(t, "minute")) * time.Minute),
			Device: rapid.SampledFrom([]string{"a", "b"}).
				Draw(t, "device"),
			Seq:  int64(i),
			Site: rapid.SampledFrom([]string{"s1", "s2"}).Draw(t, "site"),
			Kind: rapid.SampledFrom(kinds).Draw(t, "kind"),
		}
		if i > 0 && (e.Kind == Withdrawn || rapid.IntRange(0, 3).Draw(t, "correct") == 0) {
			e.Corrects = fmt.Sprintf("e%03d", rapid.IntRange(0, i-1).Draw(t, "which"))
		}
		if e.Kind == Withdrawn {
			if i == 0 {
				continue
			}
			out = append(out, e)
			continue
		}
		w := ways[e.Kind]
		name := func(h Holder, list ...string) Account {
			a := Account{Holder: h}
			if h == Cylinder || h == Machine {
				a.Name = rapid.SampledFrom(list).Draw(t, "name")
			}
			return a
		}
		e.From = name(rapid.SampledFrom(w.from).Draw(t, "from"), "1", "2")
		e.To = name(rapid.SampledFrom(w.to).Draw(t, "to"), "3", "4") // other names: never the same account
		e.Refrigerant = rapid.SampledFrom(gases).Draw(t, "gas")
		e.Grams = rapid.Int64Range(1, 50_000).Draw(t, "grams")
		if e.Kind == Counted {
			e.Grams, e.Content = 0, rapid.Int64Range(0, 50_000).Draw(t, "content")
		}
		out = append(out, e)
	}
	return out
}

// Identity: what leaves one account enters another, for any sequence with any corrections.
func TestBook_MassConserved(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := draw(t)
		b, err := New(entries)
		if err != nil {
			t.Fatal(err)
		}
		for _, until := range []time.Time{{}, start.Add(20 * 24 * time.Hour)} {
			sums := map[string]int64{}
			for _, x := range b.Balances(until) {
				sums[x.Refrigerant] += x.Grams
			}
			for gas, g := range sums {
				if g != 0 {
					t.Fatalf("%s: balances add up to %d g", gas, g)
				}
			}
		}
		for _, x := range b.Totals() {
			if x.Bought != x.InCylinders+x.InMachines+x.Lost+x.Reclaimed+x.Destroyed+x.Missing {
				t.Fatalf("%s does not close: %+v", x.Refrigerant, x)
			}
		}
	})
}

// Identity: the order of arrival and repeated arrival change nothing; nor does it matter which device merges.
func TestBook_MergeOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := draw(t)
		want, err := New(entries)
		if err != nil {
			t.Fatal(err)
		}
		mixed := rapid.Permutation(append(slices.Clone(entries), entries[:len(entries)/2]...)).Draw(t, "order")
		got, err := New(mixed)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Fatalf("the book depends on the order of arrival:\n%+v\n%+v", got, want)
		}
	})
}

// Identity: a correction counts once however long the chain and however many compete; its place is that of the first entry.
func TestBook_OneEndPerChain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		entries := draw(t)
		b, err := New(entries)
		if err != nil {
			t.Fatal(err)
		}
		by := map[string]Entry{}
		for _, e := range entries {
			by[e.ID] = e
		}
		used := map[string]string{}
		for _, e := range b.Entries() {
			r := e
			for r.Corrects != "" {
				next, ok := by[r.Corrects]
				if !ok {
					break
				}
				r = next
			}
			key := r.ID
			if r.Corrects != "" {
				key = r.Corrects
			}
			if old, twice := used[key]; twice {
				t.Fatalf("%s and %s both stand for %s", old, e.ID, key)
			}
			used[key] = e.ID
		}
	})
}

// Identity: right after a count that holds the cylinder is at what the scale said, whatever was corrected before it;
// every entry in the book moves zero or more from one account into another.
func TestBook_Counted(t *testing.T) {
	seen := 0
	hold := func(t *rapid.T) {
		entries := draw(t)
		b, err := New(entries)
		if err != nil {
			t.Fatal(err)
		}
		content := map[string]int64{}
		for _, e := range entries {
			content[e.ID] = e.Content
		}
		running := map[place]int64{}
		for _, e := range b.Entries() {
			if e.Grams < 0 || e.From == e.To {
				t.Fatalf("%+v moves nothing that can be moved", e)
			}
			running[place{e.From, e.Refrigerant}] -= e.Grams
			running[place{e.To, e.Refrigerant}] += e.Grams
			if e.Kind == Counted {
				seen++
				c := e.To
				if c.Holder == Difference {
					c = e.From
				}
				if got := running[place{c, e.Refrigerant}]; got != content[e.ID] {
					t.Fatalf("%v holds %d g after it was weighed at %d", c, got, content[e.ID])
				}
			}
		}
	}
	// A run draws a count in one book of five: runs are repeated until ten were looked at, with -short as well.
	for k := 0; seen < 10; k++ {
		if k == 20 {
			t.Fatalf("only %d counts were drawn", seen)
		}
		rapid.Check(t, hold)
	}
}

// By hand: bought 10 kg, used 4, weighed at 5.5: 0.5 kg is missing and stands as an entry of its own. When a purchase
// of 1 kg that was forgotten is entered for the day before the weighing, 1.5 kg is missing. Weighed at more than the
// book says, the difference gives.
func TestBook_CountedByHand(t *testing.T) {
	at := func(h int) time.Time { return start.Add(time.Duration(h) * time.Hour) }
	entries := []Entry{
		{ID: "1", At: at(0), Kind: Bought, Refrigerant: "R-404A", From: Account{Supplier, ""}, To: cyl("A"), Grams: 10_000},
		{ID: "2", At: at(1), Kind: Charge, Refrigerant: "R-404A", From: cyl("A"), To: mach("M"), Grams: 4000},
		{ID: "3", At: at(30), Kind: Counted, Refrigerant: "R-404A", From: Account{Difference, ""}, To: cyl("A"), Content: 5500},
	}
	check := func(entries []Entry, cylinder, missing int64) {
		t.Helper()
		b, err := New(entries)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range b.Balances(time.Time{}) {
			if x.Account == cyl("A") && x.Grams != cylinder || x.Account.Holder == Difference && x.Grams != missing {
				t.Errorf("%v: %d g", x.Account, x.Grams)
			}
		}
		if got := b.Totals()[0]; got.Missing != missing || got.InCylinders != cylinder {
			t.Errorf("%+v", got)
		}
	}
	check(entries, 5500, 500)
	check(
		append(
			entries,
			Entry{ID: "4", At: at(6), Kind: Bought, Refrigerant: "R-404A", From: Account{Supplier, ""}, To: cyl("A"), Grams: 1000},
		),
		5500,
		1500,
	)
	check(
		append(
			entries,
			Entry{ID: "4", At: at(40), Kind: Counted, Refrigerant: "R-404A", From: Account{Difference, ""}, To: cyl("A"), Content: 7000},
		),
		7000,
		-1000,
	)
}

// Worked example, by hand: buy 10 kg, charge 4 kg, find that it was 4.1 kg, recover 1 kg, lose 0.6 kg, send 0.5 kg to the reclaimer.
func TestBook_ByHand(t *testing.T) {
	at := func(h int) time.Time { return start.Add(time.Duration(h) * time.Hour) }
	entries := []Entry{
		{ID: "1", At: at(0), Kind: Bought, Refrigerant: "R-404A", From: Account{Supplier, ""}, To: cyl("A"), Grams: 10_000},
		{ID: "2", At: at(1), Site: "s", Kind: Charge, Refrigerant: "R-404A", From: cyl("A"), To: mach("M"), Grams: 4000},
		{ID: "3", At: at(2), Site: "s", Kind: Charge, Refrigerant: "R-404A", From: cyl("A"), To: mach("M"), Grams: 4100, Corrects: "2"},
		{ID: "4", At: at(3), Site: "s", Kind: Recover, Refrigerant: "R-404A", From: mach("M"), To: cyl("R"), Grams: 1000},
		{ID: "5", At: at(4), Site: "s", Kind: Loss, Refrigerant: "R-404A", From: mach("M"), To: Account{Atmosphere, ""}, Grams: 600},
		{ID: "6", At: at(5), Kind: Heel, Refrigerant: "R-404A", From: cyl("R"), To: Account{Reclaimer, ""}, Grams: 500},
		{ID: "7", At: at(6), Kind: Destroy, Refrigerant: "R-404A", From: cyl("R"), To: Account{Destroyed, ""}, Grams: 100},
		{ID: "8", At: at(7), Kind: Withdrawn, Corrects: "7"},
	}
	b, err := New(entries)
	if err != nil {
		t.Fatal(err)
	}
	got := map[string]int64{}
	for _, x := range b.Balances(time.Time{}) {
		got[x.Account.String()] = x.Grams
	}
	want := map[string]int64{
		"supplier":   -10_000,
		"cylinder A": 5900,
		"machine M":  2500,
		"cylinder R": 500,
		"atmosphere": 600,
		"reclaimer":  500,
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if len(b.Findings()) != 0 {
		t.Errorf("findings %+v", b.Findings())
	}
	m, err := b.Month("s", 2026, time.March, time.UTC, "AR4")
	if err != nil {
		t.Fatal(err)
	}
	if l := m.Lines[0]; l.Before != 0 || l.In != 4100 || l.Out != 1000 || l.Lost != 600 || l.After != 2500 {
		t.Errorf("month: %+v", l)
	}
	// 0.6 kg of R-404A at 3,922 (AR4, 40 CFR part 98 table A-1 mass-weighted) is 2,353.2 kg CO₂e.
	if got := m.Lines[0].Factor.CO2e(600); math.Abs(got-2353.2) > 1e-9 {
		t.Errorf("CO₂e %v", got)
	}
}

func TestBook_Findings(t *testing.T) {
	gas := func(id, gas string, from, to Account, g int64, corrects string) Entry {
		k := Transfer
		switch {
		case from.Holder == Supplier:
			k = Bought
		case from.Holder == Machine:
			k = Recover
		case to.Holder == Machine:
			k = Charge
		}
		return Entry{ID: id, At: start, Seq: int64(len(id)), Kind: k, Refrigerant: gas, From: from, To: to, Grams: g, Corrects: corrects}
	}
	later := func(e Entry, hours int) Entry { e.At = e.At.Add(time.Duration(hours) * time.Hour); return e }
	s := Account{Supplier, ""}
	for _, c := range []struct {
		name string
		in   []Entry
		want []string
	}{
		{"negative", []Entry{gas("1", "R-22", s, cyl("A"), 10, ""), gas("2", "R-22", cyl("A"), mach("M"), 12, "")}, []string{NegativeBalance}},
		{"a gram of rounding", []Entry{gas("1", "R-22", s, cyl("A"), 10, ""), gas("2", "R-22", cyl("A"), mach("M"), 11, "")}, nil},
		{"made good the same day", []Entry{gas("2", "R-22", cyl("A"), mach("M"), 11, ""), later(gas("1", "R-22", s, cyl("A"), 11, ""), 23)}, nil},
		{
			"made good too late",
			[]Entry{gas("2", "R-22", cyl("A"), mach("M"), 11, ""), later(gas("1", "R-22", s, cyl("A"), 11, ""), 25)},
			[]string{NegativeBalance},
		},
		{"exactly empty", []Entry{gas("1", "R-22", s, cyl("A"), 10, ""), gas("2", "R-22", cyl("A"), mach("M"), 10, "")}, nil},
		{"mixed", []Entry{gas("1", "R-22", s, cyl("A"), 10, ""), gas("2", "R-404A", s, cyl("A"), 10, "")}, []string{MixedCylinder}},
		{"contested", []Entry{
			gas("1", "R-22", s, cyl("A"), 10, ""), gas("2", "R-22", s, cyl("A"), 11, "1"),
			gas("3", "R-22", s, cyl("A"), 12, "1"),
		}, []string{Contested}},
		{"orphan", []Entry{gas("2", "R-22", s, cyl("A"), 11, "1")}, []string{Orphan}},
		{"ring", []Entry{gas("1", "R-22", s, cyl("A"), 11, "2"), gas("2", "R-22", s, cyl("A"), 11, "1")}, []string{Circular, Circular}},
	} {
		b, err := New(c.in)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, f := range b.Findings() {
			got = append(got, f.Code)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
		if c.name == "contested" && b.Balances(time.Time{})[0].Grams != 12 {
			t.Errorf("the last correction holds, got %+v", b.Balances(time.Time{}))
		}
		if c.name == "ring" && len(b.Entries()) != 0 {
			t.Error("a ring is booked")
		}
	}
}

func TestEntry_Refused(t *testing.T) {
	ok := Entry{ID: "1", At: start, Kind: Charge, Refrigerant: "R-22", From: cyl("A"), To: mach("M"), Grams: 1}
	if err := ok.Check(); err != nil {
		t.Fatal(err)
	}
	for what, change := range map[string]func(*Entry){
		"count with grams":  func(e *Entry) { e.Kind, e.From, e.To = Counted, Account{Difference, ""}, cyl("A") },
		"content elsewhere": func(e *Entry) { e.Content = 1 },
		"content below zero": func(e *Entry) {
			e.Kind, e.From, e.To, e.Grams, e.Content = Counted, Account{Difference, ""}, cyl("A"), 0, -1
		},
		"no id":              func(e *Entry) { e.ID = "" },
		"no time":            func(e *Entry) { e.At = time.Time{} },
		"unknown kind":       func(e *Entry) { e.Kind = "give" },
		"wrong source":       func(e *Entry) { e.From = Account{Supplier, ""} },
		"wrong destination":  func(e *Entry) { e.To = Account{Reclaimer, ""} },
		"no cylinder number": func(e *Entry) { e.From.Name = "" },
		"nothing moved":      func(e *Entry) { e.Grams = 0 },
		"negative":           func(e *Entry) { e.Grams = -1 },
		"more than exists":   func(e *Entry) { e.Grams = most + 1 },
		"no refrigerant":     func(e *Entry) { e.Refrigerant = "" },
		"corrects itself":    func(e *Entry) { e.Corrects = "1" },
		"empty withdrawal":   func(e *Entry) { *e = Entry{ID: "1", At: start, Kind: Withdrawn} },
		"moving withdrawal":  func(e *Entry) { e.Kind, e.Corrects = Withdrawn, "0" },
	} {
		e := ok
		change(&e)
		if e.Check() == nil {
			t.Errorf("%s was accepted", what)
		}
		if _, err := New([]Entry{e}); err == nil {
			t.Errorf("%s was booked", what)
		}
	}
}

func lb(v float64) units.Mass { return units.Mass(v * units.Pound) }
