package law

import (
	"slices"
	"time"

	"coldwright/fail"
	"coldwright/refrigerant"
	"coldwright/rules/ledger"
	"coldwright/units"
)

// court judges one machine by one instrument.
type court struct {
	m     *Machine
	on    ledger.Date
	in    *Instrument
	r     *refrigerant.Refrigerant
	sub   Substance
	gwp   ledger.Factor
	rate  ledger.Rate
	cases []trouble
	out   []Duty
}

// trouble is a leak rate over the limit and what was done about it.
type trouble struct {
	start, since               ledger.Date // since: what was done from this day on may belong to it
	repaired, initial, follow  ledger.Date
	normal                     ledger.Date
	annualizing, rolling, over float64
}

func (c *court) judge() error {
	add := func(s Scope, state State, reason string, starts ledger.Date) {
		c.out = append(c.out, Duty{
			Code:       "scope",
			Instrument: c.in.Title,
			Article:    s.Article,
			Edition:    c.in.Edition,
			Trust:      weaker(s.Trust, c.sub.Trust),
			Starts:     starts,
			State:      state,
			Reason:     reason,
		})
	}
	i := slices.IndexFunc(c.in.Scope, func(s Scope) bool { return s.on(c.on) })
	if i < 0 {
		s := c.in.Scope[0]
		add(s, NotApplicable, ReasonNotYet, s.From)
		return nil
	}
	s := c.in.Scope[i]
	covered := c.sub.Has(s.AnyOf...)
	if !covered && s.OrGWPOver > 0 && !c.sub.Has("class_1", "class_2") {
		if !c.gwp.Known {
			add(s, Unknown, ReasonGWPUnknown, s.From)
			return nil
		}
		covered = c.gwp.GWP > s.OrGWPOver
	}
	switch {
	case !covered:
		add(s, NotApplicable, ReasonSubstance, ledger.Date{})
		return nil
	case slices.Contains(s.NotSubsectors, c.m.Subsector):
		add(s, NotApplicable, ReasonSubsector, ledger.Date{})
		return nil
	case s.MinLb > 0 && c.m.FullCharge == 0:
		add(s, Unknown, ReasonChargeUnknown, ledger.Date{})
		return nil
	case !atLeast(c.m.FullCharge, s.MinLb):
		add(s, NotApplicable, ReasonSmall, ledger.Date{})
		return nil
	}
	if c.m.FullCharge > 0 {
		if err := c.rates(s); err != nil {
			return err
		}
	}
	retired := false
	for _, e := range c.m.Events {
		switch e.Kind {
		case Retired:
			retired = true
		case BackInService:
			retired = false
		}
	}
	for i := range c.in.Rules {
		r := &c.in.Rules[i]
		switch {
		case c.on.Before(r.From):
			c.none(r, NotApplicable, ReasonNotYet, r.From)
		case !r.on(c.on):
		case retired && r.Kind != "records":
			c.none(r, NotApplicable, ReasonRetired, ledger.Date{})
		case len(r.Classes) > 0 && !slices.Contains(r.Classes, string(c.m.Class)):
			c.none(r, NotApplicable, ReasonClass, ledger.Date{})
		case len(r.Subsectors) > 0 && c.m.Subsector == "":
			c.none(r, Unknown, ReasonSubUnknown, ledger.Date{})
		case len(r.Subsectors) > 0 && !slices.Contains(r.Subsectors, c.m.Subsector):
			c.none(r, NotApplicable, ReasonSubsector, ledger.Date{})
		default:
			if err := kinds[r.Kind](c, r); err != nil {
				return err
			}
		}
	}
	return nil
}

