package app_test

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/rules/law"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// leaking makes a machine of 60 lb R-448A in Chicago; step moves the clock and opens a visit.
func leaking(t *testing.T, zone string) (a *app.App, c *clock, machine record.ID, visit func(day string) record.ID) {
	t.Helper()
	a, _, c = fresh(t)
	c.t = time.Date(2026, 2, 1, 12, 0, 0, 0, time.UTC)
	site, err := a.SaveSite(ctx, app.Act{}, "", record.SiteBody{Name: "Market", Zone: zone})
	if err != nil {
		t.Fatal(err)
	}
	full := int64(27216)
	machine, err = a.SaveMachine(
		ctx,
		app.Act{},
		site,
		"",
		record.MachineBody{Name: "Rack", Refrigerant: "R-448A", Application: "display case", FullChargeG: &full, Installed: "2019"},
	)
	if err != nil {
		t.Fatal(err)
	}
	visit = func(day string) record.ID {
		t.Helper()
		at, err := time.Parse(time.RFC3339, day)
		if err != nil {
			t.Fatal(err)
		}
		c.t = at
		v, err := a.OpenVisit(ctx, app.Act{}, machine, "")
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	return a, c, machine, visit
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func TestClocks(t *testing.T) {
	a, c, machine, visit := leaking(t, "America/Chicago")
	state := func(code string) (law.State, string) {
		t.Helper()
		k, err := clocksOf(a, machine)
		must(t, err)
		for _, d := range k.Duties {
			if d.Code == code && d.Instrument == "40 CFR part 84 subpart C" {
				return d.State, d.Due.String()
			}
		}
		t.Fatalf("no duty %s", code)
		return "", ""
	}
	// 02:00 UTC on 2 March is still the first in Chicago. 15 lb of 60 lb, no addition before: 25 %.
	v := visit("2026-03-02T02:00:00Z")
	must(t, a.AddLeak(ctx, app.Act{}, v, record.LeakBody{Place: "flare at the valve"}))
	must(t, a.MoveGas(ctx, app.Act{}, v, "recovered", "40 lb", "", "R1", ""))
	must(t, a.MoveGas(ctx, app.Act{}, v, "added", "55 lb", "", "C1", ""))
	if s, due := state("leak_repair"); s != law.Open || due != "2026-03-31" {
		t.Errorf("repair %s, due %s", s, due)
	}
	c.t = time.Date(2026, 4, 1, 3, 0, 0, 0, time.UTC) // 31 March in Chicago
	if s, _ := state("leak_repair"); s != law.Open {
		t.Errorf("repair on the due day: %s", s)
	}
	c.t = time.Date(2026, 4, 1, 13, 0, 0, 0, time.UTC)
	if s, _ := state("leak_repair"); s != law.Overdue {
		t.Errorf("repair a day later: %s", s)
	}
	for _, w := range []string{"leak_repaired", "repair_tested"} {
		must(t, a.AddWork(ctx, app.Act{}, v, record.WorkBody{Code: w}))
	}
	if s, due := state("follow_up_verification"); s != law.Open || due != "2026-04-11" {
		t.Errorf("second test %s, due %s", s, due)
	}
	must(t, a.AddWork(ctx, app.Act{}, v, record.WorkBody{Code: "repair_tested_again"}))
	if s, _ := state("follow_up_verification"); s != law.Met {
		t.Errorf("second test done: %s", s)
	}
	k, err := clocksOf(a, machine)
	must(t, err)
	if !k.Known || len(k.Assumed) != 4 {
		t.Errorf("%v", k.Assumed)
	}
}

// Without a time zone nobody can say whose rules hold.
func TestClocks_UnknownPlace(t *testing.T) {
	a, _, machine, _ := leaking(t, "")
	k, err := clocksOf(a, machine)
	must(t, err)
	if k.Known || len(k.Duties) > 0 {
		t.Errorf("%+v", k)
	}
	if _, err := clocksOf(a, "nothing"); err == nil {
		t.Error("clocks of no machine")
	}
}

// clocksOf are the duties of a machine today.
func clocksOf(a *app.App, machine record.ID) (*app.Clocks, error) {
	m, err := a.Machine(ctx, machine, app.MachineParts{Clocks: true})
	if err != nil {
		return nil, err
	}
	return m.Clocks, nil
}

func TestLedger(t *testing.T) {
	a, _, machine, visit := leaking(t, "Europe/Berlin")
	v := visit("2026-03-02T12:00:00Z")
	must(t, a.MoveGas(ctx, app.Act{}, v, "recovered", "2 kg", "", "R1", ""))
	must(t, a.MoveGas(ctx, app.Act{}, v, "added", "3 kg", "", "C1", ""))
	must(t, a.MoveGas(ctx, app.Act{}, v, "added", "9 kg", "", "C1", "")) // a slip, taken back
	view, err := a.Visit(ctx, v, app.Parts{Judge: []record.Phase{record.Before}})
	must(t, err)
	moves := view.Visit.Moves
	must(t, a.Withdraw(ctx, app.Act{}, v, moves[len(moves)-1].Event))
	b, err := a.Ledger(ctx)
	must(t, err)
	got := map[string]int64{}
	for _, x := range b.Balances(time.Time{}) {
		got[x.Account.String()] = x.Grams
	}
	want := map[string]int64{
		"machine " + string(machine): 27216,
		"cylinder R1":                2000,
		"cylinder C1":                -3000,
		"atmosphere":                 1000,
		"supplier":                   -27216,
	}
	for k, g := range want {
		if got[k] != g {
			t.Errorf("%s: %d g, want %d", k, got[k], g)
		}
	}
	// The slip stays in the book, and does not count.
	if len(b.All()) != len(b.Entries())+2 {
		t.Errorf("%d entries, %d hold", len(b.All()), len(b.Entries()))
	}
	m, err := b.Month(string(view.Site.ID), 2026, time.March, nil, "EU 2024/573")
	must(t, err)
	// 1 kg of R-448A at 1,386 (Annexes I and II, mass-weighted).
	if l := m.Lines[0]; l.Lost != 1000 || l.In != 3000 || l.Out != 2000 || l.Factor.CO2e(l.Lost) != 1386 {
		t.Errorf("%+v", l)
	}
	if p, err := ledger.Potential("R-448A", "AR4"); err != nil || p.CO2e(int64(units.Kilo)) != 1387 {
		t.Errorf("%+v %v", p, err)
	}
}

// A repair that took two visits: what came out in the first goes back in the second, and only the rest is lost. Long after, it is a loss.
func TestClocks_TwoVisits(t *testing.T) {
	for _, c := range []struct {
		second string
		over   bool
	}{{"2026-03-04T12:00:00Z", false}, {"2026-04-02T12:00:00Z", true}} {
		a, _, machine, visit := leaking(t, "America/Chicago")
		v := visit("2026-03-02T12:00:00Z")
		must(t, a.MoveGas(ctx, app.Act{}, v, "recovered", "50 lb", "", "R1", ""))
		must(t, a.CloseVisit(ctx, app.Act{}, v, record.CloseBody{Mechanic: "me"}))
		v = visit(c.second)
		must(t, a.MoveGas(ctx, app.Act{}, v, "added", "55 lb", "", "R1", ""))
		k, err := clocksOf(a, machine)
		must(t, err)
		for _, d := range k.Duties {
			if d.Code == "leak_repair" && d.Instrument == "40 CFR part 84 subpart C" && (d.State == law.Open) != c.over {
				t.Errorf("second visit %s: %+v", c.second, d)
			}
		}
		b, err := a.Ledger(ctx)
		must(t, err)
		var gone int64
		for _, x := range b.Totals() {
			gone += x.Lost
		}
		if want := map[bool]int64{false: 2268, true: 24948}[c.over]; gone < want-1 || gone > want+1 {
			t.Errorf("second visit %s: %d g lost, want %d", c.second, gone, want)
		}
	}
}

// What came after a visit was closed does not change what its report says of the clocks. 15 lb of 60 lb: 25 % of the
// charge, over the 20 % of 40 CFR 84.106(c) for commercial refrigeration.
func TestClocks_AsTheVisitWasClosed(t *testing.T) {
	a, c, _, visit := leaking(t, "America/Chicago")
	v := visit("2026-03-02T02:00:00Z")
	must(t, a.AddLeak(ctx, app.Act{}, v, record.LeakBody{Place: "flare at the valve"}))
	must(t, a.MoveGas(ctx, app.Act{}, v, "added", "15 lb", "", "C1", ""))
	must(t, a.CloseVisit(ctx, app.Act{}, v, record.CloseBody{Mechanic: "Van 7"}))
	at := func() string {
		t.Helper()
		w := view(t, a, v)
		must(t, w.ClocksErr)
		k := w.Clocks
		out := ""
		for _, d := range k.Duties {
			if !d.Due.IsZero() {
				out += string(d.State) + " " + d.Code + " " + d.Due.String() + "\n"
			}
		}
		return out
	}
	was := at()
	if !strings.Contains(was, "leak_repair 2026-03-31") {
		t.Errorf("the clock does not run:\n%s", was)
	}
	c.t = time.Date(2026, 4, 20, 12, 0, 0, 0, time.UTC)
	w := visit("2026-04-20T12:00:00Z")
	must(t, a.MoveGas(ctx, app.Act{}, w, "added", "20 lb", "", "C1", ""))
	must(t, a.AddWork(ctx, app.Act{}, w, record.WorkBody{Code: "leak_repaired"}))
	if is := at(); is != was {
		t.Errorf("a later visit changed it:\n%s\nwas\n%s", is, was)
	}
}

// A charge finished at the next visit is one leak with the first (40 CFR 82.152, read), and the page proposes it. By
// hand, 60 lb full, no addition before: 4 lb and half a pound the next day are 4.5/60 = 7.5 % in 365 days; by itself the
// half pound would be 0.5/60·365 = 304 %, over the 20 % that starts a clock.
func TestClocks_SameLeak(t *testing.T) {
	for _, c := range []struct {
		said, state string
		percent     float64
	}{{"", "not_applicable", 7.5}, {"yes", "not_applicable", 7.5}, {"no", "open", 304.167}} {
		a, clock, machine, visit := leaking(t, "America/Chicago")
		v := visit("2026-03-02T18:00:00Z")
		must(t, a.MoveGas(ctx, app.Act{}, v, "added", "4 lb", "", "C1", ""))
		must(t, a.CloseVisit(ctx, app.Act{}, v, record.CloseBody{Mechanic: "Van 7"}))
		w := visit("2026-03-03T18:00:00Z")
		clock.t = time.Date(2026, 3, 3, 18, 0, 0, 0, time.UTC)
		m, err := a.Machine(ctx, machine, app.MachineParts{})
		must(t, err)
		zone := m.Site.Location()
		day, proposed, ok := app.AddedBefore(m.Machine, w, zone, ledger.On(clock.t, zone))
		if !ok || !proposed || day.String() != "2026-03-02" {
			t.Errorf("proposed %v, %v, %v", day, proposed, ok)
		}
		must(t, a.MoveGas(ctx, app.Act{}, w, "added", "8 oz", "", "C1", c.said))
		k, err := clocksOf(a, machine)
		must(t, err)
		for _, d := range k.Duties {
			switch {
			case d.Instrument != "40 CFR part 84 subpart C":
			case d.Code == "leak_rate" && math.Abs(d.Args["annualizing_percent"]/c.percent-1) > 0.002: // whole grams
				t.Errorf("%q: %v, want %v %%", c.said, d.Args, c.percent)
			case d.Code == "leak_repair" && string(d.State) != c.state:
				t.Errorf("%q: %+v", c.said, d)
			}
		}
		if got := slices.Contains(k.Assumed, law.AssumedSameLeak); got != (c.said == "") {
			t.Errorf("%q: assumed %q", c.said, k.Assumed)
		}
	}
	a, _, _, visit := leaking(t, "America/Chicago")
	v := visit("2026-03-02T18:00:00Z")
	if err := a.MoveGas(ctx, app.Act{}, v, "added", "4 lb", "", "C1", "perhaps"); fail.CodeOf(err) != fail.BadValue {
		t.Error(err)
	}
}
