package law

import (
	"slices"
	"time"

	"coldwright/rules/ledger"
	"coldwright/units"
)

// leakRate: calculate every time refrigerant is added.
func (c *assessment) leakRate(r *Rule) error {
	a := c.rate.Last()
	if a == nil {
		c.none(r, NotApplicable, ReasonNoAddition, ledger.Date{})
		return nil
	}
	d := c.duty(r)
	d.Starts, d.Due, d.MetOn, d.Reason = a.Date, a.Date, a.Date, ReasonNotOver
	limit := r.LimitPercent[c.m.Class]
	if a.Over(c.m.Method, limit/100, c.m.FullCharge) {
		d.Reason = ReasonOver
	}
	if a.First && c.in.FirstCalculation != nil {
		d.Trust = weaker(d.Trust, c.in.FirstCalculation.Trust)
	}
	d.arg("annualizing_percent", percent(a.Annualizing))
	if a.Continues {
		d.arg("annualizing_percent_alone", percent(a.Alone))
	}
	d.arg("rolling_percent", percent(a.Rolling))
	d.arg("rolling_percent_today", percent(c.rate.Rolling))
	d.arg("limit_percent", limit)
	d.arg("days_since_addition", float64(a.Days))
	c.clock(d)
	return nil
}

// window returns the due day of the repair of a case.
func (c *assessment) window(r *Rule, t exceedance) (due ledger.Date, paused bool) {
	days := r.Days
	if c.m.Shutdown && c.m.Class == Industrial && r.ShutdownDays > 0 {
		days = r.ShutdownDays
	}
	return c.suspend(t.start, t.start.AddDays(days))
}

func (c *assessment) perCase(r *Rule, met func(exceedance) ledger.Date) error {
	if len(c.cases) == 0 {
		c.none(r, NotApplicable, c.whyNoCase(), ledger.Date{})
		return nil
	}
	for _, t := range c.cases {
		d := c.duty(r)
		var paused bool
		d.Starts, d.MetOn = t.start, met(t)
		if d.Due, paused = c.window(r, t); paused {
			d.Reason = ReasonMothballed
		}
		if r.Kind == "repair" {
			d.arg("annualizing_percent", percent(t.annualizing))
			d.arg("rolling_percent", percent(t.rolling))
			d.arg("limit_percent", percent(t.over))
		}
		c.clock(d)
	}
	return nil
}

func (c *assessment) repair(r *Rule) error {
	return c.perCase(r, func(t exceedance) ledger.Date { return t.repaired })
}

func (c *assessment) initialTest(r *Rule) error {
	return c.perCase(r, func(t exceedance) ledger.Date { return t.initial })
}

func (c *assessment) followUp(r *Rule) error {
	if len(c.cases) == 0 {
		c.none(r, NotApplicable, c.whyNoCase(), ledger.Date{})
		return nil
	}
	for _, t := range c.cases {
		d := c.duty(r)
		if t.initial.IsZero() {
			d.Starts, d.Reason = ledger.Date{}, ReasonWaitsInitial
			c.clock(d)
			continue
		}
		d.Starts, d.MetOn = t.initial, t.follow
		if !t.normal.IsZero() {
			d.Starts = t.normal
		}
		var paused bool
		if d.Due, paused = c.suspend(d.Starts, d.Starts.AddDays(r.Days)); paused {
			d.Reason = ReasonMothballed
		}
		c.clock(d)
	}
	return nil
}

