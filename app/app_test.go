package app_test

import (
	"context"
	"errors"
	"maps"
	"math"
	"math/rand/v2"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/record"
	"coldwright/units"
)

type clock struct{ t time.Time }

func (c *clock) now() time.Time { return c.t }

func fresh(t *testing.T) (*app.App, *app.MemStore, *clock) {
	t.Helper()
	s, c := app.NewMemStore(), &clock{time.Date(2026, 7, 1, 15, 0, 0, 0, time.UTC)}
	return app.New(s, app.Options{Now: c.now, Rand: rand.NewChaCha8([32]byte{1}), Version: "test", Device: "bench"}), s, c
}

var ctx = context.Background()

func count(t *testing.T, s *app.MemStore) int {
	t.Helper()
	e, _, err := s.Since(ctx, 0, 1<<20)
	if err != nil {
		t.Fatal(err)
	}
	return len(e)
}

// house makes a site, a machine and an open visit.
func house(t *testing.T, a *app.App) (site, machine, visit record.ID) {
	t.Helper()
	site, err := a.SaveSite(ctx, app.Act{By: "me"}, "", record.SiteBody{Name: "Test kitchen"})
	if err != nil {
		t.Fatal(err)
	}
	machine, err = a.SaveMachine(
		ctx,
		app.Act{},
		site,
		"",
		record.MachineBody{Name: "Walk-in freezer", Refrigerant: "404a", Application: "walk-in freezer"},
	)
	if err != nil {
		t.Fatal(err)
	}
	visit, err = a.OpenVisit(ctx, app.Act{}, machine, "warm")
	if err != nil {
		t.Fatal(err)
	}
	return site, machine, visit
}

func entry(p reading.Place, text, unit string) app.Entry {
	return app.Entry{Place: p, Text: text, Unit: unit}
}

func four(box, amb, ps, pd string) []app.Entry {
	return []app.Entry{
		entry(reading.BoxAir, box, "°F"),
		entry(reading.Ambient, amb, "°F"),
		entry(reading.SuctionPressure, ps, "psig"),
		entry(reading.DischargePressure, pd, "psig"),
	}
}

func TestSave_Refused(t *testing.T) {
	a, s, _ := fresh(t)
	site, _, _ := house(t, a)
	n := count(t, s)
	for field, err := range map[string]error{
		"name":        second(a.SaveSite(ctx, app.Act{}, "", record.SiteBody{Name: "  "})),
		"altitude":    second(a.SaveSite(ctx, app.Act{}, "", record.SiteBody{Name: "x", AltitudeM: 99999})),
		"refrigerant": second(a.SaveMachine(ctx, app.Act{}, site, "", record.MachineBody{Name: "x", Refrigerant: "R-9", Application: "other"})),
		"application": second(a.SaveMachine(ctx, app.Act{}, site, "", record.MachineBody{Name: "x", Refrigerant: "R-22", Application: "barn"})),
		"expansion": second(a.SaveMachine(ctx, app.Act{}, site, "",
			record.MachineBody{Name: "x", Refrigerant: "R-22", Application: "other", Expansion: "cork"})),
	} {
		var e *fail.Error
		if !errors.As(err, &e) || e.Field != field {
			t.Errorf("%s: %v", field, err)
		}
	}
	if _, err := a.SaveMachine(
		ctx,
		app.Act{},
		"nowhere",
		"",
		record.MachineBody{Name: "x", Refrigerant: "R-22", Application: "other"},
	); fail.CodeOf(err) != fail.NotFound {
		t.Errorf("a machine at no site: %v", err)
	}
	if count(t, s) != n {
		t.Error("a refused form left an event")
	}
}

func second[T any](_ T, err error) error { return err }

func TestOpenVisit_Once(t *testing.T) {
	a, _, _ := fresh(t)
	_, machine, visit := house(t, a)
	again, err := a.OpenVisit(ctx, app.Act{}, machine, "other tab")
	if err != nil || again != visit {
		t.Errorf("a second open visit %s (%v), want %s", again, err, visit)
	}
	if !regexp.MustCompile(`^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$`).MatchString(string(visit)) {
		t.Errorf("%s is no UUIDv7 (RFC 9562)", visit)
	}
}

