package plant

import (
	"math"

	"coldwright/num"
	"coldwright/reading"
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
	modeFree   = iota // Te, ln m, Tc; charge coordinate given
	modeHead          // Te, ln m; Tc held by the head control
	modeCharge        // Te, ln m, Tc and the charge coordinate
)

func unknowns(mode int) int {
	switch mode {
	case modeHead:
		return 2
	case modeCharge:
		return 4
	}
	return 3
}

// state is one evaluation.
type state struct {
	F      [4]float64
	f3     float64 // area residual, also in modeHead
	charge float64
	out    Outputs
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

// eval computes residuals and outputs at u. u[3] >= 0: backed-up share of the condenser; below zero: vapour share leaving it.
func (p *Plant) eval(in Inputs, ch *Change, mode int, u *[4]float64, s *state) {
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
	x4 := (hl - hfE) / (hgE - hfE)
	tdMean := td + 0.5*(1-math.Min(1, math.Max(0, x4)))*(te-tbE)
	z := m * (hgE - hl) / (ce * epsE * tdMean)
	var sh, she, hCoil, xe float64
	xe = 1
	if z < 1 {
		_, cpv := low.H(te + 0.5*td)
		sh = td * (1 - math.Exp(-d.UV*ntuE*ce*(1-z)/(m*cpv)))
		she = sh
		hCoil, _ = low.H(te + sh)
	} else {
		hCoil = hl + (hgE-hl)/z
		she = -20 * (z - 1)
		xe = math.Max(0, (hCoil-hfE)/(hgE-hfE))
	}
	tOut := te + sh
	// Suction line.
	rhoE := low.Rho(tOut)
	if xe < 1 {
		rhoE = 1 / (xe/rhoE + (1-xe)/f.LiquidRho(tbE))
	}
	drop := sz.kDrop*m*m/rhoE + ch.SuctionRestriction*sz.slopeE*m*m
	ps := pe - drop
	ps = 0.05*pe + 0.02*pe*softplus((ps-0.05*pe)/(0.02*pe))
	suc := f.Isobar(ps)
	tds := suc.Dew
	const cpLine = 800 // J/(kg K): vapour in the suction line, judgement
	qs := cpLine * (in.AmbientT - tOut) * (1 - math.Exp(-d.SuctionNTU/m))
	wet := 0.0
	if xe < 1 {
		wet = hgE - hCoil
	}
	var ts, rhoS, h1, s1 float64
	if qs >= wet {
		ts = math.Max(tOut+(qs-wet)/cpLine, tds)
		rhoS, h1, s1 = suc.At(ts)
	} else {
		ts = tds
		hgs := f.DewH(tds)
		rg, _, sg := f.DewVapour(tds)
		lack := wet - qs
		h1 = hgs - lack
		s1 = sg - lack/ts
		xs := math.Max(0.05, 1-lack/(hgE-hfE))
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
	var a float64
	if d.Expansion == reading.Orifice || d.Expansion == reading.Capillary {
		a = (1 - ch.ValveUnder) * (1 + ch.ValveOver)
	} else {
		set := sz.shSet * (1 - 1.5*ch.ValveOver)
		a = softclip(1+(she-set)/d.Band, 0.03, d.ValveMax, 0.06) * (1 - ch.ValveUnder) * (1 + 0.6*ch.ValveOver)
	}
	mv := sz.kv * a * math.Sqrt(p.throttleDensity(hl, pv, hfg)*math.Max(pv-pe, 1))
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
	s.F[1] = math.Log(mv / m)
	s.f3 = math.Log(area / (1 - phi))
	s.F[2] = s.f3
	// Charge.
	flooded := phi
	if mode == modeHead && d.Head == reading.Flooding {
		flooded = math.Max(0, 1-area)
	}
	rlC := f.LiquidRho(tb)
	sigC := math.Pow(rvC/rlC, 2.0/3)
	share := (1 - flooded) / math.Max(area, 1e-9)
	aC := voidMean(sigC, xo, 1)
	M := d.VC * (fds*share*rvC + f2*share*(aC*rvC+(1-aC)*rlC) + flooded*rlC)
	xl := math.Min(0.999, x2)
	aL := xl / (sigC + (1-sigC)*xl)
	M += d.VL * (aL*rvC + (1-aL)*rl)
	rgE, _, _ := f.DewVapour(te)
	rlE := f.LiquidRho(tbE)
	sigE := math.Pow(rgE/rlE, 2.0/3)
	aE := voidMean(sigE, math.Min(0.98, math.Max(0, x4)), math.Max(xe, 0.01))
	M += d.VE * (math.Min(z, 1)*(aE*rgE+(1-aE)*rlE) + math.Max(0, 1-z)*rhoE)
	M += d.VS*rhoS + d.VR*rvC
	s.charge = M
	want := p.charge(ch)
	s.F[3] = math.Log(M / want)

	o := &s.out
	o[SuctionDew], o[CoilDew], o[DischargeDew], o[LiquidDew] = tds, te, high.Dew, f.DewP(psg)
	o[CoilOutletT], o[SuctionLineT], o[LiquidLineT], o[DischargeLineT] = tOut, ts, tl, t2
	Q := m * (hCoil - hl)
	o[AirOffT] = in.BoxT - Q/ce
	o[CondenserFaceT] = ta
	o[CondenserOffT] = ta + m*(h2-hOut)/cc
	o[DrierDrop] = math.Max(0, tl-tbg)
	o[PowerRatio] = m * w / sz.workD
	o[AmpsRatio] = 0.35 + 0.65*o[PowerRatio]
	o[StandingT] = f.DewP(f.DewT(in.AmbientT) + 0.8*ch.Noncondensables)
	o[GlassQuality] = xsg
	o[Capacity] = Q / sz.capD
	o[Flooded] = flooded
	o[ChargeShare] = M / sz.mRef
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
	MaxIter int     // 0 means 40
	Near    *Result // a solution nearby to start from
	Nested  bool    // bracketing instead of Newton: slow, for tests and as the fallback
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
	d := &p.D
	evals := 0
	lift := 0.0
	if !d.Receiver {
		lift = p.phi0()
	}
	cold := [4]float64{in.BoxT - d.TD, 0, math.Min(in.AmbientT+ch.Recirculation+d.Split, p.maxTc()-6), lift}
	if d.Receiver {
		cold[3] = ch.OverCharge
	}
	try := func(mode int, start [4]float64) (Result, bool) {
		return p.newton(in, &ch, mode, start, nil, o.MaxIter, &evals)
	}
	attempt := func(mode int, start [4]float64) (Result, bool) {
		if o.Nested && mode != modeCharge {
			return p.nested(in, &ch, mode, start, &evals)
		}
		if o.Near != nil {
			s := o.Near.U
			if mode != modeCharge {
				s[3] = start[3]
			}
			if mode == modeHead {
				s[2] = start[2]
			}
			var jac *[16]float64
			if o.Near.Mode == mode && o.Near.jac[0] != 0 {
				jac = &o.Near.jac
			}
			if r, ok := p.newton(in, &ch, mode, s, jac, o.MaxIter, &evals); ok {
				return r, true
			}
		}
		if r, ok := try(mode, start); ok {
			return r, true
		}
		// Starved machines run far below: a second guess before the fallback.
		s := start
		s[0] -= 12
		s[1] -= 0.6
		s[2] = math.Max(in.AmbientT+2, s[2]-6)
		if mode == modeHead {
			s[2] = start[2]
		}
		if r, ok := try(mode, s); ok {
			return r, true
		}
		if mode != modeCharge {
			return p.nested(in, &ch, mode, start, &evals)
		}
		return Result{}, false
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
	// Head control first: it holds while there is area to spare.
	if d.Head != reading.HeadNone && d.Head != reading.HeadUnknown {
		set := d.HeadSet + ch.HeadShift
		start := cold
		start[2] = set
		if set > in.AmbientT+ch.Recirculation+0.5 {
			if r, ok := attempt(modeHead, start); ok {
				var s state
				p.eval(in, &ch, modeHead, &r.U, &s)
				if s.f3 <= 0 {
					have := p.fullCharge()
					if ch.LowCharge > 0 {
						have = p.charge(&ch)
					}
					if d.Head != reading.Flooding || s.charge <= have || !d.Receiver {
						if d.Head == reading.Flooding || ch.LowCharge == 0 || s.charge <= have {
							return done(r)
						}
					}
					// Not enough to flood (or to feed): fall through to the circuit without control.
				}
			}
		}
	}
	if !d.Receiver {
		if r, ok := attempt(modeCharge, cold); ok {
			return done(r)
		}
		if r, ok := p.chargeByBracket(in, &ch, cold, o, &evals); ok {
			return done(r)
		}
		return failed()
	}
	r, ok := attempt(modeFree, cold)
	if !ok {
		return failed()
	}
	if ch.LowCharge > 0 {
		var s state
		p.eval(in, &ch, modeFree, &r.U, &s)
		if s.charge > p.charge(&ch) {
			start := r.U
			start[3] = -math.Min(0.3, 0.3*ch.LowCharge+0.01)
			if q, ok := attempt(modeCharge, start); ok && q.U[3] <= 1e-6 {
				return done(q)
			}
			if q, ok := p.chargeByBracket(in, &ch, r.U, o, &evals); ok {
				return done(q)
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

// newton solves from u. The Jacobian is differenced where none is known and where it has worn out, and kept up to date by Broyden's rank-one update in
// between; near is one of a neighbouring solution.
// Source: Dennis and Schnabel (1983), Numerical Methods for Unconstrained Optimization and Nonlinear Equations, ch. 8.
func (p *Plant) newton(in Inputs, ch *Change, mode int, u [4]float64, near *[16]float64, maxIter int, evals *int) (Result, bool) {
	n := unknowns(mode)
	if mode == modeHead {
		u[3] = 0
	}
	clamp := func(u *[4]float64) {
		u[0] = math.Min(u[0], in.BoxT-0.05)
		u[2] = math.Max(u[2], in.AmbientT+ch.Recirculation+0.3)
		if mode == modeCharge {
			u[3] = math.Max(-0.9, math.Min(0.9, u[3]))
		}
	}
	clamp(&u)
	var s, t state
	p.eval(in, ch, mode, &u, &s)
	*evals++
	norm := func(s *state) float64 {
		v := 0.0
		for i := range n {
			v += math.Abs(s.F[i])
		}
		return v
	}
	f0 := norm(&s)
	steps := [4]float64{1e-4, 1e-5, 1e-4, 1e-5}
	limits := [4]float64{8, 0.5, 8, 0.15}
	var J [16]float64
	known, fresh := near != nil, false
	if known {
		J = *near
	}
	for it := 1; it <= maxIter; it++ {
		if f0 < 1e-9 {
			return Result{Solve: num.Solve{Status: num.Converged, Iterations: it, Residual: f0}, U: u, Mode: mode, Out: s.out, jac: J}, true
		}
		if math.IsNaN(f0) {
			return Result{}, false
		}
		if !known {
			for j := range n {
				w := u
				h := steps[j]
				// Stay on one side of the kink of the charge coordinate.
				if j == 3 && u[3] < 0 {
					h = -h
				}
				w[j] += h
				p.eval(in, ch, mode, &w, &t)
				*evals++
				for i := range n {
					J[i*n+j] = (t.F[i] - s.F[i]) / h
				}
			}
			known, fresh = true, true
		}
		A := J
		var F [4]float64
		for i := range n {
			F[i] = -s.F[i]
		}
		scale := 1.0
		accepted := false
		if num.SolveDense(n, A[:n*n], F[:n]) {
			for i := range n {
				if a := math.Abs(F[i]) * scale; a > limits[i] {
					scale *= limits[i] / a
				}
			}
			tries := 12
			if !fresh {
				tries = 1 // a worn Jacobian is not worth a search
			}
			for range tries {
				w := u
				for i := range n {
					w[i] += scale * F[i]
				}
				clamp(&w)
				p.eval(in, ch, mode, &w, &t)
				*evals++
				if f1 := norm(&t); f1 < f0*(1-1e-4*scale) || f1 < 1e-9 {
					// Broyden's update in coordinates of comparable size.
					var d, y [4]float64
					size := 0.0
					for i := range n {
						d[i] = w[i] - u[i]
						size += d[i] * d[i] / (limits[i] * limits[i])
					}
					for i := range n {
						y[i] = t.F[i] - s.F[i]
						for j := range n {
							y[i] -= J[i*n+j] * d[j]
						}
					}
					if size > 0 {
						for i := range n {
							for j := range n {
								J[i*n+j] += y[i] * d[j] / (limits[j] * limits[j] * size)
							}
						}
					}
					known = f1 < 0.2*f0 && (w[3] < 0) == (u[3] < 0)
					fresh = false
					u, s, f0 = w, t, f1
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

// nested solves by bracketing, relying on monotone residuals: ln m inside on the valve, Te on the compressor, Tc outside on the area.
func (p *Plant) nested(in Inputs, ch *Change, mode int, start [4]float64, evals *int) (Result, bool) {
	u := start
	if mode == modeHead {
		u[3] = 0
	}
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
	return Result{Solve: num.Solve{Status: num.Converged, Iterations: 1, Residual: math.Abs(s.F[0]) + math.Abs(s.F[1])}, U: u, Mode: mode, Out: s.out}, true
}

// chargeByBracket finds the charge coordinate by expanding steps and bracketing, warm-starting the inner Newton.
func (p *Plant) chargeByBracket(in Inputs, ch *Change, start [4]float64, o Options, evals *int) (Result, bool) {
	want := p.charge(ch)
	var last Result
	warm := start
	f := func(c float64) float64 {
		u := warm
		u[3] = c
		r, ok := p.newton(in, ch, modeFree, u, nil, o.MaxIter, evals)
		if !ok {
			return math.NaN()
		}
		var s state
		p.eval(in, ch, modeFree, &r.U, &s)
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
			last.Mode = modeCharge
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
//   - in: the base result of p.Solve(in, ch); neighbours, each with its step; dst with one Outputs per neighbour
//   - out: dst[k] = dOut per unit step; that of ChargeShare is left at zero where the charge does not decide
//   - errors: false when the state is singular
//   - source: implicit function theorem
//   - cost: 4 evaluations plus one per neighbour (and a sizing where the design moved)
func (p *Plant) Derivative(in Inputs, ch Change, r *Result, neighbours []Problem, steps []float64, dst []Outputs) bool {
	n := unknowns(r.Mode)
	var s0, t state
	u := r.U
	p.eval(in, &ch, r.Mode, &u, &s0)
	h := [4]float64{1e-4, 1e-5, 1e-4, 1e-5}
	if u[3] < 0 {
		h[3] = -h[3]
	}
	var fu [16]float64
	var yu [4]Outputs
	for j := range n {
		w := u
		w[j] += h[j]
		p.eval(in, &ch, r.Mode, &w, &t)
		for i := range n {
			fu[i*n+j] = (t.F[i] - s0.F[i]) / h[j]
		}
		for k := range yu[j] {
			yu[j][k] = (t.out[k] - s0.out[k]) / h[j]
		}
	}
	for k := range neighbours {
		q := *p
		if neighbours[k].D != p.D {
			q.D = neighbours[k].D
			q.size()
			// The design charge of the neighbour costs an evaluation; it matters only where the charge decides.
			if r.Mode == modeCharge {
				q.sizeCharge()
			}
		}
		w := u
		if r.Mode == modeHead {
			w[2] = q.D.HeadSet + neighbours[k].Ch.HeadShift
		}
		if r.Mode == modeFree && p.D.Receiver {
			w[3] = neighbours[k].Ch.OverCharge
		}
		q.eval(neighbours[k].In, &neighbours[k].Ch, r.Mode, &w, &t)
		var a [16]float64
		copy(a[:], fu[:])
		var b [4]float64
		for i := range n {
			b[i] = (t.F[i] - s0.F[i]) / steps[k]
		}
		if !num.SolveDense(n, a[:n*n], b[:n]) {
			return false
		}
		for o := range dst[k] {
			v := (t.out[o] - s0.out[o]) / steps[k]
			for j := range n {
				v -= yu[j][o] * b[j]
			}
			dst[k][o] = v
		}
		if r.Mode != modeCharge {
			dst[k][ChargeShare] = 0
		}
	}
	return true
}
