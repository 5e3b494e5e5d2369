package plant

import (
	"fmt"
	"math"

	"coldwright/fail"
	"coldwright/machine/reading"
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
	Gamma          float64 // flash-gas exponent of the valve; of a capillary, factor on how much the liquid flashes
	UV, UD, US     float64 // conductance of superheat, desuperheat and subcool zone over the two-phase zone
	VC, VE, VL     float64 // volumes of condenser, evaporator, liquid line, m³ per kg/s
	VS, VR         float64 // suction line, receiver vapour
	Reserve        float64 // share of the full charge that is receiver reserve
	Expansion      reading.Expansion
	Receiver       bool
	Head           reading.HeadControl
	HeadSet        float64 // condensing dew temperature held, K
	Subcool        float64 // K of the liquid leaving a machine without receiver at design; 0: a tenth of the condenser is backed up
	Exchanger      float64 // effectiveness of the liquid–suction exchanger, 0: none
	CrankcaseP     float64 // Pa: above it the crankcase regulator throttles what goes to the compressor; 0: none
	CoilP          float64 // Pa: below it the evaporator regulator closes; 0: none
}

// What the options are built like: judgement, no source.
const (
	electronicMin  = 0.05 // least opening of an electronic valve over design opening
	electronicStep = 0.1  // severity of a stuck electronic valve over which its authority is lost
	crankcaseWidth = 0.02 // share of the set pressure over which a crankcase regulator takes hold
	coilBand       = 3.0  // saturation temperature over which an evaporator regulator closes, K
	settingShare   = 0.1  // of the suction drop's uncertainty, by which a regulator's setting is not known: 4 % in one standard deviation
	coilOpenDrop   = 0.5  // its loss wide open at design flow, K of saturation
)