// A form sent twice adds nothing the second time and names the same thing.
func TestDoubleSubmit(t *testing.T) {
	a, s, _ := fresh(t)
	form, err := a.NewID()
	if err != nil {
		t.Fatal(err)
	}
	act := app.Act{Form: string(form)}
	x, err1 := a.SaveSite(ctx, act, "", record.SiteBody{Name: "Once"})
	y, err2 := a.SaveSite(ctx, act, "", record.SiteBody{Name: "Once"})
	if err1 != nil || err2 != nil || x != y || count(t, s) != 1 {
		t.Errorf("%s %s %v %v, %d events", x, y, err1, err2, count(t, s))
	}
	_, _, visit := house(t, a)
	form, _ = a.NewID()
	n := count(t, s)
	for range 2 {
		if err := a.SaveReadings(
			ctx,
			app.Act{Form: string(form)},
			visit,
			record.Before,
			app.Observed{Entries: four("3", "73", "12", "203")},
		); err != nil {
			t.Fatal(err)
		}
	}
	if got := count(t, s) - n; got != 4 {
		t.Errorf("%d events after a double submit of four readings", got)
	}
}

func TestSaveReadings_AllOrNone(t *testing.T) {
	a, s, _ := fresh(t)
	_, _, visit := house(t, a)
	n := count(t, s)
	err := a.SaveReadings(ctx, app.Act{}, visit, record.Before, app.Observed{
		Entries: append(four("3", "900", "12 ft", "203"), entry(reading.LiquidLine, "warm", "°F")),
		Seen:    map[string]string{"glass": "purple"},
	})
	var w app.Wrong
	if !errors.As(err, &w) || len(w) != 4 || w["ambient"] == nil || w["suction_pressure"] == nil || w["liquid_line"] == nil ||
		w["glass"] == nil {
		t.Fatalf("%#v", err)
	}
	if count(t, s) != n {
		t.Error("half of a wrong form was saved")
	}
	if err := a.SaveReadings(
		ctx,
		app.Act{},
		visit,
		record.Before,
		app.Observed{Entries: four("3", "73", "12 psig", "14.0 bar(g)"), Seen: map[string]string{"glass": "bubbling"}},
	); err != nil {
		t.Fatal(err)
	}
	v, err := a.Visit(ctx, visit, app.Parts{})
	if err != nil || len(v.Visit.Before.Readings) != 4 || v.Visit.Before.Seen.Glass != reading.Bubbling {
		t.Fatal(v, err)
	}
	// 14.0 bar(g) at sea level is 1,501,325 Pa absolute (definition); the text stays as typed.
	for _, r := range v.Visit.Before.Readings {
		if r.Reading.At == reading.DischargePressure && (math.Abs(r.Value-1501325) > 1e-6 || r.Text != "14.0 bar(g)") {
			t.Errorf("%+v", r)
		}
	}
	n = count(t, s)
	if err := a.SaveReadings(
		ctx,
		app.Act{},
		visit,
		record.Before,
		app.Observed{Entries: four("3.0", "73", "12", ""), Seen: map[string]string{"glass": "bubbling"}},
	); err != nil ||
		count(t, s) != n {
		t.Errorf("unchanged values added %d events (%v)", count(t, s)-n, err)
	}
}

func TestPullDown_Clock(t *testing.T) {
	a, s, c := fresh(t)
	_, _, visit := house(t, a)
	n := count(t, s)
	if err := a.StartPull(ctx, app.Act{}, visit, record.Before, units.Fahrenheit(-5), "warm", "°F"); err == nil || count(t, s) != n {
		t.Errorf("a test began without its first reading: %v", err)
	}
	if err := a.StartPull(ctx, app.Act{}, visit, record.Before, units.Fahrenheit(-5), "9", "°F"); err != nil || count(t, s) != n+2 {
		t.Fatal(err)
	}
	c.t = c.t.Add(9 * time.Minute)
	for _, box := range []string{"7", "4", "3", "2"} {
		if err := a.AddPull(ctx, app.Act{}, visit, record.Before, nil, box, "°F", true, true); err != nil {
			t.Fatal(err)
		}
		if err := a.AddPull(ctx, app.Act{}, visit, record.Before, nil, box, "°F", true, true); fail.CodeOf(err) != fail.Conflict {
			t.Errorf("the same minute twice: %v", err)
		}
		c.t = c.t.Add(9 * time.Minute)
	}
	v, err := a.Visit(ctx, visit, app.Parts{Judge: []record.Phase{record.Before}})
	if err != nil || v.Before.Pull == nil || v.Before.Pull.N != 5 || v.Before.Pull.Span != 36 {
		t.Fatalf("%+v %v", v.Before, err)
	}
	minute := -3.0
	if err := a.AddPull(ctx, app.Act{}, visit, record.Before, &minute, "1", "°F", true, true); fail.CodeOf(err) != fail.Range {
		t.Errorf("minute −3: %v", err)
	}
}

