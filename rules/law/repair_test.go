package law

import (
	"math"
	"slices"
	"testing"

	"coldwright/rules/ledger"
)

// Worked case, 40 CFR 84 subpart C: 60 lb of R-448A, 15 lb added on 1 March 2026. No earlier addition: 365 days, so 25 %, over 20 %.
func TestDuties_RepairClock(t *testing.T) {
	m := Machine{Jurisdiction: US, Class: Commercial, Refrigerant: "R-448A", FullCharge: lb(60), Installed: date("2019-05-01")}
	const c = "part 84"
	for _, x := range []struct {
		on                               string
		events                           []string
		repair, initial, follow, inspect string
		plan                             string
	}{
		{
			"2026-03-31",
			[]string{"2026-03-01 added 15"},
			"open from 2026-03-01 due 2026-03-31", "open from 2026-03-01 due 2026-03-31", "open waits_for_initial_verification",
			"open from 2026-03-01 due 2026-12-31", "not_applicable no_plan_needed",
		},
		{
			"2026-04-01",
			[]string{"2026-03-01 added 15"},
			"overdue from 2026-03-01 due 2026-03-31", "overdue from 2026-03-01 due 2026-03-31", "open waits_for_initial_verification",
			"open from 2026-03-01 due 2026-12-31", "open from 2026-03-31 due 2026-04-30",
		},
		{
			"2026-05-01",
			[]string{"2026-03-01 added 15", "2026-04-20 plan_made"},
			"overdue from 2026-03-01 due 2026-03-31", "overdue from 2026-03-01 due 2026-03-31", "open waits_for_initial_verification",
			"open from 2026-03-01 due 2026-12-31", "met from 2026-03-31 due 2026-04-30 met 2026-04-20",
		},
		{
			"2026-03-22",
			[]string{"2026-03-01 added 15", "2026-03-10 repaired", "2026-03-11 initial_verification"},
			"met from 2026-03-01 due 2026-03-31 met 2026-03-10", "met from 2026-03-01 due 2026-03-31 met 2026-03-11",
			"overdue from 2026-03-11 due 2026-03-21",
			"open from 2026-03-01 due 2026-12-31", "open from 2026-03-21 due 2026-04-20",
		},
		{ // a failed test is no test; the one that is passed later counts
			"2026-03-22",
			[]string{
				"2026-03-01 added 15", "2026-03-10 repaired", "2026-03-11 initial_verification failed", "2026-03-13 initial_verification",
				"2026-03-20 follow_up_verification",
			},
			"met from 2026-03-01 due 2026-03-31 met 2026-03-10", "met from 2026-03-01 due 2026-03-31 met 2026-03-13",
			"met from 2026-03-13 due 2026-03-23 met 2026-03-20",
			"open from 2026-03-01 due 2026-12-31", "not_applicable no_plan_needed",
		},
		{ // opened, repaired and tested before it was charged
			"2026-03-05",
			[]string{
				"2026-02-27 repaired", "2026-02-28 initial_verification", "2026-03-01 added 15", "2026-03-02 normal_operation",
				"2026-03-04 leak_inspection",
			},
			"met from 2026-03-01 due 2026-03-31 met 2026-02-27", "met from 2026-03-01 due 2026-03-31 met 2026-02-28",
			"open from 2026-03-02 due 2026-03-12",
			"open from 2027-01-01 due 2027-12-31", "not_applicable no_plan_needed",
		},
		{ // repaired too late: met, and says by how much
			"2026-06-01",
			[]string{
				"2026-03-01 added 15", "2026-04-05 repaired", "2026-04-05 initial_verification", "2026-04-10 follow_up_verification",
				"2026-05-01 leak_inspection",
			},
			"met from 2026-03-01 due 2026-03-31 met 2026-04-05", "met from 2026-03-01 due 2026-03-31 met 2026-04-05",
			"met from 2026-04-05 due 2026-04-15 met 2026-04-10",
			"open from 2027-01-01 due 2027-12-31", "not_applicable no_plan_needed",
		},
		{ // exactly at the limit is not over it: 12 lb of 60 lb
			"2026-06-01",
			[]string{"2026-03-01 added 12"},
			"not_applicable rate_not_over_limit", "not_applicable rate_not_over_limit", "not_applicable rate_not_over_limit",
			"not_applicable rate_not_over_limit", "not_applicable rate_not_over_limit",
		},
		{ // before 2026 additions do not count, second hand
			"2026-06-01",
			[]string{"2025-12-20 added 30", "2026-03-01 added 1"},
			"not_applicable rate_not_over_limit", "not_applicable rate_not_over_limit", "not_applicable rate_not_over_limit",
			"not_applicable rate_not_over_limit", "not_applicable rate_not_over_limit",
		},
		{ // nothing added in 2026
			"2026-06-01",
			[]string{"2025-12-20 added 30"},
			"not_applicable nothing_added", "not_applicable nothing_added", "not_applicable nothing_added",
			"not_applicable nothing_added", "not_applicable nothing_added",
		},
		{ // a year under the limit ends the inspections
			"2027-03-01",
			[]string{"2026-03-01 added 15", "2026-03-10 repaired", "2026-03-11 initial_verification", "2026-03-20 follow_up_verification"},
			"met from 2026-03-01 due 2026-03-31 met 2026-03-10", "met from 2026-03-01 due 2026-03-31 met 2026-03-11",
			"met from 2026-03-11 due 2026-03-21 met 2026-03-20",
			"not_applicable from 2026-03-01 under_limit_for_a_year", "not_applicable no_plan_needed",
		},
		{ // mothballed on the 10th day, charged again 40 days later: the repair clock stood still for 40 days
			"2026-05-01",
			[]string{"2026-03-01 added 15", "2026-03-11 mothballed", "2026-04-20 added 1"},
			"open from 2026-03-01 due 2026-05-10", "open from 2026-03-01 due 2026-05-10", "open waits_for_initial_verification",
			"open from 2026-03-01 due 2027-02-09", "not_applicable no_plan_needed",
		},
		{ // still mothballed: no day is set
			"2026-05-01",
			[]string{"2026-03-01 added 15", "2026-03-11 mothballed"},
			"open from 2026-03-01 mothballed", "open from 2026-03-01 mothballed", "open waits_for_initial_verification",
			"open from 2026-03-01 mothballed", "not_applicable no_plan_needed",
		},
	} {
		m.Events = happened(x.events...)
		all := duties(t, m, x.on)
		for code, want := range map[string]string{
			"leak_repair": x.repair, "initial_verification": x.initial, "follow_up_verification": x.follow, "leak_inspection": x.inspect,
			"retrofit_plan": x.plan,
		} {
			if got := say(one(t, all, c, code)); got != want {
				t.Errorf("%s %v: %s\n got %s\nwant %s", x.on, x.events, code, got, want)
			}
		}
	}
	m.Events = happened("2026-03-01 added 15", "2026-04-05 repaired")
	if d := one(t, duties(t, m, "2026-06-01"), c, "leak_repair"); d.Args["late_days"] != 5 ||
		math.Abs(d.Args["annualizing_percent"]-25) > 1e-3 {
		t.Errorf("%+v", d.Args)
	}
}

