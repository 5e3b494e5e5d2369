package refrigerant

import (
	"fmt"
	"math"

	"coldwright/num"
)

// Phase of a state.
type Phase int

// The phases.
const (
	PhaseUnknown Phase = iota
	Liquid
	Vapour
	TwoPhase
	Supercritical
)

func (p Phase) String() string {
	return [...]string{"unknown", "liquid", "vapour", "two-phase", "supercritical"}[p]
}

// State is a thermodynamic state, mass based. VapourMass (kg/kg) means something only when Phase is TwoPhase; Cp, Cv and SpeedOfSound only
// when it is not.
type State struct {
	num.Solve
	Phase           Phase
	T, P, Rho, H, S float64
	Cp, Cv          float64
	SpeedOfSound    float64
	VapourMass      float64
}

// raw is a state before the reference shift, per mole.
type raw struct {
	phase      Phase
	T, p       float64
	rho, h, s  float64
	vapourMass float64
	q          point
	solve      num.Solve
}

func (r *Refrigerant) checkPT(p, T float64, o Options) error {
	l := r.limits
	if o.Extrapolate && T > 0.8*l.TMin && T < 1.5*l.TMax && p > 0 && p < 2*l.PMax {
		return nil
	}
	if !(T >= l.TMin && T <= l.TMax) {
		return &RangeError{r.designation, coldEnd, T, l.TMin, l.TMax, "published validity of the equation"}
	}
	if !(p > 0 && p <= l.PMax) {
		return &RangeError{r.designation, "pressure in Pa (absolute)", p, 0, l.PMax, "published validity of the equation"}
	}
	return nil
}

func (r *Refrigerant) single(T, p, rho float64, ph Phase, evals int) raw {
	q := r.m.at(r.z, T, rho)
	return raw{
		phase: ph, T: T, p: p, rho: rho, h: q.h, s: q.s, q: q,
		solve: num.Solve{Status: num.Converged, Iterations: evals, Evaluations: evals, Residual: math.Abs(q.p/p - 1)},
	}
}

// singleAt finds the one stable phase at p, T outside the two-phase region. liquidLike chooses the branch below the critical temperature.
func (r *Refrigerant) singleAt(p, T float64, liquidLike bool) (raw, bool) {
	ph := Vapour
	if liquidLike {
		ph = Liquid
	}
	if T >= r.limits.TCrit && p >= r.limits.PCrit {
		ph = Supercritical
	}
	if T < r.limits.TCrit*0.999 || p < 0.5*r.limits.PCrit {
		if rho, n, ok := r.m.rhoAt(r.z, T, p, liquidLike, 0); ok {
			return r.single(T, p, rho, ph, n), true
		}
	}
	// One root only (or close to the critical point): bracket it.
	hi := 3.6 * r.m.densityScale(r.z)
	lo := math.Min(0.2*p/(r.m.R*T), 0.5*hi)
	n := 0
	f := func(rho float64) float64 {
		n++
		a := r.m.residual(r.z, T, rho)
		return rho*r.m.R*T*(1+a.D)/p - 1
	}
	rho, _, err := num.Brent(f, lo, hi, 1e-12*hi)
	if err != nil {
		return raw{}, false
	}
	return r.single(T, p, rho, ph, n), true
}

// flashPT splits the bulk at p, T between bubble and dew pressure.
func (r *Refrigerant) flashPT(p, T float64, bub, dew *equilibrium) (raw, bool) {
	if s, ok := r.substitute(p, T, bub, dew); ok {
		return s, true
	}
	return r.share(bub, dew, heldTX, -p, func(s *raw) float64 { return -s.p })
}

