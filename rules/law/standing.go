package law

import (
	"slices"

	"coldwright/fail"
	"coldwright/rules/ledger"
)

func (c *assessment) records(r *Rule) error {
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

func (c *assessment) audit(r *Rule) error {
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

func (c *assessment) standing(r *Rule) error {
	c.none(r, Open, ReasonAlways, r.From)
	return nil
}

func (c *assessment) recovery(r *Rule) error {
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

// serviceBan: gas above a warming potential may not be used to service machines; reclaimed or recycled gas may, for a while.
func (c *assessment) serviceBan(r *Rule) error {
	if !c.gwp.Known {
		c.none(r, Unknown, ReasonGWPUnknown, ledger.Date{})
		return nil
	}
	d := c.duty(r)
	d.Starts = r.From
	d.arg("gwp", c.gwp.GWP)
	d.arg("limit_gwp", r.MinGWP)
	switch {
	case c.m.Exempt != "" && slices.Contains(r.Exempt, c.m.Exempt):
		d.State, d.Reason = NotApplicable, ReasonExempt
	case !reaches(c.gwp.GWP, r.MinGWP) || r.BelowGWP > 0 && reaches(c.gwp.GWP, r.BelowGWP):
		d.State, d.Reason = NotApplicable, ReasonGWPBelow
	case r.MinCO2eT > 0 && c.m.FullCharge == 0:
		d.State, d.Reason = Unknown, ReasonChargeUnknown
	case r.MinCO2eT > 0 && !reaches(tonnes(c.m.FullCharge, c.gwp.GWP), r.MinCO2eT):
		d.State, d.Reason = NotApplicable, ReasonCO2eSmall
	case !r.ReclaimedUntil.IsZero() && c.on.Before(r.ReclaimedUntil):
		d.State, d.Reason, d.Due = Open, ReasonReclaimedOnly, r.ReclaimedUntil
	case r.ReclaimedAlways:
		d.State, d.Reason = Open, ReasonReclaimedAlways
	default:
		d.State, d.Reason = Open, ReasonBanned
	}
	c.out = append(c.out, d)
	return nil
}
