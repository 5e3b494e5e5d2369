package law

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"coldwright/units"
)

// Automatic detection from 1,500 lb (84.108; limit second hand, days from memory).
func TestDuties_Detection(t *testing.T) {
	m := Machine{Jurisdiction: US, Class: Commercial, Refrigerant: "R-448A"}
	for _, c := range []struct {
		pounds    float64
		installed string
		detection bool
		want      string
	}{
		{1500, "2026-02-01", false, "open from 2026-02-01 due 2026-03-03"},
		{1500, "2025-12-31", false, "open from 2026-01-01 due 2027-01-01"},
		{1500, "2017-01-01", true, "met from 2026-01-01 due 2027-01-01 met 2026-01-01"},
		{1500, "2016-12-31", false, "not_applicable installed_before_rule"},
		{1499, "2026-02-01", false, "not_applicable charge_below_limit"},
	} {
		m.FullCharge, m.Installed, m.Detection = lb(c.pounds), date(c.installed), c.detection
		if d := one(t, duties(t, m, "2026-03-03"), "part 84", "automatic_detection"); say(d) != c.want || d.Trust != FromMemory {
			t.Errorf("%+v: %s (%s)", c, say(d), d.Trust)
		}
	}
	m.Class = Comfort
	if d := one(t, duties(t, m, "2026-03-03"), "part 84", "automatic_detection"); d.Reason != ReasonClass {
		t.Errorf("%s", say(d))
	}
}

// Regulation (EU) 2024/573, intervals read. Masses at 5 t and 500 t CO₂e from the components' potentials (Annexes I,
// II, VI), as worked out in the notes.
func TestDuties_LeakCheckEU(t *testing.T) {
	for gas, kg := range map[string][2]float64{
		"R-404A": {1.27, 127.50}, "R-448A": {3.61, 360.75}, "R-134a": {3.50, 349.65}, "R-454C": {34.36, 3435.99}, "R-513A": {7.94, 794.31},
		"R-410A": {2.40, 239.52},
	} {
		for i, want := range []string{"12", "3"} {
			near := max(0.01, 5e-4*kg[i]) // potentials on file are rounded to 0.1
			m := Machine{
				Jurisdiction: EU,
				Class:        Commercial,
				Refrigerant:  gas,
				FullCharge:   units.Mass(kg[i] + near),
				Installed:    date("2026-01-31"),
			}
			d := one(t, duties(t, m, "2026-02-01"), "2024/573", "leak_check")
			if got := fmt.Sprint(d.Args["months"]); got != want || d.State != Open {
				t.Errorf("%s, %v kg: every %s months, %s", gas, m.FullCharge, got, say(d))
			}
			m.FullCharge = units.Mass(kg[i] - near)
			d = one(t, duties(t, m, "2026-02-01"), "2024/573", "leak_check")
			if fmt.Sprint(d.Args["months"]) == want {
				t.Errorf("%s, %v kg: every %v months as well", gas, m.FullCharge, d.Args["months"])
			}
		}
	}
	gwp := 1000.0
	for _, c := range []struct {
		kg         float64
		hermetic   bool
		detection  bool
		gas        string
		want       string
		installed  string
		events     []string
		unverified bool
	}{
		{5, false, false, "R-32", "open from 2026-01-31 due 2027-01-31", "2026-01-31", nil, false}, // exactly 5 t
		{4.999, false, false, "R-32", "not_applicable co2e_below_limit", "2026-01-31", nil, true},
		{9.999, true, false, "R-32", "not_applicable hermetic_below_limit", "2026-01-31", nil, true},
		{10, true, false, "R-32", "open from 2026-01-31 due 2027-01-31", "2026-01-31", nil, false},
		{50, false, false, "R-32", "open from 2026-08-31 due 2027-02-28", "2026-08-31", nil, false},
		{50, false, true, "R-32", "open from 2026-08-31 due 2027-08-31", "2026-08-31", nil, false},
		{500, false, false, "R-32", "overdue from 2026-08-31 due 2026-11-30", "2026-08-31", nil, false},
		{500, false, true, "R-32", "open from 2026-08-31 due 2027-02-28", "2026-08-31", nil, false},
		{
			500, false, false, "R-32", "open from 2026-11-01 due 2027-02-01", "2026-08-31",
			[]string{"2026-11-01 leak_inspection", "2026-11-20 leak_inspection failed"},
			false,
		},
		{5, false, false, "R-32", "unknown no_date_on_record", "", nil, false},
		{1, false, false, "R-1234yf", "open from 2026-01-31 due 2027-01-31", "2026-01-31", nil, false}, // by weight
		{0.999, false, false, "R-1234yf", "not_applicable co2e_below_limit", "2026-01-31", nil, true},
		{100, false, false, "R-1234yf", "open from 2026-10-31 due 2027-01-31", "2026-10-31", nil, false},
		{1.9, true, false, "R-1234yf", "not_applicable hermetic_below_limit", "2026-01-31", nil, true},
	} {
		m := Machine{
			Jurisdiction: EU,
			Class:        Commercial,
			Refrigerant:  c.gas,
			FullCharge:   units.Mass(c.kg),
			GWP:          &gwp,
			Hermetic:     c.hermetic,
			Detection:    c.detection,
			Events:       happened(c.events...),
		}
		if c.installed != "" {
			m.Installed = date(c.installed)
		}
		d := one(t, duties(t, m, "2026-12-01"), "2024/573", "leak_check")
		if say(d) != c.want || (d.Trust != Read) != c.unverified {
			t.Errorf("%+v: %s (%s)", c, say(d), d.Trust)
		}
	}
}

