package law

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"coldwright/fail"
	"coldwright/rules/ledger"
	"coldwright/units"
)

func date(s string) ledger.Date {
	d, err := ledger.ParseDate(s)
	if err != nil {
		panic(err)
	}
	return d
}

func lb(v float64) units.Mass { return units.Mass(v * units.Pound) }

// happened writes events shortly: "2026-03-01 added 15", "2026-03-10 repaired", "2026-03-11 initial_verification
// failed". Masses are pounds.
func happened(lines ...string) []Event {
	var out []Event
	for _, l := range lines {
		var day, kind, rest string
		if n, _ := fmt.Sscan(l, &day, &kind, &rest); n < 2 {
			panic(l)
		}
		e := Event{Date: date(day), Kind: EventKind(kind), Failed: rest == "failed"}
		if e.Kind == Added || e.Kind == Removed {
			var v float64
			if _, err := fmt.Sscan(rest, &v); err != nil {
				panic(l)
			}
			e.Mass = lb(v)
		}
		out = append(out, e)
	}
	return out
}

func duties(t *testing.T, m Machine, on string) []Duty {
	t.Helper()
	r, err := Duties(m, date(on))
	if err != nil {
		t.Fatal(err)
	}
	return r.Duties
}

// find returns the duties of a code in the instruments whose title contains a word.
func find(all []Duty, instrument, code string) []Duty {
	var out []Duty
	for _, d := range all {
		if d.Code == code && strings.Contains(d.Instrument, instrument) {
			out = append(out, d)
		}
	}
	return out
}

func one(t *testing.T, all []Duty, instrument, code string) Duty {
	t.Helper()
	list := find(all, instrument, code)
	if len(list) != 1 {
		t.Fatalf("%s, %s: %d duties: %+v", instrument, code, len(list), list)
	}
	return list[0]
}

// say is a duty in one line.
func say(d Duty) string {
	var s strings.Builder
	s.WriteString(string(d.State))
	for _, x := range []struct {
		name string
		v    ledger.Date
	}{{"from", d.Starts}, {"due", d.Due}, {"met", d.MetOn}} {
		if !x.v.IsZero() {
			s.WriteString(" " + x.name + " " + x.v.String())
		}
	}
	if d.Reason != "" {
		s.WriteString(" " + d.Reason)
	}
	return s.String()
}

// Who is covered: 82.157(a) from 50 lb and, since 10 April 2020, only with a class I or II substance (read);
// 84.106(a) from 15 lb with a listed HFC or a substitute over GWP 53, from 1 January 2026 (read).
func TestDuties_Scope(t *testing.T) {
	for _, c := range []struct {
		gas          string
		pounds       float64
		on           string
		f82, c84     string // "" is covered
		f82From, sub string
	}{
		{"R-22", 50, "2026-06-01", "", ReasonSubstance, "", ""},
		{"R-22", 49.9, "2026-06-01", ReasonSmall, ReasonSubstance, "", ""},
		{"R-408A", 50, "2026-06-01", "", "", "", ""}, // R-22 and HFCs: both
		{"R-448A", 15, "2026-06-01", ReasonSubstance, "", "", ""},
		{"R-448A", 14.9, "2026-06-01", ReasonSubstance, ReasonSmall, "", ""},
		{"R-448A", 100, "2025-12-31", ReasonSubstance, ReasonNotYet, "", ""},
		{"R-448A", 100, "2020-04-09", "", ReasonNotYet, "", ""},
		{"R-448A", 100, "2020-04-10", ReasonSubstance, ReasonNotYet, "", ""},
		{"R-448A", 100, "2018-12-31", ReasonNotYet, ReasonNotYet, "", ""},
		{"R-454C", 20, "2026-06-01", ReasonSubstance, "", "", ""}, // holds R-32: in, whatever its GWP
		{"R-290", 20, "2026-06-01", ReasonSubstance, ReasonSubstance, "", ""},
		{"R-744", 900, "2026-06-01", ReasonSubstance, ReasonSubstance, "", ""},
		{"R-1234yf", 20, "2026-06-01", ReasonSubstance, ReasonSubstance, "", ""},
		{"R-448A", 100, "2026-06-01", ReasonSubstance, ReasonSubsector, "", "residential and light commercial air conditioning"},
		{"R-448A", 0, "2026-06-01", ReasonSubstance, ReasonChargeUnknown, "", ""},
	} {
		m := Machine{Jurisdiction: US, Class: Commercial, Refrigerant: c.gas, FullCharge: lb(c.pounds), Subsector: c.sub}
		all := duties(t, m, c.on)
		for title, want := range map[string]string{"82 subpart F": c.f82, "part 84": c.c84} {
			got := ""
			for _, d := range find(all, title, "scope") {
				if !strings.Contains(d.Instrument, "recovery") {
					got = d.Reason
				}
			}
			if got != want {
				t.Errorf("%s, %v lb on %s, %s: %q, want %q", c.gas, c.pounds, c.on, title, got, want)
			}
		}
	}
	// Whole grams do not push 15 lb under the limit: 6,804 g and 6,803 g.
	m := Machine{Jurisdiction: US, Class: Commercial, Refrigerant: "R-448A", FullCharge: 6.804}
	if len(find(duties(t, m, "2026-06-01"), "part 84", "scope")) != 0 {
		t.Error("6,804 g is 15 lb")
	}
	m.FullCharge = 6.803
	if len(find(duties(t, m, "2026-06-01"), "part 84", "scope")) != 1 {
		t.Error("6,803 g is not 15 lb")
	}
}

