package app_test

import (
	"context"
	"math"
	"sync"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/record"
)

// Confirmed repairs move the rates of later visits, not of their own; what is taken back no longer counts.
func TestLearned(t *testing.T) {
	a, _, c := fresh(t)
	_, machine, first := house(t, a)
	read := func(v record.ID) float64 {
		t.Helper()
		err := a.SaveReadings(ctx, app.Act{}, v, record.Before, app.Observed{Entries: []app.Entry{
			entry(reading.SuctionPressure, "12 psig", ""),
			entry(reading.DischargePressure, "200 psig", ""),
			entry(reading.BoxAir, "10 °F", ""),
			entry(reading.Ambient, "75 °F", ""),
		}})
		if err != nil {
			t.Fatal(err)
		}
		return low(t, a, v)
	}
	shipped := read(first)
	confirm := func(v record.ID, code string) {
		t.Helper()
		if err := a.Confirm(ctx, app.Act{}, v, code); err != nil {
			t.Fatal(err)
		}
	}
	confirm(first, "coil_air")
	c.t = c.t.Add(time.Minute)
	confirm(first, "low_charge") // the last word on a visit counts
	if got := low(t, a, first); got != shipped {
		t.Errorf("a visit's own cause speaks for itself: %g, was %g", got, shipped)
	}
	l, err := a.Learned(ctx, 10)
	if err != nil || l.Repairs != 1 || l.Confirmations != 1 || len(l.Confirmed) != 1 || l.Confirmed[0].Cause != fault.LowCharge ||
		l.Confirmed[0].Site != "Test kitchen" {
		t.Fatalf("%+v %v", l, err)
	}
	// By hand: (40·0.24/0.97 + 1)/41 of all causes.
	if r := l.Rates[0]; r.Cause != fault.LowCharge || r.Repairs != 1 || math.Abs(r.Shipped-0.24/0.97) > 1e-12 ||
		math.Abs(r.Now-(40*0.24/0.97+1)/41) > 1e-12 {
		t.Errorf("%+v", r)
	}
	sum := 0.0
	for _, r := range l.Rates {
		sum += r.Now
	}
	if math.Abs(sum-1) > 1e-12 {
		t.Errorf("the shares add up to %g", sum)
	}
	if err := a.MarkHealthy(ctx, app.Act{}, first); err != nil {
		t.Fatal(err)
	}
	if err := a.CloseVisit(ctx, app.Act{}, first, record.CloseBody{Mechanic: "me"}); err != nil {
		t.Fatal(err)
	}
	l, err = a.Learned(ctx, 10)
	if err != nil || len(l.Healthy) != 1 || l.Healthy[0].Visit != first || l.Healthy[0].Name != "Walk-in freezer" {
		t.Fatalf("%+v %v", l, err)
	}
	// Taken back, a healthy visit no longer stands; then a visit the day after differs by the learned rate alone.
	if err := a.Withdraw(ctx, app.Act{}, first, l.Healthy[0].Event); err != nil {
		t.Fatal(err)
	}
	c.t = c.t.Add(24 * time.Hour)
	second, err := a.OpenVisit(ctx, app.Act{}, machine, "")
	if err != nil {
		t.Fatal(err)
	}
	with := read(second)
	if !(with > shipped) {
		t.Errorf("a confirmed cause is not more likely the next day: %g, was %g", with, shipped)
	}
	l, err = a.Learned(ctx, 10)
	if err != nil || len(l.Healthy) != 0 || l.HealthyVisits != 0 {
		t.Fatalf("%+v %v", l, err)
	}
	// Taken back, the one before it counts; that taken back too, nothing does.
	if err := a.Withdraw(ctx, app.Act{}, first, l.Confirmed[0].Event); err != nil {
		t.Fatal(err)
	}
	l, err = a.Learned(ctx, 10)
	if err != nil || len(l.Confirmed) != 1 || l.Confirmed[0].Cause != fault.CoilAir {
		t.Fatalf("%+v %v", l, err)
	}
	if err := a.Withdraw(ctx, app.Act{}, first, l.Confirmed[0].Event); err != nil {
		t.Fatal(err)
	}
	if got := low(t, a, second); math.Abs(got-shipped) > 1e-12 {
		t.Errorf("with nothing confirmed: %g, want %g", got, shipped)
	}
}

func low(t *testing.T, a *app.App, v record.ID) float64 {
	t.Helper()
	view, err := a.Visit(ctx, v, app.Parts{Judge: []record.Phase{record.Before}})
	if err != nil || view.Before.Posterior == nil {
		t.Fatal(err, view.Before.Err)
	}
	return view.Before.Posterior.Marginal(fault.LowCharge)
}

// Many look at one visit at the same time, while others confirm causes: all get the same answer, and none waits for ever.
func TestJudge_AtTheSameTime(t *testing.T) {
	a, _, c := fresh(t)
	_, machine, first := house(t, a)
	if err := a.SaveReadings(ctx, app.Act{}, first, record.Before, app.Observed{Entries: []app.Entry{
		entry(reading.SuctionPressure, "12 psig", ""),
		entry(reading.DischargePressure, "200 psig", ""),
		entry(reading.BoxAir, "10 °F", ""),
		entry(reading.Ambient, "75 °F", ""),
	}}); err != nil {
		t.Fatal(err)
	}
	c.t = c.t.Add(time.Minute)
	gone, stop := context.WithCancel(ctx)
	stop()
	var wg sync.WaitGroup
	got := make([]float64, 8)
	for i := range got {
		wg.Go(func() {
			// One who has gone already does not spoil the answer of the others.
			_, _ = a.Visit(gone, first, app.Parts{Judge: []record.Phase{record.Before}})
			v, err := a.Visit(ctx, first, app.Parts{Judge: []record.Phase{record.Before}})
			if err != nil || v.Before.Posterior == nil {
				t.Error(err, v.Before.Err)
				return
			}
			got[i] = v.Before.Posterior.Marginal(fault.LowCharge)
			list, err := a.Machines(ctx, "", 0, 10)
			if err != nil || len(list.Rows) != 1 || list.Rows[0].Machine.ID != machine {
				t.Errorf("%+v %v", list, err)
				return
			}
			if v, err := a.Glance(ctx, list.Rows[0], false); err != nil || v.Before.Posterior == nil ||
				v.Before.Posterior.Marginal(fault.LowCharge) != got[i] {
				t.Errorf("a list shows another answer: %v", err)
			}
			if _, err := a.Learned(ctx, 5); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	for _, p := range got {
		if p != got[0] || !(p > 0) {
			t.Errorf("answers differ: %v", got)
		}
	}
	// A reading more, and the list does not show the old judgement.
	if err := a.SaveReadings(
		ctx,
		app.Act{},
		first,
		record.Before,
		app.Observed{Entries: []app.Entry{entry(reading.LiquidLine, "70 °F", "")}},
	); err != nil {
		t.Fatal(err)
	}
	list, err := a.Machines(ctx, "", 0, 10)
	if err != nil {
		t.Fatal(err)
	}
	v, err := a.Glance(ctx, list.Rows[0], true)
	if err != nil || v != nil {
		t.Errorf("an old judgement is shown: %v", err)
	}
	if v, err = a.Glance(ctx, list.Rows[0], false); err != nil || len(v.Visit.Before.Readings) != 5 {
		t.Errorf("%v", err)
	}
}
