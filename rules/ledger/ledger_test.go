package ledger

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"coldwright/refrigerant"
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

// Identity: a month begins with what the one before ended with, and the months of all sites together are the machines' balances.
func TestMonth_Chain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, err := New(draw(t))
		if err != nil {
			t.Fatal(err)
		}
		machines := map[string]int64{}
		for _, site := range []string{"s1", "s2"} {
			held := map[string]int64{}
			for month := time.March; month <= time.May; month++ {
				m, err := b.Month(site, 2026, month, nil, "EU 2024/573")
				if err != nil {
					t.Fatal(err)
				}
				for _, l := range m.Lines {
					if l.Before != held[l.Refrigerant] || l.After != l.Before+l.In-l.Out-l.Lost {
						t.Fatalf("%s %v: %+v after %d", site, month, l, held[l.Refrigerant])
					}
					held[l.Refrigerant] = l.After
				}
			}
			for gas, g := range held {
				machines[gas] += g
			}
		}
		for _, x := range b.Totals() {
			if machines[x.Refrigerant] != x.InMachines {
				t.Fatalf("%s: the months say %d g, the book %d g", x.Refrigerant, machines[x.Refrigerant], x.InMachines)
			}
		}
	})
}

// Identity: every account of a month closes, a machine's month begins with what the one before ended with, and the
// accounts of the site's machines add up to its lines.
func TestMonth_Accounts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b, err := New(draw(t))
		if err != nil {
			t.Fatal(err)
		}
		// A machine that two sites book has what the other moved under "elsewhere".
		for _, site := range []string{"s1", "s2"} {
			held := map[place]int64{}
			for month := time.March; month <= time.May; month++ {
				m, err := b.Month(site, 2026, month, nil, "AR4")
				if err != nil {
					t.Fatal(err)
				}
				in, out, lost := map[string]int64{}, map[string]int64{}, map[string]int64{}
				for _, x := range m.Accounts {
					p := place{x.Account, x.Refrigerant}
					if x.After != x.Before+x.In-x.Out-x.Lost+x.Elsewhere {
						t.Fatalf("%+v does not close", x)
					}
					if was, ok := held[p]; ok && was != x.Before {
						t.Fatalf("%s %v: %+v begins with %d, the month before ended with %d", site, month, x, x.Before, was)
					}
					end := time.Date(2026, month+1, 1, 0, 0, 0, 0, time.UTC).Add(-1)
					for _, y := range b.Balances(end) {
						if y.Account == x.Account && y.Refrigerant == x.Refrigerant && y.Grams != x.After {
							t.Fatalf("%+v: the book says %d g", x, y.Grams)
						}
					}
					if x.Account.Holder == Machine {
						held[p] = x.After
						in[x.Refrigerant] += x.In
						out[x.Refrigerant] += x.Out
						lost[x.Refrigerant] += x.Lost
					}
				}
				for _, l := range m.Lines {
					if in[l.Refrigerant] != l.In || out[l.Refrigerant] != l.Out || lost[l.Refrigerant] != l.Lost {
						t.Fatalf("%+v, its machines: in %d, out %d, lost %d", l, in[l.Refrigerant], out[l.Refrigerant], lost[l.Refrigerant])
					}
				}
			}
		}
	})
}

// A month belongs to the site's clock: 1 March 02:00 UTC is still February in Chicago (UTC−6).
func TestMonth_Zone(t *testing.T) {
	e := Entry{
		ID:          "1",
		At:          time.Date(2026, 3, 1, 2, 0, 0, 0, time.UTC),
		Site:        "s",
		Kind:        Opening,
		Refrigerant: "R-22",
		From:        Account{Supplier, ""},
		To:          mach("M"),
		Grams:       5,
	}
	b, err := New([]Entry{e})
	if err != nil {
		t.Fatal(err)
	}
	chicago := time.FixedZone("CST", -6*3600)
	feb, _ := b.Month("s", 2026, time.February, chicago, "AR4")
	mar, _ := b.Month("s", 2026, time.March, chicago, "AR4")
	if len(feb.Entries) != 1 || len(mar.Entries) != 0 || mar.Lines[0].Before != 5 {
		t.Errorf("February %+v, March %+v", feb, mar)
	}
	var out bytes.Buffer
	if err := feb.WriteCSV(&out); err != nil || !strings.Contains(out.String(), "2026-02-28,1,opening,R-22,supplier,machine M,5,9.05,AR4") {
		t.Errorf("%v\n%s", err, out.String())
	}
}