// substitute is flashPT by successive substitution, handed over to Newton.
func (r *Refrigerant) substitute(p, T float64, bub, dew *equilibrium) (raw, bool) {
	n, m := r.m.n, r.m
	var K, x, y [maxN]float64
	// K-values between those of the bubble and the dew point.
	f := 0.5
	if bub.p != dew.p {
		f = (bub.p - p) / (bub.p - dew.p)
	}
	rb, rd := bub.incRho(n), dew.incRho(n)
	for i := range n {
		kb := math.Log(bub.inc[i] / rb / r.z[i])
		kd := math.Log(r.z[i] / (dew.inc[i] / rd))
		K[i] = math.Exp(kb + f*(kd-kb))
	}
	rl, rv := bub.rhoLiquid(n), dew.rhoVapour(n)
	beta := f
	var A, B isochoric
	var sp split
	for range 100 {
		// Rachford–Rice by Newton inside its bracket.
		lo, hi := 0.0, 1.0
		for range 60 {
			g, dg := 0.0, 0.0
			for i := range n {
				d := 1 + beta*(K[i]-1)
				g += r.z[i] * (K[i] - 1) / d
				dg -= r.z[i] * (K[i] - 1) * (K[i] - 1) / (d * d)
			}
			if g > 0 {
				lo = beta
			} else {
				hi = beta
			}
			b := beta - g/dg
			if !(b > lo && b < hi) {
				b = 0.5 * (lo + hi)
			}
			if math.Abs(b-beta) < 1e-12 {
				break
			}
			beta = b
		}
		for i := range n {
			x[i] = r.z[i] / (1 + beta*(K[i]-1))
			y[i] = K[i] * x[i]
		}
		normalise(x[:n])
		normalise(y[:n])
		var okl, okv bool
		rl, _, okl = m.rhoAt(x[:n], T, p, true, rl)
		rv, _, okv = m.rhoAt(y[:n], T, p, false, rv)
		if !okl || !okv {
			return raw{}, false
		}
		for i := range n {
			sp.l[i], sp.v[i] = x[i]*rl, y[i]*rv
		}
		sp.T, sp.p, sp.beta = T, p, beta
		A, B = isochoric{}, isochoric{}
		m.isochore(T, sp.l[:n], &A)
		m.isochore(T, sp.v[:n], &B)
		sp.Evaluations += 2
		worst := 0.0
		for i := range n {
			d := math.Log(sp.l[i]/sp.v[i]) + A.g[i] - B.g[i]
			worst = math.Max(worst, math.Abs(d))
			K[i] *= math.Exp(d)
		}
		// Substitution finds the neighbourhood, Newton the answer.
		if worst < 0.02 {
			try := sp
			if m.polishSplit(r.z, &try, heldPT) {
				return r.twoPhase(&try), true
			}
		}
		if worst < 1e-11 {
			sp.Status, sp.Residual = num.Converged, worst
			return r.twoPhase(&sp), true
		}
	}
	return raw{}, false
}

// split is a bulk divided into liquid and vapour, by partial densities.
type split struct {
	num.Solve
	T, p float64
	l, v [maxN]float64 // mol/m³
	beta float64       // vapour's share of the moles
}

// held says which two of T, p and β are given; the third is found.
type held int

const (
	heldPT held = iota
	heldPX
	heldTX
)

func (r *Refrigerant) twoPhase(sp *split) raw {
	n, m := r.m.n, r.m
	var x, y [maxN]float64
	rl, rv := 0.0, 0.0
	for i := range n {
		rl += sp.l[i]
		rv += sp.v[i]
	}
	for i := range n {
		x[i], y[i] = sp.l[i]/rl, sp.v[i]/rv
	}
	beta := math.Max(0, math.Min(1, sp.beta))
	ql, qv := m.at(x[:n], sp.T, rl), m.at(y[:n], sp.T, rv)
	Ml, Mv := m.molarMass(x[:n]), m.molarMass(y[:n])
	return raw{
		phase: TwoPhase, T: sp.T, p: sp.p, rho: 1 / ((1-beta)/rl + beta/rv), h: (1-beta)*ql.h + beta*qv.h, s: (1-beta)*ql.s + beta*qv.s,
		vapourMass: beta * Mv / (beta*Mv + (1-beta)*Ml), solve: sp.Solve,
	}
}

