package verdict

import (
	"coldwright/diagnose"
	"coldwright/proof/pulldown"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// Coming is a box that is not cold yet while its machine's readings all stand in band: what is left is time.
type Coming struct {
	Readings int        // in band, all that were read
	SetPoint units.Temp //
	Minutes  pulldown.Interval
	Late     bool // the upper end is a day or more: how late it may be is not known
}

// OfComing is that, of the readings and the pull-down of the same end of a visit.
//
//   - in: the judgement and its posterior, the pull-down's result and set point; nil: not there
//   - out: nil where a reading stands outside its band, or a cause is likely, or an instrument is proven wrong; where the
//     pull-down is over, too short, has stopped falling or gets warmer; where the set point is not in sight
func OfComing(j *Judgement, p *diagnose.Posterior, r *pulldown.Result, set units.Temp) *Coming {
	if j == nil || p == nil || j.Healthy == No || len(j.Instruments) > 0 || len(j.Sights) > 0 {
		return nil
	}
	if r == nil || r.ToSetPoint == nil || r.ToSetPoint.Mid >= threshold.PullInSight {
		return nil
	}
	switch r.Verdict {
	case pulldown.Falling, pulldown.Undecided, pulldown.Slow:
	default:
		return nil
	}
	c := &Coming{SetPoint: set, Minutes: *r.ToSetPoint, Late: r.ToSetPoint.High >= threshold.PullDay}
	for _, e := range p.Expected {
		switch {
		case !e.Read:
		case !e.In:
			return nil
		default:
			c.Readings++
		}
	}
	if c.Readings < threshold.EnoughToJudge {
		return nil
	}
	return c
}