// Great Britain counts only by CO₂ equivalent: a machine with nothing but HFO is not asked (from memory).
func TestDuties_GB(t *testing.T) {
	m := Machine{Jurisdiction: GB, Class: Commercial, Refrigerant: "R-1234yf", FullCharge: 200}
	if all := duties(t, m, "2026-12-01"); len(all) != 1 || all[0].Reason != ReasonSubstance {
		t.Errorf("%+v", all)
	}
	m = Machine{Jurisdiction: GB, Class: Commercial, Refrigerant: "R-404A", FullCharge: 20, Installed: date("2026-03-01")}
	d := one(t, duties(t, m, "2026-08-01"), "517/2014", "leak_check") // 78.4 t
	if say(d) != "open from 2026-03-01 due 2026-09-01" || d.Trust != FromMemory {
		t.Errorf("%s (%s)", say(d), d.Trust)
	}
	if d := one(t, duties(t, m, "2026-08-01"), "517/2014", "service_ban"); d.Reason != ReasonReclaimedOnly || d.Due != date("2030-01-01") {
		t.Errorf("%s", say(d))
	}
}

// Cylinders that cannot be refilled are banned (article 11, read): from the day the regulation is in force (its article
// 38: 11 March 2024), for every charge, in the Union only.
func TestDuties_RefillableCylinders(t *testing.T) {
	for _, c := range []struct {
		where    Jurisdiction
		on, want string
	}{
		{EU, "2024-03-10", ""},
		{EU, "2024-03-11", "open from 2024-03-11 always"},
		{EU, "2026-11-30", "open from 2024-03-11 always"},
		{US, "2026-11-30", ""},
	} {
		m := Machine{Jurisdiction: c.where, Class: Commercial, Refrigerant: "R-134a", FullCharge: 0.2}
		got := ""
		for _, d := range find(duties(t, m, c.on), "", "refillable_cylinders_only") {
			got = say(d)
		}
		if got != c.want {
			t.Errorf("%s on %s: %q, want %q", c.where, c.on, got, c.want)
		}
	}
}

