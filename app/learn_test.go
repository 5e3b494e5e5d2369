package app_test

import (
	"math"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/fault"
	"coldwright/reading"
	"coldwright/record"
)

// Confirmed repairs move the rates of later visits, not of their own; what is taken back no longer counts.
func TestLearned(t *testing.T) {
	a, _, c := fresh(t)
	_, machine, first := house(t, a)
	read := func(v record.ID) float64 {
		t.Helper()
		err := a.SaveReadings(ctx, app.Act{}, v, record.Before, app.Observed{Entries: []app.Entry{
			entry(reading.SuctionPressure, "12 psig", ""), entry(reading.DischargePressure, "200 psig", ""), entry(reading.BoxAir, "10 °F", ""), entry(reading.Ambient, "75 °F", ""),
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
	if err != nil || l.Repairs != 1 || l.Confirmations != 1 || len(l.Confirmed) != 1 || l.Confirmed[0].Cause != fault.LowCharge || l.Confirmed[0].Site != "Test kitchen" {
		t.Fatalf("%+v %v", l, err)
	}
	// By hand: (40·0.24/0.97 + 1)/41 of all causes.
	if r := l.Rates[0]; r.Cause != fault.LowCharge || r.Repairs != 1 || math.Abs(r.Shipped-0.24/0.97) > 1e-12 || math.Abs(r.Now-(40*0.24/0.97+1)/41) > 1e-12 {
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
	view, err := a.Visit(ctx, v, record.Before)
	if err != nil || view.Before.Posterior == nil {
		t.Fatal(err, view.Before.Err)
	}
	return view.Before.Posterior.Marginal(fault.LowCharge)
}