// Retired: the clocks stop, the records are kept.
func TestDuties_Retired(t *testing.T) {
	m := Machine{
		Jurisdiction: US,
		Class:        Commercial,
		Refrigerant:  "R-448A",
		FullCharge:   lb(60),
		Events:       happened("2026-03-01 added 15", "2026-03-20 retired"),
	}
	all := duties(t, m, "2026-06-01")
	if d := one(t, all, "part 84", "leak_repair"); d.Reason != ReasonRetired {
		t.Errorf("%s", say(d))
	}
	if d := one(t, all, "part 84", "keep_records"); say(d) != "open from 2026-03-20 due 2029-03-20 keep_until_due" {
		t.Errorf("%s", say(d))
	}
	if all := duties(t, m, "2026-03-19"); one(t, all, "part 84", "leak_repair").State != Open {
		t.Error("retired before its day")
	}
}

// Back in service: a mothballed machine's clock goes on from that day, or from the addition before it; a machine
// retired by mistake has its clocks again. By hand: added on 1 March, due on the 31st; ten days of March mothballed
// make it 10 April.
func TestDuties_BackInService(t *testing.T) {
	m := Machine{Jurisdiction: US, Class: Commercial, Refrigerant: "R-448A", FullCharge: lb(60)}
	for _, c := range []struct {
		events []string
		want   string
	}{
		{[]string{"2026-03-01 added 15", "2026-03-11 mothballed"}, "open from 2026-03-01 mothballed"},
		{[]string{"2026-03-01 added 15", "2026-03-11 mothballed", "2026-03-21 back_in_service"}, "open from 2026-03-01 due 2026-04-10"},
		{
			[]string{"2026-03-01 added 15", "2026-03-11 mothballed", "2026-03-13 mothballed", "2026-03-21 back_in_service"},
			"open from 2026-03-01 due 2026-04-10",
		},
		{[]string{"2026-03-01 added 15", "2026-03-11 mothballed", "2026-03-11 back_in_service"}, "open from 2026-03-01 due 2026-03-31"},
		{
			[]string{"2026-03-01 added 15", "2026-03-11 mothballed", "2026-03-16 added 1", "2026-03-21 back_in_service"},
			"open from 2026-03-01 due 2026-04-05",
		},
		{[]string{"2026-03-01 added 15", "2026-03-11 retired", "2026-03-12 back_in_service"}, "open from 2026-03-01 due 2026-03-31"},
	} {
		m.Events = happened(c.events...)
		if got := say(one(t, duties(t, m, "2026-03-25"), "part 84", "leak_repair")); got != c.want {
			t.Errorf("%v: %s, want %s", c.events, got, c.want)
		}
	}
}

