package plant

import (
	"math"

	"coldwright/machine/reading"
)

// Output is a reading the model predicts.
type Output int

// The outputs. Temperatures in K; pressures as dew temperature at the gauge.
const (
	SuctionDew Output = iota
	CoilDew
	DischargeDew
	LiquidDew // after the drier
	CoilOutletT
	SuctionLineT
	LiquidLineT
	DischargeLineT
	AirOffT
	CondenserFaceT
	CondenserOffT
	DrierDrop // K
	AmpsRatio // over design
	PowerRatio
	StandingT    // saturation (dew) temperature at the pressure standing when stopped and equalised
	GlassQuality // signed: negative is subcooled
	Capacity     // over design
	Flooded      // share of the condenser holding liquid
	ChargeShare  // charge in the circuit over the just-empty charge
	NumOutputs
)

// Outputs are the predicted readings.
type Outputs [NumOutputs]float64

// modes: which unknowns and residuals are in play.
const (
	modeFree       = iota // Te, ln m, Tc; charge coordinate given
	modeHead              // Te, ln m; Tc held by the head control, charge coordinate given
	modeCharge            // Te, ln m, Tc and the charge coordinate
	modeHeadCharge        // Te, ln m and the charge coordinate; Tc held by the head control
)

// active lists the places of the unknowns in u; the residuals of a mode stand at the same places of F.
var active = [...][]int{modeFree: {0, 1, 2}, modeHead: {0, 1}, modeCharge: {0, 1, 2, 3}, modeHeadCharge: {0, 1, 3}}

// held reports whether the head control holds the condensing temperature.
func held(mode int) bool { return mode == modeHead || mode == modeHeadCharge }

// byCharge reports whether the charge decides the state.
func byCharge(mode int) bool { return mode == modeCharge || mode == modeHeadCharge }

// state is one walk around the circuit: what leaves each component, residuals, charge and outputs. Components write
// what leaves them where it is kept, which saves 4 % of a solve against handing it back by value.
type state struct {
	F      [4]float64 // ln of: compressor's flow, device's flow, condenser's surface, charge; each over what there is
	excess float64    // the condenser's residual, also where the head is held
	charge float64    // kg per design kg/s
	out    Outputs

	te, m        float64 // evaporating dew temperature, K; flow, kg/s per design kg/s
	liquid0      float64 // backed-up share of the condenser's surface
	vapour       float64 // share of the flow that leaves the condenser as vapour
	airT         float64 // entering the condenser, K
	dischargeP   float64 // gas that does not condense included, Pa
	dischargeDew float64 // dew temperature at that pressure, K
	condenser    condenserOut
	liquid       liquidOut
	evaporator   evaporatorOut
	suction      suctionOut
	compressor   compressorOut
	zones        zones
}

// eval walks around the circuit at u: residuals, charge and outputs. u[3] >= 0: backed-up share of the condenser;
// below zero: vapour share leaving it.
func (p *Plant) eval(in Inputs, ch *Change, mode int, u *[4]float64, s *state) {
	in = p.entering(in)
	p.flow(in, ch, u, s)
	p.weigh(ch, mode, s)
	p.show(in, ch, mode, s)
}

// residuals computes of eval what a solve needs on its way.
func (p *Plant) residuals(in Inputs, ch *Change, mode int, u *[4]float64, s *state) {
	p.flow(in, ch, u, s)
	if byCharge(mode) {
		p.weigh(ch, mode, s)
	}
}

