package verdict_test

import (
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/proof/pulldown"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/verdict/threshold"
)

// When a box will be cold is said only where every reading of its machine stands in band and nothing else speaks against it.
func TestOfComing(t *testing.T) {
	band := func(in ...bool) *diagnose.Posterior {
		p := new(diagnose.Posterior)
		for i, ok := range in {
			p.Expected = append(p.Expected, diagnose.Expectation{At: []reading.Place{
				reading.SuctionPressure, reading.DischargePressure, reading.SuctionLine,
			}[i], Read: true, In: ok})
		}
		p.Expected = append(p.Expected, diagnose.Expectation{At: reading.LiquidLine}) // not read: says nothing
		return p
	}
	open := verdict.Form(verdict.Facts{Readings: 4, PHealthy: 0.5, Suspects: suspects(fault.LowCharge, 0.4)})
	sick := verdict.Form(verdict.Facts{Readings: 4, PHealthy: 0.05, Suspects: suspects(fault.LowCharge, 0.95)})
	wrong := *open
	wrong.Instruments = []verdict.Instrument{{Fault: fault.BoxThermometer}}
	soon := &pulldown.Interval{Low: 5, Mid: 40, High: 200}
	pull := func(v pulldown.Verdict, to *pulldown.Interval) *pulldown.Result {
		return &pulldown.Result{Verdict: v, ToSetPoint: to}
	}
	set := units.Fahrenheit(36)
	for _, c := range []struct {
		name string
		j    *verdict.Judgement
		p    *diagnose.Posterior
		r    *pulldown.Result
		want bool
	}{
		{"falling", open, band(true, true, true), pull(pulldown.Falling, soon), true},
		{"undecided", open, band(true, true), pull(pulldown.Undecided, soon), true},
		{"slow", open, band(true, true), pull(pulldown.Slow, soon), true},
		{"one outside its band", open, band(true, false, true), pull(pulldown.Falling, soon), false},
		{"a cause is likely", sick, band(true, true), pull(pulldown.Falling, soon), false},
		{"an instrument is wrong", &wrong, band(true, true), pull(pulldown.Falling, soon), false},
		{"one reading", open, band(true), pull(pulldown.Falling, soon), false},
		{"there", open, band(true, true), pull(pulldown.Reached, soon), false},
		{"stopped", open, band(true, true), pull(pulldown.Stalled, soon), false},
		{"warmer", open, band(true, true), pull(pulldown.Warming, soon), false},
		{"too short", open, band(true, true), pull(pulldown.TooShort, soon), false},
		{"not in sight", open, band(true, true), pull(pulldown.Slow, nil), false},
		{"far off", open, band(true, true), pull(pulldown.Slow, &pulldown.Interval{Low: 60, Mid: threshold.PullInSight, High: 1440}), false},
		{"no judgement", nil, nil, pull(pulldown.Falling, soon), false},
		{"no pull-down", open, band(true, true), nil, false},
	} {
		got := verdict.OfComing(c.j, c.p, c.r, set)
		if (got != nil) != c.want {
			t.Errorf("%s: %+v", c.name, got)
		}
		if got != nil && (got.Late || got.Minutes != *soon || got.SetPoint != set || got.Readings != len(c.p.Expected)-1) {
			t.Errorf("%s: %+v", c.name, got)
		}
	}
	late := verdict.OfComing(open, band(true, true), pull(pulldown.Falling, &pulldown.Interval{Low: 5, Mid: 40, High: threshold.PullDay}), set)
	if late == nil || !late.Late {
		t.Errorf("a day off: %+v", late)
	}
}