// FromMachine fills a design from a resolved machine. Values not on the plate are the design paper's defaults: judgement, no source.
//
//   - in: the machine
//   - out: a design
//   - source: common practice, no source; freezers and coolers differ in suction-line gain
func FromMachine(m reading.Resolved) Design {
	d := Design{
		BoxT:     float64(m.Box),
		AmbientT: float64(m.Ambient),
		TD:       float64(m.TD),
		Split:    float64(m.Split),
		SHRatio: math.Min(
			0.9,
			math.Max(0.15, float64(m.Superheat)/float64(m.TD)),
		),
		SuctionNTU:  0.20,
		LiquidCool:  0.12,
		Eta:         0.62,
		ShellLoss:   0.10,
		Clearance:   0.04,
		ValveMax:    1.35,
		Band:        3,
		SuctionDrop: 1,
		LiquidDrop:  0.35 * units.Bar,
		Lift:        1.5,
		NTUe:        0.9,
		NTUc:        0.8,
		Gamma:       1,
		UV:          0.30,
		UD:          0.40,
		US:          0.60,
		VC:          0.067,
		VE:          0.085,
		VL:          0.024,
		VS:          0.17,
		VR:          0.13,
		Reserve:     0.35,
		Expansion:   m.Expansion,
		Receiver:    m.Receiver,
		Head:        m.HeadControl,
		HeadSet:     float64(m.HeadSet),
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
	if d.Expansion == reading.ElectronicValve {
		d.ValveMax = 2 // chosen with authority to spare
	}
	if m.Application == reading.IceMachine {
		d.NTUe = 0.15 // freezing water keeps its temperature along the plate
	}
	d.Exchanger, d.Subcool = m.Exchanger, float64(m.Subcooling)
	d.CrankcaseP, d.CoilP = float64(m.CrankcaseRegulator), float64(m.EvaporatorRegulator)
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
		if d.Exchanger > 0 { // how warm the suction gas gets is one thing not known
			d.Exchanger = logit(d.Exchanger, delta)
		}
	case NLiquidCool:
		d.LiquidCool = math.Min(0.9, d.LiquidCool*math.Exp(delta))
	case NEta:
		d.Eta = math.Max(0.3, d.Eta+delta)
	case NValveMax:
		d.ValveMax = 1.03 + (d.ValveMax-1.03)*math.Exp(delta)
	case NSuctionDrop:
		d.SuctionDrop *= math.Exp(delta)
		// What a regulator is set to is known to a few per cent; more loss goes with it.
		d.CrankcaseP *= math.Exp(-settingShare * delta)
		d.CoilP *= math.Exp(settingShare * delta)
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
	tcD, phi0, kCoil                    float64
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
//   - errors: the design point lies outside the refrigerant's range or contradicts itself; a [*fail.Error] where the
//     refrigerant would not condense
//   - source: design paper 2.2; definitions
//   - cost: about 3 µs; 15 µs with an exchanger and no receiver
func New(d Design, f *refrigerant.Fit) (Plant, error) {
	p, err := Lazy(d, f)
	if err == nil {
		p.sizeCharge()
	}
	return p, err
}

// Lazy is [New], but the charge is found by the first solve that needs it, and [ChargeShare] is zero where none did.
// Such a plant is for one goroutine.
//
//   - in, out, errors, source: as [New]
//   - cost: two thirds of [New]
func Lazy(d Design, f *refrigerant.Fit) (Plant, error) {
	lo, hi := f.TRange()
	te, tc := d.BoxT-d.TD, d.AmbientT+d.Split
	if err := Condenses(d, f, d.AmbientT); err != nil {
		return Plant{}, err
	}
	switch {
	case !(d.TD > 0 && d.Split > 0):
		return Plant{}, fmt.Errorf("plant: TD %.2f K and split %.2f K must be above zero", d.TD, d.Split)
	case te < lo || tc > hi:
		return Plant{}, fmt.Errorf(
			"plant: %s covers %.1f to %.1f °C, the design point needs %.1f to %.1f °C",
			f.Designation(),
			lo-units.ZeroC,
			hi-units.ZeroC,
			te-units.ZeroC,
			tc-units.ZeroC,
		)
	case tc < te+5:
		return Plant{}, fmt.Errorf("plant: condensing at %.1f °C is not above evaporating at %.1f °C", tc-units.ZeroC, te-units.ZeroC)
	case d.CoilP > 0 && d.td(f) < 0.4*d.TD:
		return Plant{}, fmt.Errorf(
			"plant: the evaporator regulator holds %.0f kPa (%.1f °C), but the coil is built for %.1f °C",
			d.CoilP/units.Kilo,
			f.DewP(d.CoilP)-units.ZeroC,
			te-units.ZeroC,
		)
	}
	p := Plant{D: d, f: f}
	p.size()
	if !(p.sz.kv > 0 && p.sz.cc > 0 && p.sz.ce > 0 && p.sz.vDisp > 0) {
		return Plant{}, fmt.Errorf(
			"plant: the design point (box %.1f °C, ambient %.1f °C) cannot be built",
			d.BoxT-units.ZeroC,
			d.AmbientT-units.ZeroC,
		)
	}
	return p, nil
}

// coldFluid is the critical temperature below which a refrigerant is one that may not condense in outside air, K (45 °C).
const coldFluid = units.ZeroC + 45

// Condenses reports whether the refrigerant can condense at all in a machine that stands in air of this temperature.
//
//   - in: the design (its split), the fit, ambient in K
//   - out: nil, or a [*fail.Error] that says that this machine runs transcritical, which this model does not hold
//   - assumes: refrigerants with a critical temperature above 45 °C trip on high pressure before they get there: a result of [Plant.Solve]
//   - source: definition
func Condenses(d Design, f *refrigerant.Fit, ambient float64) error {
	_, hi := f.TRange()
	tc := ambient + d.Split
	crit := f.Refrigerant().Limits().TCrit
	if tc <= hi || crit > coldFluid {
		return nil
	}
	return fail.New(
		fail.NoAnswer,
		"machine",
		fmt.Sprintf(
			"%s would have to condense at %.1f °C; it has no liquid above %.1f °C and is not modelled above %.1f °C: a transcritical machine is "+
				"not judged",
			f.Designation(),
			tc-units.ZeroC,
			crit-units.ZeroC,
			hi-units.ZeroC,
		),
		fmt.Sprintf(
			"for a cascade, give the temperature its condenser is cooled to as ambient (at most %.1f °C with a split of %.1f K)",
			hi-d.Split-units.ZeroC,
			d.Split,
		),
	)
}

// standingVapour is the share of the charge that is vapour in a machine stopped and equalised: 0.19 to 0.35 by
// volumes and charge of the designs here with receiver, a little more without. Judgement; it matters for blends with
// glide only.
const standingVapour = 0.3

const gravity = 9.80665 // m/s², standard

// td is the design TD; where an evaporator regulator is set above that, what it leaves of it with the valve well open.
func (d *Design) td(f *refrigerant.Fit) float64 {
	if d.CoilP > 0 {
		return math.Min(d.TD, d.BoxT-f.DewP(d.CoilP)+0.6*coilBand)
	}
	return d.TD
}

// backedUp is the share of the condenser that holds liquid at design in a machine without receiver that states no subcooling.
const backedUp = 0.10

func (p *Plant) size() {
	d, f, sz := &p.D, p.f, &p.sz
	td := d.td(f)
	te, tc := d.BoxT-td, d.AmbientT+d.Split
	pe, pc := f.DewT(te), f.DewT(tc)
	tb := f.BubbleP(pc)
	sh := d.SHRatio * td
	sz.tcD = tc
	sz.slopeE = f.DewSlope(te)
	low, high := f.Isobar(pe), f.Isobar(pc)
	dps := d.SuctionDrop * sz.slopeE
	hOut, cpv := low.H(te + sh)
	rhoOut := low.Rho(te + sh)
	sz.kDrop = dps * rhoOut
	pb, line := pe-dps, low // ahead of the crankcase regulator; at the start of the suction line
	if d.CoilP > 0 {
		open := coilOpening(pe, d.CoilP, sz.slopeE)
		sz.kCoil = coilOpenDrop * sz.slopeE * rhoOut
		pAfter := pe - sz.kCoil/(rhoOut*open*open)
		line = f.Isobar(pAfter)
		sz.kDrop = dps * rhoOut * pAfter / pe
		pb = pAfter - dps
	}
	ps := pb
	if d.CrankcaseP > 0 {
		ps = capped(pb, d.CrankcaseP)
	}
	hg := f.DewH(tc)
	hf, cpl := f.LiquidH(tb)
	eps := 1 - math.Exp(-d.NTUc)
	dT := 0.5*(tc+tb) - d.AmbientT
	sz.ual = -cpl * math.Log(1-d.LiquidCool)
	suc := f.Isobar(ps)
	before := suc
	if d.CrankcaseP > 0 {
		before = f.Isobar(pb)
	}
	var w, hl, tl, qx float64
	for pass := range 12 {
		// With an exchanger the suction gas needs the liquid's temperature, which without receiver needs the
		// condenser, which needs the suction gas.
		tIn := te + sh
		if d.Exchanger > 0 || d.CoilP > 0 {
			tIn = line.TH(hOut + qx)
		}
		ts := d.AmbientT - (d.AmbientT-tIn)*math.Exp(-d.SuctionNTU)
		h1, _ := before.H(ts)
		if d.CrankcaseP > 0 {
			ts = suc.TH(h1)
		}
		sz.vDisp = 1 / (suc.Rho(ts) * p.volumetric(pc/ps))
		h2s, _ := high.H(high.TS(suc.S(ts)))
		w = (h2s - h1) / d.Eta
		h2 := h1 + (1-d.ShellLoss)*w
		t2 := high.TH(h2)
		l := (h2 - hg) / (t2 - tc) * math.Log((t2-d.AmbientT)/(tc-d.AmbientT))
		cc := (hg-hf)/(eps*dT) + l/(d.UD*d.NTUc) // of the part that condenses
		sz.phi0 = 0
		tsrc := tb
		if !d.Receiver {
			sz.phi0 = backedUp
			if d.Subcool > 0 {
				// The liquid leaving the unit is cooled on the way; what is left to do belongs to the backed-up share.
				share := math.Max(0.02, 1-d.Subcool/(tb-d.AmbientT)) / (1 - d.LiquidCool)
				n := math.Max(0, -math.Log(math.Min(1, share)))
				sz.phi0 = math.Max(0.005, n/(d.US*d.NTUc*cc/cpl+n))
			}
			tsrc = d.AmbientT + (tb-d.AmbientT)*math.Exp(-d.US*d.NTUc*cc/(1-sz.phi0)*sz.phi0/cpl)
		}
		sz.cc = cc / (1 - sz.phi0)
		tl = tsrc - d.LiquidCool*(tsrc-d.AmbientT)
		hl, _ = f.LiquidH(tl)
		if d.Exchanger == 0 {
			break
		}
		_, cpx := low.H(te + 0.5*td)
		q := d.Exchanger * cpx * (tl - te - sh)
		if pass > 0 && math.Abs(q-qx) < 1e-9*math.Abs(q) {
			qx = q
			break
		}
		qx = q
	}
	h4 := hl - qx
	sz.rhoL0 = f.LiquidRho(tl)
	hgE := f.DewH(te)
	tbE := f.BubbleP(pe)
	hfE, _ := f.LiquidH(tbE)
	x4 := (h4 - hfE) / (hgE - hfE)
	tdMean := td + 0.5*(1-x4)*(te-tbE)
	A := (hgE - h4) / ((1 - math.Exp(-d.NTUe)) * tdMean)
	z0 := 1 / (1 - math.Log(1-d.SHRatio)*cpv/(d.UV*d.NTUe*A))
	sz.ce = A / z0
	sz.shSet = sh
	psg := pc - 0.7*d.LiquidDrop
	pv := psg - 0.3*d.LiquidDrop - sz.rhoL0*gravity*d.Lift
	sz.kv = 1 / math.Sqrt(p.throttle(h4, pv, pe, hg-hf))
	sz.workD = w
	sz.capD = hOut - h4
}

// coilOpening is the opening of an evaporator regulator over wide open.
func coilOpening(pe, set, slope float64) float64 {
	return softclip(1+(pe-set)/(coilBand*slope), 0.02, 1, 0.04)
}

// capped is what a crankcase regulator lets through of the pressure ahead of it.
func capped(p, set float64) float64 {
	w := crankcaseWidth * set
	return p - w*softplus((p-set)/w)
}

// sizeCharge finds the charge of the design state; only states that depend on the charge need it.
func (p *Plant) sizeCharge() {
	d := &p.D
	var s state
	u := [4]float64{d.BoxT - d.td(p.f), 0, d.AmbientT + d.Split, 0}
	if !d.Receiver {
		u[3] = p.sz.phi0
	}
	in, ch := Inputs{d.BoxT, d.AmbientT}, Change{}
	p.sz.mRef = 1
	p.eval(in, &ch, modeFree, &u, &s)
	p.sz.mRef = s.charge
}

func (p *Plant) volumetric(r float64) float64 {
	c := p.D.Clearance
	return math.Max(0.05, 1+c-c*math.Exp(math.Log(r)/1.12))
}

// throttle is the square of the flow through a device of constant 1, kg²/s² per m⁴ of its constant: density times pressure difference.
func (p *Plant) throttle(h4, pv, pe, hfg float64) float64 {
	if p.D.Expansion == reading.Capillary {
		return math.Max(p.capillary(h4, pv, pe, hfg), 1)
	}
	return p.throttleDensity(h4, pv, hfg) * math.Max(pv-pe, 1)
}

// throttleDensity is the density an orifice sees: liquid, thinned by flash gas.
func (p *Plant) throttleDensity(h4, pv, hfg float64) float64 {
	tb := p.f.BubbleP(pv)
	hf, _ := p.f.LiquidH(tb)
	rl := p.f.LiquidRho(tb)
	x := (h4 - hf) / hfg
	if x <= 0 {
		return rl
	}
	rv, _, _ := p.f.DewVapour(p.f.DewP(pv))
	return rl * math.Exp(-p.D.Gamma*math.Log(x*rl/rv+1-x))
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
func (p *Plant) capillary(h4, pv, pe, hfg float64) float64 {
	f := p.f
	tb := f.BubbleP(pv)
	hf, cpl := f.LiquidH(tb)
	x := math.Max(0, (h4-hf)/hfg)
	t0, p0, h0 := tb, pv, hf
	if x == 0 {
		// Two Newton steps to the temperature of the liquid.
		t0 = tb + (h4-hf)/cpl
		h, c := f.LiquidH(t0)
		t0 += (h4 - h) / c
		p0 = f.BubbleT(t0)
		h0, cpl = f.LiquidH(t0)
	}
	rl := f.LiquidRho(t0)
	rv, hv, _ := f.DewVapour(f.DewP(p0))
	vfg := 1/rv - 1/rl
	v0 := 1/rl + x*vfg
	r := vfg / (hv - h0)
	omega := math.Max(1.05, p.D.Gamma*(x*vfg/v0+cpl*t0*p0/v0*r*r))
	if p0 <= pe {
		return (pv - pe) / v0
	}
	eta := pe / p0
	k := omega - 1
	return (pv - p0 + p0*(omega/(k*k)*math.Log(omega-k*eta)-(1-eta)/k)) / v0
}