// polishSplit solves a split by Newton: equal fugacities, both pressures right, the balance of every component.
func (m *model) polishSplit(z []float64, sp *split, given held) bool {
	n := m.n
	size := 2*n + 1
	const big = 2*maxN + 1
	var J [big * big]float64
	var F [big]float64
	var A, B isochoric
	prev := math.Inf(1)
	for sp.Iterations = 1; sp.Iterations <= 40; sp.Iterations++ {
		RT, p := m.R*sp.T, sp.p
		A, B = isochoric{}, isochoric{}
		m.isochore(sp.T, sp.l[:n], &A)
		m.isochore(sp.T, sp.v[:n], &B)
		sp.Evaluations += 2
		clear(J[:size*size])
		pl, pv, rl, rv := -A.psi, -B.psi, 0.0, 0.0
		plT, pvT := -A.psiT, -B.psiT
		for i := range n {
			pl += sp.l[i] * (1 + A.g[i])
			pv += sp.v[i] * (1 + B.g[i])
			plT += sp.l[i] * A.gT[i]
			pvT += sp.v[i] * B.gT[i]
			rl += sp.l[i]
			rv += sp.v[i]
		}
		// As for a saturation point: the liquid's pressure counts by what it moves ln f.
		noise := 1 + 1e-2*rl*RT/p
		worst := 0.0
		for i := range n {
			F[i] = -(math.Log(sp.l[i]/sp.v[i]) + A.g[i] - B.g[i])
			worst = math.Max(worst, math.Abs(F[i]))
			for j := range n {
				J[i*size+j] = A.h[i][j] * sp.l[j]
				J[i*size+n+j] = -B.h[i][j] * sp.v[j]
			}
			J[i*size+i]++
			J[i*size+n+i]--
			if given == heldPX {
				J[i*size+2*n] = (A.gT[i] - B.gT[i]) * sp.T
			}
		}
		F[n], F[n+1] = -(pl*RT/p - 1), -(pv*RT/p - 1)
		worst = math.Max(worst, math.Max(math.Abs(F[n])/noise, math.Abs(F[n+1])))
		for j := range n {
			sa, sb := 1.0, 1.0
			for i := range n {
				sa += sp.l[i] * A.h[i][j]
				sb += sp.v[i] * B.h[i][j]
			}
			J[n*size+j] = RT * sa * sp.l[j] / p
			J[(n+1)*size+n+j] = RT * sb * sp.v[j] / p
		}
		switch given {
		case heldPX:
			J[n*size+2*n], J[(n+1)*size+2*n] = RT*(pl+sp.T*plT)/p, RT*(pv+sp.T*pvT)/p
		case heldTX:
			J[n*size+2*n], J[(n+1)*size+2*n] = -pl*RT/p, -pv*RT/p
		}
		for i := range n - 1 {
			x, y := sp.l[i]/rl, sp.v[i]/rv
			k := n + 2 + i
			F[k] = z[i] - (1-sp.beta)*x - sp.beta*y
			worst = math.Max(worst, math.Abs(F[k]))
			for j := range n {
				J[k*size+j] = -(1 - sp.beta) * x * sp.l[j] / rl
				J[k*size+n+j] = -sp.beta * y * sp.v[j] / rv
			}
			J[k*size+i] += (1 - sp.beta) * x
			J[k*size+n+i] += sp.beta * y
			if given == heldPT {
				J[k*size+2*n] = y - x
			}
		}
		sp.Residual = worst
		if math.IsNaN(worst) {
			return false
		}
		if worst < 3e-13 || (worst < 1e-8 && worst >= prev*0.5) {
			sp.Status = num.Converged
			var x [maxN]float64
			for i := range n {
				x[i] = sp.l[i] / rl
			}
			return math.Log(rl/rv) > 1e-3 && sp.beta > -1e-8 && sp.beta < 1+1e-8 && m.branch(x[:n], sp.T, sp.p, rl, true)
		}
		prev = worst
		if !num.SolveDense(size, J[:size*size], F[:size]) {
			return false
		}
		limit := 1.0
		for i := range size {
			lim := 0.7
			switch {
			case i < n:
				lim = 0.3
			case i == 2*n && given == heldPX:
				lim = 0.03
			case i == 2*n:
				lim = 0.3
			}
			if a := math.Abs(F[i]); a*limit > lim {
				limit = lim / a
			}
		}
		for i := range n {
			sp.l[i] *= math.Exp(limit * F[i])
			sp.v[i] *= math.Exp(limit * F[n+i])
		}
		switch d := limit * F[2*n]; given {
		case heldPT:
			sp.beta += d
		case heldPX:
			sp.T *= math.Exp(d)
		case heldTX:
			sp.p *= math.Exp(d)
		}
	}
	return false
}

// partly solves the split at vapour share β (moles) between a bubble and a dew point of the same pressure (heldPX) or temperature (heldTX). The start lies
// between the two; where that is too far it walks from the bubble point.
func (m *model) partly(z []float64, bub, dew *equilibrium, beta float64, given held) (split, bool) {
	n := m.n
	start := func(from *split, b float64) split {
		// A fraction f of the way from a known split to the dew point, in logs.
		f := (b - from.beta) / (1 - from.beta)
		sp := split{beta: b}
		for i := range n {
			sp.l[i] = from.l[i] * math.Pow(dew.inc[i]/from.l[i], f)
			sp.v[i] = from.v[i] * math.Pow(z[i]*dew.bulk/from.v[i], f)
		}
		sp.T, sp.p = from.T*math.Pow(dew.T/from.T, f), from.p*math.Pow(dew.p/from.p, f)
		return sp
	}
	at := split{T: bub.T, p: bub.p}
	for i := range n {
		at.l[i], at.v[i] = z[i]*bub.bulk, bub.inc[i]
	}
	if beta >= 1 {
		sp := split{T: dew.T, p: dew.p, beta: 1, Solve: dew.Solve}
		for i := range n {
			sp.l[i], sp.v[i] = dew.inc[i], z[i]*dew.bulk
		}
		return sp, true
	}
	if beta <= 0 {
		at.Solve = bub.Solve
		return at, true
	}
	sp := start(&at, beta)
	if m.polishSplit(z, &sp, given) {
		return sp, true
	}
	for step := beta / 4; step > 1e-3; {
		next := math.Min(beta, at.beta+step)
		sp = start(&at, next)
		if !m.polishSplit(z, &sp, given) {
			step /= 2
			continue
		}
		if next == beta {
			return sp, true
		}
		at = sp
		step *= 1.5
	}
	return sp, false
}

