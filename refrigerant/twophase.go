package refrigerant

import (
	"math"

	"coldwright/num"
	"coldwright/refrigerant/internal/eos"
)

// flashPT splits the bulk at p, T between bubble and dew pressure.
func (r *Refrigerant) flashPT(p, T float64, bub, dew *eos.Equilibrium, o Options) (raw, bool) {
	if s, ok := r.substitute(p, T, bub, dew, o.maxIter()); ok {
		return s, true
	}
	return r.share(bub, dew, eos.HeldTX, -p, pressure, o)
}

// substitute is flashPT by successive substitution, handed over to Newton.
func (r *Refrigerant) substitute(p, T float64, bub, dew *eos.Equilibrium, maxIter int) (raw, bool) {
	n, m := r.m.N, r.m
	var K, x, y [eos.MaxN]float64
	// K-values between those of the bubble and the dew point.
	f := 0.5
	if bub.P != dew.P {
		f = (bub.P - p) / (bub.P - dew.P)
	}
	rb, rd := bub.IncRho(n), dew.IncRho(n)
	for i := range n {
		kb := math.Log(bub.Incipient[i] / rb / r.z[i])
		kd := math.Log(r.z[i] / (dew.Incipient[i] / rd))
		K[i] = math.Exp(kb + f*(kd-kb))
	}
	rl, rv := bub.RhoLiquid(n), dew.RhoVapour(n)
	beta := f
	var A, B eos.Isochoric
	var sp eos.Split
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
		eos.Normalise(x[:n])
		eos.Normalise(y[:n])
		var okl, okv bool
		rl, _, okl = m.RhoAt(x[:n], T, p, true, rl)
		rv, _, okv = m.RhoAt(y[:n], T, p, false, rv)
		if !okl || !okv {
			return raw{}, false
		}
		for i := range n {
			sp.L[i], sp.V[i] = x[i]*rl, y[i]*rv
		}
		sp.T, sp.P, sp.Beta = T, p, beta
		A, B = eos.Isochoric{}, eos.Isochoric{}
		m.Isochore(T, sp.L[:n], &A)
		m.Isochore(T, sp.V[:n], &B)
		sp.Evaluations += 2
		worst := 0.0
		for i := range n {
			d := math.Log(sp.L[i]/sp.V[i]) + A.G[i] - B.G[i]
			worst = math.Max(worst, math.Abs(d))
			K[i] *= math.Exp(d)
		}
		// Substitution finds the neighbourhood, Newton the answer.
		if worst < 0.02 {
			try := sp
			if m.PolishSplit(r.z, &try, eos.HeldPT, maxIter) {
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

func (r *Refrigerant) twoPhase(sp *eos.Split) raw {
	n, m := r.m.N, r.m
	var x, y [eos.MaxN]float64
	rl, rv := 0.0, 0.0
	for i := range n {
		rl += sp.L[i]
		rv += sp.V[i]
	}
	for i := range n {
		x[i], y[i] = sp.L[i]/rl, sp.V[i]/rv
	}
	beta := math.Max(0, math.Min(1, sp.Beta))
	ql, qv := m.At(x[:n], sp.T, rl), m.At(y[:n], sp.T, rv)
	Ml, Mv := m.MolarMass(x[:n]), m.MolarMass(y[:n])
	return raw{
		phase: TwoPhase, T: sp.T, p: sp.P, rho: 1 / ((1-beta)/rl + beta/rv), h: (1-beta)*ql.H + beta*qv.H, s: (1-beta)*ql.S + beta*qv.S,
		vapourMass: beta * Mv / (beta*Mv + (1-beta)*Ml), solve: sp.Solve,
	}
}

// share finds the split whose quantity is wanted; it rises with β.
func (r *Refrigerant) share(bub, dew *eos.Equilibrium, given eos.Held, want float64, k quantity, o Options) (raw, bool) {
	var last raw
	evals := 0
	f := func(beta float64) float64 {
		evals++
		sp, ok := r.m.Partly(r.z, bub, dew, beta, given, o.maxIter())
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
