package plant

import (
	"fmt"
	"math"

	"coldwright/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Design describes a healthy machine. Temperatures in K, pressures in Pa where the name says so, else dimensionless.
type Design struct {
	BoxT, AmbientT float64 // design box air and condenser ambient
	TD, Split      float64 // box minus dew at the coil outlet; condensing dew minus ambient
	SHRatio        float64 // superheat over TD: superheat can never exceed TD
	SuctionNTU     float64 // suction-line heat gain
	LiquidCool     float64 // liquid cooled in the unit, share of bubble minus ambient
	Eta            float64 // isentropic efficiency including the motor heat that goes to the gas
	ShellLoss      float64 // share of the work lost from the shell
	Clearance      float64
	ValveMax       float64 // wide open over design opening
	Band           float64 // superheat change for the whole design opening, K
	SuctionDrop    float64 // as saturation temperature, K
	LiquidDrop     float64 // Pa; 70 % before the glass, drier included
	Lift           float64 // m
	NTUe, NTUc     float64 // air side
	Gamma          float64 // flash-gas exponent of the valve
	UV, UD, US     float64 // conductance of superheat, desuperheat and subcool zone over the two-phase zone
	VC, VE, VL     float64 // volumes of condenser, evaporator, liquid line, m³ per kg/s
	VS, VR         float64 // suction line, receiver vapour
	Reserve        float64 // share of the full charge that is receiver reserve
	Expansion      reading.Expansion
	Receiver       bool
	Head           reading.HeadControl
	HeadSet        float64 // condensing dew temperature held, K
}

// FromMachine fills a design from a resolved machine. Values not on the plate are the design paper's defaults: judgement, no source.
//
//   - in: the machine
//   - out: a design
//   - source: common practice, no source; freezers and coolers differ in suction-line gain
func FromMachine(m reading.Resolved) Design {
	d := Design{
		BoxT: float64(m.Box), AmbientT: float64(m.Ambient), TD: float64(m.TD), Split: float64(m.Split),
		SHRatio: math.Min(0.9, math.Max(0.15, float64(m.Superheat)/float64(m.TD))), SuctionNTU: 0.20, LiquidCool: 0.12, Eta: 0.62, ShellLoss: 0.10, Clearance: 0.04,
		ValveMax: 1.35, Band: 3, SuctionDrop: 1, LiquidDrop: 0.35 * units.Bar, Lift: 1.5, NTUe: 0.9, NTUc: 0.8, Gamma: 1, UV: 0.30, UD: 0.40, US: 0.60,
		VC: 0.067, VE: 0.085, VL: 0.024, VS: 0.17, VR: 0.13, Reserve: 0.35,
		Expansion: m.Expansion, Receiver: m.Receiver, Head: m.HeadControl, HeadSet: float64(m.HeadSet),
	}
	if m.Application.Frozen() {
		d.SuctionNTU = 0.35
	}
	switch m.Application {
	case reading.ReachInCooler, reading.ReachInFreezer, reading.PrepTable, reading.IceMachine, reading.AirConditioning:
		d.Lift, d.VL, d.VS = 0.3, 0.012, 0.08 // self-contained or close: short lines
	}
	if !d.Receiver {
		d.VR, d.Reserve = 0, 0
	}
	if d.Expansion == reading.Capillary {
		d.Gamma = 1.4 // flash gas throttles a capillary more than an orifice: judgement
	}
	return d
}

// Nuisance is a design value or input that floats: value · transform of a standard normal.
type Nuisance struct {
	Key string
	Sd  float64
}

// The nuisances, in order. Standard deviations: design paper section 4, judgement; they decide how certain a diagnosis may be.
const (
	NBox = iota
	NAmbient
	NTD
	NSplit
	NSHRatio
	NSuctionNTU
	NLiquidCool
	NEta
	NValveMax
	NSuctionDrop
	NGamma
	NNTUe
	NNTUc
	NumNuisances
)

// Nuisances lists them with their standard deviations: K for temperatures, in the transformed space for the rest.
func Nuisances() [NumNuisances]Nuisance {
	return [NumNuisances]Nuisance{
		{"box", 0.6},
		{"ambient", 1.1},
		{"td", 2 * units.Fahr},
		{"split", 5 * units.Fahr},
		{"superheat_ratio", 0.4},
		{"suction_gain", 0.5},
		{"liquid_cooling", 0.5},
		{"efficiency", 0.04},
		{"valve_reserve", 0.4},
		{"suction_drop", 0.4},
		{"flash_exponent", 0.15},
		{"coil_ntu", 0.2},
		{"condenser_ntu", 0.2},
	}
}

// Shift moves nuisance n by dz·sd in its own space; box and ambient move the inputs.
func Shift(d *Design, in *Inputs, n int, delta float64) {
	logit := func(x, by float64) float64 { return 1 / (1 + (1-x)/x*math.Exp(-by)) }
	switch n {
	case NBox:
		in.BoxT += delta
	case NAmbient:
		in.AmbientT += delta
	case NTD:
		d.TD = math.Max(1, d.TD+delta)
	case NSplit:
		d.Split = math.Max(2, d.Split+delta)
	case NSHRatio:
		d.SHRatio = logit(d.SHRatio, delta)
	case NSuctionNTU:
		d.SuctionNTU *= math.Exp(delta)
	case NLiquidCool:
		d.LiquidCool = math.Min(0.9, d.LiquidCool*math.Exp(delta))
	case NEta:
		d.Eta = math.Max(0.3, d.Eta+delta)
	case NValveMax:
		d.ValveMax = 1.03 + (d.ValveMax-1.03)*math.Exp(delta)
	case NSuctionDrop:
		d.SuctionDrop *= math.Exp(delta)
	case NGamma:
		d.Gamma = math.Max(0.2, d.Gamma+delta)
	case NNTUe:
		d.NTUe *= math.Exp(delta)
	case NNTUc:
		d.NTUc *= math.Exp(delta)
	}
}

// Change is what is wrong; the zero value is a healthy machine. Units in the comments.
type Change struct {
	LowCharge          float64 // share missing below the just-empty receiver, or below the design charge without one
	OverCharge         float64 // flooded condenser share with a receiver; charge share without
	CondenserAir       float64 // lost air share
	Recirculation      float64 // K above ambient
	CoilAir            float64 // lost air share
	RestrictionBefore  float64 // Pa at design flow, before the glass
	RestrictionAfter   float64 // Pa at design flow, after the glass
	ValveUnder         float64 // lost opening
	ValveOver          float64 // excess opening
	CompressorLeak     float64 // recirculated share
	Noncondensables    float64 // Pa partial pressure
	SuctionRestriction float64 // K of saturation at design flow
	HeadShift          float64 // K from the set temperature
}

// Inputs are the temperatures the machine stands in.
type Inputs struct{ BoxT, AmbientT float64 }

// sized holds what the design point fixes.
type sized struct {
	kDrop, vDisp, cc, ual, ce, kv, mRef float64
	shSet, workD, capD, rhoL0, slopeE   float64
	tcD                                 float64
}

// Plant is a sized machine.
type Plant struct {
	D  Design
	f  *refrigerant.Fit
	sz sized
}

// New sizes a machine at its design point in closed form.
//
//   - in: a design; the fit of its refrigerant
//   - out: an immutable plant
//   - errors: the design point lies outside the refrigerant's range or contradicts itself
//   - source: design paper 2.2; definitions
//   - cost: about 3 µs
func New(d Design, f *refrigerant.Fit) (Plant, error) {
	lo, hi := f.TRange()
	te, tc := d.BoxT-d.TD, d.AmbientT+d.Split
	switch {
	case !(d.TD > 0 && d.Split > 0):
		return Plant{}, fmt.Errorf("plant: TD %.2f K and split %.2f K must be above zero", d.TD, d.Split)
	case te < lo || tc > hi:
		return Plant{}, fmt.Errorf("plant: %s covers %.1f to %.1f °C, the design point needs %.1f to %.1f °C", f.Designation(), lo-units.ZeroC, hi-units.ZeroC, te-units.ZeroC, tc-units.ZeroC)
	case tc < te+5:
		return Plant{}, fmt.Errorf("plant: condensing at %.1f °C is not above evaporating at %.1f °C", tc-units.ZeroC, te-units.ZeroC)
	}
	p := Plant{D: d, f: f}
	p.size()
	p.sizeCharge()
	if !(p.sz.kv > 0 && p.sz.cc > 0 && p.sz.ce > 0 && p.sz.vDisp > 0) {
		return Plant{}, fmt.Errorf("plant: the design point (box %.1f °C, ambient %.1f °C) cannot be built", d.BoxT-units.ZeroC, d.AmbientT-units.ZeroC)
	}
	return p, nil
}

const gravity = 9.80665 // m/s², standard

func (p *Plant) phi0() float64 {
	if p.D.Receiver {
		return 0
	}
	return 0.10
}

func (p *Plant) size() {
	d, f, sz := &p.D, p.f, &p.sz
	te, tc := d.BoxT-d.TD, d.AmbientT+d.Split
	pe, pc := f.DewT(te), f.DewT(tc)
	tb := f.BubbleP(pc)
	sh := d.SHRatio * d.TD
	sz.tcD = tc
	sz.slopeE = f.DewSlope(te)
	dps := d.SuctionDrop * sz.slopeE
	ps := pe - dps
	low, suc, high := f.Isobar(pe), f.Isobar(pe-dps), f.Isobar(pc)
	sz.kDrop = dps * low.Rho(te+sh)
	ts := d.AmbientT - (d.AmbientT-te-sh)*math.Exp(-d.SuctionNTU)
	sz.vDisp = 1 / (suc.Rho(ts) * p.volumetric(pc/ps))
	h1, _ := suc.H(ts)
	h2s, _ := high.H(high.TS(suc.S(ts)))
	w := (h2s - h1) / d.Eta
	h2 := h1 + (1-d.ShellLoss)*w
	t2 := high.TH(h2)
	hg := f.DewH(tc)
	hf, cpl := f.LiquidH(tb)
	eps := 1 - math.Exp(-d.NTUc)
	dT := 0.5*(tc+tb) - d.AmbientT
	l := (h2 - hg) / (t2 - tc) * math.Log((t2-d.AmbientT)/(tc-d.AmbientT))
	sz.cc = ((hg-hf)/(eps*dT) + l/(d.UD*d.NTUc)) / (1 - p.phi0())
	tsrc := tb
	if !d.Receiver {
		tsrc = d.AmbientT + (tb-d.AmbientT)*math.Exp(-d.US*d.NTUc*sz.cc*p.phi0()/cpl)
	}
	sz.ual = -cpl * math.Log(1-d.LiquidCool)
	tl := tsrc - d.LiquidCool*(tsrc-d.AmbientT)
	hl, _ := f.LiquidH(tl)
	sz.rhoL0 = f.LiquidRho(tl)
	hgE := f.DewH(te)
	tbE := f.BubbleP(pe)
	hfE, _ := f.LiquidH(tbE)
	x4 := (hl - hfE) / (hgE - hfE)
	tdMean := d.TD + 0.5*(1-x4)*(te-tbE)
	_, cpv := low.H(te + sh)
	A := (hgE - hl) / ((1 - math.Exp(-d.NTUe)) * tdMean)
	z0 := 1 / (1 - math.Log(1-d.SHRatio)*cpv/(d.UV*d.NTUe*A))
	sz.ce = A / z0
	sz.shSet = sh
	psg := pc - 0.7*d.LiquidDrop
	pv := psg - 0.3*d.LiquidDrop - sz.rhoL0*gravity*d.Lift
	rv := p.throttleDensity(hl, pv, hg-hf)
	sz.kv = 1 / math.Sqrt(rv*math.Max(pv-pe, 1))
	sz.workD = w
	hOut, _ := low.H(te + sh)
	sz.capD = hOut - hl
}

// sizeCharge finds the charge of the design state; only states that depend on the charge need it.
func (p *Plant) sizeCharge() {
	d := &p.D
	var s state
	u := [4]float64{d.BoxT - d.TD, 0, d.AmbientT + d.Split, 0}
	if !d.Receiver {
		u[3] = p.phi0()
	}
	in, ch := Inputs{d.BoxT, d.AmbientT}, Change{}
	p.sz.mRef = 1
	p.eval(in, &ch, modeFree, &u, &s)
	p.sz.mRef = s.charge
}

func (p *Plant) volumetric(r float64) float64 {
	c := p.D.Clearance
	return math.Max(0.05, 1+c-c*math.Pow(r, 1/1.12))
}

// throttleDensity is the density the expansion device sees: liquid, thinned by flash gas.
func (p *Plant) throttleDensity(hl, pv, hfg float64) float64 {
	tb := p.f.BubbleP(pv)
	hf, _ := p.f.LiquidH(tb)
	rl := p.f.LiquidRho(tb)
	x := (hl - hf) / hfg
	if x <= 0 {
		return rl
	}
	rv, _, _ := p.f.DewVapour(p.f.DewP(pv))
	return rl * math.Pow(x*rl/rv+1-x, -p.D.Gamma)
}