// share finds the split whose value is wanted; value rises with β.
func (r *Refrigerant) share(bub, dew *equilibrium, given held, want float64, value func(*raw) float64) (raw, bool) {
	var last raw
	evals := 0
	f := func(beta float64) float64 {
		evals++
		sp, ok := r.m.partly(r.z, bub, dew, beta, given)
		if !ok {
			return math.NaN()
		}
		last = r.twoPhase(&sp)
		return value(&last) - want
	}
	if a := f(0); a >= 0 {
		return last, true
	}
	if b := f(1); b <= 0 {
		return last, true
	}
	beta, s, err := num.Brent(f, 0, 1, 1e-15)
	if err != nil {
		return raw{}, false
	}
	f(beta)
	last.solve.Iterations, last.solve.Evaluations = s.Iterations, evals
	return last, true
}

func normalise(x []float64) {
	s := 0.0
	for _, v := range x {
		s += v
	}
	for i := range x {
		x[i] /= s
	}
}

func (r *Refrigerant) rawPT(p, T float64) (raw, error) {
	l := r.limits
	if T < l.TCrit {
		if r.m.n == 1 {
			// The start-value formula is within psatTrust of the equation: farther off it decides the phase.
			if ps := r.m.c[0].psatStart(T); math.Abs(p/ps-1) > psatTrust {
				if s, ok := r.singleAt(p, T, p > ps); ok {
					return s, nil
				}
			}
		}
		var bub, dew equilibrium
		var okb, okd bool
		if r.m.n > 1 {
			// The point on the likely side first: often it is enough.
			low := 0.0
			for i, c := range r.m.c {
				low += r.z[i] / c.psatStart(T)
			}
			if p < 1/low {
				if dew, okd = r.m.satT(r.z, T, false, 50); okd && p <= dew.p {
					if s, ok := r.singleAt(p, T, false); ok {
						return s, nil
					}
				}
			}
		}
		bub, okb = r.m.satT(r.z, T, true, 50)
		switch {
		case r.m.n == 1:
			dew, okd = bub, okb
		case okb && p >= bub.p: // the dew point does not matter
			dew, okd = bub, true
		case !okd:
			dew, okd = r.m.satT(r.z, T, false, 50)
		}
		if okb && okd {
			switch {
			case r.m.n == 1 && math.Abs(p/bub.p-1) < 1e-10:
				return raw{}, fmt.Errorf("%s: %.6g Pa at %.4f K is saturated: pressure and temperature do not fix the state; give a vapour share, enthalpy or entropy", r.designation, p, T)
			case p >= bub.p:
				if s, ok := r.singleAt(p, T, true); ok {
					return s, nil
				}
			case p <= dew.p:
				if s, ok := r.singleAt(p, T, false); ok {
					return s, nil
				}
			default:
				if s, ok := r.flashPT(p, T, &bub, &dew); ok {
					return s, nil
				}
			}
			return raw{}, &num.NoConvergence{What: fmt.Sprintf("%s: state at %.6g Pa, %.3f K", r.designation, p, T), Solve: num.Solve{Status: num.Diverged}}
		}
	}
	if s, ok := r.singleAt(p, T, p > l.PCrit && T < l.TCrit); ok {
		return s, nil
	}
	return raw{}, &num.NoConvergence{What: fmt.Sprintf("%s: state at %.6g Pa, %.3f K", r.designation, p, T), Solve: num.Solve{Status: num.Diverged}}
}

func (r *Refrigerant) finish(s raw, o Options) (State, error) {
	dh, ds, err := r.shift(o)
	if err != nil {
		return State{}, err
	}
	out := State{Solve: s.solve, Phase: s.phase, T: s.T, P: s.p, Rho: s.rho * r.M, H: (s.h - dh) / r.M, S: (s.s - ds) / r.M}
	if s.phase == TwoPhase {
		out.VapourMass = s.vapourMass
	} else {
		out.Cp, out.Cv, out.SpeedOfSound = s.q.cp/r.M, s.q.cv/r.M, s.q.w
	}
	return out, nil
}

// StatePT returns the state at pressure p and temperature T.
//
//   - in: p, absolute pressure, Pa; T, K; both within Limits()
//   - out: the state; a pure fluid exactly on saturation is refused
//   - errors: [*RangeError], [*num.NoConvergence]
//   - source: definition; phase from the bubble and dew pressure at T, split by Rachford and Rice (1952) and successive substitution
//   - cost: under 1 ms in two phases, 0.2 ms in one
func (r *Refrigerant) StatePT(p, T float64, o Options) (State, error) {
	if err := r.checkPT(p, T, o); err != nil {
		return State{}, err
	}
	s, err := r.rawPT(p, T)
	if err != nil {
		return State{}, err
	}
	return r.finish(s, o)
}

