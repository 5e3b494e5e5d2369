package plant

import (
	"math"

	"coldwright/refrigerant"
	"coldwright/units"
)

// evaporator is the coil in the box: refrigerant boils along the wetted share z of it and is superheated along the rest.
//
//	wetted share  z = m (h_g − h_4) / (C ε β ΔT_m),  ΔT_m = T_box − mean boiling temperature
//	superheat     z < 1: T_out = T_e + (T_box − T_e)(1 − exp(−u_v NTU C (1 − z)/(m c_p)))
//	flooded       z ≥ 1: h_out = h_4 + (h_g − h_4)/z, liquid leaves and superheat is zero
//
// β is what water that settles on the surface adds, see [wetSurface]: 1 on a dry coil. The air is thinner by the
// site's pressure.
//
// The mean boiling temperature of a blend lies halfway between that at the entering vapour share and dew. A bulb on a
// flooded outlet shows a negative superheat, so that a valve has something to answer to.
//
// Heaters in the coil warm the air before the refrigerant does its work: T_box + Q/C stands for T_box.
//
//   - assumes: the air enters every part of the coil at box temperature, warmed by a heater's whole heat; no pressure
//     drop inside (it counts with the suction line); composition as circulated
//   - limits: superheat never exceeds T_box − T_e; no flow gives z = 0 and the whole difference as superheat
//   - source: effectiveness of a boiling stream (definition); the mean for blends and u_v are judgement, ours
//     (coefficients.json, blocks design and evaporator)
type evaporator struct {
	ntu, uv float64 // air side at design; conductance of the superheat zone over the two-phase zone
	volume  float64 // m³ per design kg/s
	air     float64 // sized: capacity rate of the air, W/K per design kg/s
	thin    thinAir
}

// evaporatorIn is what enters: the flow, its dew temperature in the coil, the liquid before expansion, and the air.
type evaporatorIn struct {
	m, dew, p     float64 // kg/s per design kg/s; K; Pa
	liquidH       float64 // before exchanger and expansion, J/kg
	liquidT       float64 // the warmest the exchanger's liquid side can be, K
	boxT, lostAir float64
	heat          float64 // of heaters in the coil, W per design kg/s
}

// evaporatorOut is what leaves the coil, with the saturation it left and what an exchanger moves.
type evaporatorOut struct {
	bubble, hf, hg float64 // at the coil's pressure: K, J/kg
	hIn, vapourIn  float64 // entering: J/kg, vapour share (below zero: subcooled)
	wetted         float64 // z
	h, t, rho      float64 // leaving: J/kg, K, kg/m³
	vapour         float64 // share leaving as vapour
	bulb           float64 // superheat as a bulb feels it, below zero when flooded, K
	exchanged      float64 // given by the liquid to the suction gas, J/kg
	air            airSide
	entering       float64 // air at the coil, warmed by heaters in it, K
	mean, wet      float64 // mean difference to the air, K; what water on the surface makes of its heat, 1: none
}

