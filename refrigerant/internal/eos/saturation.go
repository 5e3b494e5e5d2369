package eos

import (
	"math"

	"coldwright/num"
)

// Equilibrium is a two-phase solution with one phase of bulk composition, in molar units.
type Equilibrium struct {
	num.Solve
	T, P      float64
	Bulk      float64       // density of the bulk phase
	Incipient [MaxN]float64 // partial densities of the incipient phase
	Liquid    bool          // the bulk phase is the liquid (bubble point)
}

// IncRho returns the density of the incipient phase.
func (e *Equilibrium) IncRho(n int) (s float64) {
	for i := range n {
		s += e.Incipient[i]
	}
	return s
}

// RhoLiquid returns the density of the liquid, whichever phase it is.
func (e *Equilibrium) RhoLiquid(n int) float64 {
	if e.Liquid {
		return e.Bulk
	}
	return e.IncRho(n)
}

// RhoVapour returns the density of the vapour, whichever phase it is.
func (e *Equilibrium) RhoVapour(n int) float64 {
	if e.Liquid {
		return e.IncRho(n)
	}
	return e.Bulk
}

// Turned is a pure fluid's saturation point seen from the other phase.
func (e Equilibrium) Turned() Equilibrium {
	e.Bulk, e.Incipient[0], e.Liquid = e.Incipient[0], e.Bulk, !e.Liquid
	return e
}

// newton polishes an equilibrium: equal fugacities and pressures; with fixP the pressure is given and T is unknown, else T is given.
func (m *Model) newton(z []float64, e *Equilibrium, fixP bool, maxIter int) bool {
	n := m.N
	size := n + 1
	if fixP {
		size++
	}
	const big = MaxN + 2
	var J [big * big]float64
	var F [big]float64
	var A, B Isochoric
	var rb [MaxN]float64
	R := m.R
	target := e.P
	prev := math.Inf(1)
	for e.Iterations = 1; e.Iterations <= maxIter; e.Iterations++ {
		A, B = Isochoric{}, Isochoric{}
		for i := range n {
			rb[i] = z[i] * e.Bulk
		}
		m.Isochore(e.T, e.Incipient[:n], &A)
		m.Isochore(e.T, rb[:n], &B)
		e.Evaluations += 2
		T := e.T
		// Pressures and their derivatives with respect to the logs of the unknowns.
		pa, pb := -A.Psi, -B.Psi
		paT, pbT := -A.psiT, -B.psiT
		for i := range n {
			pa += e.Incipient[i] * (1 + A.G[i])
			pb += rb[i] * (1 + B.G[i])
			paT += e.Incipient[i] * A.GT[i]
			pbT += rb[i] * B.GT[i]
		}
		paT, pbT = R*pa+R*T*paT, R*pb+R*T*pbT
		pa, pb = pa*R*T, pb*R*T
		if !fixP {
			target = math.Max(math.Abs(pb), 1e-3)
			if e.Liquid { // the vapour's pressure is the better scale
				target = math.Max(math.Abs(pa), 1e-3)
			}
		}
		clear(J[:])
		worst := 0.0
		for i := range n {
			F[i] = -(math.Log(e.Incipient[i]/rb[i]) + A.G[i] - B.G[i])
			worst = math.Max(worst, math.Abs(F[i]))
			s := 1.0
			for j := range n {
				J[i*size+j] = A.H[i][j] * e.Incipient[j]
				s += B.H[i][j] * rb[j]
			}
			J[i*size+i]++
			J[i*size+n] = -s
			if fixP {
				J[i*size+n+1] = (A.GT[i] - B.GT[i]) * T
			}
		}
		dpb := 0.0
		for j := range n {
			sa, sb := 1.0, 1.0
			for i := range n {
				sa += e.Incipient[i] * A.H[i][j]
				sb += rb[i] * B.H[i][j]
			}
			J[n*size+j] = R * T * sa * e.Incipient[j] / target
			dpb += R * T * sb * rb[j]
		}
		F[n] = -(pa - pb) / target
		J[n*size+n] = -dpb / target
		// The liquid's pressure is a small difference of large numbers. An error of 1e-9 ρRT in it moves ln f by 1e-9 only, so that is the scale
		// by which it counts as solved.
		noise := 1 + 1e-2*e.RhoLiquid(n)*R*T/target
		worst = math.Max(worst, math.Abs(F[n])/noise)
		if fixP {
			J[n*size+n+1] = (paT - pbT) * T / target
			F[n+1] = -(pb - target) / target
			if e.Liquid {
				F[n+1] = -(pa - target) / target
				for j := range n {
					J[(n+1)*size+j] = J[n*size+j]
				}
				J[(n+1)*size+n+1] = paT * T / target
			} else {
				J[(n+1)*size+n] = dpb / target
				J[(n+1)*size+n+1] = pbT * T / target
			}
			worst = math.Max(worst, math.Abs(F[n+1]))
		}
		e.Residual = worst
		if math.IsNaN(worst) {
			e.Status = num.Diverged
			return false
		}
		e.P = pb
		if e.Liquid {
			e.P = pa
		}
		// Steep equations in cold liquid stagnate at their own round-off, up to 1e-7 in ln f: no more is to be had there.
		if worst < 3e-13 || (worst < 1e-7 && worst >= prev*0.5) {
			if fixP {
				e.P = target
			}
			e.Status = num.Converged
			return true
		}
		prev = worst
		if !num.SolveDense(size, J[:size*size], F[:size]) {
			e.Status = num.Diverged
			return false
		}
		// Step limits: the liquid is stiff, the vapour is not.
		limit := 1.0
		for i := range size {
			lim := 0.7
			if i < n && !e.Liquid || i == n && e.Liquid {
				lim = 0.3
			}
			if i == n+1 {
				lim = 0.05
			}
			if a := math.Abs(F[i]); a*limit > lim {
				limit = lim / a
			}
		}
		for i := range n {
			e.Incipient[i] *= math.Exp(limit * F[i])
		}
		e.Bulk *= math.Exp(limit * F[n])
		if fixP {
			e.T *= math.Exp(limit * F[n+1])
		}
	}
	e.Status = num.Budget
	return false
}