// psatTrust bounds the relative error of the vapour-pressure start values of every fluid on file; a test measures it.
const psatTrust = 0.05

// edge is the slack at the ends of a range, relative: what a value loses on its way there and back.
const edge = 1e-9

// quantity is what a state at a pressure is wanted by.
type quantity int

const (
	enthalpy quantity = iota
	entropy
	density
)

// of returns the quantity with its derivatives in T and ln ρ; it rises with temperature at constant pressure, hence minus the density.
func (k quantity) of(q *point) (v, vT, vR float64) {
	switch k {
	case enthalpy:
		return q.h, q.cv + q.dpdT/q.rho, q.dpdrho - q.T*q.dpdT/q.rho
	case entropy:
		return q.s, q.cv / q.T, -q.dpdT / q.rho
	}
	return -q.rho, 0, -q.rho
}

func (k quantity) value(s *raw) float64 {
	switch k {
	case enthalpy:
		return s.h
	case entropy:
		return s.s
	}
	return -s.rho
}

// newtonP finds T and ρ of one phase at p with the quantity wanted, from a start near by.
func (r *Refrigerant) newtonP(p, want float64, k quantity, T, rho float64, ph Phase) (raw, bool) {
	for it := 1; it <= 40; it++ {
		q := r.m.at(r.z, T, rho)
		v, vT, vR := k.of(&q)
		a, b := q.dpdT, rho*q.dpdrho
		det := a*vR - b*vT
		if !(q.dpdrho > 0) || det == 0 || math.IsNaN(det) {
			return raw{}, false
		}
		f, g := p-q.p, want-v
		dT, dR := (f*vR-b*g)/det, (a*g-vT*f)/det
		l := math.Min(1, math.Min(0.08*T/math.Abs(dT), 0.25/math.Abs(dR)))
		T += l * dT
		rho *= math.Exp(l * dR)
		if math.Abs(dT) < 1e-11*T && math.Abs(dR) < 1e-11 || it > 8 && math.Abs(dT) < 1e-9*T && math.Abs(dR) < 1e-9 {
			l := r.limits
			switch {
			case T >= l.TCrit && p >= l.PCrit:
				ph = Supercritical
			case p >= l.PCrit:
				ph = Liquid
			case ph == Supercritical:
				ph = Vapour
			}
			if T < l.TCrit && !r.m.branch(r.z, T, p, rho, ph == Liquid) {
				return raw{}, false
			}
			s := r.single(T, p, rho, ph, it)
			return s, s.q.dpdrho > 0
		}
	}
	return raw{}, false
}

// from starts newtonP at a state of the phase, along its isobar.
func (r *Refrigerant) from(p, want float64, k quantity, s *raw) (raw, bool) {
	q := &s.q
	v, vT, vR := k.of(q)
	slope := vT - vR*q.dpdT/(q.rho*q.dpdrho) // along the isobar
	dT := (want - v) / slope
	T := s.T + math.Max(-0.3*s.T, math.Min(0.6*s.T, dT))
	rho := s.rho
	if s.phase == Vapour {
		rho *= s.T / T
	}
	if k == density {
		T, rho = s.T, -want
	}
	return r.newtonP(p, want, k, T, rho, s.phase)
}

// direct finds a single phase by Newton without knowing saturation: a pure fluid clearly off its saturation line, or any fluid above the critical pressure.
func (r *Refrigerant) direct(p, want float64, k quantity) (raw, bool) {
	l := r.limits
	inside := func(s raw, ok bool) (raw, bool) { return s, ok && s.T >= l.TMin*(1-edge) && s.T <= l.TMax*(1+edge) }
	if p > 1.0001*l.PCrit {
		for _, f := range [4]float64{0.8, 0.97, 1.06, 1.3} {
			T := math.Max(l.TMin, math.Min(l.TMax, f*l.TCrit))
			if s, ok := r.singleAt(p, T, T < l.TCrit); ok && (want <= k.value(&s) || f == 1.3) {
				return inside(r.from(p, want, k, &s))
			}
		}
		return raw{}, false
	}
	if p > 0.9*l.PCrit {
		return raw{}, false
	}
	// psatTrust in pressure is below 0.7 % in temperature: d ln p/d ln T is above 7 along every vapour-pressure line. A blend is not trusted at all: its
	// answer is checked against the saturation point at the temperature found.
	for _, side := range [2]float64{1.007, 0.993} {
		liquid := side < 1
		if r.m.n > 1 {
			side = 1 + 3*(side-1)
		}
		T := side * r.m.raoultT(r.z, p, liquid)
		rho, n, ok := r.m.rhoAt(r.z, T, p, liquid, 0)
		if !ok {
			continue
		}
		ph := Vapour
		if liquid {
			ph = Liquid
		}
		s := r.single(T, p, rho, ph, n)
		if v := k.value(&s); !liquid && want < v || liquid && want > v {
			continue
		}
		s, ok = inside(r.from(p, want, k, &s))
		if !ok || r.m.n == 1 || s.T > l.TCrit && p < 0.7*l.PCrit {
			return s, ok
		}
		e, known := r.m.satT(r.z, s.T, liquid, 50)
		return s, known && (liquid && p >= e.p || !liquid && p <= e.p)
	}
	return raw{}, false
}

