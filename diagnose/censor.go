package diagnose

import (
	"math"

	"coldwright/num"
	"coldwright/refrigerant"
)

// censor says what an observation is worth whose value lies beyond what the refrigerant is known for: no temperature
// belongs to it, but that it is at least, or at most, the last known one is certain.
type censor int

const (
	exact censor = iota
	atLeast
	atMost
)

// within returns the pressure a reading counts as, Pa: itself where the fit knows it, else the end of the fit it lies
// beyond.
func within(p float64, f *refrigerant.Fit) (float64, censor) {
	switch lo, hi := f.PRange(); {
	case p > hi:
		return hi, atLeast
	case p < lo:
		return lo, atMost
	}
	return p, exact
}

// residual is how far the observation stands from a prediction; of a censored one nothing where the prediction lies
// beyond the limit as well.
func (o *observation) residual(pred float64) float64 {
	r := o.y - pred
	switch o.censored {
	case atLeast:
		return math.Max(0, r)
	case atMost:
		return math.Min(0, r)
	}
	return r
}

// log is the log density of the observation at a prediction with a standard deviation; of a censored one the log
// probability of reading the limit or beyond.
func (o *observation) log(pred, sd float64) float64 {
	switch o.censored {
	case atLeast:
		return o.tails.logAbove(o.y-pred, sd)
	case atMost:
		return o.tails.logAbove(pred-o.y, sd)
	}
	return o.tails.log(o.y-pred, sd)
}

// slopeOfLog is the derivative of log along the prediction, and what curvature a Gauss–Newton step takes of it.
func (o *observation) slopeOfLog(pred float64) (slope, curve float64) {
	sd := o.sigma()
	nu, s := o.tails.nu, sd*o.tails.scale
	r := o.y - pred
	if o.censored == exact {
		w := (nu + 1) / (nu*s*s + r*r)
		return w * r, w
	}
	side := 1.0
	if o.censored == atMost {
		side, r = -1, -r
	}
	// The hazard of the tail; a step as long as what is missing, and one deviation more, is about right.
	hazard := math.Exp(o.tails.log(r, sd) - o.tails.logAbove(r, sd))
	return side * hazard, hazard / (math.Max(r, 0) + s)
}

// logAbove is the log probability of a residual above r with standard deviation sd.
func (t *tails) logAbove(r, sd float64) float64 {
	return math.Log(math.Max(1e-300, num.StudentAbove(t.nu, r/(sd*t.scale))))
}