// The CSV reads back, whatever was typed, and no cell can be taken for a formula.
func TestMonth_CSV(t *testing.T) {
	e := Entry{
		ID:          "=1",
		At:          start,
		Site:        "s",
		Kind:        Loss,
		Refrigerant: "R-764",
		From:        mach("@M"),
		To:          Account{Atmosphere, ""},
		Grams:       7,
		Note:        "=HYPERLINK(\"x\"), \"quoted\"\nline",
	}
	b, err := New([]Entry{e})
	if err != nil {
		t.Fatal(err)
	}
	m, err := b.Month("s", 2026, time.March, nil, "AR4")
	if err != nil {
		t.Fatal(err)
	}
	var one, two, three bytes.Buffer
	if err := m.WriteCSV(&one); err != nil {
		t.Fatal(err)
	}
	if err := m.WriteLines(&two); err != nil {
		t.Fatal(err)
	}
	if err := m.WriteAccounts(&three); err != nil || !strings.Contains(three.String(), "machine,'@M,R-764,0,0,0,7,0,-7") {
		t.Errorf("%v %q", err, three.String())
	}
	rows, err := csv.NewReader(&one).ReadAll()
	if err != nil || len(rows) != 2 {
		t.Fatalf("%v %v", rows, err)
	}
	for _, c := range rows[1] {
		if c != "" && strings.ContainsRune("=+-@", rune(c[0])) {
			t.Errorf("cell %q is a formula", c)
		}
	}
	// R-764 has no potential on file: the cells are empty, not zero.
	if rows[1][7] != "" || rows[1][8] != "" || rows[1][10] != "'"+e.Note {
		t.Errorf("%q", rows[1])
	}
	if got := two.String(); got != "refrigerant,before_g,in_g,out_g,lost_g,after_g,lost_co2e_kg,gwp_edition\nR-764,0,0,0,7,-7,,\n" {
		t.Errorf("%q", got)
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

func date(s string) Date {
	d, err := ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func lb(v float64) units.Mass { return units.Mass(v * units.Pound) }

// Check values: arithmetic on the formulas of 40 CFR 82.152 (read): full charge, added, days since the last addition,
// other additions within 365 days.
func TestLeakRate_CheckValues(t *testing.T) {
	for _, c := range []struct {
		full, added          float64
		days                 int
		others               float64
		annualizing, rolling float64 // %
	}{
		{100, 10, 73, 0, 50, 10},
		{100, 10, 365, 0, 10, 10},
		{100, 10, 500, 0, 10, 10},
		{60, 5, 120, 6, 25.347, 18.333},
		{200, 30, 120, 0, 45.625, 15},
		{50, 1, 1, 0, 730, 2},
	} {
		day := date("2026-11-25")
		prior := Move{Date: day.AddDays(-c.days), Added: lb(c.others), Reason: Leak}
		if c.others == 0 {
			// An addition that is no loss still is "the last addition".
			prior = Move{Date: day.AddDays(-c.days), Added: lb(3), Reason: Seasonal}
		}
		r, err := LeakRate(RateInput{FullCharge: lb(c.full), AsOf: day, Moves: []Move{{Date: day, Added: lb(c.added)}, prior}})
		if err != nil {
			t.Fatal(err)
		}
		a := r.Last()
		if math.Abs(100*a.Annualizing-c.annualizing) > 5e-4 || math.Abs(100*a.Rolling-c.rolling) > 5e-4 ||
			math.Abs(100*r.Rolling-c.rolling) > 5e-4 {
			t.Errorf("%+v: annualizing %.3f %%, rolling %.3f %% and %.3f %%", c, 100*a.Annualizing, 100*a.Rolling, 100*r.Rolling)
		}
	}
}

func TestLeakRate_Rules(t *testing.T) {
	day := date("2026-11-25")
	run := func(in RateInput) Rate {
		if in.FullCharge == 0 {
			in.FullCharge = lb(100)
		}
		if in.AsOf.IsZero() {
			in.AsOf = day
		}
		r, err := LeakRate(in)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: got %v, want %v", what, got, want)
		}
	}
	// Two additions on one day are one (the text has no rule for zero days).
	r := run(
		RateInput{
			Moves: []Move{{Date: day, Added: lb(4)}, {Date: day, Added: lb(6)}, {Date: day.AddDays(-73), Added: lb(1), Reason: Seasonal}},
		},
	)
	near("same day", r.Last().Annualizing, 0.5)
	// Out and in again on one day: only the difference is lost.
	r = run(RateInput{Moves: []Move{{Date: day, Removed: lb(9), Added: lb(10)}}})
	near("recovered and recharged", r.Last().Rolling, 0.01)
	// Put back on a later day, said to be so.
	r = run(RateInput{Moves: []Move{{Date: day.AddDays(-2), Removed: lb(9)}, {Date: day, Added: lb(10), Reason: Recharge}}})
	near("recharged later", r.Last().Rolling, 0.01)
	if r.Last().First != true {
		t.Error("a removal is no addition")
	}
	// Put back on a later day without a word: a leak, to be safe.
	r = run(RateInput{Moves: []Move{{Date: day.AddDays(-2), Removed: lb(9)}, {Date: day, Added: lb(10)}}})
	near("not said", r.Last().Rolling, 0.1)
	// Installation, retrofit, seasonal variance ask for no calculation (82.157(b)).
	for _, why := range []Reason{Installation, Retrofit, Seasonal} {
		if r := run(RateInput{Moves: []Move{{Date: day, Added: lb(50), Reason: why}}}); r.Last() != nil || r.Rolling != 0 {
			t.Errorf("%s counts as lost", why)
		}
	}
	// The window: 365 days back still counts, 366 not. A successful follow-up test starts a shorter window on the day after it.
	old := []Move{
		{Date: day.AddDays(-365), Added: lb(3)},
		{Date: day.AddDays(-366), Added: lb(5)},
		{Date: day.AddDays(-20), Added: lb(7)},
		{Date: day, Added: lb(2)},
	}
	r = run(RateInput{Moves: old})
	near("365 days", r.Rolling, 0.12)
	r = run(RateInput{Moves: old, Verified: []Date{day.AddDays(-400), day.AddDays(-20)}})
	near("since the test", r.Rolling, 0.02)
	near("on the day of the test", r.Additions[2].Rolling, 0.15) // 5 + 3 + 7: 366 days back from 25 November is 346 back from 5 November
	// A rule that starts on a day sees nothing before it, and takes 365 days for the first addition (84.106(b), second hand).
	r = run(RateInput{Since: day.AddDays(-19), Moves: old})
	near("since the rule", r.Rolling, 0.02)
	if a := r.Last(); !a.First || a.Days != 365 || math.Abs(a.Annualizing-0.02) > 1e-12 {
		t.Errorf("%+v", a)
	}
	// What happens after the day asked is not known yet.
	if r := run(RateInput{Moves: []Move{{Date: day.AddDays(1), Added: lb(9)}}}); len(r.Additions) != 0 || r.Rolling != 0 {
		t.Errorf("%+v", r)
	}
}

// Over the limit, not at it (82.157(c)(2), read); whole grams must not push a machine over it.
func TestAddition_Over(t *testing.T) {
	day := date("2026-11-25")
	gram := func(v float64) units.Mass { return units.Mass(math.Round(v*units.Pound*units.Kilo) / units.Kilo) }
	for _, round := range []func(float64) units.Mass{lb, gram} {
		for full := 15.0; full < 2000; full *= 1.37 {
			for _, limit := range []float64{0.1, 0.2, 0.3} {
				for days := 5; days <= 400; days += 13 {
					at := full * limit * math.Min(float64(days), 365) / 365
					for _, c := range []struct {
						add  float64
						over bool
					}{{at, false}, {at + 0.02, true}, {at - 0.02, false}} {
						if c.add <= 0.01 { // less than a few grams is nothing to weigh
							continue
						}
						r, err := LeakRate(
							RateInput{
								FullCharge: round(full),
								AsOf:       day,
								Moves: []Move{
									{Date: day, Added: round(c.add)},
									{Date: day.AddDays(-days), Added: 1, Reason: Seasonal},
								},
							},
						)
						if err != nil {
							t.Fatal(err)
						}
						if got := r.Last().Over(Annualizing, limit, round(full)); got != c.over {
							t.Fatalf("%v lb of %v lb in %d days against %v: over %v", c.add, full, days, limit, got)
						}
						if got, want := r.Last().Over(Rolling, limit, round(full)), c.add > full*limit+0.01; got != want {
							t.Fatalf("rolling: %v lb of %v lb against %v: over %v", c.add, full, limit, got)
						}
					}
				}
			}
		}
	}
}

func TestLeakRate_Refused(t *testing.T) {
	ok := RateInput{FullCharge: 1, AsOf: date("2026-11-25"), Moves: []Move{{Date: date("2026-11-01"), Added: 0.1}}}
	for what, change := range map[string]func(*RateInput){
		"no full charge": func(in *RateInput) { in.FullCharge = 0 },
		"not a number":   func(in *RateInput) { in.FullCharge = units.Mass(math.NaN()) },
		"no day":         func(in *RateInput) { in.AsOf = Date{} },
		"undated":        func(in *RateInput) { in.Moves = []Move{{Added: 1}} },
		"negative":       func(in *RateInput) { in.Moves = []Move{{Date: in.AsOf, Added: -1}} },
		"unknown reason": func(in *RateInput) { in.Moves = []Move{{Date: in.AsOf, Added: 1, Reason: "thirst"}} },
	} {
		in := ok
		change(&in)
		if _, err := LeakRate(in); err == nil {
			t.Errorf("%s was accepted", what)
		}
	}
	if _, err := LeakRate(ok); err != nil {
		t.Error(err)
	}
}

// Identity: whatever happened, rates are finite, not negative, and all that counts as lost is at most what went in.
func TestLeakRate_Any(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := date("2026-11-25")
		in := RateInput{FullCharge: units.Mass(rapid.Float64Range(0.001, 1000).Draw(t, "full")), AsOf: day}
		var added units.Mass
		for range rapid.IntRange(0, 12).Draw(t, "n") {
			m := Move{
				Date:  day.AddDays(-rapid.IntRange(-3, 900).Draw(t, "back")),
				Added: units.Mass(rapid.Float64Range(0, 50).Draw(t, "in")),
				Removed: units.Mass(
					rapid.Float64Range(0, 50).Draw(t, "out"),
				),
				Reason: rapid.SampledFrom(append(Reasons(), "")).Draw(t, "why"),
			}
			added += m.Added
			in.Moves = append(in.Moves, m)
		}
		r, err := LeakRate(in)
		if err != nil {
			t.Fatal(err)
		}
		var counted units.Mass
		for _, a := range r.Additions {
			counted += a.Counted
			if a.Counted < 0 || math.IsNaN(a.Annualizing) || math.IsInf(a.Annualizing, 0) || a.Annualizing < 0 || a.Rolling < 0 ||
				a.Days < 1 ||
				a.Days > 365 {
				t.Fatalf("%+v", a)
			}
		}
		if counted > added+1e-9 {
			t.Fatalf("%v counted of %v added", counted, added)
		}
	})
}

