package plant

import (
	"math"

	"coldwright/machine/reading"
)

// headControl holds the condensing temperature at a set value while the condenser has surface to spare: by flooding
// it, which takes charge, or by its fans, which does not.
//
//   - assumes: holds exactly while it can, and does nothing above
//   - source: definition of the controls
type headControl struct {
	kind reading.HeadControl
	set  float64 // condensing dew temperature, K
}

func (h headControl) fitted() bool {
	return h.kind != reading.HeadNone && h.kind != reading.HeadUnknown
}

// airShare is the share of the condenser's air that moves while its fans hold the head, where the flow needs the
// share area of the surface at full air: the share of time of cycling fans, the share of speed of variable ones,
// whose capacity is just enough:
//
//		s (1 − exp(−NTU s^−n)) = area (1 − exp(−NTU))
//
//	  - limits: 1 at area ≥ 1
//	  - source: effectiveness of a condensing stream (definition); n as for lost air
func (h headControl) airShare(area, ntu float64) float64 {
	const least = 1e-3
	if area >= 1 {
		return 1
	}
	switch h.kind {
	case reading.FanCycling:
		return math.Max(area, least)
	case reading.VariableFan:
		full := 1 - math.Exp(-ntu)
		x := math.Log(math.Max(area, least)) // ln of the share
		n := coef.airSide.exponent
		for range 12 {
			k := ntu * math.Exp(-n*x)
			e := math.Exp(-k)
			f := x + math.Log((1-e)/full) - math.Log(math.Max(area, least))
			step := f / (1 - n*k*e/(1-e))
			x -= step
			if math.Abs(step) < 1e-12 {
				break
			}
		}
		return math.Exp(x)
	}
	return 1
}

// evaporatorRegulator closes when the coil's pressure falls below its setting.
//
//		p_out = p − k m²/(ρ a²),  a = 1 + (p − set)/(band·dp/dT), between nearly shut and 1
//
//	  - assumes: opens in proportion over its band; no hysteresis; enthalpy stays
//	  - limits: wide open well above its setting; nearly shut a band below
//	  - source: orifice relation (definition); band, loss wide open and corners are judgement, ours (coefficients.json,
//	    block evaporator_regulator)
type evaporatorRegulator struct {
	set        float64 // Pa; 0: none
	slope      float64 // sized: dp/dT at the coil's design pressure, Pa/K
	resistance float64 // sized: loss wide open times density, at design flow
}

func (r *evaporatorRegulator) fitted() bool { return r.set > 0 }

// opening over wide open, at the coil's pressure.
func (r *evaporatorRegulator) opening(p float64) float64 {
	k := &coef.evaporatorRegulator
	return softclip(1+(p-r.set)/(k.band*r.slope), k.shut, 1, k.corner)
}

// outlet is the pressure behind it.
func (r *evaporatorRegulator) outlet(m, p, rho float64) float64 {
	open := r.opening(p)
	return throttled(p-r.resistance*m*m/(rho*open*open), p)
}

// size fits a regulator whose coil has the pressure pe at design, and says what stands behind it there.
func (r *evaporatorRegulator) size(pe, rho float64) float64 {
	open := r.opening(pe)
	r.resistance = coef.evaporatorRegulator.openDrop * r.slope * rho
	return pe - r.resistance/(rho*open*open)
}

// crankcaseRegulator caps the pressure at the compressor.
//
//		p_out = p below its setting, towards the setting above: p − w ln(1 + exp((p − set)/w))
//
//	  - assumes: no loss while open; enthalpy stays
//	  - source: definition of the control; width w is judgement, ours (coefficients.json, block crankcase_regulator)
type crankcaseRegulator struct {
	set float64 // Pa; 0: none
}

func (r *crankcaseRegulator) fitted() bool { return r.set > 0 }

// outlet is the pressure behind it.
func (r *crankcaseRegulator) outlet(p float64) float64 {
	w := coef.crankcaseRegulator.width * r.set
	return p - w*softplus((p-r.set)/w)
}

// throttled keeps a pressure behind a throttle above a twentieth of the one ahead of it, so that a trial step with
// far too much flow stays a state with a slope.
func throttled(p, ahead float64) float64 {
	return 0.05*ahead + 0.02*ahead*softplus((p-0.05*ahead)/(0.02*ahead))
}

func softplus(x float64) float64 {
	if x > 30 {
		return x
	}
	return math.Log1p(math.Exp(x))
}

// softclip is x between lo and hi, with corners rounded over w.
func softclip(x, lo, hi, w float64) float64 {
	return lo + w*softplus((x-lo)/w) - w*softplus((x-hi)/w)
}