// A pull-down after the work is held against the one before it, in both directions, as they stand in the store: each end
// says what the judgement says of its readings knowing the other's, the other one alone knows nothing of it, and a point
// taken back counts no more at the other end.
func TestPullDown_BeforeAgainstAfter(t *testing.T) {
	a, _, c := fresh(t)
	_, _, visit := house(t, a)
	read := func(phase record.Phase, pts ...pulldown.Point) {
		t.Helper()
		for i, p := range pts {
			box := units.Fixed(p.Box.F(), 1)
			if i == 0 {
				mustAll(t, a.StartPull(ctx, app.Act{}, visit, phase, units.Fahrenheit(0), box, "°F"))
				continue
			}
			c.t = c.t.Add(time.Duration((p.Minute - pts[i-1].Minute) * float64(time.Minute)))
			mustAll(t, a.AddPull(ctx, app.Act{}, visit, phase, nil, box, "°F", true, true))
		}
	}
	at := func(m, f float64) pulldown.Point { return pulldown.Point{Minute: m, Box: units.Fahrenheit(f)} }
	slow := []pulldown.Point{at(0, 12), at(15, 10), at(30, 9), at(50, 8)}
	fast := []pulldown.Point{at(0, 13), at(10, 8), at(20, 4), at(30, 2)}
	judged := func() *app.VisitView {
		t.Helper()
		v, err := a.Visit(ctx, visit, app.Parts{Judge: []record.Phase{record.Before, record.After}})
		if err != nil || v.Before.PullErr != nil || v.After.PullErr != nil {
			t.Fatal(err, v.Before.PullErr, v.After.PullErr)
		}
		return v
	}
	read(record.Before, slow...)
	if v := judged(); v.Before.Pull == nil || v.Before.Pull.Against != nil || v.After.Pull != nil {
		t.Fatalf("before the work alone: %+v, %+v", v.Before.Pull, v.After.Pull)
	}
	mustAll(t, a.SetPhase(ctx, app.Act{}, visit, record.After))
	c.t = c.t.Add(time.Hour)
	read(record.After, fast...)
	v := judged()
	for _, x := range []struct {
		got *pulldown.Result
		pts []pulldown.Point
		o   pulldown.Options
	}{
		{v.Before.Pull, slow, pulldown.Options{SetPoint: units.Fahrenheit(0), Later: fast}},
		{v.After.Pull, fast, pulldown.Options{SetPoint: units.Fahrenheit(0), Earlier: slow}},
	} {
		want, err := pulldown.Judge(x.pts, x.o)
		if err != nil {
			t.Fatal(err)
		}
		if x.got.Against == nil {
			t.Fatalf("%v: not compared", x.got.Verdict)
		}
		a, b := x.got.Against, want.Against
		off := max(math.Abs(x.got.PReaches6h-want.PReaches6h), math.Abs(a.PFaster-b.PFaster), math.Abs(a.Faster.Low-b.Faster.Low),
			math.Abs(a.Faster.Mid-b.Faster.Mid), math.Abs(a.Faster.High-b.Faster.High),
			math.Abs(float64(a.From-b.From)), math.Abs(float64(a.To-b.To)))
		if x.got.Verdict != want.Verdict || x.got.Reason != want.Reason || off > 1e-9 { // a reading is stored in K: the last digits
			t.Errorf("stored: %v %q %.3f %+v, judged: %v %q %.3f %+v", x.got.Verdict, x.got.Reason, x.got.PReaches6h, x.got.Against,
				want.Verdict, want.Reason, want.PReaches6h, want.Against)
		}
	}
	if f := v.After.Pull.Against.Faster; !(f.Mid > 1.5) || v.Before.Pull.Against.Faster != f {
		t.Errorf("after the work %+v times as fast, at the other end %+v", f, v.Before.Pull.Against.Faster)
	}
	for _, p := range v.Visit.After.Pull.Points[1:] {
		mustAll(t, a.Withdraw(ctx, app.Act{}, visit, p.Event))
	}
	if v := judged(); v.Before.Pull.Against != nil || v.Before.Pull.Reason != "" {
		t.Errorf("all but one taken back: %+v %q", v.Before.Pull.Against, v.Before.Pull.Reason)
	}
}

