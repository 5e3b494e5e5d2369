package plant

import (
	"math"

	"coldwright/refrigerant"
	"coldwright/units"
)

// liquidLine leads from the condenser to the expansion device: first through the unit, whose air cools the liquid,
// then past drier and glass, then up to the coil.
//
//	cooling   q = c_l (T − T_amb)(1 − exp(−UA/(m c_l)))
//	glass     p_g = p_c − (a Δp + s₁) m² v ρ₀
//	device    p_v = p_g − (b Δp + s₂) m² v ρ₀ − ρ_l g z
//
// Δp is the design loss, a and b its shares ahead of and behind the glass, s₁ and s₂ what restrictions add at design
// flow, v the specific volume of liquid and flash gas where it is, ρ₀ the design density.
//
//   - assumes: turbulent loss (with the square of the flow, over density); enthalpy stays behind the unit; the heat
//     capacity of the liquid does not change along its way through the unit
//   - limits: no flow loses no pressure; UA = 0 cools nothing; UA → ∞ brings the liquid to ambient
//   - source: effectiveness of a stream cooled by air of one temperature (definition); homogeneous two-phase volume
//     (definition); shares in coefficients.json, blocks design and liquid_line
type liquidLine struct {
	drop, lift, volume float64 // Pa, m, m³ per design kg/s
	ua                 float64 // sized: in the unit, W/K per design kg/s
	rho                float64 // sized: kg/m³ at design
}

// liquidIn is what leaves the condenser and what is between it and the device.
type liquidIn struct {
	m             float64 // kg/s per design kg/s
	from          *condenserOut
	vapour        float64 // share of the flow that left the condenser as vapour
	dew           float64 // condensing dew temperature, K
	p, least      float64 // pressure at the start; what it cannot fall below, Pa
	ambient       float64 // K
	before, after float64 // restrictions: Pa at design flow
}

// liquidOut is the liquid along the line.
type liquidOut struct {
	t, h, rho   float64 // leaving the unit: K, J/kg, kg/m³
	vapourRho   float64 // of flash gas, kg/m³
	glassP      float64 // Pa
	glassBubble float64 // K
	glassVapour float64 // share, below zero where subcooled
	p           float64 // at the device, Pa
}

func (l *liquidLine) outlet(f *refrigerant.Fit, in liquidIn, o *liquidOut) {
	c := in.from
	// Vapour leaving the condenser condenses in the unit first.
	q := c.cp * (c.t - in.ambient) * (1 - math.Exp(-l.ua/(in.m*c.cp)))
	o.h = c.h - q
	o.t = c.bubble
	if o.h < c.hf {
		o.t = c.t - math.Max(0, q-in.vapour*c.hfg)/c.cp
		if in.vapour == 0 {
			o.t = c.t - q/c.cp
		}
	}
	o.rho = f.LiquidRho(o.t)
	o.vapourRho, _, _ = f.DewVapour(in.dew)
	k := &coef.liquidLine
	v := mixed(math.Max(0, (o.h-c.hf)/c.hfg), o.vapourRho, o.rho)
	o.glassP = above(in.least, in.p-(k.beforeGlass*l.drop+in.before)*in.m*in.m*v*l.rho)
	o.glassBubble = f.BubbleP(o.glassP)
	hf, _ := f.LiquidH(o.glassBubble)
	o.glassVapour = (o.h - hf) / c.hfg
	v = mixed(math.Max(0, o.glassVapour), o.vapourRho, o.rho)
	o.p = above(in.least, o.glassP-(k.afterGlass*l.drop+in.after)*in.m*in.m*v*l.rho-o.rho*gravity*l.lift)
}

const gravity = 9.80665 // m/s², standard

// mixed is the specific volume of liquid with a share x of vapour, m³/kg.
func mixed(x, vapour, liquid float64) float64 { return x/vapour + (1-x)/liquid }

// above keeps p above a floor, with a corner, so that a trial step with far too much flow stays a state with a slope.
func above(floor, p float64) float64 {
	const corner = 5 * units.Kilo // Pa
	return floor + corner*softplus((p-floor)/corner)
}

// size fits the line for its design point; p is the condensing pressure. It returns the pressure at the device.
func (l *liquidLine) size(f *refrigerant.Fit, t, p float64) float64 {
	l.rho = f.LiquidRho(t)
	k := &coef.liquidLine
	return p - k.beforeGlass*l.drop - k.afterGlass*l.drop - l.rho*gravity*l.lift
}

