package law

import (
	"slices"

	"coldwright/refrigerant"
	"coldwright/rules/ledger"
)

// assessment judges one machine by one instrument.
type assessment struct {
	m     *Machine
	on    ledger.Date
	in    *Instrument
	r     *refrigerant.Refrigerant
	sub   Substance
	gwp   ledger.Factor
	rate  ledger.Rate
	cases []exceedance
	// joined: an addition was taken to continue the one before without anybody saying so.
	joined bool
	out    []Duty
}

// exceedance is a leak rate over the limit and what was done about it.
type exceedance struct {
	start, since               ledger.Date // since: what was done from this day on may belong to it
	repaired, initial, follow  ledger.Date
	normal                     ledger.Date
	annualizing, rolling, over float64
}

func (c *assessment) judge() error {
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
func (c *assessment) rates(s Scope) error {
	in := ledger.RateInput{FullCharge: c.m.FullCharge, AsOf: c.on}
	if c.in.FirstCalculation != nil {
		in.Since = s.From
	}
	for _, e := range c.m.Events {
		switch {
		case e.Kind == Added:
			in.Moves = append(in.Moves, ledger.Move{Date: e.Date, Added: e.Mass, Reason: e.Reason, SameLeak: e.SameLeak})
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
	c.joined = slices.ContainsFunc(c.rate.Additions, func(a ledger.Addition) bool { return a.Assumed })
	rule := &c.in.Rules[i]
	limit := rule.LimitPercent[c.m.Class] / 100
	for k, a := range c.rate.Additions {
		if !a.Calculate || !rule.on(a.Date) || !a.Over(c.m.Method, limit, c.m.FullCharge) {
			continue
		}
		if n := len(c.cases); n > 0 && (c.cases[n-1].follow.IsZero() || !c.cases[n-1].follow.Before(a.Date)) {
			continue // the case before is still open
		}
		t := exceedance{start: a.Date, since: a.Date.AddDays(-30), annualizing: a.Annualizing, rolling: a.Rolling, over: limit}
		for k > 0 && c.rate.Additions[k].Continues {
			k-- // to the first addition of that leak
		}
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
func (c *assessment) first(from ledger.Date, kind EventKind) (ledger.Date, bool) {
	for _, e := range c.m.Events {
		if e.Kind == kind && !e.Failed && !e.Date.Before(from) {
			return e.Date, true
		}
	}
	return ledger.Date{}, false
}

// last returns the last day on which something of the kinds was done and passed.
func (c *assessment) last(kinds ...EventKind) (d ledger.Date, ok bool) {
	for _, e := range c.m.Events {
		if slices.Contains(kinds, e.Kind) && !e.Failed {
			d, ok = e.Date, true
		}
	}
	return d, ok
}

func (c *assessment) duty(r *Rule) Duty {
	return Duty{Code: r.Code, Instrument: c.in.Title, Article: r.Article, Edition: c.in.Edition, Trust: r.Trust, from: r.From}
}

// none adds a duty without a clock.
func (c *assessment) none(r *Rule, s State, reason string, starts ledger.Date) {
	d := c.duty(r)
	d.State, d.Reason, d.Starts = s, reason, starts
	c.out = append(c.out, d)
}

// clock adds a duty with a clock: met on a day, or open up to and on the due day, or overdue. What fell due before the
// rule was in force falls due on its first day.
func (c *assessment) clock(d Duty) {
	if !d.Due.IsZero() && d.Due.Before(d.from) {
		d.Due = d.from
	}
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
func (c *assessment) suspend(start, due ledger.Date) (moved ledger.Date, paused bool) {
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
func (c *assessment) whyNoCase() string {
	if c.rate.Last() == nil {
		return ReasonNoAddition
	}
	return ReasonNotOver
}

// kinds is what each kind of rule asks.
var kinds = map[string]func(*assessment, *Rule) error{
	"leak_rate":              (*assessment).leakRate,
	"repair":                 (*assessment).repair,
	"initial_verification":   (*assessment).initialTest,
	"follow_up_verification": (*assessment).followUp,
	"leak_inspection":        (*assessment).inspection,
	"plan":                   (*assessment).plan,
	"plan_done":              (*assessment).planDone,
	"chronic":                (*assessment).chronic,
	"records":                (*assessment).records,
	"detection":              (*assessment).detection,
	"detection_audit":        (*assessment).audit,
	"standing":               (*assessment).standing,
	"recovery":               (*assessment).recovery,
	"leak_check":             (*assessment).leakCheck,
	"recheck":                (*assessment).recheck,
	"repair_soon":            (*assessment).repairSoon,
	"service_ban":            (*assessment).serviceBan,
}
