package wire

import (
	"errors"
	"strings"
	"testing"

	"coldwright/fail"
	"coldwright/rules/ledger"
	"coldwright/units"
)

const sheet = `{
  "jurisdiction": "US", "class": "commercial refrigeration", "refrigerant": "r448a", "full_charge": "60 lb", "installed": "2019-05-01",
  "hermetic": false, "detection": true, "shutdown": false, "subsector": "supermarket", "method": "rolling", "gwp100": 1387,
  "events": [
    {"date": "2026-03-01", "kind": "added", "mass": "15 lb", "reason": "leak"},
    {"date": "2026-03-11", "kind": "initial_verification", "result": "failed", "note": "bubbles at the joint"}
  ]
}`

func TestReadOwned(t *testing.T) {
	m, err := ReadOwned(strings.NewReader("\ufeff" + sheet))
	if err != nil {
		t.Fatal(err)
	}
	if m.Refrigerant != "R-448A" || m.FullCharge != units.Mass(60*units.Pound) || m.Installed != ledger.Day(2019, 5, 1) || !m.Detection ||
		m.Method != ledger.Rolling ||
		*m.GWP != 1387 ||
		len(m.Events) != 2 {
		t.Errorf("%+v", m)
	}
	if m.Events[0].Mass != units.Mass(15*units.Pound) || m.Events[0].Reason != ledger.Leak || !m.Events[1].Failed {
		t.Errorf("%+v", m.Events)
	}
}

// An error names line, column and value, and says what is allowed.
func TestReadOwned_Refused(t *testing.T) {
	for _, c := range []struct{ old, new, field, says, key string }{
		{`"US"`, `"FR"`, "line 2, column 19, jurisdiction", "FR", "law.not_listed"},
		{`"US"`, `7`, "line 2, column 19, jurisdiction", "number", "json.text_wanted"},
		{`"r448a"`, `"R-9999"`, "line 2, column 77, refrigerant", "R-9999", "refrigerant.unusable"},
		{`"60 lb"`, `"60"`, "line 2, column 101, full_charge", "text=60", "units.no_unit"},
		{`"60 lb"`, `60`, "line 2, column 101, full_charge", "number", "json.text_wanted"},
		{`"60 lb"`, `"0 lb"`, "line 2, column 101, full_charge", "0 lb", "law.mass_nothing"},
		{`"2026-03-11"`, `"2026-02-30"`, "line 6, column 14, events[1].date", "2026-02-30", "date.typed"},
		{`"initial_verification"`, `"painted"`, "line 6, column 36, events[1].kind", "painted", "law.not_listed"},
		{`"failed"`, `"maybe"`, "line 6, column 70, events[1].result", "maybe", "law.not_listed"},
		{`"mass": "15 lb", `, ``, "line 5, column 5, events[0]", "added", "law.event_massless"},
		{
			`"kind": "initial_verification"`, `"kind": "repaired", "mass": "1 lb"`,
			"line 6, column 5, events[1]", "repaired", "law.event_mass_with",
		},
		{`"date": "2026-03-11", `, ``, "line 6, column 5, events[1]", "", "law.event_undated"},
		{`"kind": "added", `, ``, "line 5, column 5, events[0]", "repaired", "law.event_kindless"},
		{`"leak"`, `"thirst"`, "line 5, column 72, events[0].reason", "thirst", "law.not_listed"},
		{`true`, `"yes"`, "line 3, column 35, detection", "string", "json.other_kind"},
		{`1387`, `-1`, "line 3, column 119, gwp100", "-1", "law.gwp"},
		{`"hermetic"`, `"hermetik"`, "line 3, column 3, hermetik", "hermetic", "json.no_key"},
		{`"hermetic"`, `"detection"`, "line 3, column 23, detection", "", "json.twice"},
		{`"jurisdiction": "US", `, ``, "jurisdiction", "", "law.facts_missing"},
		{`"events": [`, `"events": [,`, "line 4, column 14", "", "json.syntax"},
		{`"rolling"`, `"guess"`, "line 3, column 98, method", "guess", "law.not_listed"},
	} {
		text := strings.Replace(sheet, c.old, c.new, 1)
		if text == sheet {
			t.Fatalf("%s is not in the sheet", c.old)
		}
		_, err := ReadOwned(strings.NewReader(text))
		var e *fail.Error
		if !errors.As(err, &e) || !strings.Contains(e.Field, c.field) || !strings.Contains(err.Error(), c.says) || e.Key != c.key {
			t.Errorf("%s for %s: %v, want %s", c.new, c.old, err, c.key)
		}
	}
	for _, text := range []string{"", "[]", "7", `{"a"`, strings.Repeat(" ", 1<<20+1)} {
		if _, err := ReadOwned(strings.NewReader(text)); err == nil {
			t.Errorf("%.20q was read", text)
		}
	}
}

func FuzzReadOwned(f *testing.F) {
	f.Add(sheet)
	f.Add(`{"jurisdiction":"EU","refrigerant":"R-404A","events":[{"date":"2026-03-01","kind":"leak_found"}]}`)
	f.Fuzz(func(t *testing.T, text string) {
		m, err := ReadOwned(strings.NewReader(text))
		if err != nil {
			return
		}
		if err := m.Check(); err != nil {
			t.Fatalf("read, but refused: %v", err)
		}
	})
}
