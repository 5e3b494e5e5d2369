package plant

import (
	"math"

	"coldwright/machine/reading"
	"coldwright/num"
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

// Trip says why a machine would not run in this state.
type Trip int

// The trips: results, not errors.
const (
	TripNone Trip = iota
	HighPressure
	LowPressure
	NoState // no steady state was found
)

func (t Trip) String() string {
	return [...]string{"none", "high_pressure", "low_pressure", "no_state"}[t]
}

// Result is a steady state.
type Result struct {
	num.Solve
	U    [4]float64 // Te, ln m, Tc, charge coordinate
	Mode int
	Out  Outputs
	Trip Trip
	jac  [16]float64 // of the residuals in U, as of the last steps
}

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

// state is one evaluation: residuals by flow and weigh, outputs by show.
type state struct {
	F      [4]float64
	f3     float64 // area residual, also where the head is held
	charge float64
	out    Outputs
	seen   seen
}

// seen is what flow found on its way and weigh and show need.
type seen struct {
	m, phi, xo, tb, hOut, rvC, rl, tl, tbg, psg, xsg, area, f2, fds           float64 // condenser and liquid line
	te, ta, cc, ntu, ce, tbE, h4, x4, z, hCoil, xe, tOut, rhoE, ts, tds, rhoS float64 // air, coil, suction line
	high, t2, h2, w                                                           float64 // compressor
}

func softplus(x float64) float64 {
	if x > 30 {
		return x
	}
	return math.Log1p(math.Exp(x))
}

func softclip(x, lo, hi, w float64) float64 {
	return lo + w*softplus((x-lo)/w) - w*softplus((x-hi)/w)
}

// voidMean is the mean of Zivi's void fraction over qualities a to b.
func voidMean(sigma, a, b float64) float64 {
	k := 1 - sigma
	if b-a < 1e-6 {
		return a / (sigma + k*a)
	}
	g := func(x float64) float64 { return x/k - sigma/(k*k)*math.Log(sigma+k*x) }
	return (g(b) - g(a)) / (b - a)
}

// eval computes residuals, charge and outputs at u. u[3] >= 0: backed-up share of the condenser; below zero: vapour share leaving it.
func (p *Plant) eval(in Inputs, ch *Change, mode int, u *[4]float64, s *state) {
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

// flow computes the residuals but for that of the charge.
func (p *Plant) flow(in Inputs, ch *Change, u *[4]float64, s *state) {
	d, f, sz := &p.D, p.f, &p.sz
	te, m, tc := u[0], math.Exp(u[1]), u[2]
	phi, xo := u[3], 0.0
	if phi < 0 {
		xo, phi = -phi, 0
	}
	phi = math.Min(phi, 0.95)
	xo = math.Min(xo, 0.95)
	pe, psat := f.DewT(te), f.DewT(tc)
	pc := psat + ch.Noncondensables
	ta := in.AmbientT + ch.Recirculation
	tb := f.BubbleP(psat)
	hg := f.DewH(tc)
	hf, cpl := f.LiquidH(tb)
	hfg := hg - hf

	// Condenser air.
	fc := 1 - ch.CondenserAir
	cc := sz.cc * fc
	ntu := d.NTUc * math.Pow(fc, -0.45) * (1 - 0.25*ch.CondenserAir)
	epsC := 1 - math.Exp(-ntu)
	ua := ntu * cc
	tsrc := tb
	if phi > 0 {
		tsrc = ta + (tb-ta)*math.Exp(-d.US*ua*phi/(m*cpl))
	}
	hOut := hf + xo*hfg
	if phi > 0 {
		hOut, _ = f.LiquidH(tsrc)
	}
	// Liquid cooled in the unit; vapour leaving the condenser condenses there first.
	q := cpl * (tsrc - in.AmbientT) * (1 - math.Exp(-sz.ual/(m*cpl)))
	hl := hOut - q
	tl := tb
	if hl < hf {
		tl = tsrc - math.Max(0, q-xo*hfg)/cpl
		if xo == 0 {
			tl = tsrc - q/cpl
		}
	}
	// Liquid line.
	rl := f.LiquidRho(tl)
	rvC, _, _ := f.DewVapour(tc)
	x := math.Max(0, (hl-hf)/hfg)
	v := x/rvC + (1-x)/rl
	floor := 1.02 * pe
	psg := pc - (0.7*d.LiquidDrop+ch.RestrictionBefore)*m*m*v*sz.rhoL0
	psg = floor + 5000*softplus((psg-floor)/5000)
	tbg := f.BubbleP(psg)
	hfg2, _ := f.LiquidH(tbg)
	xsg := (hl - hfg2) / hfg
	x2 := math.Max(0, xsg)
	v2 := x2/rvC + (1-x2)/rl
	pv := psg - (0.3*d.LiquidDrop+ch.RestrictionAfter)*m*m*v2*sz.rhoL0 - rl*gravity*d.Lift
	pv = floor + 5000*softplus((pv-floor)/5000)

	// Evaporator.
	fe := 1 - ch.CoilAir
	ce := sz.ce * fe
	ntuE := d.NTUe * math.Pow(fe, -0.45) * (1 - 0.25*ch.CoilAir)
	epsE := 1 - math.Exp(-ntuE)
	low := f.Isobar(pe)
	td := in.BoxT - te
	hgE := f.DewH(te)
	tbE := f.BubbleP(pe)
	hfE, _ := f.LiquidH(tbE)
	h4, qx := hl, 0.0 // entering the expansion device; given to the suction gas in the exchanger
	x4 := (h4 - hfE) / (hgE - hfE)
	tdMean := td + 0.5*(1-math.Min(1, math.Max(0, x4)))*(te-tbE)
	z := m * (hgE - hl) / (ce * epsE * tdMean)
	var sh, she, hCoil, xe float64
	xe = 1
	if d.Exchanger > 0 {
		_, cpv := low.H(te + 0.5*td)
		// of the mean difference to the air, per J/kg: the coil starts with less vapour, which boils colder
		warming := 0.5 * (te - tbE) / (hgE - hfE)
		qx = exchange(d.Exchanger*cpv, math.Min(tl, tbg)-te, td, hgE-hl, m/(ce*epsE), tdMean, warming, d.UV*ntuE*ce/(m*cpv))
		h4 = hl - qx
		x4 -= qx / (hgE - hfE)
		tdMean += warming * qx
		z = m * (hgE - h4) / (ce * epsE * tdMean)
	}
	if z < 1 {
		_, cpv := low.H(te + 0.5*td)
		sh = td * (1 - math.Exp(-d.UV*ntuE*ce*(1-z)/(m*cpv)))
		she = sh
		hCoil, _ = low.H(te + sh)
	} else {
		hCoil = h4 + (hgE-h4)/z
		she = -20 * (z - 1)
		xe = math.Max(0, (hCoil-hfE)/(hgE-hfE))
	}
	tOut := te + sh
	// Suction line.
	rhoE := low.Rho(tOut)
	if xe < 1 {
		rhoE = 1 / (xe/rhoE + (1-xe)/f.LiquidRho(tbE))
		tOut -= (1 - xe) * (te - tbE) // a blend's liquid and vapour together are colder than its dew point
	}
	wet := 0.0
	if xe < 1 {
		wet = hgE - hCoil
	}
	// What enters the suction line: coil outlet, exchanger, evaporator regulator.
	pIn, tIn, rhoIn := pe, tOut, rhoE
	if d.Exchanger > 0 || d.CoilP > 0 {
		line := low
		if d.CoilP > 0 {
			open := coilOpening(pe, d.CoilP, sz.slopeE)
			pIn = soft(pe-sz.kCoil*m*m/(rhoE*open*open), pe)
			line = f.Isobar(pIn)
			rhoIn = rhoE * pIn / pe
		}
		tIn = math.Min(tOut, line.Dew)
		if wet = f.DewH(line.Dew) - hCoil - qx; wet <= 0 {
			tIn, wet = line.TH(hCoil+qx), 0
		}
	}
	ps := soft(pIn-sz.kDrop*m*m/rhoIn-ch.SuctionRestriction*sz.slopeE*m*m, pe)
	pb := ps
	if d.CrankcaseP > 0 {
		ps = capped(pb, d.CrankcaseP)
	}
	suc := f.Isobar(ps)
	tds := suc.Dew
	const cpLine = 800 // J/(kg K): vapour in the suction line, judgement
	qs := cpLine * (in.AmbientT - tIn) * (1 - math.Exp(-d.SuctionNTU/m))
	var ts, rhoS, h1, s1 float64
	if d.CrankcaseP > 0 {
		// At constant enthalpy through the regulator.
		before := f.Isobar(pb)
		h := f.DewH(before.Dew) + qs - wet
		if qs >= wet {
			h, _ = before.H(math.Max(tIn+(qs-wet)/cpLine, before.Dew))
		}
		if qs, wet = 0, f.DewH(tds)-h; wet <= 0 {
			tIn, wet = suc.TH(h), 0
		}
	}
	if qs >= wet {
		ts = math.Max(tIn+(qs-wet)/cpLine, tds)
		rhoS, h1, s1 = suc.At(ts)
	} else {
		ts = tds
		hgs := f.DewH(tds)
		rg, _, sg := f.DewVapour(tds)
		lack := wet - qs
		h1 = hgs - lack
		s1 = sg - lack/tds
		xs := math.Max(0.05, 1-lack/(hgE-hfE))
		ts -= (1 - xs) * (tds - f.BubbleP(ps))
		// Liquid entering the compressor displaces vapour only in part: the flow rises with the density of the vapour, not of the mixture.
		rhoS = rg / math.Max(0.5, xs)
	}
	// Compressor.
	mc := sz.vDisp * rhoS * p.volumetric(pc/ps) * (1 - ch.CompressorLeak)
	high := f.Isobar(pc)
	h2s, _ := high.H(high.TS(s1))
	w := (h2s - h1) / d.Eta * (1 - 0.35*ch.CompressorLeak) / (1 - ch.CompressorLeak)
	h2 := h1 + (1-d.ShellLoss)*w
	t2 := high.TH(h2)
	// Expansion device.
	through := 0.5 * math.Log(sz.kv*sz.kv*p.throttle(h4, pv, pe, hfg)/(m*m)) // ln of flow at opening 1 over m
	switch d.Expansion {
	case reading.Orifice, reading.Capillary:
		s.F[1] = through + math.Log((1-ch.ValveUnder)*(1+ch.ValveOver))
	case reading.ElectronicValve:
		s.F[1] = p.electronic(ch, through, she)
	default:
		set := sz.shSet * (1 - 1.5*ch.ValveOver)
		a := softclip(1+(she-set)/d.Band, 0.03, d.ValveMax, 0.06) * (1 - ch.ValveUnder) * (1 + 0.6*ch.ValveOver)
		s.F[1] = through + math.Log(a)
	}
	// Condenser area: two-phase and desuperheat.
	dTc := math.Max(0.5*(tc+tb)-ta, 0.05)
	f2 := m * (hg - math.Max(hOut, hf)) / (cc * epsC * dTc)
	if phi > 0 {
		f2 = m * hfg / (cc * epsC * dTc)
	}
	fds := 0.0
	if t2 > tc+0.01 {
		fds = m * (h2 - hg) / (t2 - tc) * math.Log((t2-ta)/math.Max(tc-ta, 0.05)) / (d.UD * ua)
	}
	area := f2 + fds

	s.F[0] = math.Log(mc / m)
	s.f3 = math.Log(area / (1 - phi))
	s.F[2] = s.f3
	s.seen = seen{
		m:     m,
		phi:   phi,
		xo:    xo,
		tb:    tb,
		hOut:  hOut,
		rvC:   rvC,
		rl:    rl,
		tl:    tl,
		tbg:   tbg,
		psg:   psg,
		xsg:   xsg,
		area:  area,
		f2:    f2,
		fds:   fds,
		te:    te,
		ta:    ta,
		cc:    cc,
		ntu:   ntu,
		ce:    ce,
		tbE:   tbE,
		h4:    h4,
		x4:    x4,
		z:     z,
		hCoil: hCoil,
		xe:    xe,
		tOut:  tOut,
		rhoE:  rhoE,
		ts:    ts,
		tds:   tds,
		rhoS:  rhoS,
		high:  high.Dew,
		t2:    t2,
		h2:    h2,
		w:     w,
	}
}

// flooded is the share of the condenser that holds liquid.
func (p *Plant) flooded(mode int, s *state) float64 {
	if mode == modeHead && p.D.Head == reading.Flooding {
		return math.Max(s.seen.phi, 1-s.seen.area)
	}
	return s.seen.phi
}

// weigh adds the charge and its residual to what flow found.
func (p *Plant) weigh(ch *Change, mode int, s *state) {
	d, f, e := &p.D, p.f, &s.seen
	flooded := p.flooded(mode, s)
	rvC, rl := e.rvC, e.rl
	rlC := f.LiquidRho(e.tb)
	sigC := twoThirds(rvC / rlC)
	share := (1 - flooded) / math.Max(e.area, 1e-9)
	aC := voidMean(sigC, e.xo, 1)
	M := d.VC * (e.fds*share*rvC + e.f2*share*(aC*rvC+(1-aC)*rlC) + flooded*rlC)
	xl := math.Min(0.999, math.Max(0, e.xsg))
	aL := xl / (sigC + (1-sigC)*xl)
	M += d.VL * (aL*rvC + (1-aL)*rl)
	rgE, _, _ := f.DewVapour(e.te)
	rlE := f.LiquidRho(e.tbE)
	sigE := twoThirds(rgE / rlE)
	aE := voidMean(sigE, math.Min(0.98, math.Max(0, e.x4)), math.Max(e.xe, 0.01))
	M += d.VE * (math.Min(e.z, 1)*(aE*rgE+(1-aE)*rlE) + math.Max(0, 1-e.z)*e.rhoE)
	M += d.VS*e.rhoS + d.VR*rvC
	s.charge = M
	s.F[3] = math.Log(M / p.charge(ch))
}

func twoThirds(x float64) float64 { return math.Exp(math.Log(x) * (2.0 / 3)) }

// show fills the outputs from what flow and weigh found.
func (p *Plant) show(in Inputs, ch *Change, mode int, s *state) {
	f, sz, e, o := p.f, &p.sz, &s.seen, &s.out
	o[SuctionDew], o[CoilDew], o[DischargeDew], o[LiquidDew] = e.tds, e.te, e.high, f.DewP(e.psg)
	o[CoilOutletT], o[SuctionLineT], o[LiquidLineT], o[DischargeLineT] = e.tOut, e.ts, e.tl, e.t2
	Q := e.m * (e.hCoil - e.h4)
	o[AirOffT] = in.BoxT - Q/e.ce
	o[CondenserFaceT] = e.ta
	o[CondenserOffT] = e.ta + e.m*(e.h2-e.hOut)/(e.cc*p.airShare(mode, e.area/(1-e.phi), e.ntu))
	o[DrierDrop] = math.Max(0, e.tl-e.tbg)
	o[PowerRatio] = e.m * e.w / sz.workD
	o[AmpsRatio] = 0.35 + 0.65*o[PowerRatio]
	standing := f.DewT(in.AmbientT)
	if e.te-e.tbE > 1e-3 {
		// Liquid and vapour stand together, so a blend stands between its bubble and its dew pressure.
		standing += (1 - standingVapour) * (f.BubbleT(in.AmbientT) - standing)
	}
	o[StandingT] = f.DewP(standing + 0.8*ch.Noncondensables)
	o[GlassQuality] = e.xsg
	o[Capacity] = Q / sz.capD
	o[Flooded] = p.flooded(mode, s)
	if o[ChargeShare] = 0; sz.mRef > 0 {
		o[ChargeShare] = s.charge / sz.mRef
	}
}

// soft keeps a pressure behind a throttle above a twentieth of the one ahead of it.
func soft(p, ahead float64) float64 {
	return 0.05*ahead + 0.02*ahead*softplus((p-0.05*ahead)/(0.02*ahead))
}

// exchange is the heat the suction gas takes up per kilogram: effectiveness times its heat capacity (c) times the
// distance from coil outlet to liquid. It cools the liquid, which wets more of the coil, which lowers the superheat:
// one equation in the superheat, solved by Newton. lift is liquid minus evaporating temperature, hfg what the coil
// evaporates without it, k·(hfg + q)/(mean + warming·q) the wetted share of the coil, b the conductance of the dry
// part over the flow's heat capacity.
func exchange(c, lift, td, hfg, k, mean, warming, b float64) float64 {
	sh := 0.0
	for range 20 {
		q := c * (lift - sh)
		z := k * (hfg + q) / (mean + warming*q)
		if z >= 1 {
			return c * lift
		}
		e := math.Exp(-b * (1 - z))
		step := (td*(1-e) - sh) / (1 - td*e*b*k*c/mean)
		sh += step
		if math.Abs(step) < 1e-13*td {
			break
		}
	}
	return c * (lift - sh)
}

// electronic is the residual of a valve that holds its superheat exactly while it can: fully open below, closed as
// far as it goes above. A stuck one has lost its authority on one side: it opens no further than what is left of the
// design opening, or closes no further than the excess.
func (p *Plant) electronic(ch *Change, through, she float64) float64 {
	widest := (1 - ch.ValveUnder) * (1 + (p.D.ValveMax-1)*math.Exp(-ch.ValveUnder/electronicStep))
	least := electronicMin
	if ch.ValveOver > 0 {
		e := math.Exp(-ch.ValveOver / electronicStep)
		least = electronicMin*e + (1+0.6*ch.ValveOver)*(1-e)
	}
	const w = 0.02 // width of the corners, in ln of the flow
	hi, lo, hold := through+math.Log(widest), through+math.Log(least), she-p.sz.shSet
	r := lo + w*softplus((hold-lo)/w)
	return r - w*softplus((r-hi)/w)
}

// airShare is the share of the condenser's air that moves while its fans hold the head: the share of time, or of
// speed, whose area is just enough. Source: effectiveness of a condensing stream; exponent as for lost air.
func (p *Plant) airShare(mode int, area, ntu float64) float64 {
	if !held(mode) || area >= 1 {
		return 1
	}
	switch p.D.Head {
	case reading.FanCycling:
		return math.Max(area, 1e-3)
	case reading.VariableFan:
		full := 1 - math.Exp(-ntu)
		x := math.Log(math.Max(area, 1e-3)) // ln of the share
		for range 12 {
			n := ntu * math.Exp(-0.45*x)
			e := math.Exp(-n)
			f := x + math.Log((1-e)/full) - math.Log(math.Max(area, 1e-3))
			step := f / (1 - 0.45*n*e/(1-e))
			x -= step
			if math.Abs(step) < 1e-12 {
				break
			}
		}
		return math.Exp(x)
	}
	return 1
}

// charge is what is in the circuit under a change: with a receiver the just-empty charge less the deficit, else the design charge changed.
func (p *Plant) charge(ch *Change) float64 {
	if p.D.Receiver {
		return p.sz.mRef * (1 - ch.LowCharge)
	}
	return p.sz.mRef * (1 - ch.LowCharge) * (1 + ch.OverCharge)
}

// fullCharge includes the receiver's reserve.
func (p *Plant) fullCharge() float64 { return p.sz.mRef / (1 - p.D.Reserve) }

// Options tune a solve; the zero value is the documented default.
type Options struct {
	MaxIter   int     // 0 means 40
	Near      *Result // a solution nearby to start from
	Nested    bool    // bracketing instead of Newton: slow, for tests and as the fallback
	Tolerance float64 // sum of the residuals, which are relative; 0 means 1e-9
	Quick     bool    // no fallback to bracketing: where many states are asked and a machine at the edge of what runs may be given up
}

// Solve finds the steady state.
//
//   - in: box and ambient temperature, K; the change
//   - out: the state; when the machine would trip, Trip says why and Out is not to be used
//   - errors: none; every outcome is in the result
//   - assumes: running long enough to be steady at this box temperature
//   - source: design paper 2.3, 2.5, 2.6; damped Newton, nested bracketing as fallback
//   - cost: about 30 evaluations cold, 12 warm; a charge problem about twice that
func (p *Plant) Solve(in Inputs, ch Change, o Options) Result {
	if o.MaxIter <= 0 {
		o.MaxIter = 40
	}
	if o.Tolerance <= 0 {
		o.Tolerance = 1e-9
	}
	d := &p.D
	if p.sz.mRef == 0 && (!d.Receiver || ch.LowCharge > 0 || d.Head == reading.Flooding) {
		p.sizeCharge()
	}
	evals := 0
	cold := [4]float64{in.BoxT - d.TD, 0, math.Min(in.AmbientT+ch.Recirculation+d.Split, p.maxTc()-6), p.sz.phi0}
	if d.Receiver {
		cold[3] = ch.OverCharge
	}
	attempt := func(mode int, start [4]float64) (Result, bool) {
		if o.Nested {
			if byCharge(mode) {
				return p.chargeByBracket(in, &ch, mode, start, o, &evals)
			}
			return p.nested(in, &ch, mode, start, &evals)
		}
		if o.Near != nil {
			s := o.Near.U
			if !byCharge(mode) {
				s[3] = start[3]
			}
			if held(mode) {
				s[2] = start[2]
			}
			var jac *[16]float64
			if o.Near.Mode == mode && o.Near.jac[0] != 0 {
				jac = &o.Near.jac
			}
			if r, ok := p.newton(in, &ch, mode, s, jac, o, &evals); ok {
				return r, true
			}
		}
		if r, ok := p.newton(in, &ch, mode, start, nil, o, &evals); ok {
			return r, true
		}
		// Starved machines run far below: a second guess before the fallback.
		s := start
		s[0] -= 12
		s[1] -= 0.6
		if !held(mode) {
			s[2] = math.Max(in.AmbientT+2, s[2]-6)
		}
		if r, ok := p.newton(in, &ch, mode, s, nil, o, &evals); ok {
			return r, true
		}
		switch {
		case o.Quick:
			return Result{}, false
		case byCharge(mode):
			return p.chargeByBracket(in, &ch, mode, start, o, &evals)
		}
		return p.nested(in, &ch, mode, start, &evals)
	}
	done := func(r Result) Result {
		r.Evaluations = evals
		lo, _ := p.f.TRange()
		switch {
		case r.Trip != TripNone:
		case r.U[2] > p.maxTc():
			r.Trip = HighPressure
		case r.U[0] < lo || r.Out[SuctionDew] < lo:
			r.Trip = LowPressure
		}
		return r
	}
	failed := func() Result {
		r := Result{Solve: num.Solve{Status: num.Diverged}, Trip: NoState}
		// Which side gives out: a hot condenser or a starved coil.
		if p.needsMore(in, &ch) {
			r.Trip = HighPressure
		}
		return done(r)
	}
	// short finds the state in which vapour leaves the condenser because the charge does not reach.
	short := func(mode int, from [4]float64) (Result, bool) {
		from[3] = -math.Min(0.3, 0.3*ch.LowCharge+0.01)
		q, ok := attempt(mode, from)
		return q, ok && q.U[3] <= 1e-6
	}
	// Head control first: it holds while there is area to spare.
	set := d.HeadSet + ch.HeadShift
	control := d.Head != reading.HeadNone && d.Head != reading.HeadUnknown && set > in.AmbientT+ch.Recirculation+0.5
	var free Result
	found := false // free is solved
	if control && d.Receiver && o.Near != nil && o.Near.Mode == modeFree {
		// Beside a neighbour above its set value: so is this one where the head is free to be there, since the area needed falls with the head.
		if free, found = attempt(modeFree, cold); found && free.U[2] > set {
			control = false
		}
	}
	if control {
		start := cold
		start[2] = set
		mode := modeHead
		if !d.Receiver {
			mode = modeHeadCharge
		}
		if r, ok := attempt(mode, start); ok {
			var s state
			p.eval(in, &ch, mode, &r.U, &s)
			switch {
			case s.f3 > 0:
				// Not enough area even so: the head rises above the set value.
			case !d.Receiver:
				return done(r)
			case d.Head == reading.Flooding:
				have := p.fullCharge()
				if ch.LowCharge > 0 {
					have = p.charge(&ch)
				}
				if s.charge <= have {
					return done(r)
				}
				// Not enough to flood: the circuit without control.
			case ch.LowCharge == 0 || s.charge <= p.charge(&ch):
				return done(r)
			default:
				// Fans hold the head of a machine that is short of refrigerant too.
				if q, ok := short(modeHeadCharge, r.U); ok {
					p.eval(in, &ch, modeHeadCharge, &q.U, &s)
					if s.f3 <= 0 {
						return done(q)
					}
				}
			}
		}
	}
	if !d.Receiver {
		if r, ok := attempt(modeCharge, cold); ok {
			return done(r)
		}
		return failed()
	}
	// A neighbour that was short of refrigerant: with vapour leaving the condenser the charge decides here too, since
	// it falls as that share rises.
	if n := o.Near; n != nil && ch.LowCharge > 0 && n.Mode == modeCharge && n.jac[0] != 0 && !o.Nested {
		if r, ok := p.newton(in, &ch, modeCharge, n.U, &n.jac, o, &evals); ok && r.U[3] < -1e-6 {
			return done(r)
		}
	}
	r, ok := free, found
	if !ok {
		r, ok = attempt(modeFree, cold)
	}
	if !ok {
		return failed()
	}
	if ch.LowCharge > 0 {
		var s state
		p.eval(in, &ch, modeFree, &r.U, &s)
		if s.charge > p.charge(&ch) {
			if q, ok := short(modeCharge, r.U); ok {
				return done(q)
			}
			if !o.Quick {
				if q, ok := p.chargeByBracket(in, &ch, modeCharge, r.U, o, &evals); ok {
					return done(q)
				}
			}
			return failed()
		}
	}
	return done(r)
}

func (p *Plant) maxTc() float64 {
	_, hi := p.f.TRange()
	return hi
}

// needsMore reports whether at the highest condensing temperature the condenser still lacks area.
func (p *Plant) needsMore(in Inputs, ch *Change) bool {
	u := [4]float64{in.BoxT - p.D.TD, 0, p.maxTc(), 0}
	var s state
	p.eval(in, ch, modeFree, &u, &s)
	return s.f3 > 0
}

// newton solves from u. The Jacobian is differenced where none is known and where it has worn out, and kept up to
// date by Broyden's rank-one update in between; near is one of a neighbouring solution of the same mode. Source:
// Dennis and Schnabel (1983), Numerical Methods for Unconstrained Optimization and Nonlinear Equations, ch. 8.
func (p *Plant) newton(in Inputs, ch *Change, mode int, u [4]float64, near *[16]float64, o Options, evals *int) (Result, bool) {
	idx := active[mode]
	n := len(idx)
	clamp := func(u *[4]float64) {
		u[0] = math.Min(u[0], in.BoxT-0.05)
		u[2] = math.Max(u[2], in.AmbientT+ch.Recirculation+0.3)
		if byCharge(mode) {
			u[3] = math.Max(-0.9, math.Min(0.9, u[3]))
		}
	}
	clamp(&u)
	var places [2]state
	s, t := &places[0], &places[1]
	p.residuals(in, ch, mode, &u, s)
	*evals++
	norm := func(s *state) float64 {
		v := 0.0
		for _, i := range idx {
			v += math.Abs(s.F[i])
		}
		return v
	}
	f0 := norm(s)
	steps := [4]float64{1e-4, 1e-5, 1e-4, 1e-5}
	limits := [4]float64{8, 0.5, 8, 0.15}
	var J [16]float64
	known, fresh := near != nil, false
	if known {
		J = *near
	}
	for it := 1; it <= o.MaxIter; it++ {
		if f0 < o.Tolerance {
			if !byCharge(mode) {
				p.weigh(ch, mode, s)
			}
			p.show(in, ch, mode, s)
			return Result{Solve: num.Solve{Status: num.Converged, Iterations: it, Residual: f0}, U: u, Mode: mode, Out: s.out, jac: J}, true
		}
		if math.IsNaN(f0) {
			return Result{}, false
		}
		if !known {
			for b, j := range idx {
				w := u
				h := steps[j]
				// Stay on one side of the kink of the charge coordinate.
				if j == 3 && u[3] < 0 {
					h = -h
				}
				w[j] += h
				p.residuals(in, ch, mode, &w, t)
				*evals++
				for a, i := range idx {
					J[a*n+b] = (t.F[i] - s.F[i]) / h
				}
			}
			known, fresh = true, true
		}
		A := J
		var F [4]float64
		for a, i := range idx {
			F[a] = -s.F[i]
		}
		scale := 1.0
		accepted := false
		if num.SolveDense(n, A[:n*n], F[:n]) {
			for k, i := range idx {
				if a := math.Abs(F[k]) * scale; a > limits[i] {
					scale *= limits[i] / a
				}
			}
			tries := 12
			switch {
			case !fresh:
				tries = 1 // a worn Jacobian is not worth a search
			case o.Quick:
				tries = 5
			}
			for range tries {
				w := u
				for k, i := range idx {
					w[i] += scale * F[k]
				}
				clamp(&w)
				p.residuals(in, ch, mode, &w, t)
				*evals++
				if f1 := norm(t); f1 < f0*(1-1e-4*scale) || f1 < o.Tolerance {
					broyden(idx, &J, &u, &w, s, t, &limits)
					known = f1 < 0.45*f0 && (w[3] < 0) == (u[3] < 0)
					fresh = false
					u, f0 = w, f1
					s, t = t, s
					accepted = true
					break
				}
				scale *= 0.4
			}
		}
		if !accepted {
			if fresh {
				return Result{}, false
			}
			known = false
		}
	}
	return Result{}, false
}

// broyden updates J by what the step from u to w taught, in coordinates of comparable size.
func broyden(idx []int, J *[16]float64, u, w *[4]float64, s, t *state, size *[4]float64) {
	n := len(idx)
	var d [4]float64
	sum := 0.0
	for b, j := range idx {
		d[b] = w[j] - u[j]
		sum += d[b] * d[b] / (size[j] * size[j])
	}
	if sum == 0 {
		return
	}
	for a, i := range idx {
		y := t.F[i] - s.F[i]
		for b := range n {
			y -= J[a*n+b] * d[b]
		}
		for b, j := range idx {
			J[a*n+b] += y * d[b] / (size[j] * size[j] * sum)
		}
	}
}

// nested solves by bracketing, relying on monotone residuals: ln m inside on the valve, Te on the compressor, Tc outside on the area.
func (p *Plant) nested(in Inputs, ch *Change, mode int, start [4]float64, evals *int) (Result, bool) {
	u := start
	var s state
	get := func() *state {
		*evals++
		p.eval(in, ch, mode, &u, &s)
		return &s
	}
	solveM := func() bool {
		x, _, err := num.Brent(func(x float64) float64 { u[1] = x; return get().F[1] }, -6, 1.5, 1e-12)
		u[1] = x
		return err == nil
	}
	lo, _ := p.f.TRange()
	solveTe := func() bool {
		f := func(x float64) float64 {
			u[0] = x
			if !solveM() {
				return math.NaN()
			}
			return get().F[0]
		}
		a, b := math.Max(lo-15, in.BoxT-70), in.BoxT-0.05
		// Shrink the bracket to where the inner problem has a solution.
		for range 12 {
			if !math.IsNaN(f(a)) {
				break
			}
			a += 0.25 * (b - a)
		}
		x, _, err := num.Brent(f, a, b, 1e-11)
		if err != nil {
			return false
		}
		u[0] = x
		return solveM()
	}
	if mode == modeHead {
		if !solveTe() {
			return Result{}, false
		}
	} else {
		f := func(x float64) float64 {
			u[2] = x
			if !solveTe() {
				return math.NaN()
			}
			return get().f3
		}
		a, b := in.AmbientT+ch.Recirculation+0.3, p.maxTc()+10
		for range 12 {
			if !math.IsNaN(f(a)) {
				break
			}
			a += 0.2 * (b - a)
		}
		// At high condensing temperature a wide feed passes more than the compressor can take at any evaporating temperature.
		for range 12 {
			if !math.IsNaN(f(b)) {
				break
			}
			b -= 0.2 * (b - a)
		}
		x, _, err := num.Brent(f, a, b, 1e-11)
		if err != nil {
			return Result{}, false
		}
		u[2] = x
		if !solveTe() {
			return Result{}, false
		}
	}
	get()
	return Result{
		Solve: num.Solve{Status: num.Converged, Iterations: 1, Residual: math.Abs(s.F[0]) + math.Abs(s.F[1])},
		U:     u,
		Mode:  mode,
		Out:   s.out,
	}, true
}

// chargeByBracket finds the charge coordinate by expanding steps and bracketing, warm-starting the inner Newton (or bracketing there too).
func (p *Plant) chargeByBracket(in Inputs, ch *Change, mode int, start [4]float64, o Options, evals *int) (Result, bool) {
	inner := modeFree
	if mode == modeHeadCharge {
		inner = modeHead
	}
	want := p.charge(ch)
	var last Result
	warm := start
	f := func(c float64) float64 {
		u := warm
		u[3] = c
		var r Result
		var ok bool
		if o.Nested {
			r, ok = p.nested(in, ch, inner, u, evals)
		} else {
			r, ok = p.newton(in, ch, inner, u, nil, o, evals)
		}
		if !ok {
			return math.NaN()
		}
		var s state
		p.eval(in, ch, inner, &r.U, &s)
		last, warm = r, r.U
		return math.Log(s.charge / want)
	}
	a := 0.0
	fa := f(a)
	if math.IsNaN(fa) {
		return Result{}, false
	}
	step := 0.04
	if fa > 0 {
		step = -step
	}
	for range 30 {
		b := a + step
		if b > 0.9 || b < -0.9 {
			return Result{}, false
		}
		save := warm
		fb := f(b)
		if math.IsNaN(fb) {
			warm = save
			step *= 0.4
			if math.Abs(step) < 1e-4 {
				return Result{}, false
			}
			continue
		}
		if fa*fb <= 0 {
			c, _, err := num.Brent(f, a, b, 1e-10)
			if err != nil || math.IsNaN(f(c)) {
				return Result{}, false
			}
			last.Mode, last.jac = mode, [16]float64{} // the Jacobian is that of the inner problem
			return last, true
		}
		a, fa = b, fb
		step *= 1.8
	}
	return Result{}, false
}

// Problem is a plant with its inputs and change: a point in parameter space.
type Problem struct {
	D  Design
	In Inputs
	Ch Change
}

// Derivative returns the change of the outputs per step from the solved base problem to a neighbouring one, by the implicit rule
// dy/dθ = y_θ − y_u F_u⁻¹ F_θ, without solving again.
//
//   - in: the base result of p.Solve(in, ch); neighbours, each with its step; dst with one Outputs per neighbour; du
//     likewise for the unknowns, or nil
//   - out: dst[k] = dOut per unit step, du[k] = dU per unit step; that of ChargeShare is left at zero where the charge does not decide
//   - errors: false when the state is singular
//   - source: implicit function theorem
//   - cost: 4 evaluations plus one per neighbour (and a sizing where the design moved)
func (p *Plant) Derivative(in Inputs, ch Change, r *Result, neighbours []Problem, steps []float64, dst []Outputs, du [][4]float64) bool {
	idx := active[r.Mode]
	n := len(idx)
	var s0, t state
	u := r.U
	p.eval(in, &ch, r.Mode, &u, &s0)
	h := [4]float64{1e-4, 1e-5, 1e-4, 1e-5}
	if u[3] < 0 {
		h[3] = -h[3]
	}
	var fu [16]float64
	defer func() { r.jac = fu }()
	var yu [4]Outputs
	for b, j := range idx {
		w := u
		w[j] += h[j]
		p.eval(in, &ch, r.Mode, &w, &t)
		for a, i := range idx {
			fu[a*n+b] = (t.F[i] - s0.F[i]) / h[j]
		}
		for k := range yu[b] {
			yu[b][k] = (t.out[k] - s0.out[k]) / h[j]
		}
	}
	for k := range neighbours {
		q := *p
		if neighbours[k].D != p.D {
			q.D = neighbours[k].D
			q.size()
			// The design charge of the neighbour costs an evaluation; it matters only where the charge decides.
			if byCharge(r.Mode) {
				q.sizeCharge()
			}
		}
		w := u
		if held(r.Mode) {
			w[2] = q.D.HeadSet + neighbours[k].Ch.HeadShift
		}
		if !byCharge(r.Mode) && p.D.Receiver {
			w[3] = neighbours[k].Ch.OverCharge
		}
		q.eval(neighbours[k].In, &neighbours[k].Ch, r.Mode, &w, &t)
		var a [16]float64
		copy(a[:], fu[:])
		var b [4]float64
		for c, i := range idx {
			b[c] = (t.F[i] - s0.F[i]) / steps[k]
		}
		if !num.SolveDense(n, a[:n*n], b[:n]) {
			return false
		}
		if du != nil {
			du[k] = [4]float64{}
			for c, i := range idx {
				du[k][i] = -b[c]
			}
		}
		for o := range dst[k] {
			v := (t.out[o] - s0.out[o]) / steps[k]
			for j := range n {
				v -= yu[j][o] * b[j]
			}
			dst[k][o] = v
		}
		if !byCharge(r.Mode) {
			dst[k][ChargeShare] = 0
		}
	}
	return true
}