// valid refuses the trivial solution (both phases equal), a swapped one, and a phase on a loop of the equation.
func (m *Model) valid(z []float64, e *Equilibrium) bool {
	l, v := e.RhoLiquid(m.N), e.RhoVapour(m.N)
	if !(e.Status.OK() && e.P > 0 && math.Log(l/v) > 5e-3) {
		return false
	}
	if m.N == 1 {
		return m.Branch(z, e.T, e.P, l, true)
	}
	w := e.Incipient
	Normalise(w[:m.N])
	if e.Liquid {
		return m.Branch(z, e.T, e.P, l, true) && m.Branch(w[:m.N], e.T, e.P, v, false)
	}
	return m.Branch(w[:m.N], e.T, e.P, l, true) && m.Branch(z, e.T, e.P, v, false)
}

// startT fills a start for the equilibrium at T: Raoult's law with the components' vapour pressures, then densities
// on the right branches and rounds of successive substitution.
func (m *Model) startT(z []float64, T float64, liquid bool, rounds int) (e Equilibrium, ok bool) {
	n := m.N
	e.T, e.Liquid = T, liquid
	if n == 1 {
		c := m.Components[0]
		t := math.Max(T, c.rhoL.tMin)
		rl, rv := c.rhoL.At(t), c.rhoV.At(t)
		ps := c.PsatStart(T)
		rg, _, okV := m.RhoAt(z, T, ps, false, 0)
		rf, _, okL := m.RhoAt(z, T, ps, true, 0)
		if okV && okL && rf > 1.2*rg {
			rl, rv = rf, rg
		}
		if !(rl > rv) {
			return e, false
		}
		e.P = ps
		if liquid {
			e.Bulk, e.Incipient[0] = rl, rv
		} else {
			e.Bulk, e.Incipient[0] = rv, rl
		}
		return e, true
	}
	var K, w [MaxN]float64
	p := 0.0
	for i, c := range m.Components {
		K[i] = c.PsatStart(T)
		if liquid {
			p += z[i] * K[i]
		} else {
			p += z[i] / K[i]
		}
	}
	if !liquid {
		p = 1 / p
	}
	for i := range n {
		K[i] /= p
	}
	var A, B Isochoric
	for round := range rounds {
		s := 0.0
		for i := range n {
			if liquid {
				w[i] = z[i] * K[i]
			} else {
				w[i] = z[i] / K[i]
			}
			s += w[i]
		}
		if liquid {
			p *= s
		} else {
			p /= s
		}
		for i := range n {
			w[i] /= s
		}
		rb, _, okB := m.RhoAt(z, T, p, liquid, 0)
		ri, _, okI := m.RhoAt(w[:n], T, p, !liquid, 0)
		if !okB || !okI {
			return e, false
		}
		e.Bulk, e.P = rb, p
		for i := range n {
			e.Incipient[i] = math.Max(w[i], 1e-12) * ri
		}
		if round == rounds-1 {
			break
		}
		A, B = Isochoric{}, Isochoric{}
		var rz [MaxN]float64
		for i := range n {
			rz[i] = z[i] * rb
		}
		m.Isochore(T, e.Incipient[:n], &A)
		m.Isochore(T, rz[:n], &B)
		e.Evaluations += 2
		for i := range n {
			// ln φ = g − ln Z; K = φ_liquid/φ_vapour.
			d := (B.G[i] - math.Log(p/(rb*m.R*T))) - (A.G[i] - math.Log(p/(ri*m.R*T)))
			if !liquid {
				d = -d
			}
			K[i] = math.Exp(d)
		}
	}
	return e, true
}

