package diagnose

import (
	"math"

	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/verdict/threshold"
)

// Codes of what is certain by itself and therefore said first, whatever the readings make of the cause: nobody needs a
// probability for a fan that stands still before his eyes.
const (
	HeadAtCutOut         = "head_at_cut_out" // read, not seen: a machine that must be stopped
	CondenserFansStopped = "condenser_fans_stopped"
	CoilFansStopped      = "coil_fans_stopped"
	CondenserDirtHeavy   = "condenser_dirt_heavy"
	CoilIceHeavy         = "coil_ice_heavy"
	HeaterDraws          = "defrost_heater_draws" // while the machine cools
)

// SightCodes lists them, the most urgent first.
func SightCodes() []string {
	return []string{HeadAtCutOut, CondenserFansStopped, CoilFansStopped, HeaterDraws, CondenserDirtHeavy, CoilIceHeavy}
}

// SightCause is the cause that was seen; Unknown where the sight does not say which.
func SightCause(code string) fault.Code {
	switch code {
	case CondenserFansStopped, CondenserDirtHeavy:
		return fault.CondenserAir
	case CoilFansStopped, CoilIceHeavy:
		return fault.CoilAir
	case HeaterDraws:
		return fault.DefrostHeater
	}
	return fault.Unknown
}

// sights are what is certain by itself at this visit. Fans that a head control stops are no finding.
func (q *problem) sights() (out []reading.Finding) {
	add := func(code, at string, args map[string]float64) {
		out = append(out, reading.Finding{Code: code, Severity: reading.Warn, At: []string{at}, Args: args})
	}
	_, hi := q.f.PRange()
	limit := math.Min(hi, q.f.DewT(threshold.CutOutT))
	for _, p := range []reading.Place{reading.DischargePressure, reading.LiquidPressure} {
		if r, ok := q.sheet.Find(p); ok && r.Value >= limit {
			add(HeadAtCutOut, p.String(), map[string]float64{"pressure_pa": r.Value, "limit_pa": limit})
			break
		}
	}
	seen := q.e.seen
	if s := still(seen.CondenserFans); s > 0 && !byFans(q.m.HeadControl) {
		add(CondenserFansStopped, "condenser_fans", map[string]float64{"share": s})
	}
	if s := still(seen.CoilFans); s > 0 {
		add(CoilFansStopped, "coil_fans", map[string]float64{"share": s})
	}
	if _, known := q.channel(reading.HeaterAmps); known {
		if r, ok := q.sheet.Find(reading.HeaterAmps); ok && r.Value >= heaterHalf {
			add(HeaterDraws, reading.HeaterAmps.String(), map[string]float64{"amps": r.Value})
		}
	}
	if seen.CondenserDirt == reading.Heavy {
		add(CondenserDirtHeavy, "condenser_dirt", nil)
	}
	if seen.CoilIce == reading.Heavy {
		add(CoilIceHeavy, "coil_ice", nil)
	}
	return out
}
