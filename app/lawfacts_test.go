package app_test

import (
	"errors"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/rules/law"
)

// By hand, as in the rules: 25 % lost on 1 March (Chicago), due on the 31st; ten days mothballed make it 10 April;
// retired ends it, and back in service opens it again. An industrial process may lose 30 %; with 50 % on 25 March and
// a repair that needs its shutdown it has 120 days, up to 23 July.
func TestLawFacts(t *testing.T) {
	a, c, machine, visit := leaking(t, "America/Chicago")
	v := visit("2026-03-02T02:00:00Z")
	must(t, a.MoveGas(ctx, app.Act{}, v, "added", "15 lb", "", "C1", ""))
	c.t = time.Date(2026, 3, 25, 12, 0, 0, 0, time.UTC)
	duty := func(code string) law.Duty {
		t.Helper()
		k, err := clocksOf(a, machine)
		must(t, err)
		for _, d := range k.Duties {
			if d.Code == code && d.Instrument == "40 CFR part 84 subpart C" {
				return d
			}
		}
		t.Fatalf("no duty %s", code)
		return law.Duty{}
	}
	happened := func(what, on string) {
		t.Helper()
		must(t, a.AddLawEvent(ctx, app.Act{}, machine, record.LawEventBody{What: what, On: on}))
	}
	happened("mothballed", "2026-03-11")
	if d := duty("leak_repair"); d.Reason != law.ReasonMothballed || !d.Due.IsZero() {
		t.Errorf("mothballed: %+v", d)
	}
	happened("back_in_service", "2026-03-21")
	if d := duty("leak_repair"); d.Due.String() != "2026-04-10" {
		t.Errorf("back in service: %+v", d)
	}
	must(t, a.SaveLaw(ctx, app.Act{}, machine, record.LawBody{Class: string(law.Industrial), Shutdown: true}))
	if d := duty("leak_repair"); d.State != law.NotApplicable { // 25 % is not over 30 %
		t.Errorf("industrial: %+v", d)
	}
	must(t, a.MoveGas(ctx, app.Act{}, v, "added", "15 lb", "", "C1", ""))
	if d := duty("leak_repair"); d.Due.String() != "2026-07-23" {
		t.Errorf("industrial with shutdown: %+v", d)
	}
	happened("retired", "")
	if d := duty("leak_repair"); d.Reason != law.ReasonRetired {
		t.Errorf("retired: %+v", d)
	}
	m, err := a.Machine(ctx, machine, app.MachineParts{})
	must(t, err)
	must(t, a.WithdrawLawEvent(ctx, app.Act{}, machine, m.Machine.LawEvents[2].Event))
	if d := duty("leak_repair"); d.Reason == law.ReasonRetired {
		t.Errorf("taken back: %+v", d)
	}
	// A detector runs from the day it was fitted to the day it was taken out; its check is due a year on.
	happened("detection_installed", "2026-02-03")
	if d := duty("detection_audit"); d.Due.String() != "2027-02-03" {
		t.Errorf("detector: %+v", d)
	}
	happened("detection_removed", "2026-03-20")
	if d := duty("detection_audit"); d.Reason != law.ReasonNoDetection {
		t.Errorf("taken out: %+v", d)
	}
	// The use decides whether a rule of 2029 will hold.
	c.t = time.Date(2029, 3, 1, 12, 0, 0, 0, time.UTC)
	if d := duty("reclaimed_for_service"); d.Reason != law.ReasonSubUnknown {
		t.Errorf("use not said: %+v", d)
	}
	must(t, a.SaveLaw(ctx, app.Act{}, machine, record.LawBody{Subsector: "supermarket"}))
	if d := duty("reclaimed_for_service"); d.State != law.Open {
		t.Errorf("supermarket: %+v", d)
	}
	must(t, a.SaveLaw(ctx, app.Act{}, machine, record.LawBody{Subsector: law.SubsectorOther}))
	if d := duty("reclaimed_for_service"); d.Reason != law.ReasonSubsector {
		t.Errorf("another use: %+v", d)
	}
	k, err := clocksOf(a, machine)
	must(t, err)
	if len(k.Assumed) != 4 {
		t.Errorf("assumed %q", k.Assumed)
	}
	must(t, a.SaveLaw(ctx, app.Act{}, machine, record.LawBody{Class: string(law.Comfort), Method: "rolling"}))
	k, err = clocksOf(a, machine)
	must(t, err)
	if len(k.Assumed) != 2 || k.Class != law.Comfort {
		t.Errorf("assumed %q", k.Assumed)
	}
}

// Hermetic: 3 kg of R-404A are 11.8 t CO2e, over the 10 t of a sealed machine; 2 kg of it are 7.8 t, under
// (Regulation (EU) 2024/573 article 5).
func TestLawFacts_Hermetic(t *testing.T) {
	a, _, _ := fresh(t)
	site, err := a.SaveSite(ctx, app.Act{}, "", record.SiteBody{Name: "Shop", Jurisdiction: "EU"})
	must(t, err)
	for _, c := range []struct {
		grams int64
		want  string
	}{{2000, law.ReasonHermetic}, {3000, ""}} {
		m, err := a.SaveMachine(
			ctx,
			app.Act{},
			site,
			"",
			record.MachineBody{
				Name:        "Case",
				Refrigerant: "R-404A",
				Application: "display case",
				FullChargeG: &c.grams,
				Installed:   "2024-02-01",
			},
		)
		must(t, err)
		must(t, a.SaveLaw(ctx, app.Act{}, m, record.LawBody{Hermetic: true}))
		k, err := clocksOf(a, m)
		must(t, err)
		for _, d := range k.Duties {
			if d.Code == "leak_check" && d.Reason != c.want {
				t.Errorf("%d g: %+v", c.grams, d)
			}
		}
		if k.Jurisdiction != law.EU {
			t.Errorf("%+v", k.Jurisdiction)
		}
	}
}

func TestLawFacts_Refused(t *testing.T) {
	a, s, _ := fresh(t)
	_, machine, _ := house(t, a)
	n := count(t, s)
	for field, err := range map[string]error{
		"class":     a.SaveLaw(ctx, app.Act{}, machine, record.LawBody{Class: "kitchen"}),
		"subsector": a.SaveLaw(ctx, app.Act{}, machine, record.LawBody{Subsector: "moon"}),
		"method":    a.SaveLaw(ctx, app.Act{}, machine, record.LawBody{Method: "guess"}),
		"what":      a.AddLawEvent(ctx, app.Act{}, machine, record.LawEventBody{What: "added"}),
		"on":        a.AddLawEvent(ctx, app.Act{}, machine, record.LawEventBody{What: "retired", On: "2026-07-02"}),
	} {
		var f *fail.Error
		if !errors.As(err, &f) || f.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	if err := a.WithdrawLawEvent(ctx, app.Act{}, machine, machine); fail.CodeOf(err) != fail.NotFound {
		t.Errorf("%v", err)
	}
	if count(t, s) != n {
		t.Error("something refused was written")
	}
}