// at pressure: the two saturation points, if there are any.
func (r *Refrigerant) saturationAtP(p float64) (bub, dew equilibrium, ok bool) {
	l := r.limits
	if p >= l.PCrit*0.99999 {
		return bub, dew, false
	}
	bub, ok = r.m.satP(r.z, p, true, 50, l.TMin*0.9, l.TCrit)
	if !ok || r.m.n == 1 {
		return bub, bub.turned(), ok
	}
	dew, ok = r.m.satP(r.z, p, false, 50, l.TMin*0.9, l.TCrit)
	return bub, dew, ok
}

// byPressure finds the state at p with the quantity wanted, which rises with temperature.
func (r *Refrigerant) byPressure(p, want, zero, scale float64, what string, k quantity, o Options) (State, error) {
	l := r.limits
	if err := r.checkPT(p, math.Max(l.TMin, math.Min(l.TMax, 300)), o); err != nil {
		return State{}, err
	}
	if s, ok := r.direct(p, want, k); ok {
		return r.finish(s, o)
	}
	return r.search(p, want, zero, scale, what, k, o)
}

// search is byPressure by way of the saturation points, with brackets where Newton gives up.
func (r *Refrigerant) search(p, want, zero, scale float64, what string, k quantity, o Options) (State, error) {
	l := r.limits
	value := k.value
	evals := 0
	search := func(lo, hi float64, get func(T float64) (raw, bool)) (State, error) {
		var last raw
		f := func(T float64) float64 {
			evals++
			s, ok := get(T)
			if !ok {
				return math.NaN()
			}
			last = s
			return value(&s) - want
		}
		a, b := f(lo), f(hi)
		if a > 0 || b < 0 {
			x, y := (want+a-zero)*scale, (want+b-zero)*scale
			return State{}, &RangeError{r.designation, what, (want - zero) * scale, math.Min(x, y), math.Max(x, y), fmt.Sprintf("validity of the equation at %.6g Pa", p)}
		}
		T, s, err := num.Brent(f, lo, hi, 1e-10)
		if err != nil {
			return State{}, err
		}
		if last.T != T {
			last, _ = get(T)
		}
		last.solve.Iterations, last.solve.Evaluations = s.Iterations, evals
		return r.finish(last, o)
	}
	bub, dew, ok := r.saturationAtP(p)
	switch {
	case ok:
	case p >= 0.999*l.PCrit:
		return search(l.TMin*(1-edge), l.TMax*(1+edge), func(T float64) (raw, bool) { return r.singleAt(p, T, T < l.TCrit) })
	case p < r.lowest(false):
		return search(l.TMin*(1-edge), l.TMax*(1+edge), func(T float64) (raw, bool) { return r.singleAt(p, T, false) })
	default:
		return State{}, &num.NoConvergence{What: fmt.Sprintf("%s: saturation at %.6g Pa", r.designation, p), Solve: num.Solve{Status: num.Diverged}}
	}
	fb, fd := r.single(bub.T, p, bub.bulk, Liquid, bub.Iterations), r.single(dew.T, p, dew.bulk, Vapour, dew.Iterations)
	vb, vd := value(&fb), value(&fd)
	if want <= vb || want >= vd {
		e := &fb
		if want >= vd {
			e = &fd
		}
		if s, ok := r.from(p, want, k, e); ok && s.T >= math.Min(l.TMin*(1-edge), e.T) && s.T <= math.Max(l.TMax*(1+edge), e.T) && (s.T >= e.T) == (e == &fd) {
			return r.finish(s, o)
		}
	}
	switch {
	case want <= vb:
		return search(math.Min(l.TMin*(1-edge), bub.T), bub.T, func(T float64) (raw, bool) {
			if T >= bub.T {
				return fb, true
			}
			return r.singleAt(p, T, true)
		})
	case want >= vd:
		return search(dew.T, math.Max(l.TMax*(1+edge), dew.T), func(T float64) (raw, bool) {
			if T <= dew.T {
				return fd, true
			}
			return r.singleAt(p, T, false)
		})
	case r.m.n == 1:
		x := (want - vb) / (vd - vb)
		if k == density {
			x = (1/want - 1/vb) / (1/vd - 1/vb)
		}
		return r.warmEnough(o)(r.finish(r.mix(&fb, &fd, x), o))
	}
	if s, ok := r.share(&bub, &dew, heldPX, want, value); ok {
		return r.warmEnough(o)(r.finish(s, o))
	}
	return State{}, &num.NoConvergence{What: fmt.Sprintf("%s: two phases at %.6g Pa", r.designation, p), Solve: num.Solve{Status: num.Diverged, Evaluations: evals}}
}