// rates computes the leak rate and the cases it opens.
func (c *court) rates(s Scope) error {
	in := ledger.RateInput{FullCharge: c.m.FullCharge, AsOf: c.on}
	if c.in.FirstCalculation != nil {
		in.Since = s.From
	}
	for _, e := range c.m.Events {
		switch {
		case e.Kind == Added:
			in.Moves = append(in.Moves, ledger.Move{Date: e.Date, Added: e.Mass, Reason: e.Reason})
		case e.Kind == Removed:
			in.Moves = append(in.Moves, ledger.Move{Date: e.Date, Removed: e.Mass, Reason: e.Reason})
		case e.Kind == FollowUpTest && !e.Failed:
			in.Verified = append(in.Verified, e.Date)
		}
	}
	var err error
	if c.rate, err = ledger.LeakRate(in); err != nil {
		return err
	}
	i := slices.IndexFunc(c.in.Rules, func(r Rule) bool { return r.Kind == "leak_rate" })
	if i < 0 {
		return nil
	}
	rule := &c.in.Rules[i]
	limit := rule.LimitPercent[c.m.Class] / 100
	for k, a := range c.rate.Additions {
		if !a.Calculate || !rule.on(a.Date) || !a.Over(c.m.Method, limit, c.m.FullCharge) {
			continue
		}
		if n := len(c.cases); n > 0 && (c.cases[n-1].follow.IsZero() || !c.cases[n-1].follow.Before(a.Date)) {
			continue // the case before is still open
		}
		t := trouble{start: a.Date, since: a.Date.AddDays(-30), annualizing: a.Annualizing, rolling: a.Rolling, over: limit}
		if k > 0 && c.rate.Additions[k-1].Date.AddDays(1).After(t.since) {
			t.since = c.rate.Additions[k-1].Date.AddDays(1)
		}
		t.repaired, _ = c.first(t.since, Repaired)
		from := t.since
		if !t.repaired.IsZero() {
			from = t.repaired
		}
		t.initial, _ = c.first(from, InitialTest)
		if !t.initial.IsZero() {
			t.normal, _ = c.first(t.initial, NormalOperation)
			t.follow, _ = c.first(t.initial, FollowUpTest)
		}
		c.cases = append(c.cases, t)
	}
	return nil
}

// first returns the first day from one on which something of the kind was done and passed.
func (c *court) first(from ledger.Date, kind EventKind) (ledger.Date, bool) {
	for _, e := range c.m.Events {
		if e.Kind == kind && !e.Failed && !e.Date.Before(from) {
			return e.Date, true
		}
	}
	return ledger.Date{}, false
}

// last returns the last day on which something of the kinds was done and passed.
func (c *court) last(kinds ...EventKind) (d ledger.Date, ok bool) {
	for _, e := range c.m.Events {
		if slices.Contains(kinds, e.Kind) && !e.Failed {
			d, ok = e.Date, true
		}
	}
	return d, ok
}

func (c *court) duty(r *Rule) Duty {
	return Duty{Code: r.Code, Instrument: c.in.Title, Article: r.Article, Edition: c.in.Edition, Trust: r.Trust}
}

// none adds a duty without a clock.
func (c *court) none(r *Rule, s State, reason string, starts ledger.Date) {
	d := c.duty(r)
	d.State, d.Reason, d.Starts = s, reason, starts
	c.out = append(c.out, d)
}

// clock adds a duty with a clock: met on a day, or open up to and on the due day, or overdue.
func (c *court) clock(d Duty) {
	switch {
	case !d.MetOn.IsZero():
		d.State = Met
		if !d.Due.IsZero() && d.MetOn.After(d.Due) {
			d.arg("late_days", float64(d.MetOn.Days(d.Due)))
		}
	case !d.Due.IsZero() && c.on.After(d.Due):
		d.State = Overdue
	default:
		d.State = Open
	}
	if !d.Due.IsZero() {
		d.PlanBy = d.Due.LastWorkday()
	}
	c.out = append(c.out, d)
}

func (d *Duty) arg(key string, v float64) {
	if d.Args == nil {
		d.Args = map[string]float64{}
	}
	d.Args[key] = v
}

// suspend moves a due day by the days the machine stood mothballed; paused reports that it still does. The clock goes
// on the day refrigerant is added, or when the machine was put back in service before that (judgement: a machine that
// runs is not mothballed).
//
// Source: 40 CFR 82.157(d)(3), read.
func (c *court) suspend(start, due ledger.Date) (moved ledger.Date, paused bool) {
	var from ledger.Date
	for _, e := range c.m.Events {
		switch {
		case e.Kind == Mothballed && !paused && !e.Date.After(due):
			paused, from = true, e.Date
		case paused && (e.Kind == BackInService || e.Kind == Added && e.Date.After(from)):
			paused = false
			if from.Before(start) {
				from = start
			}
			if e.Date.After(from) {
				due = due.AddDays(e.Date.Days(from))
			}
		}
	}
	if paused {
		return ledger.Date{}, true
	}
	return due, false
}

