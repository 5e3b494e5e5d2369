package law

import (
	"encoding/json"
	"math"
	"slices"
	"testing"
	"time"

	"coldwright/refrigerant"
	"coldwright/rules/ledger"
)

func TestInstruments_Load(t *testing.T) {
	all, err := Instruments("")
	if err != nil {
		t.Fatal(err)
	}
	if len(all) != 5 {
		t.Errorf("%d instruments", len(all))
	}
	labels := map[Trust]int{}
	for _, in := range all {
		for _, r := range in.Rules {
			labels[r.Trust]++
		}
		// Scopes follow each other without a gap or an overlap.
		for i := 1; i < len(in.Scope); i++ {
			if in.Scope[i-1].To != in.Scope[i].From {
				t.Errorf("%s: scope %d does not follow the one before", in.Code, i)
			}
		}
	}
	for _, l := range []Trust{Read, SecondHand, FromMemory} {
		if labels[l] == 0 {
			t.Errorf("no rule is labelled %q", l)
		}
	}
}

// The loader refuses rules that are not complete.
func TestInstrument_Refused(t *testing.T) {
	load := func() Instrument {
		all, err := Instruments(US)
		if err != nil {
			t.Fatal(err)
		}
		return all[0]
	}
	for what, change := range map[string]func(*Instrument){
		"no edition":       func(in *Instrument) { in.Edition = "" },
		"no source":        func(in *Instrument) { in.Source = nil },
		"no article":       func(in *Instrument) { in.Rules[0].Article = "" },
		"no label":         func(in *Instrument) { in.Rules[0].Trust = "" },
		"unknown kind":     func(in *Instrument) { in.Rules[0].Kind = "wish" },
		"no first day":     func(in *Instrument) { in.Rules[0].From = ledger.Date{} },
		"ends before":      func(in *Instrument) { in.Rules[0].To = in.Rules[0].From },
		"class left out":   func(in *Instrument) { in.Rules[0].LimitPercent = map[Class]float64{Commercial: 20} },
		"unlabelled scope": func(in *Instrument) { in.Scope[0].Trust = "sure" },
		"other country":    func(in *Instrument) { in.Jurisdiction = "XX" },
	} {
		in := load()
		if err := in.check(); err != nil {
			t.Fatal(err)
		}
		change(&in)
		if in.check() == nil {
			t.Errorf("%s was accepted", what)
		}
	}
}

// The numbers of the rules against the text they come from, retyped here: limits, days and intervals.
func TestRules_Numbers(t *testing.T) {
	all, err := Instruments("")
	if err != nil {
		t.Fatal(err)
	}
	rule := func(in, code string) Rule {
		for _, x := range all {
			for _, r := range x.Rules {
				if x.Code == in && r.Code == code {
					return r
				}
			}
		}
		t.Fatalf("no rule %s in %s", code, in)
		return Rule{}
	}
	for _, in := range []string{"us_82f", "us_84c"} {
		// 40 CFR 82.157(c)(2), read; 84.106(c)(2), second hand: 20, 30, 10, 10 %.
		r := rule(in, "leak_rate")
		for c, want := range map[Class]float64{Commercial: 20, Industrial: 30, Comfort: 10, Other: 10} {
			if r.LimitPercent[c] != want {
				t.Errorf("%s, %s: limit %v", in, c, r.LimitPercent[c])
			}
		}
		// 82.157(d), (e), read; 84.106 second hand: 30 days, 120 with a shutdown; follow-up within 10.
		if r := rule(in, "leak_repair"); r.Days != 30 || r.ShutdownDays != 120 {
			t.Errorf("%s: %+v", in, r)
		}
		if r := rule(in, "follow_up_verification"); r.Days != 10 {
			t.Errorf("%s: %+v", in, r)
		}
		// 82.157(j), read: 125 %, 1 March; (l), read: 3 years.
		if r := rule(in, "chronic_leak_report"); r.Percent != 125 || r.Month != 3 || r.Day != 1 {
			t.Errorf("%s: %+v", in, r)
		}
		if r := rule(in, "keep_records"); r.Years != 3 {
			t.Errorf("%s: %+v", in, r)
		}
	}
	if r := rule("us_82f", "leak_repair"); r.Trust != Read {
		t.Errorf("82.157(d) was read, labelled %q", r.Trust)
	}
	if r := rule("us_84c", "leak_repair"); r.Trust != SecondHand {
		t.Errorf("84.106(d) is second hand, labelled %q", r.Trust)
	}
	// Regulation (EU) 2024/573: 12, 6, 3 months; with detection 24, 12, 6; records 5 years (read).
	r := rule("eu_2024_573", "leak_check")
	for i, want := range [][4]float64{{5, 1, 12, 24}, {50, 10, 6, 12}, {500, 100, 3, 6}} {
		b := r.Bands[i]
		if got := [4]float64{b.MinCO2eT, b.MinHFOKg, float64(b.Months), float64(b.MonthsWithDetection)}; got != want {
			t.Errorf("band %d: %v", i, got)
		}
	}
	if rule("eu_2024_573", "keep_records").Years != 5 || rule("gb_517_2014", "keep_records").Years != 5 {
		t.Error("records are kept 5 years")
	}
}