// Calendar facts: 2024 and 2028 are leap years, 2026 and 2100 are not. 25 November 2026 is a Wednesday.
func TestDate(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{date("2026-01-31").AddMonths(1).String(), "2026-02-28"},
		{date("2028-01-31").AddMonths(1).String(), "2028-02-29"},
		{date("2028-02-29").AddYears(1).String(), "2029-02-28"},
		{date("2028-02-29").AddYears(4).String(), "2032-02-29"},
		{date("2026-08-31").AddMonths(6).String(), "2027-02-28"},
		{date("2026-11-30").AddMonths(3).String(), "2027-02-28"},
		{date("2026-12-15").AddMonths(1).String(), "2027-01-15"},
		{date("2026-03-31").AddMonths(-1).String(), "2026-02-28"},
		{date("2026-03-01").AddDays(30).String(), "2026-03-31"},
		{date("2028-02-15").AddDays(30).String(), "2028-03-16"},
		{date("2026-02-15").AddDays(30).String(), "2026-03-17"},
		{date("2026-11-28").LastWorkday().String(), "2026-11-27"}, // a Saturday
		{date("2026-11-29").LastWorkday().String(), "2026-11-27"},
		{date("2026-11-27").LastWorkday().String(), "2026-11-27"},
		{On(time.Date(2026, 1, 1, 3, 0, 0, 0, time.UTC), time.FixedZone("", -6*3600)).String(), "2025-12-31"},
	} {
		if c.got != c.want {
			t.Errorf("got %s, want %s", c.got, c.want)
		}
	}
	if n := date("2028-03-01").Days(date("2028-02-01")); n != 29 {
		t.Errorf("February 2028 has %d days", n)
	}
	for _, bad := range []string{"", "2026-02-29", "2026-13-01", "26-01-01", "2026-1-1", "01/02/2026", "0001-01-01"} {
		if _, err := ParseDate(bad); err == nil {
			t.Errorf("%q was read as a date", bad)
		}
	}
	var v struct {
		A Date `json:"a"`
		B Date `json:"b"`
	}
	if err := json.Unmarshal([]byte(`{"a":"2026-11-25","b":null}`), &v); err != nil || v.A != date("2026-11-25") || !v.B.IsZero() {
		t.Errorf("%+v %v", v, err)
	}
	if b, err := json.Marshal(v); err != nil || string(b) != `{"a":"2026-11-25","b":null}` {
		t.Errorf("%s %v", b, err)
	}
	if json.Unmarshal([]byte(`{"a":20261125}`), &v) == nil {
		t.Error("a number was read as a date")
	}
}

