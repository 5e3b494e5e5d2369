package diagnose

import (
	"math"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// drawn is what a machine's compressor draws at its design point, A or W: the model gives current and power as shares of
// that. Its plate tells it roughly, a healthy visit at which it was read well. The mean is that of logarithms, each
// source weighed by what it leaves open.
type drawn struct{ weight, sum float64 }

// powerMinutes is the time to take the power of all phases. Common practice, no source.
const powerMinutes = 5.0

// What plates say of the current and the power at the design point of the machine the compressor works in, as a factor
// on what is printed and the standard deviation of its logarithm. A rated-load current is the protector's must-trip
// current over 1.4 to 1.56, so that running ones are 0.6 to 0.9 of it; a rated current or input of a maker's rating point
// is met within a fifth. Locked rotors take five to seven times the rated current. A capacity is that of a rating point,
// and the efficiency that makes power of it is not on the plate. Judgement, ours, but for the factor 1.56 (UL 60335-2-34,
// from memory): no survey of running currents against plates was found.
const (
	plateCurrent, plateCurrentSd   = 0.9, 0.22
	lockedCurrent, lockedCurrentSd = 0.9 / 6, 0.3
	platePower, platePowerSd       = 0.95, 0.2
	plateCapacitySd                = 0.25
)

// yearly is what the model gets wrong of a share of current or power from one visit to the next: of its error the lasting
// part is in the healthy visit too and drops out.
var yearly = math.Sqrt(1-lastingShare) * channels[reading.Amps].discrepancy

// add takes one more value with the standard deviation of its logarithm.
func (d *drawn) add(value, sd float64) {
	w := 1 / (sd * sd)
	d.weight += w
	d.sum += w * math.Log(value)
}

// learn takes what was read at a healthy visit at which the model has this share of the design point's.
func (d *drawn) learn(s reading.Sheet, at reading.Place, share float64) {
	r, ok := s.Find(at)
	if !ok || r.Value <= 0 || share <= 0 {
		return
	}
	d.add(r.Value/share, math.Hypot(r.Uncertainty()/r.Value, yearly/share))
}

// full is what is drawn at the design point, 0 while nothing is known of it.
func (d *drawn) full() float64 {
	if d.weight == 0 {
		return 0
	}
	return math.Exp(d.sum / d.weight)
}

// readPlate takes what the plate says of current and power; cop is what the model has of capacity over power at the
// design point.
func (e *evidence) readPlate(m reading.Resolved, cop float64) {
	switch {
	case m.RatedAmps > 0:
		e.amps.add(plateCurrent*m.RatedAmps, plateCurrentSd)
	case m.LockedAmps > 0:
		e.amps.add(lockedCurrent*m.LockedAmps, lockedCurrentSd)
	}
	if m.RatedPower > 0 {
		e.power.add(platePower*m.RatedPower, platePowerSd)
	}
	if m.RatedCapacity > 0 && cop > 0 {
		e.power.add(m.RatedCapacity/cop, plateCapacitySd)
	}
}

// drawnAt is what is known of the current or power of the compressor; nil for other places.
func (e *evidence) drawnAt(p reading.Place) *drawn {
	switch p {
	case reading.Amps:
		return &e.amps
	case reading.Power:
		return &e.power
	}
	return nil
}

// channel ties a place to the model. Current and power have one only where a plate or a healthy visit says what they are
// a share of.
func (q *problem) channel(p reading.Place) (channel, bool) {
	if p == reading.HeaterAmps {
		return channel{discrepancy: heaterSpread, minutes: heaterMinutes}, fault.DefrostHeater.Applies(q.m, 0)
	}
	c, ok := channels[p]
	d := q.e.drawnAt(p)
	if d == nil {
		return c, ok
	}
	if d.weight == 0 {
		return channel{}, false
	}
	if p == reading.Power {
		c = channel{plant.PowerRatio, 0, powerMinutes}
	}
	c.discrepancy = math.Sqrt(yearly*yearly + 1/d.weight)
	return c, true
}

// full is what a share of one stands for: current, A, or power, W, at the design point; 0 where it is unknown.
func (q *problem) full(p reading.Place) float64 {
	if d := q.e.drawnAt(p); d != nil {
		return d.full()
	}
	return 0
}

// readDrawn adds the current and the power read today to what is judged, where there is something to compare them with.
func (q *problem) readDrawn() {
	for _, at := range []reading.Place{reading.Amps, reading.Power} {
		r, ok := q.sheet.Find(at)
		c, known := q.channel(at)
		if !ok || !known || len(q.e.obs) == maxObs {
			continue
		}
		full := q.full(at)
		q.e.obs = append(q.e.obs, observation{
			at:          at,
			out:         c.out,
			y:           r.Value / full,
			measure:     r.Uncertainty() / full,
			discrepancy: c.discrepancy * q.e.inflate,
			measured:    r.Value,
			full:        full,
			tails:       &heavy,
		})
	}
}