// Two cases: the second exceedance opens a clock of its own only after the first was closed by its follow-up test.
func TestDuties_SecondCase(t *testing.T) {
	m := Machine{Jurisdiction: US, Class: Commercial, Refrigerant: "R-448A", FullCharge: lb(60)}
	m.Events = happened(
		"2026-03-01 added 15",
		"2026-03-09 added 4",
		"2026-03-10 repaired",
		"2026-03-11 initial_verification",
		"2026-03-20 follow_up_verification",
		"2026-07-01 added 9",
	)
	var got []string
	for _, d := range find(duties(t, m, "2026-07-10"), "part 84", "leak_repair") {
		got = append(got, say(d))
	}
	// 9 lb of 60 lb in 114 days is 48 %.
	want := []string{"open from 2026-07-01 due 2026-07-31", "met from 2026-03-01 due 2026-03-31 met 2026-03-10"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q", got)
	}
	// By the rolling average the follow-up test began a new window: 9 lb of 60 lb is 15 %, not over.
	m.Method = ledger.Rolling
	if list := find(duties(t, m, "2026-07-10"), "part 84", "leak_repair"); len(list) != 1 {
		t.Errorf("%+v", list)
	}
}

// Industrial process refrigeration: 30 %, and 120 days when a shutdown is needed (40 CFR 82.157(d), read).
func TestDuties_Shutdown(t *testing.T) {
	m := Machine{Jurisdiction: US, Class: Industrial, Refrigerant: "R-22", FullCharge: lb(1000), Events: happened("2025-01-10 added 310")}
	if d := one(t, duties(t, m, "2025-02-01"), "part 82 subpart F", "leak_repair"); say(d) != "open from 2025-01-10 due 2025-02-09" {
		t.Errorf("%s", say(d))
	}
	m.Shutdown = true
	if d := one(t, duties(t, m, "2025-02-01"), "part 82 subpart F", "leak_repair"); say(d) != "open from 2025-01-10 due 2025-05-10" {
		t.Errorf("%s", say(d))
	}
	// 500 lb and more: every three months (82.157(g)(1)(i), read).
	if d := one(t, duties(t, m, "2025-02-01"), "part 82 subpart F", "leak_inspection"); say(d) != "open from 2025-01-10 due 2025-04-10" {
		t.Errorf("%s", say(d))
	}
	m.Events = append(m.Events, happened("2025-01-31 leak_inspection")...)
	if d := one(t, duties(t, m, "2025-05-01"), "part 82 subpart F", "leak_inspection"); say(d) != "overdue from 2025-01-31 due 2025-04-30" {
		t.Errorf("%s", say(d))
	}
	// Automatic detection takes the place of inspections (82.157(g)(4), read), and is audited yearly.
	m.Detection = true
	all := duties(t, m, "2025-05-01")
	if d := one(t, all, "part 82 subpart F", "leak_inspection"); d.Reason != ReasonDetection {
		t.Errorf("%s", say(d))
	}
	if d := one(t, all, "part 82 subpart F", "detection_audit"); say(d) != "unknown no_date_on_record" {
		t.Errorf("%s", say(d))
	}
	m.Events = append(m.Events, happened("2024-02-29 detection_audit")...)
	if d := one(t, duties(t, m, "2025-03-01"), "part 82 subpart F", "detection_audit"); say(d) != "overdue from 2024-02-29 due 2025-02-28" {
		t.Errorf("%s", say(d))
	}
}