// The blends on file against the weighing of their components (annex VI): within the rounding of what is on file, and
// R-448A within that of a maker's data sheet, 1,387 (AR4) and 1,273 (AR5).
func TestPotential_Mixture(t *testing.T) {
	n := 0
	for _, name := range refrigerant.Blends() {
		for _, edition := range []string{"AR4", "EU 2024/573", "AR5", "AR6"} {
			f, err := onFile(name, edition)
			if err != nil {
				t.Fatal(err)
			}
			if !f.Known {
				continue
			}
			parts, err := refrigerant.BlendOf(name)
			if err != nil {
				t.Fatal(err)
			}
			sum, known := 0.0, true
			for _, c := range parts {
				p, err := onFile(c.Designation, edition)
				if err != nil {
					t.Fatal(err)
				}
				sum, known = sum+c.MassFraction*p.GWP, known && p.Known
			}
			if !known {
				continue
			}
			n++
			tol := map[string]float64{"EU 2024/573": 0.06, "AR4": 0.51, "AR5": 0.51, "AR6": 0.51}[edition]
			if math.Abs(sum-f.GWP) > tol {
				t.Errorf("%s, %s: components give %.2f, on file %v", name, edition, sum, f.GWP)
			}
		}
	}
	if n < 60 {
		t.Errorf("only %d blends checked", n)
	}
	for edition, want := range map[string]float64{"AR4": 1387, "AR5": 1273} {
		if f, err := Potential("R-448A", edition); err != nil || math.Abs(f.GWP-want) > 0.5 {
			t.Errorf("R-448A, %s: %+v %v", edition, f, err)
		}
	}
	// Not on file itself: R-452B is 67/7/26 % R-32/R-125/R-1234yf; 0.67·675 + 0.07·3500 + 0.26·4 by hand.
	if f, err := Potential("R-452B", "AR4"); err != nil || !f.Known || !f.Mixed || math.Abs(f.GWP-698.29) > 0.01 {
		t.Errorf("R-452B: %+v %v", f, err)
	}
	if f, err := Potential("R-764", "AR4"); err != nil || f.Known {
		t.Errorf("R-764: %+v %v", f, err)
	}
}