// Whatever happened: an answer for every rule, no clock that ends before it starts, the same answer for events in
// another order, and time only moves an open duty to overdue.
func TestDuties_Any(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		start := date("2025-10-01")
		m := Machine{
			Jurisdiction: rapid.SampledFrom(Jurisdictions()).Draw(t, "where"),
			Class:        rapid.SampledFrom(Classes()).Draw(t, "class"),
			Refrigerant:  rapid.SampledFrom([]string{"R-22", "R-404A", "R-448A", "R-290", "R-1234yf", "R-408A"}).Draw(t, "gas"),
			FullCharge:   units.Mass(rapid.SampledFrom([]float64{0, 1, 30, 120, 800}).Draw(t, "charge")),
			Detection:    rapid.Bool().Draw(t, "detection"),
			Hermetic:     rapid.Bool().Draw(t, "hermetic"),
			Shutdown:     rapid.Bool().Draw(t, "shutdown"),
			Installed:    start,
			Method:       rapid.SampledFrom([]ledger.Method{"", ledger.Annualizing, ledger.Rolling}).Draw(t, "method"),
		}
		for i := range rapid.IntRange(0, 12).Draw(t, "n") {
			// No two events on one day: the order of such events is the order given.
			e := Event{
				Date:   start.AddDays(31*i + rapid.IntRange(0, 30).Draw(t, "day")),
				Kind:   rapid.SampledFrom(EventKinds()).Draw(t, "kind"),
				Failed: rapid.IntRange(0, 5).Draw(t, "f") == 0,
			}
			if e.Kind == Added || e.Kind == Removed {
				e.Mass = units.Mass(rapid.Float64Range(0.001, 100).Draw(t, "mass"))
				e.Reason = rapid.SampledFrom(append(ledger.Reasons(), "")).Draw(t, "why")
			}
			m.Events = append(m.Events, e)
		}
		on := start.AddDays(rapid.IntRange(-2500, 900).Draw(t, "on"))
		if m.Installed.After(on) {
			if _, err := Duties(m, on); fail.CodeOf(err) != fail.Range {
				t.Fatalf("judged before it was installed: %v", err)
			}
			m.Installed = ledger.Date{}
		}
		r, err := Duties(m, on)
		if err != nil {
			t.Fatal(err)
		}
		if len(r.Duties) == 0 {
			t.Fatal("no answer")
		}
		for _, d := range r.Duties {
			switch {
			case d.Article == "" || d.Edition == "" || d.Trust == "" || d.Instrument == "" || d.State == "":
				t.Fatalf("not complete: %+v", d)
			case !d.Due.IsZero() && d.Due.Before(d.Starts):
				t.Fatalf("ends before it starts: %+v", d)
			case d.State == Overdue && !d.Due.Before(on), d.State == Met && d.MetOn.IsZero() && d.Code != "keep_records":
				t.Fatalf("state: %+v on %s", d, on)
			case (d.State == NotApplicable || d.State == Unknown) && d.Reason == "":
				t.Fatalf("no reason: %+v", d)
			case d.Reason != "" && !slices.Contains(ReasonCodes(), d.Reason):
				t.Fatalf("reason %q is not on the list", d.Reason)
			case d.MetOn.After(on):
				t.Fatalf("met in the future: %+v", d)
			}
			for k, v := range d.Args {
				if math.IsNaN(v) || math.IsInf(v, 0) {
					t.Fatalf("%s: %v", k, v)
				}
			}
		}
		a, _ := json.Marshal(r)
		m.Events = rapid.Permutation(m.Events).Draw(t, "order")
		again, err := Duties(m, on)
		if err != nil {
			t.Fatal(err)
		}
		if b, _ := json.Marshal(again); string(a) != string(b) {
			t.Fatalf("depends on the order of events:\n%s\n%s", a, b)
		}
	})
}

func TestDuties_Refused(t *testing.T) {
	ok := Machine{Jurisdiction: US, Class: Commercial, Refrigerant: "R-448A", FullCharge: 20}
	hot := 1e6
	for what, change := range map[string]func(*Machine){
		"jurisdiction": func(m *Machine) { m.Jurisdiction = "MOON" },
		"class":        func(m *Machine) { m.Class = "" },
		"refrigerant":  func(m *Machine) { m.Refrigerant = "R-9999" },
		"charge":       func(m *Machine) { m.FullCharge = -1 },
		"no number":    func(m *Machine) { m.FullCharge = units.Mass(math.NaN()) },
		"potential":    func(m *Machine) { m.GWP = &hot },
		"method":       func(m *Machine) { m.Method = "guess" },
		"no mass":      func(m *Machine) { m.Events = []Event{{Date: date("2026-01-01"), Kind: Added}} },
		"mass":         func(m *Machine) { m.Events = []Event{{Date: date("2026-01-01"), Kind: Repaired, Mass: 1}} },
		"no date":      func(m *Machine) { m.Events = []Event{{Kind: Repaired}} },
		"kind":         func(m *Machine) { m.Events = []Event{{Date: date("2026-01-01"), Kind: "painted"}} },
		"reason": func(m *Machine) {
			m.Events = []Event{{Date: date("2026-01-01"), Kind: Added, Mass: 1, Reason: "thirst"}}
		},
	} {
		m := ok
		change(&m)
		var e *fail.Error
		if _, err := Duties(m, date("2026-06-01")); !errors.As(err, &e) {
			t.Errorf("%s: %v", what, err)
		}
	}
	if _, err := Duties(ok, ledger.Date{}); err == nil {
		t.Error("no day was accepted")
	}
}

func BenchmarkDuties(b *testing.B) {
	m := Machine{
		Jurisdiction: US,
		Class:        Commercial,
		Refrigerant:  "R-448A",
		FullCharge:   lb(60),
		Events:       happened("2026-03-01 added 15", "2026-03-10 repaired", "2026-03-11 initial_verification"),
	}
	for b.Loop() {
		if _, err := Duties(m, date("2026-03-20")); err != nil {
			b.Fatal(err)
		}
	}
}
