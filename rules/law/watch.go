package law

import (
	"slices"
	"time"

	"coldwright/rules/ledger"
)

// inspection: after the limit was passed, until the machine stayed under it for a year.
func (c *assessment) inspection(r *Rule) error {
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

// big reports whether the charge reaches a rule's size; ok is false when that cannot be known, and why says what is missing.
func (c *assessment) big(minLb, co2eT, hfoKg float64) (yes, ok bool, why string) {
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
func (c *assessment) detection(r *Rule) error {
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

// leakCheck: by CO₂ equivalent, or by weight where only unsaturated substances are in it.
func (c *assessment) leakCheck(r *Rule) error {
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
		// In a residential building the weight counts in place of the CO₂ equivalent: 2024/573 article 5(1), third
		// subparagraph, derogates from the second. Taken so that a machine beyond that weight is checked: the safe side.
		big, _, _ := c.big(0, r.HermeticMinCO2eT, r.HermeticMinHFOKg)
		if c.m.Residential && r.ResidentialMinKg > 0 {
			big = reaches(float64(c.m.FullCharge)*(c.sub.Groups["hfc"]+c.sub.Groups["hfo"]), r.ResidentialMinKg)
		}
		if !big {
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
	if !d.Starts.IsZero() && d.Starts.Before(r.From) {
		d.Starts = r.From // nobody had to check by this rule before
	}
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
