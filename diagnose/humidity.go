package diagnose

import (
	"math"

	"coldwright/air"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/verdict/threshold"
)

const driest, dampest = 0.02, 0.98 // beyond, the logit says more than a wick does

// relative is the humidity of a logit.
func relative(logit float64) float64 { return 1 / (1 + math.Exp(-logit)) }

// odds is the logit of a relative humidity.
func odds(rh float64) float64 {
	rh = math.Min(dampest, math.Max(driest, rh))
	return math.Log(rh / (1 - rh))
}

// moisture is one thing read of the air at the coil: the logit of its relative humidity, and its standard uncertainty.
type moisture struct{ mid, u float64 }

// moist takes what a wick or a hygrometer says; false where it says nothing of this air.
func (e *evidence) moist(r reading.Reading, p float64) (out moisture, ok bool) {
	at := func(v float64) float64 { return odds(v) } // a hygrometer's
	if r.At == reading.BoxWetBulb {
		if r.Value > e.boxT+2*math.Hypot(r.Uncertainty(), e.boxU) {
			return out, false
		}
		at = func(wet float64) float64 {
			if a, err := air.FromWetBulb(e.boxT, math.Min(wet, e.boxT), p); err == nil {
				return odds(a.RH)
			}
			return odds(driest) // drier than dry air: the wick reads too cold
		}
	}
	u := 0.5 * (at(r.Value+r.Uncertainty()) - at(r.Value-r.Uncertainty()))
	return moisture{at(r.Value), math.Max(0.05, u)}, true
}

// humidity is what a wet bulb and a hygrometer say of the air at the coil: the logit of its relative humidity over that
// of the coil's design, with its standard uncertainty; zero uncertainty where nothing is said, or the coil counts as
// dry. apart says how far the two disagree, in standard deviations.
//
//   - assumes: a wet bulb above the box air, within their uncertainties, is saturated air; farther above it is not used
//     (its finding says so); the box air's own error moves the humidity less than the wet bulb's and is left out; below
//     0 °C a hygrometer's per cent are taken over ice, 5 % off at −5 °C
//   - source: [air.FromWetBulb]
func humidity(s reading.Sheet, m reading.Resolved, e *evidence) (logit, u, apart float64) {
	d := plant.FromMachine(m)
	if d.Humidity == 0 || !e.boxRead {
		return 0, 0, 0
	}
	var read []moisture
	for _, at := range []reading.Place{reading.BoxWetBulb, reading.BoxHumidity} {
		if r, ok := s.Find(at); ok {
			if x, ok := e.moist(r, float64(m.AmbientPressure)); ok {
				read = append(read, x)
			}
		}
	}
	if len(read) == 0 {
		return 0, 0, 0
	}
	weight, sum := 0.0, 0.0
	for _, x := range read {
		w := 1 / (x.u * x.u)
		weight, sum = weight+w, sum+w*x.mid
	}
	u = 1 / math.Sqrt(weight)
	if len(read) == 2 {
		apart = math.Abs(read[0].mid-read[1].mid) / math.Hypot(read[0].u, read[1].u)
		if apart > threshold.FarOff { // one of them is wrong: what is known is no more than their distance
			u = math.Max(u, 0.5*math.Abs(read[0].mid-read[1].mid))
		}
	}
	return sum/weight - odds(d.Humidity), u, apart
}

// wets reports whether water settles on this coil, so that the humidity of its air counts.
func (q *problem) wets() bool { return q.design.Humidity > 0 && q.e.boxRead }

// humidityOf is the logit of the humidity of the air at the coil under a hypothesis.
func (q *problem) humidityOf(h *hypothesis, x *[maxParams]float64) float64 {
	d, in, _ := q.machineAt(h, x)
	if in.Humidity == 0 {
		return odds(d.Humidity)
	}
	return odds(in.Humidity)
}

// wetBulb is the wet bulb of the box air, K, at a logit of its humidity.
func (q *problem) wetBulb(logit float64) float64 {
	b, err := air.WetBulb(q.e.boxT, relative(logit), float64(q.m.AmbientPressure))
	if err != nil {
		return math.NaN()
	}
	return b
}

// moistureError is what a wick or a hygrometer that shows v would leave open of the logit of the humidity.
func (q *problem) moistureError(at reading.Place, v float64) float64 {
	x, ok := q.e.moist(reading.Reading{At: at, Value: v}, float64(q.m.AmbientPressure))
	if !ok || math.IsNaN(v) {
		return 1
	}
	return x.u
}