// whyNoCase says why no case is open.
func (c *court) whyNoCase() string {
	if c.rate.Last() == nil {
		return ReasonNoAddition
	}
	return ReasonNotOver
}

// kinds is what each kind of rule asks.
var kinds = map[string]func(*court, *Rule) error{
	"leak_rate":              (*court).leakRate,
	"repair":                 (*court).repair,
	"initial_verification":   (*court).initialTest,
	"follow_up_verification": (*court).followUp,
	"leak_inspection":        (*court).inspection,
	"plan":                   (*court).plan,
	"plan_done":              (*court).planDone,
	"chronic":                (*court).chronic,
	"records":                (*court).records,
	"detection":              (*court).detection,
	"detection_audit":        (*court).audit,
	"standing":               (*court).standing,
	"recovery":               (*court).recovery,
	"leak_check":             (*court).leakCheck,
	"recheck":                (*court).recheck,
	"repair_soon":            (*court).repairSoon,
	"service_ban":            (*court).serviceBan,
}

// leakRate: calculate every time refrigerant is added.
func (c *court) leakRate(r *Rule) error {
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
	d.arg("rolling_percent", percent(a.Rolling))
	d.arg("rolling_percent_today", percent(c.rate.Rolling))
	d.arg("limit_percent", limit)
	d.arg("days_since_addition", float64(a.Days))
	c.clock(d)
	return nil
}

// window returns the due day of the repair of a case.
func (c *court) window(r *Rule, t trouble) (due ledger.Date, paused bool) {
	days := r.Days
	if c.m.Shutdown && c.m.Class == Industrial && r.ShutdownDays > 0 {
		days = r.ShutdownDays
	}
	return c.suspend(t.start, t.start.AddDays(days))
}

