package diagnose

import (
	"math"

	"coldwright/air"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// humidity is what a wet bulb says of the air at the coil: the logit of its relative humidity over that of the coil's
// design, with its standard uncertainty; zero uncertainty where nothing is said, or the coil counts as dry.
//
//   - assumes: a wet bulb above the box air, within their uncertainties, is saturated air; farther above it is not used
//     (its finding says so); the box air's own error moves the humidity less than the wet bulb's and is left out
//   - source: [air.FromWetBulb]
func humidity(s reading.Sheet, m reading.Resolved, e *evidence) (logit, u float64) {
	const driest, dampest = 0.02, 0.98 // beyond, the logit says more than a wick does
	r, ok := s.Find(reading.BoxWetBulb)
	d := plant.FromMachine(m)
	if !ok || d.Humidity == 0 || !e.boxRead || r.Value > e.boxT+2*math.Hypot(r.Uncertainty(), e.boxU) {
		return 0, 0
	}
	at := func(wet float64) float64 {
		if a, err := air.FromWetBulb(e.boxT, math.Min(wet, e.boxT), float64(m.AmbientPressure)); err == nil {
			return math.Min(dampest, math.Max(driest, a.RH))
		}
		return driest // drier than dry air: the wick reads too cold
	}
	odds := func(rh float64) float64 { return math.Log(rh / (1 - rh)) }
	mid := odds(at(r.Value))
	u = 0.5 * (odds(at(r.Value+r.Uncertainty())) - odds(at(r.Value-r.Uncertainty())))
	return mid - odds(d.Humidity), math.Max(0.05, u)
}