func TestSubsectors(t *testing.T) {
	got, err := Subsectors()
	if err != nil || !slices.Contains(got, "supermarket") || got[len(got)-1] != SubsectorOther || len(got) < 4 {
		t.Errorf("%q %v", got, err)
	}
}

// 40 CFR 82.156 table 1 (read in two copies): inches of mercury below 29.9, by pressure class and charge, machine
// made before and since 15 November 1993.
func TestRecoveryLevel_Table(t *testing.T) {
	for _, c := range []struct {
		gas           string
		pounds        float64
		before, since float64
		pressure      string
	}{
		{"R-744", 10, 0, 0, "very high"},
		{"R-22", 199, 0, 0, "high"},
		{"R-22", 200, 4, 10, "high"},
		{"R-404A", 199, 0, 0, "high"},
		{"R-404A", 200, 4, 10, "high"},
		{"R-134a", 199, 4, 10, "medium"},
		{"R-134a", 200, 4, 15, "medium"},
		{"R-12", 10, 4, 10, "medium"},
	} {
		for since, want := range map[bool]float64{false: c.before, true: c.since} {
			l, err := recoveryLevel(loaded(t, c.gas), lb(c.pounds), since)
			if err != nil {
				t.Fatal(err)
			}
			if l.InHg != want || l.Pressure != c.pressure || l.MmHg != 0 {
				t.Errorf("%s, %v lb, since 1993 %v: %+v", c.gas, c.pounds, since, l)
			}
		}
	}
	// Low pressure: 25 mm of mercury absolute.
	if l, err := recoveryLevel(loaded(t, "R-123"), lb(300), true); err != nil || l.MmHg != 25 || l.Pressure != "low" {
		t.Errorf("%+v %v", l, err)
	}
}

func loaded(t *testing.T, designation string) *refrigerant.Refrigerant {
	t.Helper()
	r, err := refrigerant.Load(designation)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Every refrigerant on file has its groups, and the shares add up to one.
func TestSubstances_All(t *testing.T) {
	for _, name := range refrigerant.Designations() {
		s, err := Substances(name)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		sum := 0.0
		for _, x := range s.Groups {
			sum += x
		}
		if math.Abs(sum-1) > 1e-3 {
			t.Errorf("%s: groups add up to %v", name, sum)
		}
	}
	// Named in the rules' own lists, R-408A, R-409A hold class I or II; R-448A does not.
	for name, want := range map[string]bool{
		"R-22": true, "R-12": true, "R-502": true, "R-408A": true, "R-409A": true, "R-448A": false,
		"R-404A": false, "R-290": false,
	} {
		if s, err := Substances(name); err != nil || s.Has("class_1", "class_2") != want {
			t.Errorf("%s: %+v %v", name, s, err)
		}
	}
}

// Names of the time zone database; each must exist there.
func TestJurisdictionOf(t *testing.T) {
	for zone, want := range map[string]Jurisdiction{
		"America/Chicago": US, "America/Indiana/Tell_City": US, "Pacific/Honolulu": US, "Europe/Berlin": EU, "Europe/Dublin": EU,
		"Atlantic/Canary": EU, "Europe/London": GB,
		"America/Toronto": "", "America/Mexico_City": "", "Europe/Zurich": "", "UTC": "", "": "",
	} {
		got, ok, err := JurisdictionOf(zone)
		if err != nil || got != want || ok != (want != "") {
			t.Errorf("%q: %q %v %v", zone, got, ok, err)
		}
	}
	var v struct {
		Zones map[string][]string `json:"zones"`
	}
	text, err := files.ReadFile("data/zones.json")
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &v); err != nil {
		t.Fatal(err)
	}
	for _, list := range v.Zones {
		for _, z := range list {
			if _, err := time.LoadLocation(z); err != nil {
				t.Errorf("%s: %v", z, err)
			}
		}
	}
}