// Bans on servicing, article 13(3) (read) and 13(5) (its day and limit from memory): the same machine on different days.
func TestDuties_ServiceBan(t *testing.T) {
	m := Machine{Jurisdiction: EU, Class: Commercial, Refrigerant: "R-404A", FullCharge: 5}
	for _, c := range []struct {
		gas, on string
		kg      float64
		want    []string // reasons, in order of the rules' days
	}{
		{"R-404A", "2024-06-01", 10, []string{ReasonCO2eSmall, ReasonNotYet, ReasonNotYet}}, // 39.2 t
		{"R-404A", "2024-06-01", 10.3, []string{ReasonReclaimedOnly, ReasonNotYet, ReasonNotYet}},
		{"R-404A", "2025-01-01", 1, []string{ReasonReclaimedOnly, ReasonNotYet}},
		{"R-404A", "2029-12-31", 1, []string{ReasonReclaimedOnly, ReasonNotYet}},
		{"R-404A", "2030-01-01", 1, []string{ReasonBanned, ReasonNotYet}},
		{"R-448A", "2026-01-01", 1, []string{ReasonGWPBelow, ReasonNotYet}},
		{"R-448A", "2032-01-01", 1, []string{ReasonGWPBelow, ReasonReclaimedAlways}},
		{"R-404A", "2032-01-01", 1, []string{ReasonBanned, ReasonGWPBelow}},
		{"R-454C", "2032-01-01", 1, []string{ReasonGWPBelow, ReasonGWPBelow}},
	} {
		m.Refrigerant, m.FullCharge = c.gas, units.Mass(c.kg)
		list := slices.DeleteFunc(find(duties(t, m, c.on), "2024/573", "service_ban"), func(d Duty) bool {
			return strings.HasSuffix(d.Article, "13(4)") // of air conditioning
		})
		slices.SortStableFunc(list, func(a, b Duty) int { return a.Starts.Compare(b.Starts) })
		var got []string
		for _, d := range list {
			got = append(got, d.Reason)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s on %s: %q, want %q", c.gas, c.on, got, c.want)
		}
	}
}

// Article 13(3), second and fourth subparagraph (read): not for military equipment, for what is made to cool products
// below −50 °C, or where an exemption was authorised by article 11(5). Article 13(4) (its day and what may still be used
// read): air conditioning and heat pumps from 1 January 2026, reclaimed or recycled up to 1 January 2032; it names no
// such exemption. Article 13(5): −50 °C, military, nuclear power stations, chillers; reclaimed or recycled without end.
func TestDuties_ServiceBanReach(t *testing.T) {
	for _, c := range []struct {
		class         Class
		gas, on       string
		exempt        Exemption
		article, want string
	}{
		{Commercial, "R-404A", "2026-11-30", "", "13(3)", "open from 2025-01-01 due 2030-01-01 reclaimed_or_recycled_only"},
		{Commercial, "R-404A", "2026-11-30", ExemptCold, "13(3)", "not_applicable from 2025-01-01 exempt"},
		{Commercial, "R-404A", "2026-11-30", ExemptMilitary, "13(3)", "not_applicable from 2025-01-01 exempt"},
		{Commercial, "R-404A", "2026-11-30", ExemptAuthorised, "13(3)", "not_applicable from 2025-01-01 exempt"},
		{Commercial, "R-404A", "2026-11-30", ExemptNuclear, "13(3)", "open from 2025-01-01 due 2030-01-01 reclaimed_or_recycled_only"},
		{Comfort, "R-404A", "2025-12-31", "", "13(4)", "not_applicable from 2026-01-01 not_yet_in_force"},
		{Comfort, "R-404A", "2026-01-01", "", "13(4)", "open from 2026-01-01 due 2032-01-01 reclaimed_or_recycled_only"},
		{Comfort, "R-404A", "2031-12-31", "", "13(4)", "open from 2026-01-01 due 2032-01-01 reclaimed_or_recycled_only"},
		{Comfort, "R-404A", "2032-01-01", "", "13(4)", "open from 2026-01-01 banned"},
		{Comfort, "R-410A", "2026-06-01", "", "13(4)", "not_applicable from 2026-01-01 gwp_below_limit"},
		{Comfort, "R-404A", "2026-06-01", ExemptCold, "13(4)", "open from 2026-01-01 due 2032-01-01 reclaimed_or_recycled_only"},
		{Commercial, "R-448A", "2033-01-01", "", "13(5)", "open from 2032-01-01 reclaimed_or_recycled_without_end"},
		{Commercial, "R-448A", "2033-01-01", ExemptNuclear, "13(5)", "not_applicable from 2032-01-01 exempt"},
		{Industrial, "R-448A", "2033-01-01", ExemptChiller, "13(5)", "not_applicable from 2032-01-01 exempt"},
	} {
		m := Machine{Jurisdiction: EU, Class: c.class, Refrigerant: c.gas, FullCharge: 3, Exempt: c.exempt}
		got := ""
		for _, d := range find(duties(t, m, c.on), "2024/573", "service_ban") {
			if strings.HasSuffix(d.Article, c.article) && d.Reason != ReasonClass {
				got = say(d)
			}
		}
		if got != c.want {
			t.Errorf("%s, %s on %s, %q, %s: %q, want %q", c.class, c.gas, c.on, c.exempt, c.article, got, c.want)
		}
	}
}