// SatT solves bubble (liquid) or dew at T.
func (m *Model) SatT(z []float64, T float64, liquid bool, maxIter int) (Equilibrium, bool) {
	e, ok := m.startT(z, T, liquid, 3)
	if ok && m.newton(z, &e, false, maxIter) && m.valid(z, &e) {
		return e, true
	}
	if m.N == 1 {
		return m.maxwell(T, liquid)
	}
	// Far from Raoult's law substitution needs more rounds.
	if e, ok = m.startT(z, T, liquid, 30); ok && m.newton(z, &e, false, maxIter) && m.valid(z, &e) {
		return e, true
	}
	return m.continueT(z, T, liquid, maxIter)
}

// continueT walks in temperature from where the start is easy. It serves the region near the critical point and deep cold.
func (m *Model) continueT(z []float64, T float64, liquid bool, maxIter int) (Equilibrium, bool) {
	Tr, _ := m.Reducing(z, nil)
	for _, f := range [3]float64{0.8, 0.7, 0.88} {
		e, ok := m.startT(z, f*Tr, liquid, 6)
		if !ok || !m.newton(z, &e, false, maxIter) || !m.valid(z, &e) {
			continue
		}
		if e, ok = m.walk(z, e, math.Log(T), false, maxIter); ok {
			return e, true
		}
	}
	return Equilibrium{T: T, Liquid: liquid, Solve: num.Solve{Status: num.Diverged}}, false
}

// walk follows a line of equilibria from a known one to another ln T or, with fixP, ln p, by extrapolation of the logs and Newton.
func (m *Model) walk(z []float64, last Equilibrium, target float64, fixP bool, maxIter int) (Equilibrium, bool) {
	at := func(e *Equilibrium) float64 {
		if fixP {
			return math.Log(e.P)
		}
		return math.Log(e.T)
	}
	var before Equilibrium
	var e Equilibrium
	step := (target - at(&last)) / 4
	for range 200 {
		here := at(&last)
		next := here + step
		if math.Abs(target-here) <= math.Abs(step)*1.0001 {
			next = target
		}
		e = last
		e.Solve = num.Solve{}
		if before.T > 0 {
			f := (next - here) / (here - at(&before))
			e.Bulk *= math.Exp(f * math.Log(last.Bulk/before.Bulk))
			for i := range m.N {
				e.Incipient[i] *= math.Exp(f * math.Log(last.Incipient[i]/before.Incipient[i]))
			}
			e.T *= math.Exp(f * math.Log(last.T/before.T))
			e.P *= math.Exp(f * math.Log(last.P/before.P))
		}
		if fixP {
			e.P = math.Exp(next)
		} else {
			e.T = math.Exp(next)
		}
		if m.newton(z, &e, fixP, maxIter) && m.valid(z, &e) && math.Abs(math.Log(e.T/last.T)) < 0.1 {
			if next == target {
				return e, true
			}
			before, last = last, e
			step *= 1.5
			continue
		}
		step /= 2
		if math.Abs(step) < 1e-7 {
			break
		}
	}
	return e, false
}

// maxwell solves pure saturation by bracketing the pressure between the spinodals: slow, sure, for the neighbourhood of the critical point.
func (m *Model) maxwell(T float64, liquid bool) (Equilibrium, bool) {
	z := []float64{1}
	c := m.Components[0]
	e := Equilibrium{T: T, Liquid: liquid}
	if T >= c.TCrit {
		e.Status = num.OutOfRange
		return e, false
	}
	slope := func(rho float64) float64 {
		r := m.Residual(z, T, rho)
		return 1 + 2*r.D + r.DD
	}
	edge := func(up bool) (float64, bool) {
		f := 1.002
		if !up {
			f = 1 / f
		}
		a := c.rhoc
		if slope(a) > 0 {
			// Very close to the critical point the unstable stretch may miss the critical density.
			found := false
			for k := 1; k < 60 && !found; k++ {
				for _, s := range []float64{1 + 0.0005*float64(k), 1 - 0.0005*float64(k)} {
					if slope(c.rhoc*s) < 0 {
						a, found = c.rhoc*s, true
						break
					}
				}
			}
			if !found {
				return 0, false
			}
		}
		b := a
		for range 4000 {
			b *= f
			if slope(b) > 0 {
				x, _, err := num.Brent(slope, math.Min(b, b/f), math.Max(b, b/f), 1e-12*a)
				return x, err == nil
			}
		}
		return 0, false
	}
	sl, ok1 := edge(true)
	sv, ok2 := edge(false)
	if !ok1 || !ok2 {
		e.Status = num.Diverged
		return e, false
	}
	hi, lo := m.At(z, T, sv).P, m.At(z, T, sl).P
	lo = math.Max(lo, hi*1e-12)
	var rl, rv float64
	dg := func(p float64) float64 {
		var okl, okv bool
		rl, _, okl = m.RhoAt(z, T, p, true, sl*1.05)
		rv, _, okv = m.RhoAt(z, T, p, false, sv*0.9)
		if !okl || !okv {
			return math.NaN()
		}
		a, b := m.At(z, T, rl), m.At(z, T, rv)
		return (a.g - b.g) / (m.R * T)
	}
	d := hi - lo
	p, s, err := num.Brent(dg, lo+1e-6*d, hi-1e-6*d, 1e-13*hi)
	e.Solve = s
	if err != nil {
		return e, false
	}
	dg(p)
	e.P = p
	if liquid {
		e.Bulk, e.Incipient[0] = rl, rv
	} else {
		e.Bulk, e.Incipient[0] = rv, rl
	}
	if m.newton(z, &e, false, 20) && m.valid(z, &e) {
		return e, true
	}
	// Newton may not settle within 1e-3 K of the critical point; the bracketed solution stands if the phases differ.
	e.Solve = s
	e.P = p
	if liquid {
		e.Bulk, e.Incipient[0] = rl, rv
	} else {
		e.Bulk, e.Incipient[0] = rv, rl
	}
	return e, rl > rv*1.0001
}