// mix is the two-phase state of a pure fluid.
func (r *Refrigerant) mix(fb, fd *raw, x float64) raw {
	return raw{
		phase: TwoPhase, T: fb.T, p: fb.p, rho: 1 / ((1-x)/fb.rho + x/fd.rho), h: fb.h + x*(fd.h-fb.h), s: fb.s + x*(fd.s-fb.s), vapourMass: x,
		solve: fb.solve,
	}
}

// StatePH returns the state at pressure p and enthalpy h.
//
//   - in: p, Pa; h, J/kg in the reference of o
//   - out: the state, also in two phases
//   - errors: [*RangeError], [*num.NoConvergence]
//   - source: definition; bracketed root in temperature around bubble and dew point
//   - cost: about 1 ms for a blend
func (r *Refrigerant) StatePH(p, h float64, o Options) (State, error) {
	dh, _, err := r.shift(o)
	if err != nil {
		return State{}, err
	}
	return r.byPressure(p, h*r.M+dh, dh, 1/r.M, "enthalpy in J/kg", enthalpy, o)
}

// StatePS returns the state at pressure p and entropy s.
//
//   - in: p, Pa; s, J/(kg K) in the reference of o
//   - out: the state
//   - errors: as [Refrigerant.StatePH]
//   - source: as [Refrigerant.StatePH]
//   - cost: about 1 ms for a blend
func (r *Refrigerant) StatePS(p, s float64, o Options) (State, error) {
	_, ds, err := r.shift(o)
	if err != nil {
		return State{}, err
	}
	return r.byPressure(p, s*r.M+ds, ds, 1/r.M, "entropy in J/(kg K)", entropy, o)
}

func checkShare(name string, x float64) error {
	if !(x >= 0 && x <= 1) {
		return &RangeError{name, "vapour mass fraction", x, 0, 1, "definition"}
	}
	return nil
}

// StatePX returns the two-phase state at pressure p and vapour mass fraction x.
//
//   - in: p, Pa, below the critical pressure; x, kg/kg, 0 to 1
//   - out: the state
//   - errors: [*RangeError], [*num.NoConvergence]
//   - source: definition
//   - cost: about 1 ms for a blend
func (r *Refrigerant) StatePX(p, x float64, o Options) (State, error) {
	if err := checkShare(r.designation, x); err != nil {
		return State{}, err
	}
	if !(p > 0 && p < r.limits.PCrit) {
		return State{}, &RangeError{r.designation, "saturation pressure in Pa (absolute)", p, r.lowest(x < 0.5), r.limits.PCrit, "critical point"}
	}
	bub, dew, ok := r.saturationAtP(p)
	if !ok {
		return State{}, &num.NoConvergence{What: fmt.Sprintf("%s: saturation at %.6g Pa", r.designation, p), Solve: num.Solve{Status: num.Diverged}}
	}
	return r.warmEnough(o)(r.atShare(&bub, &dew, x, heldPX, o))
}

// coldEnd names the quantity of a result below the lower limit of the equation.
const coldEnd = "temperature in K"

// warmEnough refuses a result below the lower limit of the equation.
func (r *Refrigerant) warmEnough(o Options) func(State, error) (State, error) {
	return func(s State, err error) (State, error) {
		if l := r.limits; err == nil && s.T < l.TMin*(1-edge) && !o.Extrapolate {
			return State{}, &RangeError{r.designation, coldEnd, s.T, l.TMin, l.TMax, "published validity of the equation"}
		}
		return s, err
	}
}

// atShare is the state at vapour mass fraction x between a bubble and a dew point.
func (r *Refrigerant) atShare(bub, dew *equilibrium, x float64, given held, o Options) (State, error) {
	if r.m.n == 1 {
		fb, fd := r.single(bub.T, bub.p, bub.bulk, Liquid, bub.Iterations), r.single(dew.T, dew.p, dew.bulk, Vapour, dew.Iterations)
		return r.finish(r.mix(&fb, &fd, x), o)
	}
	s, ok := r.share(bub, dew, given, x, func(s *raw) float64 { return s.vapourMass })
	if !ok {
		return State{}, &num.NoConvergence{What: fmt.Sprintf("%s: two phases at %.6g Pa, %.3f K", r.designation, bub.p, bub.T), Solve: num.Solve{Status: num.Diverged}}
	}
	return r.finish(s, o)
}