// suctionLine leads from the coil to the compressor, past exchanger, evaporator regulator, line and crankcase
// regulator, whichever are fitted.
//
//	pressure  p = p_e − k m²/ρ − s (dp/dT) m²
//	heat      T = T_amb − (T_amb − T_in) exp(−NTU/m), while vapour; liquid evaporates first
//
// s is a restriction in K of saturation at design flow.
//
//   - assumes: one heat capacity of the vapour for what the line takes up; the heat of a wet suction is counted from
//     the dew enthalpy at each end, which is not the same at two pressures; liquid that reaches the compressor
//     displaces vapour only in part
//   - limits: no conductance leaves gas as it is; much of it brings the gas to ambient
//   - source: effectiveness of a stream in air of one temperature (definition); heat capacity and how liquid displaces
//     vapour are judgement, ours (coefficients.json, block suction_line)
type suctionLine struct {
	ntu, volume float64
	slope       float64 // sized: dp/dT at the coil's design pressure, Pa/K
	resistance  float64 // sized: loss times density at design flow
}

// suctionIn is what leaves the coil and what is between it and the compressor.
type suctionIn struct {
	m, p, dew   float64 // kg/s per design kg/s; Pa and K in the coil
	from        *evaporatorOut
	exchanger   bool
	ambient     float64 // K
	restriction float64 // K of saturation at design flow
}

// suctionOut is the gas along the line.
type suctionOut struct {
	lineP, lineH float64 // at the start of the line, behind exchanger and evaporator regulator: Pa, J/kg
	p, dew       float64 // at the compressor: Pa, K
	t, rho       float64 // K; kg/m³ that the compressor draws
	h, s         float64 // J/kg, J/(kg K)
}

func (l *suctionLine) outlet(
	f *refrigerant.Fit, low *refrigerant.Isobar, coil *evaporatorRegulator, crankcase *crankcaseRegulator, in suctionIn,
	o *suctionOut,
) {
	e, k, m := in.from, &coef.suctionLine, in.m
	lack := 0.0 // heat missing to dry vapour, J/kg
	if e.vapour < 1 {
		lack = e.hg - e.h
	}
	p, t, rho := in.p, e.t, e.rho
	if in.exchanger || coil.fitted() {
		line := *low
		if coil.fitted() {
			p = coil.outlet(m, in.p, e.rho)
			line = f.Isobar(p)
			rho = e.rho * p / in.p
		}
		t = math.Min(e.t, line.Dew)
		if lack = f.DewH(line.Dew) - e.h - e.exchanged; lack <= 0 {
			t, lack = line.TH(e.h+e.exchanged), 0
		}
	}
	o.lineP, o.lineH = p, e.h+e.exchanged
	end := throttled(p-l.resistance*m*m/rho-in.restriction*l.slope*m*m, in.p)
	o.p = end
	if crankcase.fitted() {
		o.p = crankcase.outlet(end)
	}
	suction := f.Isobar(o.p)
	o.dew = suction.Dew
	gain := k.heatCapacity * (in.ambient - t) * (1 - math.Exp(-l.ntu/m))
	if crankcase.fitted() {
		// At constant enthalpy through the regulator.
		before := f.Isobar(end)
		h := f.DewH(before.Dew) + gain - lack
		if lack <= 0 || gain >= lack {
			h, _ = before.H(math.Max(t+(gain-lack)/k.heatCapacity, before.Dew))
		}
		if gain, lack = 0, f.DewH(o.dew)-h; lack <= 0 {
			t, lack = suction.TH(h), 0
		}
	}
	if lack <= 0 || gain >= lack { // dry gas in a cold line gives heat and stays gas
		o.t = math.Max(t+(gain-lack)/k.heatCapacity, o.dew)
		o.rho, o.h, o.s = suction.At(o.t)
		return
	}
	// What is short of dry gas at the temperature it came with; behind much loss of pressure that gas is superheated, and
	// some of the liquid dries by itself.
	hg := f.DewH(o.dew)
	h, _ := suction.H(math.Max(t, o.dew))
	h -= lack - gain
	if h >= hg {
		o.t = suction.TH(h)
		o.rho, o.h, o.s = suction.At(o.t)
		return
	}
	rg, _, sg := f.DewVapour(o.dew)
	lack = hg - h
	o.h = h
	o.s = sg - lack/o.dew
	x := math.Max(0.05, 1-lack/(e.hg-e.hf))
	o.t = o.dew - (1-x)*(o.dew-f.BubbleP(o.p))
	// Liquid entering the compressor displaces vapour only in part: the flow rises with the density of the vapour, not of the mixture.
	o.rho = rg / math.Max(k.leastVapour, x)
}
