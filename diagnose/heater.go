package diagnose

import (
	"math"

	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// A defrost heater's current while the machine cools tells one thing: that it is on, or not. Its size is on no plate, so
// the model's term is I/(I + 2 A): nothing at rest, 0.6 to 0.95 for the 3 to 40 A of heaters that are on. Common
// practice, no source.
const (
	heaterHalf    = 2.0 // A
	heaterOn      = 0.8 // of what is on: 8 A
	heaterMeasure = 0.03
	heaterSpread  = 0.10 // of what is on, and of what leaks through a meter held beside a live wire
	heaterMinutes = 4.0
	heaterMost    = 0.97 // beyond it a current says no more
)

func heaterTerm(amps float64) float64 { return amps / (amps + heaterHalf) }

func heaterAmps(y float64) float64 {
	y = math.Max(0, math.Min(heaterMost, y))
	return heaterHalf * y / (1 - y)
}

// heaterShows is the model's term of a hypothesis.
func heaterShows(h *hypothesis) float64 {
	for _, f := range h.faults {
		if f.Code == fault.DefrostHeater {
			return heaterOn
		}
	}
	return 0
}

// readHeater adds a heater's current to what is judged, on machines that have one.
func (e *evidence) readHeater(s reading.Sheet, m reading.Resolved, inflate float64) {
	r, ok := s.Find(reading.HeaterAmps)
	if !ok || !fault.DefrostHeater.Applies(m, 0) {
		return
	}
	e.obs = append(e.obs, observation{
		at:          reading.HeaterAmps,
		y:           heaterTerm(r.Value),
		measure:     heaterMeasure,
		discrepancy: heaterSpread * inflate,
		measured:    r.Value,
		tails:       &light, // what is on is a hypothesis of its own
		heater:      true,
	})
}
