package plant

import (
	"math"

	"coldwright/air"
	"coldwright/units"
	"coldwright/water"
)

// moistAir is the air that enters a coil on which water settles, with its saturation line near the coil.
type moistAir struct {
	h, cp     float64 // entering, per kilogram of dry air: J/kg, J/(kg K)
	p         float64 // Pa
	t, pt, b  float64 // saturation p_w = pt exp(b (1/t − 1/T))
	humid, at float64 // what it was made for: relative humidity, K
}

// moist is air of temperature T, K, and relative humidity rh at a pressure, near a coil of temperature near.
//
//   - in: K; 0 to 1; Pa; K
//   - out: the air, its saturation pressure within 0.5 % from 15 K below to 15 K above near, on one side of freezing
//   - errors: none; beyond what moist air can be, the nearest that it can
//   - source: [air.FromRH]; saturation as [water.Curve], between two of its points as Clausius and Clapeyron have it
//   - cost: three saturation pressures
func moist(T, rh, p, near float64) moistAir {
	const apart = 6.0 // K between the points
	a := moistAir{p: p, humid: rh, at: T, cp: dryAir}
	if s, err := air.FromRH(T, math.Min(1, math.Max(0.001, rh)), p); err == nil {
		a.h, a.cp = s.H, dryAir+s.W*vapourAir
	}
	a.t = near
	a.pt = water.Curve(a.t)
	a.b = math.Log(water.Curve(a.t+apart)/a.pt) / (1/a.t - 1/(a.t+apart))
	return a
}

// warmed is the air dT warmer, with the water it had.
func (a *moistAir) warmed(dT float64) *moistAir {
	b := *a
	b.h += b.cp * dT
	return &b
}

// Of moist air: ASHRAE Fundamentals (2017), ch. 1, Eq. (20), (28) to (30).
const (
	dryAir    = 1006.0   // J/(kg K)
	vapourAir = 1860.0   // J/(kg K)
	latentAir = 2501e3   // J/kg at 0 °C
	molarAir  = 0.621945 // molar mass of water over that of dry air
)

// saturated is the enthalpy of air saturated at T, J/kg, with its slope, J/(kg K).
func (a *moistAir) saturated(T float64) (h, slope float64) {
	pw := math.Min(0.5*a.p, a.pt*math.Exp(a.b*(1/a.t-1/T)))
	w := molarAir * pw / (a.p - pw)
	t := T - units.ZeroC
	latent := latentAir + vapourAir*t
	return dryAir*t + w*latent, dryAir + w*vapourAir + latent*w*a.p/(a.p-pw)*a.b/(T*T)
}

// wetSurface is what a coil's surface takes from moist air over what it would take from dry air.
//
//	wet   β = ε_w (h_in − h_s(T_m))/(ε c_p (T_in − T_m)),  ε_w = 1 − exp(−NTU_w)
//	      NTU_w = NTU/(1 − φ + φ c_s/c_p),  c_s = dh_s/dT at T_m
//	else  β = 1
//
// T_m is the mean temperature of the refrigerant, h_s the enthalpy of saturated air, φ the share of the resistance that
// lies inside. The larger of the two holds, with a corner.
//
//   - assumes: the surface is wet all over or not at all; Lewis number 1; frost takes what water does, its heat of fusion
//     left out; where the refrigerant is superheated the surface is dry
//   - limits: dry air gives 1; no refrigerant-side resistance, the enthalpy difference over the sensible one
//   - source: Braun, Klein and Mitchell (1989), ASHRAE Transactions 95(1), the larger of wet and dry as Braun's thesis
//     (1988) has it (both from memory); φ in coefficients.json, block evaporator
func wetSurface(a *moistAir, s airSide, tm, mean float64) float64 {
	const corner = 0.02
	h, slope := a.saturated(tm)
	wet := (1 - math.Exp(-s.ntu/(1+coef.evaporator.inside*(slope/a.cp-1)))) * (a.h - h) / (s.eff * a.cp * mean)
	x := (wet - 1) / corner
	if x < -30 {
		return 1
	}
	return 1 + corner*softplus(x)
}

// latent is the share of a wet surface's heat that is water's.
//
//		1 − ε_a c_p (T_in − T_s)/Δh,  h_s(T_s) = h_in − Δh/ε_a,  ε_a = 1 − exp(−NTU/(1 − φ)),  Δh = ε β c_p (T_in − T_m)
//
//	  - assumes: as [wetSurface]; T_s from T_m by the slope of the saturation line and its bend
//	  - limits: 0 where the surface is dry
//	  - source: bypass factor: apparatus dew point on the line of saturation (definition)
func latent(a *moistAir, s airSide, tm, mean, beta float64) float64 {
	outside := 1 - math.Exp(-s.ntu/(1-coef.evaporator.inside))
	dh := s.eff * beta * a.cp * mean
	h, slope := a.saturated(tm)
	more := a.h - dh/outside - h // of the surface over the refrigerant's temperature
	if more <= 0 {
		return 0
	}
	bend := (slope - a.cp) * a.b / (tm * tm)
	up := 2 * more / (slope + math.Sqrt(slope*slope+2*bend*more))
	return math.Max(0, 1-outside*a.cp*(mean-up)/dh)
}
