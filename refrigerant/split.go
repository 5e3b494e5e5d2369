package refrigerant

import (
	"math"

	"coldwright/num"
)

// flashPT splits the bulk at p, T between bubble and dew pressure.
func (r *Refrigerant) flashPT(p, T float64, bub, dew *equilibrium, o Options) (raw, bool) {
	if s, ok := r.substitute(p, T, bub, dew, o.maxIter()); ok {
		return s, true
	}
	return r.share(bub, dew, heldTX, -p, pressure, o)
}

// substitute is flashPT by successive substitution, handed over to Newton.
func (r *Refrigerant) substitute(p, T float64, bub, dew *equilibrium, maxIter int) (raw, bool) {
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
			if m.polishSplit(r.z, &try, heldPT, maxIter) {
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
func (m *model) polishSplit(z []float64, sp *split, given held, maxIter int) bool {
	n := m.n
	size := 2*n + 1
	const big = 2*maxN + 1
	var J [big * big]float64
	var F [big]float64
	var A, B isochoric
	prev := math.Inf(1)
	for sp.Iterations = 1; sp.Iterations <= maxIter; sp.Iterations++ {
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
			var x, y [maxN]float64
			for i := range n {
				x[i], y[i] = sp.l[i]/rl, sp.v[i]/rv
			}
			return math.Log(rl/rv) > 1e-3 && sp.beta > -1e-8 && sp.beta < 1+1e-8 && m.branch(x[:n], sp.T, sp.p, rl, true) &&
				m.branch(y[:n], sp.T, sp.p, rv, false)
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

// partly solves the split at vapour share β (moles) between a bubble and a dew point of the same pressure (heldPX) or
// temperature (heldTX). The start lies between the two; where that is too far it walks from the bubble point.
func (m *model) partly(z []float64, bub, dew *equilibrium, beta float64, given held, maxIter int) (split, bool) {
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
	if m.polishSplit(z, &sp, given, maxIter) {
		return sp, true
	}
	for step := beta / 4; step > 1e-3; {
		next := math.Min(beta, at.beta+step)
		sp = start(&at, next)
		if !m.polishSplit(z, &sp, given, maxIter) {
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

// share finds the split whose quantity is wanted; it rises with β.
func (r *Refrigerant) share(bub, dew *equilibrium, given held, want float64, k quantity, o Options) (raw, bool) {
	var last raw
	evals := 0
	f := func(beta float64) float64 {
		evals++
		sp, ok := r.m.partly(r.z, bub, dew, beta, given, o.maxIter())
		if !ok {
			return math.NaN()
		}
		last = r.twoPhase(&sp)
		return k.value(&last) - want
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