// The clock of the machine counts for the readings: minutes up to the last one, none while it defrosts, and what is typed later goes first.
func TestTime_CountsForReadings(t *testing.T) {
	a, s, c := fresh(t)
	_, _, visit := house(t, a)
	sheet := func() reading.Sheet {
		v, err := a.Visit(ctx, visit, app.Parts{})
		if err != nil {
			t.Fatal(err)
		}
		return v.Machine.Sheet(v.Visit, record.Before)
	}
	is := func(what string, got *float64, want float64) {
		t.Helper()
		if got == nil || *got != want {
			t.Errorf("%s: %v, want %g", what, got, want)
		}
	}
	act, ago := app.Act{}, 5.0
	mustAll(
		t,
		a.Time(ctx, act, visit, record.Before, record.SwitchedOn, &ago),
		a.Time(ctx, act, visit, record.Before, record.DefrostBegan, nil),
	)
	if q := sheet(); q.RunningMin != nil || q.SinceDefrostMin != nil {
		t.Error("minutes without a reading")
	}
	c.t = c.t.Add(20 * time.Minute)
	mustAll(t, a.SaveReadings(ctx, act, visit, record.Before, app.Observed{Entries: four("3", "73", "12", "203")}))
	is("running", sheet().RunningMin, 25)
	is("in defrost", sheet().SinceDefrostMin, 0)
	n := count(t, s)
	early := 30.0
	for _, bad := range []error{
		a.Time(ctx, act, visit, record.Before, record.DefrostEnded, &early), a.Time(ctx, act, visit, record.Before, "lunch", nil),
	} {
		if c := fail.CodeOf(bad); c != fail.BadValue {
			t.Errorf("%v", bad)
		}
	}
	if count(t, s) != n {
		t.Error("a refused moment wrote something")
	}
	mustAll(t, a.Time(ctx, act, visit, record.Before, record.DefrostEnded, nil))
	c.t = c.t.Add(12 * time.Minute)
	mustAll(t, a.SaveReadings(ctx, act, visit, record.Before, app.Observed{Entries: four("2", "73", "12", "203")}))
	is("after defrost", sheet().SinceDefrostMin, 12)
	is("running on", sheet().RunningMin, 37)
	typed := 15.0
	mustAll(t, a.SaveReadings(ctx, act, visit, record.Before, app.Observed{SetRunning: true, RunningMin: &typed}))
	is("typed", sheet().RunningMin, 15)
	is("the other goes on", sheet().SinceDefrostMin, 12)
	mustAll(t, a.Time(ctx, act, visit, record.Before, record.SwitchedOn, nil))
	is("the clock again", sheet().RunningMin, 0)
}

func TestVisit_ToTheEnd(t *testing.T) {
	a, _, c := fresh(t)
	_, machine, visit := house(t, a)
	do := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	do(a.Arrive(ctx, app.Act{}, visit, record.ArriveBody{Complaint: "ice cream soft", Food: "moved"}))
	do(
		a.SaveReadings(
			ctx,
			app.Act{},
			visit,
			record.Before,
			app.Observed{Entries: four("3", "73", "12", "203"), Seen: map[string]string{"glass": "bubbling"}},
		),
	)
	v, err := a.Visit(ctx, visit, app.Parts{Judge: []record.Phase{record.Before}})
	do(err)
	if v.Before.Posterior == nil || v.Before.Posterior.Ranked[0].Name() != "low_charge" {
		t.Fatalf("%+v", v.Before)
	}
	do(a.AddWork(ctx, app.Act{}, visit, record.WorkBody{Code: "leak_repaired"}))
	do(a.MoveGas(ctx, app.Act{}, visit, "added", "2 lb 8 oz", "", "404-1", ""))
	if err := a.MoveGas(ctx, app.Act{}, visit, "added", "-3", "lb", "", ""); err == nil {
		t.Error("a negative amount was taken")
	}
	do(a.SetPhase(ctx, app.Act{}, visit, record.After))
	do(
		a.SaveReadings(
			ctx,
			app.Act{},
			visit,
			record.After,
			app.Observed{Entries: four("1", "76", "24", "252"), Seen: map[string]string{"glass": "clear"}},
		),
	)
	do(a.MarkHealthy(ctx, app.Act{}, visit))
	if err := a.CloseVisit(ctx, app.Act{}, visit, record.CloseBody{}); fail.CodeOf(err) != fail.Required {
		t.Errorf("closed without a name: %v", err)
	}
	do(a.CloseVisit(ctx, app.Act{}, visit, record.CloseBody{Mechanic: "A. Mechanic"}))
	if err := a.CloseVisit(ctx, app.Act{}, visit, record.CloseBody{Mechanic: "B"}); fail.CodeOf(err) != fail.Conflict {
		t.Errorf("closed twice: %v", err)
	}
	m, err := a.Machine(ctx, machine, app.MachineParts{})
	do(err)
	// 2 lb 8 oz are 1,134 g (NIST SP 811: 1 lb = 0.45359237 kg).
	if m.LostG != 1134 || m.Reason != "topped_up" {
		t.Errorf("%d g, %s", m.LostG, m.Reason)
	}
	// The next visit knows this one as the machine's normal.
	c.t = c.t.AddDate(0, 3, 0)
	next, err := a.OpenVisit(ctx, app.Act{}, machine, "check")
	do(err)
	v, err = a.Visit(ctx, next, app.Parts{})
	do(err)
	if s := v.Machine.Sheet(v.Visit, record.Before); len(s.HealthyVisits) != 1 || len(s.HealthyVisits[0].Readings) != 4 {
		t.Errorf("%+v", s.HealthyVisits)
	}
}