// Chronic leaking: at least 125 % of the full charge in a calendar year, report by 1 March (82.157(j), read).
func TestDuties_Chronic(t *testing.T) {
	m := Machine{Jurisdiction: US, Class: Comfort, Refrigerant: "R-22", FullCharge: lb(80)}
	m.Events = happened("2024-02-01 added 60", "2024-11-30 added 40") // exactly 125 %
	if d := one(
		t,
		duties(t, m, "2025-03-01"),
		"part 82 subpart F",
		"chronic_leak_report",
	); say(d) != "open from 2024-11-30 due 2025-03-01" {
		t.Errorf("%s", say(d))
	}
	if d := one(t, duties(t, m, "2025-03-02"), "part 82 subpart F", "chronic_leak_report"); d.State != Overdue {
		t.Errorf("%s", say(d))
	}
	m.Events = append(m.Events, happened("2025-02-10 report_sent")...)
	if d := one(
		t,
		duties(t, m, "2025-03-02"),
		"part 82 subpart F",
		"chronic_leak_report",
	); say(d) != "met from 2024-11-30 due 2025-03-01 met 2025-02-10" {
		t.Errorf("%s", say(d))
	}
	m.Events = happened("2024-02-01 added 60", "2024-11-30 added 39.9")
	if d := one(
		t,
		duties(t, m, "2025-03-02"),
		"part 82 subpart F",
		"chronic_leak_report",
	); d.State != NotApplicable ||
		d.Reason != ReasonNotChronic {
		t.Errorf("%s", say(d))
	}
	// The same over the turn of the year is two years.
	m.Events = happened("2024-02-01 added 60", "2025-01-01 added 60")
	if d := one(t, duties(t, m, "2025-03-02"), "part 82 subpart F", "chronic_leak_report"); d.State != NotApplicable {
		t.Errorf("%s", say(d))
	}
}