// plan: a retrofit or retirement plan when a case was not brought to its end in time.
func (c *assessment) plan(r *Rule) error {
	n := len(c.cases)
	if n == 0 {
		c.none(r, NotApplicable, c.whyNoCase(), ledger.Date{})
		return nil
	}
	t := c.cases[n-1]
	var missed ledger.Date
	for _, kind := range []string{"repair", "initial_verification", "follow_up_verification"} {
		i := slices.IndexFunc(c.in.Rules, func(x Rule) bool { return x.Kind == kind })
		if i < 0 {
			continue
		}
		var due ledger.Date
		var paused, met bool
		if kind == "follow_up_verification" {
			start := t.initial
			if start.IsZero() {
				continue
			}
			if !t.normal.IsZero() {
				start = t.normal
			}
			due, paused = c.suspend(start, start.AddDays(c.in.Rules[i].Days))
			met = !t.follow.IsZero()
		} else {
			due, paused = c.window(&c.in.Rules[i], t)
			met = kind == "repair" && !t.repaired.IsZero() || kind != "repair" && !t.initial.IsZero()
		}
		if !paused && !met && c.on.After(due) && (missed.IsZero() || due.Before(missed)) {
			missed = due
		}
	}
	made, ok := c.first(t.since, PlanMade)
	if missed.IsZero() && !ok {
		c.none(r, NotApplicable, ReasonNoPlan, ledger.Date{})
		return nil
	}
	d := c.duty(r)
	d.MetOn = made
	if !missed.IsZero() {
		d.Starts, d.Due = missed, missed.AddDays(r.Days)
	}
	c.clock(d)
	return nil
}

func (c *assessment) planDone(r *Rule) error {
	made, ok := c.last(PlanMade)
	if !ok {
		c.none(r, NotApplicable, ReasonNoPlan, ledger.Date{})
		return nil
	}
	d := c.duty(r)
	d.Starts, d.Due = made, made.AddYears(r.Years)
	d.MetOn, _ = c.first(made, Retrofitted)
	c.clock(d)
	return nil
}

// chronic: so much lost in a calendar year that it must be reported.
func (c *assessment) chronic(r *Rule) error {
	lost := map[int]float64{}
	crossed := map[int]ledger.Date{}
	full := float64(c.m.FullCharge)
	for _, a := range c.rate.Additions {
		y := a.Date.Year()
		lost[y] += float64(a.Counted)
		// "at least" holds at equality; half a gram for each of the two weights.
		if r.on(a.Date) && crossed[y].IsZero() && lost[y] >= r.Percent/100*full-1/units.Kilo {
			crossed[y] = a.Date
		}
	}
	years := make([]int, 0, len(crossed))
	for y, d := range crossed {
		if !d.IsZero() {
			years = append(years, y)
		}
	}
	if len(years) == 0 {
		d := c.duty(r)
		d.State, d.Reason = NotApplicable, ReasonNotChronic
		d.arg("lost_percent_this_year", percent(lost[c.on.Year()]/full))
		d.arg("limit_percent", r.Percent)
		c.out = append(c.out, d)
		return nil
	}
	slices.Sort(years)
	for _, y := range years {
		d := c.duty(r)
		d.Starts, d.Due = crossed[y], ledger.Day(y+1, time.Month(r.Month), r.Day)
		d.MetOn, _ = c.first(ledger.Day(y, time.December, 31), ReportSent)
		d.arg("lost_percent", percent(lost[y]/full))
		d.arg("limit_percent", r.Percent)
		c.clock(d)
	}
	return nil
}

// recheck: after a repair, not on the day itself.
func (c *assessment) recheck(r *Rule) error {
	repaired, ok := c.last(Repaired)
	if !ok || !r.on(repaired) {
		c.none(r, NotApplicable, ReasonNoRepair, ledger.Date{})
		return nil
	}
	d := c.duty(r)
	d.Starts, d.Due = repaired, repaired.AddMonths(r.Months)
	for _, kind := range []EventKind{LeakInspection, FollowUpTest} {
		if when, ok := c.first(repaired.AddDays(1), kind); ok && (d.MetOn.IsZero() || when.Before(d.MetOn)) {
			d.MetOn = when
		}
	}
	c.clock(d)
	return nil
}

func (c *assessment) repairSoon(r *Rule) error {
	found, ok := c.last(LeakFound)
	if !ok || !r.on(found) {
		c.none(r, NotApplicable, ReasonNoLeak, ledger.Date{})
		return nil
	}
	d := c.duty(r)
	d.Starts, d.Reason = found, ReasonWithoutDelay
	d.MetOn, _ = c.first(found, Repaired)
	c.clock(d)
	return nil
}