// flow walks around the circuit from the condenser's outlet to its inlet, and leaves the residuals but for that of
// the charge.
func (p *Plant) flow(in Inputs, ch *Change, u *[4]float64, s *state) {
	const most = 0.95 // of the condenser's surface, or of the flow: beyond there is no condenser left to speak of
	f := p.f
	s.te, s.m = u[0], math.Exp(u[1])
	s.liquid0, s.vapour = u[3], 0
	if u[3] < 0 {
		s.liquid0, s.vapour = 0, -u[3]
	}
	s.liquid0, s.vapour = math.Min(s.liquid0, most), math.Min(s.vapour, most)
	s.airT = in.AmbientT + ch.Recirculation
	pe := f.DewT(s.te)

	entering := condenserIn{
		m: s.m, dew: u[2], liquid: s.liquid0, vapour: s.vapour, airT: s.airT, lost: ch.CondenserAir,
	}
	p.condenser.outlet(f, entering, &s.condenser)
	s.dischargeP = s.condenser.p + ch.Noncondensables
	p.liquid.outlet(f, liquidIn{
		m: s.m, from: &s.condenser, vapour: s.vapour, dew: u[2], p: s.dischargeP, least: 1.02 * pe,
		ambient: in.AmbientT, before: ch.RestrictionBefore, after: ch.RestrictionAfter,
	}, &s.liquid)
	low := f.Isobar(pe)
	p.evaporator.outlet(f, &low, p.exchanger, evaporatorIn{
		m: s.m, dew: s.te, p: pe, liquidH: s.liquid.h, liquidT: math.Min(s.liquid.t, s.liquid.glassBubble),
		boxT: in.BoxT, lostAir: ch.CoilAir, heat: ch.CoilHeat * p.nominal.capacity,
	}, &in.coil, &s.evaporator)
	p.suction.outlet(f, &low, &p.evaporatorRegulator, &p.crankcaseRegulator, suctionIn{
		m: s.m, p: pe, dew: s.te, from: &s.evaporator, exchanger: p.exchanger.fitted(),
		ambient: in.AmbientT, restriction: ch.SuctionRestriction,
	}, &s.suction)
	high := f.Isobar(s.dischargeP)
	s.dischargeDew = high.Dew
	s.compressor = p.compressor.outlet(&high, compressorIn{
		p: s.suction.p, rho: s.suction.rho, h: s.suction.h, s: s.suction.s, pc: s.dischargeP, leak: ch.CompressorLeak, ambient: in.AmbientT,
	})
	s.zones = p.condenser.surface(entering, &s.condenser, s.compressor.t, s.compressor.h)

	s.F[0] = math.Log(s.compressor.m / s.m)
	s.F[1] = p.expansion.residual(f, expansionIn{
		m: s.m, h: s.evaporator.hIn, p: s.liquid.p, pe: pe, hfg: s.condenser.hfg, bulb: s.evaporator.bulb,
		less: ch.ValveUnder, more: ch.ValveOver,
	})
	s.excess = math.Log(s.zones.sum() / (1 - s.liquid0))
	s.F[2] = s.excess
}

// flooded is the share of the condenser that holds liquid.
func (p *Plant) flooded(mode int, s *state) float64 {
	if mode == modeHead && p.headControl.kind == reading.Flooding {
		return math.Max(s.liquid0, 1-s.zones.sum())
	}
	return s.liquid0
}

// weigh adds the charge and its residual to what flow found.
func (p *Plant) weigh(ch *Change, mode int, s *state) {
	s.charge = p.inventory(s, p.flooded(mode, s))
	s.F[3] = math.Log(s.charge / p.receiver.charge(ch))
}

// show fills the outputs from what flow and weigh found.
func (p *Plant) show(in Inputs, ch *Change, mode int, s *state) {
	f, o := p.f, &s.out
	o[SuctionDew], o[CoilDew], o[DischargeDew], o[LiquidDew] = s.suction.dew, s.te, s.dischargeDew, f.DewP(s.liquid.glassP)
	o[CoilOutletT], o[SuctionLineT], o[LiquidLineT], o[DischargeLineT] = s.evaporator.t, s.suction.t, s.liquid.t, s.compressor.t
	heat := s.m * (s.evaporator.h - s.evaporator.hIn)
	o[AirOffT] = s.evaporator.airOff(in.BoxT, &in.coil, heat)
	o[CondenserFaceT] = s.airT
	share := 1.0
	if held(mode) {
		share = p.headControl.airShare(s.zones.sum()/(1-s.liquid0), s.condenser.air.ntu)
	}
	o[CondenserOffT] = s.airT + s.m*(s.compressor.h-s.condenser.h)/(s.condenser.air.capacity*share)
	o[DrierDrop] = math.Max(0, s.liquid.t-s.liquid.glassBubble)
	o[PowerRatio] = s.m * s.compressor.w / p.nominal.work
	o[AmpsRatio] = coef.current.idle + (1-coef.current.idle)*o[PowerRatio]
	o[StandingT] = standing(f, in.AmbientT, s.te-s.evaporator.bubble, ch.Noncondensables)
	o[GlassQuality] = s.liquid.glassVapour
	o[Capacity] = heat / p.nominal.capacity
	o[Flooded] = p.flooded(mode, s)
	if o[ChargeShare] = 0; p.receiver.justEmpty > 0 {
		o[ChargeShare] = s.charge / p.receiver.justEmpty
	}
}