// outlet runs the coil in air that is a; where a says no humidity it counts as dry.
func (e *evaporator) outlet(f *refrigerant.Fit, low *refrigerant.Isobar, x exchanger, in evaporatorIn, a *moistAir, o *evaporatorOut) {
	o.exchanged = 0
	o.air = e.thin.blow(e.air, e.ntu, in.lostAir)
	o.entering = in.boxT
	if in.heat > 0 {
		o.entering += in.heat / o.air.capacity
		a = a.warmed(o.entering - in.boxT)
	}
	te, td := in.dew, o.entering-in.dew
	o.hg = f.DewH(te)
	o.bubble = f.BubbleP(in.p)
	o.hf, _ = f.LiquidH(o.bubble)
	o.hIn = in.liquidH
	o.vapourIn = (o.hIn - o.hf) / (o.hg - o.hf)
	mean := td + 0.5*(1-math.Min(1, math.Max(0, o.vapourIn)))*(te-o.bubble)
	o.wet = 1
	if a.humid > 0 {
		o.wet = wetSurface(a, o.air, o.entering-mean, mean)
	}
	takes := o.air.capacity * o.air.eff * o.wet
	o.mean = mean
	o.wetted = in.m * (o.hg - in.liquidH) / (takes * mean)
	if x.fitted() {
		_, cp := low.H(te + 0.5*td)
		// of the mean difference to the air, per J/kg: the coil starts with less vapour, which boils colder
		warming := 0.5 * (te - o.bubble) / (o.hg - o.hf)
		o.exchanged = x.heat(exchangerIn{
			cp:      cp,
			lift:    in.liquidT - te,
			td:      td,
			hfg:     o.hg - in.liquidH,
			wetting: in.m / takes,
			mean:    mean,
			warming: warming,
			dry:     e.uv * o.air.ntu * o.air.capacity / (in.m * cp),
		})
		o.hIn = in.liquidH - o.exchanged
		o.vapourIn -= o.exchanged / (o.hg - o.hf)
		mean += warming * o.exchanged
		o.mean = mean
		o.wetted = in.m * (o.hg - o.hIn) / (takes * mean)
	}
	o.vapour = 1
	superheat := 0.0
	if o.wetted < 1 {
		_, cp := low.H(te + 0.5*td)
		superheat = td * (1 - math.Exp(-e.uv*o.air.ntu*o.air.capacity*(1-o.wetted)/(in.m*cp)))
		o.bulb = superheat
		o.h, _ = low.H(te + superheat)
	} else {
		o.h = o.hIn + (o.hg-o.hIn)/o.wetted
		o.bulb = -coef.evaporator.floodedBulb * (o.wetted - 1)
		o.vapour = math.Max(0, (o.h-o.hf)/(o.hg-o.hf))
	}
	o.t = te + superheat
	o.rho = low.Rho(o.t)
	if o.vapour < 1 {
		o.rho = 1 / (o.vapour/o.rho + (1-o.vapour)/f.LiquidRho(o.bubble))
		o.t -= (1 - o.vapour) * (te - o.bubble) // a blend's liquid and vapour together are colder than its dew point
	}
}

// airOff is the temperature of the air that leaves the coil, W of heat given.
func (o *evaporatorOut) airOff(boxT float64, a *moistAir, heat float64) float64 {
	if o.wet > 1 {
		if o.entering > boxT {
			a = a.warmed(o.entering - boxT)
		}
		boiling := math.Min(1, o.wetted) * o.air.capacity * o.air.eff * o.wet * o.mean
		heat -= boiling * latent(a, o.air, o.entering-o.mean, o.mean, o.wet)
	}
	return o.entering - heat/o.air.capacity
}

// size builds the coil for its design point: the air that leaves the design superheat. cp is that of the vapour at
// the outlet, before the enthalpy of the liquid ahead of an exchanger.
func (e *evaporator) size(d *Design, f *refrigerant.Fit, te, pe, td, h4, before, cp float64) {
	hg := f.DewH(te)
	bubble := f.BubbleP(pe)
	hf, _ := f.LiquidH(bubble)
	x := (h4 - hf) / (hg - hf)
	mean := td + 0.5*(1-x)*(te-bubble)
	s := airSide{ntu: d.NTUe, eff: 1 - math.Exp(-d.NTUe)}
	wet := 1.0
	if d.Humidity > 0 {
		mean := td + 0.5*(1-(before-hf)/(hg-hf))*(te-bubble)
		a := moist(d.BoxT, d.Humidity, float64(units.Atm), te)
		wet = wetSurface(&a, s, d.BoxT-mean, mean)
	}
	air := (hg - h4) / (s.eff * wet * mean)
	wetted := 1 / (1 - math.Log(1-d.SHRatio)*cp/(d.UV*d.NTUe*air))
	e.air = air / wetted
}