// StateTX returns the two-phase state at temperature T and vapour mass fraction x.
//
//   - in: T, K, below the critical temperature; x, kg/kg, 0 to 1
//   - out: the state
//   - errors: [*RangeError], [*num.NoConvergence]
//   - source: definition
//   - cost: about 1 ms for a blend
func (r *Refrigerant) StateTX(T, x float64, o Options) (State, error) {
	if err := checkShare(r.designation, x); err != nil {
		return State{}, err
	}
	bub, dew, err := r.saturationAtT(T, o)
	if err != nil {
		return State{}, err
	}
	return r.atShare(&bub, &dew, x, heldTX, o)
}

// saturationAtT returns both saturation points at T.
func (r *Refrigerant) saturationAtT(T float64, o Options) (bub, dew equilibrium, err error) {
	l := r.limits
	if !(T >= l.TMin && T < l.TCrit) && !(o.Extrapolate && T > 0.9*l.TMin && T < l.TCrit) {
		return bub, dew, &RangeError{r.designation, "saturation temperature in K", T, l.TMin, l.TCrit, "lower limit of the equation to the critical point"}
	}
	bub, ok := r.m.satT(r.z, T, true, o.maxIter())
	if ok && r.m.n == 1 {
		return bub, bub.turned(), nil
	}
	if ok {
		if dew, ok = r.m.satT(r.z, T, false, o.maxIter()); ok {
			return bub, dew, nil
		}
	}
	return bub, dew, &num.NoConvergence{What: fmt.Sprintf("%s: saturation at %.3f K", r.designation, T), Solve: num.Solve{Status: num.Diverged}}
}

// StateTD returns the state at temperature T and density rho.
//
//   - in: T, K; rho, kg/m³
//   - out: the state, also in two phases
//   - errors: [*RangeError], [*num.NoConvergence]
//   - source: definition
//   - cost: one evaluation in a single phase, else about 1 ms
func (r *Refrigerant) StateTD(T, rho float64, o Options) (State, error) {
	l := r.limits
	if !(T >= l.TMin && T <= l.TMax) {
		return State{}, &RangeError{r.designation, coldEnd, T, l.TMin, l.TMax, "published validity of the equation"}
	}
	if !(rho > 0) {
		return State{}, &RangeError{r.designation, "density in kg/m³", rho, 0, 4 * l.RhoCrit, "definition"}
	}
	d := rho / r.M
	if T < l.TCrit {
		bub, dew, err := r.saturationAtT(T, o)
		if err != nil {
			return State{}, err
		}
		if d < bub.bulk && d > dew.bulk {
			if r.m.n == 1 {
				return r.atShare(&bub, &dew, (1/d-1/bub.bulk)/(1/dew.bulk-1/bub.bulk), heldTX, o)
			}
			if s, ok := r.share(&bub, &dew, heldTX, -d, func(s *raw) float64 { return -s.rho }); ok {
				return r.finish(s, o)
			}
			return State{}, &num.NoConvergence{What: fmt.Sprintf("%s: two phases of %.6g kg/m³ at %.3f K", r.designation, rho, T), Solve: num.Solve{Status: num.Diverged}}
		}
	}
	q := r.m.at(r.z, T, d)
	if !(q.p > 0) || !(q.dpdrho > 0) {
		return State{}, &num.NoConvergence{What: fmt.Sprintf("%s: %.6g kg/m³ at %.3f K is not a stable phase", r.designation, rho, T), Solve: num.Solve{Status: num.OutOfRange}}
	}
	if err := r.checkPT(q.p, T, o); err != nil {
		return State{}, err
	}
	ph := Vapour
	switch {
	case T >= l.TCrit && q.p >= l.PCrit:
		ph = Supercritical
	case rho > l.RhoCrit:
		ph = Liquid
	}
	return r.finish(r.single(T, q.p, d, ph, 1), o)
}

// StatePD returns the state at pressure p and density rho.
//
//   - in: p, Pa; rho, kg/m³
//   - out: the state, also in two phases
//   - errors: [*RangeError], [*num.NoConvergence]
//   - source: definition; bracketed root in temperature, density falls as temperature rises
//   - cost: about 1 ms for a blend
func (r *Refrigerant) StatePD(p, rho float64, o Options) (State, error) {
	if !(rho > 0) {
		return State{}, &RangeError{r.designation, "density in kg/m³", rho, 0, 4 * r.limits.RhoCrit, "definition"}
	}
	d := rho / r.M
	return r.byPressure(p, -d, 0, -r.M, "density in kg/m³", density, o)
}
