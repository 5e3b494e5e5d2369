package diagnose

import (
	"math"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// powerReference is what a machine's compressor draws at its design point. No plate states it; a healthy visit at which
// the power was read tells it, because the model gives power as a share of the design point's. The mean is that of
// logarithms, each visit weighed by what its instrument and the model leave open of it.
type powerReference struct{ weight, sum float64 }

// powerMinutes is the time to take the power of all phases. Common practice, no source.
const powerMinutes = 5.0

// powerDiscrepancy is what the model gets wrong of a share of power from one visit to the next: of its error the lasting
// part is in the healthy visit too and drops out.
var powerDiscrepancy = math.Sqrt(1-lastingShare) * channels[reading.Amps].discrepancy

// learn takes the power read at a healthy visit at which the model has this share of the design point's.
func (p *powerReference) learn(s reading.Sheet, share float64) {
	r, ok := s.Find(reading.Power)
	if !ok || r.Value <= 0 || share <= 0 {
		return
	}
	sd := math.Hypot(r.Uncertainty()/r.Value, powerDiscrepancy/share)
	w := 1 / (sd * sd)
	p.weight += w
	p.sum += w * math.Log(r.Value/share)
}

// watts is the power at the design point, 0 while nothing is known of it.
func (p *powerReference) watts() float64 {
	if p.weight == 0 {
		return 0
	}
	return math.Exp(p.sum / p.weight)
}

// channel ties a place to the model. Power has one only where a healthy visit says what it is a share of.
func (q *problem) channel(p reading.Place) (channel, bool) {
	if p == reading.HeaterAmps {
		return channel{discrepancy: heaterSpread, minutes: heaterMinutes}, fault.DefrostHeater.Applies(q.m, 0)
	}
	if p != reading.Power {
		c, ok := channels[p]
		return c, ok
	}
	if q.e.power.weight == 0 {
		return channel{}, false
	}
	return channel{plant.PowerRatio, math.Sqrt(powerDiscrepancy*powerDiscrepancy + 1/q.e.power.weight), powerMinutes}, true
}

// full is what a share of one stands for: rated current, A, or the power at the design point, W; 0 where it is unknown.
func (q *problem) full(p reading.Place) float64 {
	switch p {
	case reading.Amps:
		return q.m.RatedAmps
	case reading.Power:
		return q.e.power.watts()
	}
	return 0
}

// readPower adds the power read today to what is judged, where there is something to compare it with.
func (q *problem) readPower() {
	r, ok := q.sheet.Find(reading.Power)
	c, known := q.channel(reading.Power)
	if !ok || !known || len(q.e.obs) == maxObs {
		return
	}
	full := q.full(reading.Power)
	q.e.obs = append(q.e.obs, observation{
		at:          reading.Power,
		out:         c.out,
		y:           r.Value / full,
		measure:     r.Uncertainty() / full,
		discrepancy: c.discrepancy * q.e.inflate,
		measured:    r.Value,
		full:        full,
		tails:       &heavy,
	})
}
