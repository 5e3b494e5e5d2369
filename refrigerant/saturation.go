package refrigerant

import (
	"math"

	"coldwright/num"
)

// equilibrium is a two-phase solution with one phase of bulk composition, in molar units.
type equilibrium struct {
	num.Solve
	T, p   float64
	bulk   float64       // density of the bulk phase
	inc    [maxN]float64 // partial densities of the incipient phase
	liquid bool          // the bulk phase is the liquid (bubble point)
}

func (e *equilibrium) incRho(n int) (s float64) {
	for i := range n {
		s += e.inc[i]
	}
	return s
}

func (e *equilibrium) rhoLiquid(n int) float64 {
	if e.liquid {
		return e.bulk
	}
	return e.incRho(n)
}

func (e *equilibrium) rhoVapour(n int) float64 {
	if e.liquid {
		return e.incRho(n)
	}
	return e.bulk
}

// turned is a pure fluid's saturation point seen from the other phase.
func (e equilibrium) turned() equilibrium {
	e.bulk, e.inc[0], e.liquid = e.inc[0], e.bulk, !e.liquid
	return e
}

// newton polishes an equilibrium: equal fugacities and pressures; with fixP the pressure is given and T is unknown, else T is given.
func (m *model) newton(z []float64, e *equilibrium, fixP bool, maxIter int) bool {
	n := m.n
	size := n + 1
	if fixP {
		size++
	}
	const big = maxN + 2
	var J [big * big]float64
	var F [big]float64
	var A, B isochoric
	var rb [maxN]float64
	R := m.R
	target := e.p
	prev := math.Inf(1)
	for e.Iterations = 1; e.Iterations <= maxIter; e.Iterations++ {
		A, B = isochoric{}, isochoric{}
		for i := range n {
			rb[i] = z[i] * e.bulk
		}
		m.isochore(e.T, e.inc[:n], &A)
		m.isochore(e.T, rb[:n], &B)
		e.Evaluations += 2
		T := e.T
		// Pressures and their derivatives with respect to the logs of the unknowns.
		pa, pb := -A.psi, -B.psi
		paT, pbT := -A.psiT, -B.psiT
		for i := range n {
			pa += e.inc[i] * (1 + A.g[i])
			pb += rb[i] * (1 + B.g[i])
			paT += e.inc[i] * A.gT[i]
			pbT += rb[i] * B.gT[i]
		}
		paT, pbT = R*pa+R*T*paT, R*pb+R*T*pbT
		pa, pb = pa*R*T, pb*R*T
		if !fixP {
			target = math.Max(math.Abs(pb), 1e-3)
			if e.liquid { // the vapour's pressure is the better scale
				target = math.Max(math.Abs(pa), 1e-3)
			}
		}
		clear(J[:])
		worst := 0.0
		for i := range n {
			F[i] = -(math.Log(e.inc[i]/rb[i]) + A.g[i] - B.g[i])
			worst = math.Max(worst, math.Abs(F[i]))
			s := 1.0
			for j := range n {
				J[i*size+j] = A.h[i][j] * e.inc[j]
				s += B.h[i][j] * rb[j]
			}
			J[i*size+i]++
			J[i*size+n] = -s
			if fixP {
				J[i*size+n+1] = (A.gT[i] - B.gT[i]) * T
			}
		}
		dpb := 0.0
		for j := range n {
			sa, sb := 1.0, 1.0
			for i := range n {
				sa += e.inc[i] * A.h[i][j]
				sb += rb[i] * B.h[i][j]
			}
			J[n*size+j] = R * T * sa * e.inc[j] / target
			dpb += R * T * sb * rb[j]
		}
		F[n] = -(pa - pb) / target
		J[n*size+n] = -dpb / target
		// The liquid's pressure is a small difference of large numbers. An error of 1e-9 ρRT in it moves ln f by 1e-9 only, so that is the scale
		// by which it counts as solved.
		noise := 1 + 1e-2*e.rhoLiquid(n)*R*T/target
		worst = math.Max(worst, math.Abs(F[n])/noise)
		if fixP {
			J[n*size+n+1] = (paT - pbT) * T / target
			F[n+1] = -(pb - target) / target
			if e.liquid {
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
		e.p = pb
		if e.liquid {
			e.p = pa
		}
		// Steep equations in cold liquid stagnate at their own round-off, up to 1e-7 in ln f: no more is to be had there.
		if worst < 3e-13 || (worst < 1e-7 && worst >= prev*0.5) {
			if fixP {
				e.p = target
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
			if i < n && !e.liquid || i == n && e.liquid {
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
			e.inc[i] *= math.Exp(limit * F[i])
		}
		e.bulk *= math.Exp(limit * F[n])
		if fixP {
			e.T *= math.Exp(limit * F[n+1])
		}
	}
	e.Status = num.Budget
	return false
}

// valid refuses the trivial solution (both phases equal), a swapped one, and a phase on a loop of the equation.
func (m *model) valid(z []float64, e *equilibrium) bool {
	l, v := e.rhoLiquid(m.n), e.rhoVapour(m.n)
	if !(e.Status.OK() && e.p > 0 && math.Log(l/v) > 5e-3) {
		return false
	}
	if m.n == 1 {
		return m.branch(z, e.T, e.p, l, true)
	}
	w := e.inc
	normalise(w[:m.n])
	if e.liquid {
		return m.branch(z, e.T, e.p, l, true) && m.branch(w[:m.n], e.T, e.p, v, false)
	}
	return m.branch(w[:m.n], e.T, e.p, l, true) && m.branch(z, e.T, e.p, v, false)
}

// startT fills a start for the equilibrium at T: Raoult's law with the components' vapour pressures, then densities
// on the right branches and rounds of successive substitution.
func (m *model) startT(z []float64, T float64, liquid bool, rounds int) (e equilibrium, ok bool) {
	n := m.n
	e.T, e.liquid = T, liquid
	if n == 1 {
		c := m.c[0]
		t := math.Max(T, c.rhoL.tMin)
		rl, rv := c.rhoL.at(t), c.rhoV.at(t)
		ps := c.psatStart(T)
		rg, _, okV := m.rhoAt(z, T, ps, false, 0)
		rf, _, okL := m.rhoAt(z, T, ps, true, 0)
		if okV && okL && rf > 1.2*rg {
			rl, rv = rf, rg
		}
		if !(rl > rv) {
			return e, false
		}
		e.p = ps
		if liquid {
			e.bulk, e.inc[0] = rl, rv
		} else {
			e.bulk, e.inc[0] = rv, rl
		}
		return e, true
	}
	var K, w [maxN]float64
	p := 0.0
	for i, c := range m.c {
		K[i] = c.psatStart(T)
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
	var A, B isochoric
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
		rb, _, okB := m.rhoAt(z, T, p, liquid, 0)
		ri, _, okI := m.rhoAt(w[:n], T, p, !liquid, 0)
		if !okB || !okI {
			return e, false
		}
		e.bulk, e.p = rb, p
		for i := range n {
			e.inc[i] = math.Max(w[i], 1e-12) * ri
		}
		if round == rounds-1 {
			break
		}
		A, B = isochoric{}, isochoric{}
		var rz [maxN]float64
		for i := range n {
			rz[i] = z[i] * rb
		}
		m.isochore(T, e.inc[:n], &A)
		m.isochore(T, rz[:n], &B)
		e.Evaluations += 2
		for i := range n {
			// ln φ = g − ln Z; K = φ_liquid/φ_vapour.
			d := (B.g[i] - math.Log(p/(rb*m.R*T))) - (A.g[i] - math.Log(p/(ri*m.R*T)))
			if !liquid {
				d = -d
			}
			K[i] = math.Exp(d)
		}
	}
	return e, true
}

// satT solves bubble (liquid) or dew at T.
func (m *model) satT(z []float64, T float64, liquid bool, maxIter int) (equilibrium, bool) {
	e, ok := m.startT(z, T, liquid, 3)
	if ok && m.newton(z, &e, false, maxIter) && m.valid(z, &e) {
		return e, true
	}
	if m.n == 1 {
		return m.maxwell(T, liquid)
	}
	// Far from Raoult's law substitution needs more rounds.
	if e, ok = m.startT(z, T, liquid, 30); ok && m.newton(z, &e, false, maxIter) && m.valid(z, &e) {
		return e, true
	}
	return m.continueT(z, T, liquid, maxIter)
}

// continueT walks in temperature from where the start is easy. It serves the region near the critical point and deep cold.
func (m *model) continueT(z []float64, T float64, liquid bool, maxIter int) (equilibrium, bool) {
	Tr, _ := m.reducing(z, nil)
	for _, f := range [3]float64{0.8, 0.7, 0.88} {
		e, ok := m.startT(z, f*Tr, liquid, 6)
		if !ok || !m.newton(z, &e, false, maxIter) || !m.valid(z, &e) {
			continue
		}
		if e, ok = m.walk(z, e, math.Log(T), false, maxIter); ok {
			return e, true
		}
	}
	return equilibrium{T: T, liquid: liquid, Solve: num.Solve{Status: num.Diverged}}, false
}

// walk follows a line of equilibria from a known one to another ln T or, with fixP, ln p, by extrapolation of the logs and Newton.
func (m *model) walk(z []float64, last equilibrium, target float64, fixP bool, maxIter int) (equilibrium, bool) {
	at := func(e *equilibrium) float64 {
		if fixP {
			return math.Log(e.p)
		}
		return math.Log(e.T)
	}
	var before equilibrium
	var e equilibrium
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
			e.bulk *= math.Exp(f * math.Log(last.bulk/before.bulk))
			for i := range m.n {
				e.inc[i] *= math.Exp(f * math.Log(last.inc[i]/before.inc[i]))
			}
			e.T *= math.Exp(f * math.Log(last.T/before.T))
			e.p *= math.Exp(f * math.Log(last.p/before.p))
		}
		if fixP {
			e.p = math.Exp(next)
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
func (m *model) maxwell(T float64, liquid bool) (equilibrium, bool) {
	z := []float64{1}
	c := m.c[0]
	e := equilibrium{T: T, liquid: liquid}
	if T >= c.tc {
		e.Status = num.OutOfRange
		return e, false
	}
	slope := func(rho float64) float64 {
		r := m.residual(z, T, rho)
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
	hi, lo := m.at(z, T, sv).p, m.at(z, T, sl).p
	lo = math.Max(lo, hi*1e-12)
	var rl, rv float64
	dg := func(p float64) float64 {
		var okl, okv bool
		rl, _, okl = m.rhoAt(z, T, p, true, sl*1.05)
		rv, _, okv = m.rhoAt(z, T, p, false, sv*0.9)
		if !okl || !okv {
			return math.NaN()
		}
		a, b := m.at(z, T, rl), m.at(z, T, rv)
		return (a.g - b.g) / (m.R * T)
	}
	d := hi - lo
	p, s, err := num.Brent(dg, lo+1e-6*d, hi-1e-6*d, 1e-13*hi)
	e.Solve = s
	if err != nil {
		return e, false
	}
	dg(p)
	e.p = p
	if liquid {
		e.bulk, e.inc[0] = rl, rv
	} else {
		e.bulk, e.inc[0] = rv, rl
	}
	if m.newton(z, &e, false, 20) && m.valid(z, &e) {
		return e, true
	}
	// Newton may not settle within 1e-3 K of the critical point; the bracketed solution stands if the phases differ.
	e.Solve = s
	e.p = p
	if liquid {
		e.bulk, e.inc[0] = rl, rv
	} else {
		e.bulk, e.inc[0] = rv, rl
	}
	return e, rl > rv*1.0001
}

// raoultT estimates the bubble or dew temperature at p from the components' vapour pressures.
func (m *model) raoultT(z []float64, p float64, liquid bool) float64 {
	tc := 0.0
	for i, c := range m.c {
		tc += z[i] * c.tc
	}
	at := func(x float64) float64 {
		s := 0.0
		for i, c := range m.c {
			if liquid {
				s += z[i] * c.psatStart(1/x)
			} else {
				s += z[i] / c.psatStart(1/x)
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

// satP solves bubble or dew at p. tMax bounds the temperature (critical).
func (m *model) satP(z []float64, p float64, liquid bool, maxIter int, tMin, tMax float64) (equilibrium, bool) {
	t := m.raoultT(z, p, liquid)
	t = math.Max(0.8*tMin, math.Min(1.1*tMax, t))
	var e equilibrium
	ok := false
	for _, rounds := range [2]int{3, 30} {
		if t > 0.995*tMax {
			break
		}
		if e, ok = m.startT(z, t, liquid, rounds); ok {
			e.p = p
			if m.newton(z, &e, true, maxIter) && m.valid(z, &e) && e.T < tMax*1.002 {
				return e, true
			}
		}
	}
	if m.n > 1 {
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
	var best equilibrium
	f := func(T float64) float64 {
		e, ok := m.satT(z, T, liquid, maxIter)
		if !ok {
			return math.NaN()
		}
		best = e
		return math.Log(e.p / p)
	}
	hi := tMax * 0.9999
	for k := 0; k < 12 && math.IsNaN(f(hi)); k++ {
		hi *= 1 - 0.0005*math.Pow(2, float64(k))
	}
	lo := math.Max(tMin, 0.7*math.Min(t, hi))
	T, s, err := num.Brent(f, lo, hi, 1e-9)
	if err != nil {
		return equilibrium{Solve: s}, false
	}
	best, ok = m.satT(z, T, liquid, maxIter)
	if !ok {
		return best, false
	}
	polished := best
	polished.p = p
	if m.newton(z, &polished, true, maxIter) && m.valid(z, &polished) {
		return polished, true
	}
	return best, true
}

// critical finds the critical point of the bulk composition: the smallest eigenvalue of the stability matrix and its change along its own
// direction vanish. Source: Heidemann and Khalil (1980), AIChE J. 26:769-779.
func (m *model) critical(z []float64) (T, rho float64, ok bool) {
	if m.n == 1 {
		return m.c[0].tc, m.c[0].rhoc, true
	}
	n := m.n
	form := func(T float64, r []float64, u *[maxN]float64) (float64, [maxN]float64) {
		var o isochoric
		m.isochore(T, r, &o)
		var a [maxN * maxN]float64
		for i := range n {
			for j := range n {
				a[i*n+j] = math.Sqrt(r[i]*r[j]) * o.h[i][j]
			}
			a[i*n+i]++
		}
		if u != nil {
			s := 0.0
			for i := range n {
				for j := range n {
					s += u[i] * a[i*n+j] * u[j]
				}
			}
			return s, *u
		}
		return smallestEigen(n, a[:n*n])
	}
	eval := func(T, rho float64) (b, c float64) {
		var r, q [maxN]float64
		for i := range n {
			r[i] = z[i] * rho
		}
		b, u := form(T, r[:n], nil)
		const e = 1e-4
		var v [2]float64
		for k, s := range [2]float64{e, -e} {
			for i := range n {
				q[i] = r[i] + s*u[i]*math.Sqrt(r[i]*rho)
			}
			v[k], _ = form(T, q[:n], &u)
		}
		c = (v[0] - v[1]) / (2 * e)
		// The sign of the eigenvector is free; fix it so that c is smooth.
		s := 0.0
		for i := range n {
			s += u[i] * math.Sqrt(z[i])
		}
		if s < 0 {
			c = -c
		}
		return b, c
	}
	Tr, vr := m.reducing(z, nil)
	for _, start := range [][2]float64{{1, 1}, {1.03, 1.05}, {0.98, 0.9}, {1.06, 1.2}, {1, 1.3}, {1.08, 0.9}} {
		T, rho = Tr*start[0], start[1]/vr
		for range 60 {
			b, c := eval(T, rho)
			const d = 1e-5
			bT, cT := eval(T*(1+d), rho)
			bR, cR := eval(T, rho*(1+d))
			J := []float64{(bT - b) / d, (bR - b) / d, (cT - c) / d, (cR - c) / d}
			F := []float64{-b, -c}
			if !num.SolveDense(2, J, F) {
				break
			}
			l := math.Min(1, math.Min(0.03/math.Max(math.Abs(F[0]), 1e-300), 0.1/math.Max(math.Abs(F[1]), 1e-300)))
			T *= math.Exp(l * F[0])
			rho *= math.Exp(l * F[1])
			if math.IsNaN(T) || T < 0.6*Tr || T > 1.6*Tr || rho*vr < 0.3 || rho*vr > 2.5 {
				break
			}
			if math.Abs(F[0]) < 1e-8 && math.Abs(F[1]) < 1e-7 {
				return T, rho, true
			}
		}
	}
	return 0, 0, false
}

// smallestEigen returns the smallest eigenvalue of a symmetric matrix and its vector (cyclic Jacobi rotations).
func smallestEigen(n int, a []float64) (float64, [maxN]float64) {
	var v [maxN][maxN]float64
	for i := range n {
		v[i][i] = 1
	}
	for range 30 {
		off := 0.0
		for i := range n {
			for j := i + 1; j < n; j++ {
				off += a[i*n+j] * a[i*n+j]
			}
		}
		if off < 1e-28 {
			break
		}
		for p := range n {
			for q := p + 1; q < n; q++ {
				if a[p*n+q] == 0 {
					continue
				}
				th := (a[q*n+q] - a[p*n+p]) / (2 * a[p*n+q])
				t := math.Copysign(1, th) / (math.Abs(th) + math.Sqrt(th*th+1))
				c := 1 / math.Sqrt(t*t+1)
				s := t * c
				for k := range n {
					x, y := a[k*n+p], a[k*n+q]
					a[k*n+p], a[k*n+q] = c*x-s*y, s*x+c*y
				}
				for k := range n {
					x, y := a[p*n+k], a[q*n+k]
					a[p*n+k], a[q*n+k] = c*x-s*y, s*x+c*y
				}
				for k := range n {
					x, y := v[k][p], v[k][q]
					v[k][p], v[k][q] = c*x-s*y, s*x+c*y
				}
			}
		}
	}
	best := 0
	for i := range n {
		if a[i*n+i] < a[best*n+best] {
			best = i
		}
	}
	var u [maxN]float64
	for i := range n {
		u[i] = v[i][best]
	}
	return a[best*n+best], u
}
