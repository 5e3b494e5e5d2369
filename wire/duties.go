package wire

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"coldwright/fail"
	"coldwright/internal/strictjson"
	"coldwright/refrigerant"
	"coldwright/rules/law"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// The JSON form of a machine before the law. Masses are text with their unit, days text.
type (
	jsonOwned struct {
		Name         *string     `json:"name"`
		Jurisdiction *string     `json:"jurisdiction"`
		Class        *string     `json:"class"`
		Subsector    *string     `json:"subsector"`
		Refrigerant  *string     `json:"refrigerant"`
		FullCharge   *string     `json:"full_charge"`
		Installed    *string     `json:"installed"`
		Hermetic     bool        `json:"hermetic"`
		Residential  bool        `json:"residential"`
		Exempt       *string     `json:"exempt"`
		Detection    bool        `json:"detection"`
		Shutdown     bool        `json:"shutdown"`
		Method       *string     `json:"method"`
		GWP          *float64    `json:"gwp100"`
		Events       []jsonEvent `json:"events"`
	}
	jsonEvent struct {
		Date   *string `json:"date"`
		Kind   *string `json:"kind"`
		Mass   *string `json:"mass"`
		Reason *string `json:"reason"`
		Same   *string `json:"same_leak"`
		Result *string `json:"result"`
		Note   *string `json:"note"`
	}
)

// largestDocument is a megabyte: one machine a file.
const largestDocument = 1 << 20

// ReadOwned reads a machine with its events, to be judged by the law.
//
//		{"jurisdiction": "US", "class": "commercial refrigeration", "refrigerant": "R-404A", "full_charge": "60 lb", "installed": "2014-05-01",
//		 "hermetic": false, "detection": false, "shutdown": false, "subsector": "supermarket", "method": "annualizing", "gwp100": 3922,
//		 "events": [{"date": "2026-03-01", "kind": "added", "mass": "15 lb", "reason": "leak"}, {"date": "2026-03-10", "kind": "repaired"},
//		            {"date": "2026-03-11", "kind": "initial_verification", "result": "passed"}]}
//
//	  - in: at most 1 MB; jurisdiction, class and refrigerant are required; class may be left out for commercial refrigeration
//	  - out: the machine, checked
//	  - errors: [*fail.Error] whose field names line and column, message the value, hint what is allowed
//	  - source: definition
func ReadOwned(r io.Reader) (law.Machine, error) {
	text, err := io.ReadAll(io.LimitReader(r, largestDocument+1))
	if err != nil {
		return law.Machine{}, err
	}
	if len(text) > largestDocument {
		return law.Machine{}, fail.Of(fail.BadData, "", "law.file_large", nil)
	}
	var j jsonOwned
	if err := strictjson.Decode(text, &j); err != nil {
		return law.Machine{}, err
	}
	m, err := j.machine()
	if err != nil {
		return law.Machine{}, strictjson.Locate(text, err)
	}
	return m, m.Check()
}

func (j *jsonOwned) machine() (law.Machine, error) {
	m := law.Machine{Class: law.Commercial, Hermetic: j.Hermetic, Residential: j.Residential, GWP: j.GWP}
	m.Detection, m.Shutdown = j.Detection, j.Shutdown
	for _, c := range []struct {
		field string
		text  *string
	}{{"jurisdiction", j.Jurisdiction}, {"refrigerant", j.Refrigerant}} {
		if c.text == nil {
			return m, fail.Of(fail.Required, c.field, "law.facts_missing", nil)
		}
	}
	if j.GWP != nil && !(*j.GWP >= 0 && *j.GWP < 3e4) {
		return m, fail.Of(fail.BadValue, "gwp100", "law.gwp", fail.Args{"gwp": *j.GWP})
	}
	err := cmp.Or(
		words("name", j.Name, &m.Name), words("subsector", j.Subsector, &m.Subsector), words("refrigerant", j.Refrigerant, &m.Refrigerant),
		among("jurisdiction", j.Jurisdiction, &m.Jurisdiction, law.Jurisdictions()), among("class", j.Class, &m.Class, law.Classes()),
		among("exempt", j.Exempt, &m.Exempt, law.Exemptions()),
		among("method", j.Method, &m.Method, []ledger.Method{ledger.Annualizing, ledger.Rolling}),
		mass("full_charge", j.FullCharge, &m.FullCharge), day("installed", j.Installed, &m.Installed),
	)
	if err != nil {
		return m, err
	}
	known, err := refrigerant.Load(m.Refrigerant)
	if err != nil {
		return m, fail.Of(fail.BadValue, "refrigerant", "refrigerant.unusable", fail.Args{"why": err})
	}
	m.Refrigerant = known.Designation()
	for i := range j.Events {
		e, err := j.Events[i].event(fmt.Sprintf("events[%d]", i))
		if err != nil {
			return m, err
		}
		m.Events = append(m.Events, e)
	}
	return m, nil
}

func (j *jsonEvent) event(at string) (e law.Event, err error) {
	var result, note string
	err = cmp.Or(
		day(at+".date", j.Date, &e.Date), among(at+".kind", j.Kind, &e.Kind, law.EventKinds()), mass(at+".mass", j.Mass, &e.Mass),
		among(at+".reason", j.Reason, &e.Reason, ledger.Reasons()), among(at+".same_leak", j.Same, &e.SameLeak, ledger.SameLeaks()),
		among(at+".result", j.Result, &result, []string{"passed", "failed"}), words(at+".note", j.Note, &note),
	)
	e.Failed = result == "failed"
	weighed := e.Kind == law.Added || e.Kind == law.Removed
	switch {
	case err != nil:
		return e, err
	case e.Date.IsZero():
		return e, fail.Of(fail.BadValue, at, "law.event_undated", nil)
	case e.Kind == "":
		return e, fail.Of(fail.BadValue, at, "law.event_kindless", fail.Args{"kinds": law.EventKinds()})
	case weighed && e.Mass == 0:
		return e, fail.Of(fail.BadValue, at, "law.event_massless", fail.Args{"kind": string(e.Kind)})
	case !weighed && e.Mass != 0:
		return e, fail.Of(fail.BadValue, at, "law.event_mass_with", fail.Args{"kind": e.Kind})
	}
	return e, nil
}

// words reads text that is not empty; nil leaves it as it is.
func words(field string, text, to *string) error {
	if text == nil {
		return nil
	}
	if *to = strings.TrimSpace(*text); *to == "" {
		return fail.Of(fail.BadValue, field, "law.no_text", fail.Args{"text": *text})
	}
	return nil
}

// among reads one of the allowed words.
func among[T ~string](field string, text *string, to *T, allowed []T) error {
	if text == nil {
		return nil
	}
	*to = T(strings.TrimSpace(*text))
	if slices.Contains(allowed, *to) {
		return nil
	}
	return fail.Of(fail.BadValue, field, "law.not_listed", fail.Args{"text": *text, "names": allowed})
}

// mass reads a mass above nothing.
func mass(field string, text *string, to *units.Mass) (err error) {
	if text == nil {
		return nil
	}
	if *to, err = units.ParseMass(*text, ""); err != nil {
		return in(field, err)
	}
	if *to <= 0 {
		return fail.Of(fail.BadValue, field, "law.mass_nothing", fail.Args{"text": *text})
	}
	return nil
}

func day(field string, text *string, to *ledger.Date) (err error) {
	if text == nil {
		return nil
	}
	if *to, err = ledger.ParseDate(*text); err != nil {
		return in(field, err)
	}
	return nil
}