// Article 5(1), second and third subparagraph (read): hermetic and labelled so, under 10 t CO₂e or under 2 kg of
// unsaturated gas; in a residential building under 3 kg. R-404A has 3921.6 by annex VI: 2.5 kg are 9.80 t, 2.9 kg
// 11.37 t, 3 kg 11.76 t; R-32 has 675: 9 kg are 6.08 t.
func TestDuties_Residential(t *testing.T) {
	for _, c := range []struct {
		gas         string
		kg          float64
		residential bool
		want        string
	}{
		{"R-404A", 2.5, false, ReasonHermetic},
		{"R-404A", 2.9, false, ""},
		{"R-404A", 2.9, true, ReasonHermetic},
		{"R-404A", 3.0, true, ""},
		{"R-32", 9, false, ReasonHermetic},
		{"R-32", 9, true, ""},
		{"R-1234yf", 1.9, false, ReasonHermetic},
		{"R-1234yf", 2.0, false, ""},
		{"R-1234yf", 2.9, true, ReasonHermetic},
	} {
		m := Machine{
			Jurisdiction: EU, Class: Comfort, Refrigerant: c.gas, FullCharge: units.Mass(c.kg), Installed: date("2025-05-01"),
			Hermetic: true, Residential: c.residential,
		}
		if d := one(t, duties(t, m, "2025-06-01"), "2024/573", "leak_check"); d.Reason != c.want {
			t.Errorf("%v kg %s, residential %v: %s, want %q", c.kg, c.gas, c.residential, say(d), c.want)
		}
	}
}

// Nothing is due before its rule was in force: a machine of 2015 without a check on record owes the first by Regulation
// (EU) 2024/573, in force on 11 March 2024, twelve months after that day (40 kg of R-134a are 57.2 t: six months); what
// was checked last in 2021 is due on the first day of the rule.
func TestDuties_NotBeforeInForce(t *testing.T) {
	m := Machine{Jurisdiction: EU, Class: Commercial, Refrigerant: "R-134a", FullCharge: 40, Installed: date("2015-06-01")}
	if got := say(one(t, duties(t, m, "2024-04-01"), "2024/573", "leak_check")); got != "open from 2024-03-11 due 2024-09-11" {
		t.Error(got)
	}
	m.Events = happened("2021-05-01 leak_inspection")
	if got := say(one(t, duties(t, m, "2024-03-11"), "2024/573", "leak_check")); got != "open from 2021-05-01 due 2024-03-11" {
		t.Error(got)
	}
	if got := say(one(t, duties(t, m, "2024-03-12"), "2024/573", "leak_check")); got != "overdue from 2021-05-01 due 2024-03-11" {
		t.Error(got)
	}
	// Over every rule and many machines: no clock that has run out had run out before its rule.
	for _, j := range Jurisdictions() {
		in, err := Instruments(j)
		if err != nil {
			t.Fatal(err)
		}
		for _, x := range in {
			for _, r := range x.Rules {
				if r.From.Before(date("2010-01-01")) {
					continue
				}
				for _, gas := range []string{"R-22", "R-404A", "R-1234yf"} {
					m := Machine{
						Jurisdiction: j, Class: Commercial, Subsector: "supermarket", Refrigerant: gas, FullCharge: 900, Detection: true,
						Installed: date("2010-01-01"), Events: happened(
							"2012-01-01 added 900", "2012-03-01 added 900", "2012-03-02 repaired", "2012-03-03 initial_verification",
							"2012-04-01 detection_installed", "2013-02-01 leak_found", "2014-01-01 plan_made",
						),
					}
					for _, d := range duties(t, m, r.From.AddDays(1).String()) {
						if d.Code == r.Code && d.Article == r.Article && d.State == Overdue && d.Due.Before(r.From) {
							t.Errorf("%s, %s, %s: %s, in force %s", x.Code, r.Code, gas, say(d), r.From)
						}
					}
				}
			}
		}
	}
}