// After a repair: check again within a month, not on the day itself (article 4(5); a month second hand, the day from memory).
func TestDuties_Recheck(t *testing.T) {
	m := Machine{Jurisdiction: EU, Class: Commercial, Refrigerant: "R-404A", FullCharge: 10, Installed: date("2025-06-01")}
	for _, c := range []struct {
		events        []string
		soon, recheck string
	}{
		{nil, "not_applicable no_leak_found", "not_applicable no_repair_recorded"},
		{[]string{"2026-01-30 leak_found"}, "open from 2026-01-30 without_undue_delay", "not_applicable no_repair_recorded"},
		{
			[]string{"2026-01-30 leak_found", "2026-01-31 repaired"},
			"met from 2026-01-30 met 2026-01-31 without_undue_delay",
			"overdue from 2026-01-31 due 2026-02-28",
		},
		{[]string{"2026-01-31 repaired", "2026-01-31 leak_inspection"}, "not_applicable no_leak_found", "overdue from 2026-01-31 due 2026-02-28"},
		{
			[]string{"2026-01-31 repaired", "2026-02-02 leak_inspection"},
			"not_applicable no_leak_found",
			"met from 2026-01-31 due 2026-02-28 met 2026-02-02",
		},
	} {
		m.Events = happened(c.events...)
		all := duties(t, m, "2026-03-01")
		if got := say(one(t, all, "2024/573", "repair_without_delay")); got != c.soon {
			t.Errorf("%v: %s", c.events, got)
		}
		if got := say(one(t, all, "2024/573", "recheck_after_repair")); got != c.recheck {
			t.Errorf("%v: %s", c.events, got)
		}
	}
}

// A due day on a weekend is not moved; the weekday before it is named. 28 March 2026 is a Saturday.
func TestDuties_PlanBy(t *testing.T) {
	m := Machine{Jurisdiction: US, Class: Commercial, Refrigerant: "R-448A", FullCharge: lb(60), Events: happened("2026-02-26 added 15")}
	d := one(t, duties(t, m, "2026-03-01"), "part 84", "leak_repair")
	if d.Due != date("2026-03-28") || d.PlanBy != date("2026-03-27") {
		t.Errorf("%s, plan by %s", say(d), d.PlanBy)
	}
}

// 40 CFR 82.152, leak rate, annualizing (read): several additions related to the same leak are added up. By hand, 60 lb
// full: 2.5 lb on 30 June, 147 days after the addition before, is 2.5/60·365/147 = 10.346 %; half a pound the next day
// makes it 3/60·365/147 = 12.415 %, under the 20 % of commercial refrigeration. By itself it would be 0.5/60·365 =
// 304.2 %, over it, with thirty days to repair.
func TestDuties_SameLeak(t *testing.T) {
	m := Machine{
		Jurisdiction: US, Class: Commercial, Refrigerant: "R-22", FullCharge: lb(60),
		Events: happened("2026-02-03 added 2", "2026-06-30 added 2.5", "2026-07-01 added 0.5"),
	}
	for _, c := range []struct {
		name         string
		same         ledger.SameLeak
		rate, repair string
		annual       float64
		assumed      bool
	}{
		{"not said", "", "rate_not_over_limit", "not_applicable rate_not_over_limit", 12.415, true},
		{"said", ledger.SameLeakYes, "rate_not_over_limit", "not_applicable rate_not_over_limit", 12.415, false},
		{"another", ledger.SameLeakNo, "rate_over_limit", "open from 2026-07-01 due 2026-07-31", 304.167, false},
	} {
		m.Events[2].SameLeak = c.same
		res, err := Duties(m, date("2026-07-04"))
		if err != nil {
			t.Fatal(err)
		}
		d := one(t, res.Duties, "82 ", "leak_rate")
		if math.Abs(d.Args["annualizing_percent"]-c.annual) > 5e-4 || d.Reason != c.rate {
			t.Errorf("%s: %s, %v", c.name, say(d), d.Args)
		}
		if got := say(one(t, res.Duties, "82 ", "leak_repair")); got != c.repair {
			t.Errorf("%s: %s, want %s", c.name, got, c.repair)
		}
		if slices.Contains(res.Assumed, AssumedSameLeak) != c.assumed {
			t.Errorf("%s: assumed %q", c.name, res.Assumed)
		}
	}
}
