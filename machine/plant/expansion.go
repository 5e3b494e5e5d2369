package plant

import (
	"math"

	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

// expansion feeds the coil: a valve that follows the superheat, an electronic valve that holds it, an orifice or a
// capillary.
//
//		flow at opening a   m = K a √(∫ρ dp)
//		valves              ∫ρ dp = ρ (p_v − p_e),  ρ = ρ_l (x ρ_l/ρ_v + 1 − x)^−γ with flash gas x ahead of it
//		capillary           see [expansion.capillary]
//		valve               a = 1 + (superheat − setting)/band, between nearly shut and wide open
//		electronic          superheat = setting, while the opening that takes is to be had
//		residual            ln(K a √(∫ρ dp)/m) = 0
//
//	  - assumes: enthalpy stays; no metastable liquid; the bulb feels the coil's outlet
//	  - limits: severity 0 leaves the healthy device; no pressure difference feeds next to nothing
//	  - source: orifice relation (definition); γ = 1 is the homogeneous mixture's density (definition); bands, corners
//	    and how a faulty valve behaves in coefficients.json, blocks design, valve and electronic_valve
type expansion struct {
	kind     reading.Expansion
	widest   float64 // wide open over design opening
	band     float64 // superheat change for the whole design opening, K
	gamma    float64 // flash-gas exponent; of a capillary, factor on how much the liquid flashes
	setting  float64 // sized: superheat, K
	constant float64 // sized: K
	tube     shortTube
}

// expansionIn is the liquid that arrives, where it goes, and the superheat that the device answers to.
type expansionIn struct {
	m          float64 // kg/s per design kg/s
	h, p       float64 // J/kg, Pa ahead of it
	pe         float64 // Pa behind it
	hfg        float64 // heat of evaporation that vapour shares ahead of it are counted with, J/kg
	bulb       float64 // superheat, below zero where the coil is flooded, K
	less, more float64 // opening lost to a fault; excess opening
}

// residual is ln(what the device passes over the flow), with a corner for electronic valves.
func (e *expansion) residual(f *refrigerant.Fit, in expansionIn) float64 {
	through := 0.5 * math.Log(e.constant*e.constant*e.throttle(f, in.h, in.p, in.pe, in.hfg)/(in.m*in.m)) // at opening 1
	switch e.kind {
	case reading.Orifice, reading.Capillary:
		return through + math.Log((1-in.less)*(1+in.more))
	case reading.ElectronicValve:
		return e.electronic(through, in)
	default:
		return through + math.Log(e.opening(in))
	}
}

// opening of a valve over its design opening.
func (e *expansion) opening(in expansionIn) float64 {
	k := &coef.valve
	set := e.setting * (1 - k.overSetting*in.more)
	return softclip(1+(in.bulb-set)/e.band, k.shut, e.widest, k.corner) * (1 - in.less) * (1 + k.overOpening*in.more)
}

// electronic is the residual of a valve that holds its superheat exactly while it can: fully open below, closed as
// far as it goes above. A stuck one has lost its authority on one side: it opens no further than what is left of the
// design opening, or closes no further than the excess.
func (e *expansion) electronic(through float64, in expansionIn) float64 {
	k := &coef.electronicValve
	widest := (1 - in.less) * (1 + (e.widest-1)*math.Exp(-in.less/k.step))
	least := k.least
	if in.more > 0 {
		x := math.Exp(-in.more / k.step)
		least = k.least*x + (1+coef.valve.overOpening*in.more)*(1-x)
	}
	w := k.corner // in ln of the flow
	hi, lo, hold := through+math.Log(widest), through+math.Log(least), in.bulb-e.setting
	r := lo + w*softplus((hold-lo)/w)
	return r - w*softplus((r-hi)/w)
}

// least is what passes in the square where there is no pressure difference, Pa·kg/m³: next to nothing, not nothing, so
// that a trial step stays a number.
const least = 1

// throttle is the square of the flow through a device of constant 1, kg²/s² per m⁴ of its constant: density times pressure difference.
func (e *expansion) throttle(f *refrigerant.Fit, h, p, pe, hfg float64) float64 {
	switch e.kind {
	case reading.Capillary:
		return math.Max(e.capillary(f, h, p, pe, hfg), least)
	case reading.Orifice:
		return e.tube.squared(f, h, p, pe, hfg, e.gamma)
	}
	return e.density(f, h, p, hfg) * math.Max(p-pe, least)
}

// density is what a valve's seat sees: liquid, thinned by flash gas.
func (e *expansion) density(f *refrigerant.Fit, h, p, hfg float64) float64 {
	tb := f.BubbleP(p)
	hf, _ := f.LiquidH(tb)
	rl := f.LiquidRho(tb)
	x := (h - hf) / hfg
	if x <= 0 {
		return rl
	}
	rv, _, _ := f.DewVapour(f.DewP(p))
	return rl * math.Exp(-e.gamma*math.Log(x*rl/rv+1-x))
}

// capillary is ∫ρ dp along a long tube with friction: liquid down to its bubble pressure p₀, then flashing at constant enthalpy.
//
//	ρ/ρ₀ = 1/(1 + ω(p₀/p − 1)),  ω = x₀v_fg/v₀ + c_p T₀p₀/v₀·(v_fg/h_fg)²
//	∫ρ dp = ρ₀(p_v − p₀) + ρ₀p₀[−(1−η)/(ω−1) + ω/(ω−1)²·ln(ω − (ω−1)η)],  η = p_e/p₀
//
// The lower end adds as η²: far down the tube passes no more, which is what choked means here. Acceleration,
// metastable liquid and viscosity are left out; the factor of the tube is sized at the design point. Source: the
// one-parameter equation of flashing liquid, Leung (1986), AIChE J. 32:1743 (from memory); the integral is ours.
// Checked against charts of measured capillaries in the test.
func (e *expansion) capillary(f *refrigerant.Fit, h, p, pe, hfg float64) float64 {
	tb := f.BubbleP(p)
	hf, cp := f.LiquidH(tb)
	x := math.Max(0, (h-hf)/hfg)
	t0, p0, h0 := tb, p, hf
	if x == 0 {
		// Two Newton steps to the temperature of the liquid.
		t0 = tb + (h-hf)/cp
		hl, c := f.LiquidH(t0)
		t0 += (h - hl) / c
		p0 = f.BubbleT(t0)
		h0, cp = f.LiquidH(t0)
	}
	rl := f.LiquidRho(t0)
	rv, hv, _ := f.DewVapour(f.DewP(p0))
	vfg := 1/rv - 1/rl
	v0 := 1/rl + x*vfg
	r := vfg / (hv - h0)
	const least = 1.05 // of ω: the integral is written for ω above 1, which all refrigerants here are
	omega := math.Max(least, e.gamma*(x*vfg/v0+cp*t0*p0/v0*r*r))
	if p0 <= pe {
		return (p - pe) / v0
	}
	eta := pe / p0
	k := omega - 1
	return (p - p0 + p0*(omega/(k*k)*math.Log(omega-k*eta)-(1-eta)/k)) / v0
}

// size fits the device for its design point, where its flow is 1 at opening 1.
func (e *expansion) size(f *refrigerant.Fit, superheat, h, p, pe, hfg float64) {
	e.setting = superheat
	e.constant = 1 / math.Sqrt(e.throttle(f, h, p, pe, hfg))
}