func (c *court) perCase(r *Rule, met func(trouble) ledger.Date) error {
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

func (c *court) repair(r *Rule) error {
	return c.perCase(r, func(t trouble) ledger.Date { return t.repaired })
}

func (c *court) initialTest(r *Rule) error {
	return c.perCase(r, func(t trouble) ledger.Date { return t.initial })
}

func (c *court) followUp(r *Rule) error {
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

// inspection: after the limit was passed, until the machine stayed under it for a year.
func (c *court) inspection(r *Rule) error {
	var first, latest ledger.Date
	limit := r.LimitPercent[c.m.Class] / 100
	for _, a := range c.rate.Additions {
		if !a.Calculate || !r.on(a.Date) || !a.Over(c.m.Method, limit, c.m.FullCharge) {
			continue
		}
		if first.IsZero() || latest.AddYears(1).Before(a.Date) {
			first = a.Date
		}
		latest = a.Date
	}
	switch {
	case latest.IsZero():
		c.none(r, NotApplicable, c.whyNoCase(), ledger.Date{})
		return nil
	case !c.on.Before(latest.AddYears(1)):
		c.none(r, NotApplicable, ReasonReleased, latest)
		return nil
	case c.m.Detection:
		c.none(r, NotApplicable, ReasonDetection, latest)
		return nil
	}
	for _, b := range r.Bands {
		if !atLeast(c.m.FullCharge, b.MinLb) || len(b.Classes) > 0 && !slices.Contains(b.Classes, string(c.m.Class)) {
			continue
		}
		d := c.duty(r)
		done, ok := c.last(LeakInspection)
		if b.CalendarYear {
			d.Starts = first
			for y := first.Year(); ; y++ {
				from := ledger.Day(y, time.January, 1)
				if y == first.Year() {
					from = first
				}
				d.Starts, d.Due = from, ledger.Day(y, time.December, 31)
				if when, ok := c.first(from, LeakInspection); !ok || when.After(d.Due) {
					break
				}
			}
		} else {
			d.Starts = first
			if ok && done.After(first) {
				d.Starts = done
			}
			d.Due = d.Starts.AddMonths(b.Months)
		}
		var paused bool
		if d.Due, paused = c.suspend(d.Starts, d.Due); paused {
			d.Reason = ReasonMothballed
		}
		c.clock(d)
		return nil
	}
	c.none(r, NotApplicable, ReasonClass, ledger.Date{})
	return nil
}

// plan: a retrofit or retirement plan when a case was not brought to its end in time.
func (c *court) plan(r *Rule) error {
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

func (c *court) planDone(r *Rule) error {
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
func (c *court) chronic(r *Rule) error {
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

func (c *court) records(r *Rule) error {
	if len(c.m.Events) == 0 {
		c.none(r, NotApplicable, ReasonNothingRecorded, ledger.Date{})
		return nil
	}
	d := c.duty(r)
	d.Starts = c.m.Events[len(c.m.Events)-1].Date
	d.Due = d.Starts.AddYears(r.Years)
	d.State, d.Reason = Open, ReasonKeep
	if c.on.After(d.Due) {
		d.State = Met
	}
	c.out = append(c.out, d)
	return nil
}

// big reports whether the charge reaches a rule's size; ok is false when that cannot be known, and why says what is missing.
func (c *court) big(minLb, co2eT, hfoKg float64) (yes, ok bool, why string) {
	m := c.m
	switch {
	case m.FullCharge == 0:
		return false, false, ReasonChargeUnknown
	case minLb > 0:
		return atLeast(m.FullCharge, minLb), true, ""
	case !c.sub.Has("hfc"):
		// Unsaturated substances count by their weight; without a limit of their own they do not count.
		return hfoKg > 0 && reaches(float64(m.FullCharge)*c.sub.Groups["hfo"], hfoKg), true, ""
	case !c.gwp.Known:
		return false, false, ReasonGWPUnknown
	}
	return reaches(tonnes(m.FullCharge, c.gwp.GWP), co2eT), true, ""
}

// detection: large machines need a system that watches for leaks by itself.
func (c *court) detection(r *Rule) error {
	yes, ok, why := c.big(r.MinLb, r.MinCO2eT, r.MinHFOKg)
	switch {
	case !ok:
		c.none(r, Unknown, why, ledger.Date{})
		return nil
	case !yes:
		c.none(r, NotApplicable, ReasonSmall, ledger.Date{})
		return nil
	}
	d := c.duty(r)
	d.Starts = r.From
	if c.m.Installed.After(r.From) {
		d.Starts = c.m.Installed
	}
	switch {
	case r.Days > 0 && c.m.Installed.IsZero():
		c.none(r, Unknown, ReasonNoDate, ledger.Date{})
		return nil
	case r.Days > 0 && c.m.Installed.Before(r.InstalledFrom):
		c.none(r, NotApplicable, ReasonOldInstall, ledger.Date{})
		return nil
	case r.Days > 0 && c.m.Installed.Before(r.From):
		d.Due = r.ExistingUntil
	case r.Days > 0:
		d.Due = c.m.Installed.AddDays(r.Days)
	default:
		d.Due = d.Starts
	}
	if c.m.Detection {
		d.MetOn = d.Starts // the day is not known unless it was recorded
		if when, ok := c.last(DetectionStarted); ok {
			d.MetOn = when
		}
	}
	c.clock(d)
	return nil
}

func (c *court) audit(r *Rule) error {
	if !c.m.Detection {
		c.none(r, NotApplicable, ReasonNoDetection, ledger.Date{})
		return nil
	}
	d := c.duty(r)
	var ok bool
	if d.Starts, ok = c.last(DetectionAudit, DetectionStarted); !ok {
		c.none(r, Unknown, ReasonNoDate, ledger.Date{})
		return nil
	}
	d.Due = d.Starts.AddMonths(r.Months)
	c.clock(d)
	return nil
}

func (c *court) standing(r *Rule) error {
	c.none(r, Open, ReasonAlways, r.From)
	return nil
}

func (c *court) recovery(r *Rule) error {
	if c.m.FullCharge == 0 {
		c.none(r, Unknown, ReasonChargeUnknown, ledger.Date{})
		return nil
	}
	d := c.duty(r)
	d.Starts, d.State, d.Reason = r.From, Open, ReasonAlways
	for _, since := range []bool{false, true} {
		l, err := recoveryLevel(c.r, c.m.FullCharge, since)
		if fail.CodeOf(err) == fail.NoAnswer {
			c.none(r, Unknown, ReasonNoLevel, ledger.Date{})
			return nil
		}
		if err != nil {
			return err
		}
		key := map[bool]string{false: "inhg_before_1993", true: "inhg"}[since]
		if l.Pressure == "low" {
			key = map[bool]string{false: "mmhg_absolute_before_1993", true: "mmhg_absolute"}[since]
			d.arg(key, l.MmHg)
		} else {
			d.arg(key, l.InHg)
		}
		d.Trust = weaker(d.Trust, l.Trust)
	}
	c.out = append(c.out, d)
	return nil
}

// leakCheck: by CO₂ equivalent, or by weight where only unsaturated substances are in it.
func (c *court) leakCheck(r *Rule) error {
	if c.m.FullCharge == 0 {
		c.none(r, Unknown, ReasonChargeUnknown, ledger.Date{})
		return nil
	}
	var band *Band
	for i := range r.Bands {
		b := &r.Bands[i]
		yes, ok, why := c.big(0, b.MinCO2eT, b.MinHFOKg)
		if !ok {
			c.none(r, Unknown, why, ledger.Date{})
			return nil
		}
		if yes {
			band = b
		}
	}
	d := c.duty(r)
	if c.gwp.Known {
		d.arg("co2e_t", tonnes(c.m.FullCharge, c.gwp.GWP))
	}
	refuse := func(reason string) {
		d.State, d.Reason, d.Trust = NotApplicable, reason, weaker(r.Trust, r.LowTrust)
		c.out = append(c.out, d)
	}
	if band == nil {
		refuse(ReasonCO2eSmall)
		return nil
	}
	if c.m.Hermetic {
		if yes, _, _ := c.big(0, r.HermeticMinCO2eT, r.HermeticMinHFOKg); !yes {
			refuse(ReasonHermetic)
			return nil
		}
	}
	months := band.Months
	if c.m.Detection {
		months = band.MonthsWithDetection
	}
	d.arg("months", float64(months))
	d.Starts = c.m.Installed
	if done, ok := c.last(LeakInspection); ok {
		d.Starts = done
	}
	if d.Starts.IsZero() {
		d.State, d.Reason = Unknown, ReasonNoDate
		c.out = append(c.out, d)
		return nil
	}
	d.Due = d.Starts.AddMonths(months)
	c.clock(d)
	return nil
}

// recheck: after a repair, not on the day itself.
func (c *court) recheck(r *Rule) error {
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

func (c *court) repairSoon(r *Rule) error {
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

// serviceBan: gas above a warming potential may not be used to service machines; reclaimed or recycled gas may, for a while.
func (c *court) serviceBan(r *Rule) error {
	if !c.gwp.Known {
		c.none(r, Unknown, ReasonGWPUnknown, ledger.Date{})
		return nil
	}
	d := c.duty(r)
	d.Starts = r.From
	d.arg("gwp", c.gwp.GWP)
	d.arg("limit_gwp", r.MinGWP)
	switch {
	case !reaches(c.gwp.GWP, r.MinGWP) || r.BelowGWP > 0 && reaches(c.gwp.GWP, r.BelowGWP):
		d.State, d.Reason = NotApplicable, ReasonGWPBelow
	case r.MinCO2eT > 0 && c.m.FullCharge == 0:
		d.State, d.Reason = Unknown, ReasonChargeUnknown
	case r.MinCO2eT > 0 && !reaches(tonnes(c.m.FullCharge, c.gwp.GWP), r.MinCO2eT):
		d.State, d.Reason = NotApplicable, ReasonCO2eSmall
	case !r.ReclaimedUntil.IsZero() && c.on.Before(r.ReclaimedUntil):
		d.State, d.Reason, d.Due = Open, ReasonReclaimedOnly, r.ReclaimedUntil
	default:
		d.State, d.Reason = Open, ReasonBanned
	}
	c.out = append(c.out, d)
	return nil
}
