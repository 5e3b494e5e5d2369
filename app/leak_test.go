package app_test

import (
	"errors"
	"math"
	"slices"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/leak"
	"coldwright/record"
)

func search(t *testing.T, a *app.App, visit record.ID) *app.LeakView {
	t.Helper()
	v, err := a.LeakSearch(ctx, visit)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func mustAll(t *testing.T, errs ...error) {
	t.Helper()
	for _, err := range errs {
		if err != nil {
			t.Fatal(err)
		}
	}
}

func code(err error) fail.Code {
	var f *fail.Error
	if errors.As(err, &f) {
		return f.Code
	}
	return ""
}

// A whole search: looks in vain, a find, bubbles, repair; the re-check comes at the next visit, which then knows where this machine leaks.
func TestLeakSearch(t *testing.T) {
	a, s, c := fresh(t)
	_, machine, visit := house(t, a)
	v := search(t, a, visit)
	if v.Basis != "design" || v.Verdict != leak.Go || len(v.Steps) < 10 || len(v.Finds) != 0 || v.Second ||
		v.Conditions.High <= v.Conditions.Low ||
		v.Traits.SelfContained {
		t.Errorf("at the start: %s, %s, %d steps, %+v", v.Basis, v.Verdict, len(v.Steps), v.Conditions)
	}
	first := v.Steps[0]
	mustAll(
		t,
		a.MarkLook(ctx, app.Act{Form: "f1"}, visit, first.Place.Key, first.Method.Key, "nothing"),
		a.MarkLook(ctx, app.Act{Form: "f1"}, visit, first.Place.Key, first.Method.Key, "nothing"),
	)
	v = search(t, a, visit)
	if len(v.Visit.Looks) != 1 || v.Steps[0].Place.Key == first.Place.Key && v.Steps[0].Method.Key == first.Method.Key {
		t.Errorf("%d looks, next is %s again", len(v.Visit.Looks), v.Steps[0].Place.Key)
	}
	n := count(t, s)
	mustAll(t, a.MarkLook(ctx, app.Act{}, visit, "flare_low", "detector", "signal"))
	if count(t, s) != n+2 {
		t.Error("a signal is a look and a find")
	}
	if v = search(t, a, visit); len(v.Finds) != 1 || v.Finds[0].Stage != leak.Found ||
		!slices.Equal(v.Finds[0].Acts, []leak.Act{leak.ActBubbles, leak.ActNoBubbles}) {
		t.Errorf("%+v", v.Finds)
	}
	for _, x := range v.Steps {
		if x.Place.Key == "flare_low" {
			t.Error("a find that waits for bubbles is offered as the next place")
		}
	}
	if err := a.MarkLeak(ctx, app.Act{}, visit, "flare_low", "repaired"); code(err) != fail.Conflict {
		t.Errorf("repaired before it was confirmed: %v", err)
	}
	mustAll(t, a.MarkLeak(ctx, app.Act{}, visit, "flare_low", "bubbles"))
	n = count(t, s)
	mustAll(t, a.MarkLeak(ctx, app.Act{}, visit, "flare_low", "bubbles"))
	if count(t, s) != n {
		t.Error("the same act twice adds events")
	}
	if v = search(t, a, visit); !v.Second || len(v.Visit.Leaks) != 1 {
		t.Errorf("second %v, leaks %+v", v.Second, v.Visit.Leaks)
	}
	mustAll(
		t,
		a.MarkLeak(ctx, app.Act{}, visit, "flare_low", "repaired"),
		a.CloseVisit(ctx, app.Act{}, visit, record.CloseBody{Mechanic: "me"}),
	)
	if err := a.MarkLook(ctx, app.Act{}, visit, "drier", "bubbles", "nothing"); code(err) != fail.Conflict {
		t.Errorf("a look in a closed visit: %v", err)
	}
	c.t = c.t.Add(30 * 24 * time.Hour)
	next, err := a.OpenVisit(ctx, app.Act{}, machine, "re-check")
	mustAll(t, err)
	if v = search(t, a, next); len(v.Finds) != 1 || v.Finds[0].Stage != leak.Repaired || v.Traits.Earlier["flare_low"] != 1 {
		t.Errorf("at the next visit: %+v, %+v", v.Finds, v.Traits)
	}
	mustAll(
		t,
		a.MarkLeak(ctx, app.Act{}, next, "flare_low", "leaks"),
		a.MarkLeak(ctx, app.Act{}, next, "flare_low", "repaired"),
		a.MarkLeak(ctx, app.Act{}, next, "flare_low", "tight"),
	)
	if v = search(t, a, next); v.Machine.LeakStages["flare_low"] != leak.Rechecked || len(v.Finds) != 1 {
		t.Errorf("%+v", v.Finds)
	}
}

func TestLeakSearch_Refused(t *testing.T) {
	a, s, _ := fresh(t)
	_, _, visit := house(t, a)
	n := count(t, s)
	for what, err := range map[string]error{
		"place":    a.MarkLook(ctx, app.Act{}, visit, "the moon", "detector", "nothing"),
		"method":   a.MarkLook(ctx, app.Act{}, visit, "drier", "match", "nothing"),
		"whole":    a.MarkLook(ctx, app.Act{}, visit, "drier", "standing_pressure", "nothing"),
		"saw":      a.MarkLook(ctx, app.Act{}, visit, "drier", "detector", "perhaps"),
		"charge":   a.SetLeak(ctx, app.Act{}, visit, "", "", "psig", "oxygen", false),
		"act":      a.MarkLeak(ctx, app.Act{}, visit, "drier", "eaten"),
		"pressure": a.SetLeak(ctx, app.Act{}, visit, "lots", "", "psig", "refrigerant", false),
		"nitrogen": a.SetLeak(ctx, app.Act{}, visit, "", "150", "psig", "nitrogen", false),
	} {
		if err == nil {
			t.Errorf("%s was accepted", what)
		}
	}
	if count(t, s) != n {
		t.Error("something was written")
	}
}

// With next to no pressure a small leak asks for nitrogen; with nitrogen standing in it the refrigerant probe is no longer offered.
func TestLeakSearch_Pressure(t *testing.T) {
	a, _, _ := fresh(t)
	_, _, visit := house(t, a)
	mustAll(t, a.SetLeak(ctx, app.Act{}, visit, "0 psig", "0 psig", "psig", "refrigerant", true))
	v := search(t, a, visit)
	if v.Verdict != leak.Pressurise || v.Basis != "entered" || !v.Conditions.Draught {
		t.Errorf("no pressure: %s, %+v", v.Verdict, v.Conditions)
	}
	mustAll(t, a.SetLeak(ctx, app.Act{}, visit, "300", "150", "psig", "nitrogen", false))
	v = search(t, a, visit)
	if v.Verdict != leak.Go || math.Abs(float64(v.Conditions.High)-(300*6894.757+101325)) > 1 {
		t.Errorf("300 psig of nitrogen: %s, %g", v.Verdict, float64(v.Conditions.High))
	}
	for _, x := range v.Steps {
		if x.Method.Key == "detector" {
			t.Error("a refrigerant probe in nitrogen")
		}
	}
	if err := a.MarkLook(ctx, app.Act{}, visit, "drier", "detector", "nothing"); code(err) != fail.BadValue {
		t.Errorf("looked with a refrigerant probe in nitrogen: %v", err)
	}
}

// What was added from visit to visit says how large the leak is: 2 kg in 100 days are 7,305 g a year (arithmetic).
func TestLeakSearch_ChargeHistory(t *testing.T) {
	a, _, c := fresh(t)
	_, machine, visit := house(t, a)
	fill := func(visit record.ID, kg string) {
		mustAll(
			t,
			a.MoveGas(ctx, app.Act{}, visit, "added", kg, "kg", "", ""),
			a.CloseVisit(ctx, app.Act{}, visit, record.CloseBody{Mechanic: "me"}),
		)
	}
	fill(visit, "5 kg")
	c.t = c.t.Add(100 * 24 * time.Hour)
	visit, err := a.OpenVisit(ctx, app.Act{}, machine, "warm again")
	mustAll(t, err)
	before := search(t, a, visit)
	fill(visit, "2 kg")
	c.t = c.t.Add(24 * time.Hour)
	visit, err = a.OpenVisit(ctx, app.Act{}, machine, "and again")
	mustAll(t, err)
	v := search(t, a, visit)
	if len(before.Losses) != 0 || len(v.Losses) != 1 || v.Losses[0].Grams != 2000 || math.Abs(v.Losses[0].Days-100) > 1e-6 ||
		!v.Traits.Weighed {
		t.Fatalf("losses %+v", v.Losses)
	}
	if mid := v.Search.Size().Quantile(0.5); math.Abs(mid/7305-1) > 0.3 {
		t.Errorf("%g g a year, want 7,305 within the spread", mid)
	}
}