// RaoultT estimates the bubble or dew temperature at p from the components' vapour pressures.
func (m *Model) RaoultT(z []float64, p float64, liquid bool) float64 {
	tc := 0.0
	for i, c := range m.Components {
		tc += z[i] * c.TCrit
	}
	at := func(x float64) float64 {
		s := 0.0
		for i, c := range m.Components {
			if liquid {
				s += z[i] * c.PsatStart(1/x)
			} else {
				s += z[i] / c.PsatStart(1/x)
			}
		}
		if !liquid {
			s = 1 / s
		}
		return math.Log(s)
	}
	// ln p is nearly straight in 1/T: secant from the critical point.
	x0, x1, want := 1/tc, 1.3/tc, math.Log(p)
	y0 := at(x0)
	for range 30 {
		y1 := at(x1)
		if math.Abs(y1-want) < 1e-4 || y1 == y0 {
			break
		}
		x0, y0, x1 = x1, y1, x1+(want-y1)*(x1-x0)/(y1-y0)
		x1 = math.Max(0.9/tc, math.Min(6/tc, x1))
	}
	return 1 / x1
}

// SatP solves bubble or dew at p. tMax bounds the temperature (critical).
func (m *Model) SatP(z []float64, p float64, liquid bool, maxIter int, tMin, tMax float64) (Equilibrium, bool) {
	t := m.RaoultT(z, p, liquid)
	t = math.Max(0.8*tMin, math.Min(1.1*tMax, t))
	var e Equilibrium
	ok := false
	for _, rounds := range [2]int{3, 30} {
		if t > 0.995*tMax {
			break
		}
		if e, ok = m.startT(z, t, liquid, rounds); ok {
			e.P = p
			if m.newton(z, &e, true, maxIter) && m.valid(z, &e) && e.T < tMax*1.002 {
				return e, true
			}
		}
	}
	if m.N > 1 {
		// Walk along the line from an easier pressure; near the critical point it may lead beyond the critical temperature and back.
		for _, f := range [3]float64{0.8, 0.7, 0.88} {
			if e, ok = m.startT(z, f*tMax, liquid, 6); !ok || !m.newton(z, &e, false, maxIter) || !m.valid(z, &e) {
				continue
			}
			if e, ok = m.walk(z, e, math.Log(p), true, maxIter); ok && e.T < 1.1*tMax {
				return e, true
			}
		}
	}
	// Bracket in temperature instead.
	var best Equilibrium
	f := func(T float64) float64 {
		e, ok := m.SatT(z, T, liquid, maxIter)
		if !ok {
			return math.NaN()
		}
		best = e
		return math.Log(e.P / p)
	}
	hi := tMax * 0.9999
	for k := 0; k < 12 && math.IsNaN(f(hi)); k++ {
		hi *= 1 - 0.0005*math.Pow(2, float64(k))
	}
	lo := math.Max(tMin, 0.7*math.Min(t, hi))
	T, s, err := num.Brent(f, lo, hi, 1e-9)
	if err != nil {
		return Equilibrium{Solve: s}, false
	}
	best, ok = m.SatT(z, T, liquid, maxIter)
	if !ok {
		return best, false
	}
	polished := best
	polished.P = p
	if m.newton(z, &polished, true, maxIter) && m.valid(z, &polished) {
		return polished, true
	}
	return best, true
}