func TestWithdraw_IsAnEvent(t *testing.T) {
	a, s, _ := fresh(t)
	_, _, visit := house(t, a)
	if err := a.SaveReadings(ctx, app.Act{}, visit, record.Before, app.Observed{Entries: four("3", "73", "12", "203")}); err != nil {
		t.Fatal(err)
	}
	v, _ := a.Visit(ctx, visit, app.Parts{})
	n := count(t, s)
	if err := a.Withdraw(ctx, app.Act{}, visit, v.Visit.Before.Readings[0].Event); err != nil {
		t.Fatal(err)
	}
	v, _ = a.Visit(ctx, visit, app.Parts{})
	if len(v.Visit.Before.Readings) != 3 || count(t, s) != n+1 {
		t.Errorf("%d readings, %d events more", len(v.Visit.Before.Readings), count(t, s)-n)
	}
	if err := a.Withdraw(ctx, app.Act{}, visit, "nothing"); fail.CodeOf(err) != fail.NotFound {
		t.Errorf("%v", err)
	}
}

func TestUnknown(t *testing.T) {
	a, _, _ := fresh(t)
	for _, err := range []error{
		second(a.Visit(ctx, "x", app.Parts{})), second(a.Machine(ctx, "x", app.MachineParts{})), second(a.Site(ctx, "x")),
		a.SetPhase(ctx, app.Act{}, "x", record.After),
	} {
		if fail.CodeOf(err) != fail.NotFound {
			t.Errorf("%v", err)
		}
	}
}

// What is wrong with several fields is said whole, and the same each time.
func TestWrong_SaysAllTheSame(t *testing.T) {
	w := app.Wrong{}
	for _, f := range []string{"tare", "gross", "cylinder", "limit", "plate"} {
		w[f] = fail.Of(fail.Required, f, "field.missing", nil)
	}
	first := w.Error()
	for _, f := range slices.Sorted(maps.Keys(w)) {
		_, rest, found := strings.Cut(first, f+": ")
		if !found {
			t.Fatalf("%s is not said, or out of order: %q", f, first)
		}
		first = rest
	}
	first = w.Error()
	for range 50 {
		if s := w.Error(); s != first {
			t.Fatalf("%q, before %q", s, first)
		}
	}
}

// A visit that is closed stays closed, and what a visit is stands: only what a page takes back is taken back.
func TestWithdraw_ClosedStaysClosed(t *testing.T) {
	a, s, _ := fresh(t)
	_, _, visit := house(t, a)
	must(t, a.CloseVisit(ctx, app.Act{}, visit, record.CloseBody{Mechanic: "me"}))
	events, _, err := s.Since(ctx, 0, 1000)
	must(t, err)
	for _, e := range events {
		if e.Visit != visit || e.Kind != record.VisitClosed && e.Kind != record.VisitOpened {
			continue
		}
		if err := a.Withdraw(ctx, app.Act{}, visit, e.ID); fail.CodeOf(err) != fail.Conflict {
			t.Errorf("%s is taken back: %v", e.Kind, err)
		}
	}
	v, err := a.Visit(ctx, visit, app.Parts{})
	must(t, err)
	if v.Visit.Closed.IsZero() {
		t.Error("the visit is open again")
	}
}
