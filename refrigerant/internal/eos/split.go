package eos

import (
	"math"

	"coldwright/num"
)

// Split is a bulk divided into liquid and vapour, by partial densities.
type Split struct {
	num.Solve
	T, P float64
	L, V [MaxN]float64 // mol/m³
	Beta float64       // vapour's share of the moles
}

// Held says which two of T, p and β are given; the third is found.
type Held int

const (
	HeldPT Held = iota
	HeldPX
	HeldTX
)

// PolishSplit solves a split by Newton: equal fugacities, both pressures right, the balance of every component.
func (m *Model) PolishSplit(z []float64, sp *Split, given Held, maxIter int) bool {
	n := m.N
	size := 2*n + 1
	const big = 2*MaxN + 1
	var J [big * big]float64
	var F [big]float64
	var A, B Isochoric
	prev := math.Inf(1)
	for sp.Iterations = 1; sp.Iterations <= maxIter; sp.Iterations++ {
		RT, p := m.R*sp.T, sp.P
		A, B = Isochoric{}, Isochoric{}
		m.Isochore(sp.T, sp.L[:n], &A)
		m.Isochore(sp.T, sp.V[:n], &B)
		sp.Evaluations += 2
		clear(J[:size*size])
		pl, pv, rl, rv := -A.Psi, -B.Psi, 0.0, 0.0
		plT, pvT := -A.psiT, -B.psiT
		for i := range n {
			pl += sp.L[i] * (1 + A.G[i])
			pv += sp.V[i] * (1 + B.G[i])
			plT += sp.L[i] * A.GT[i]
			pvT += sp.V[i] * B.GT[i]
			rl += sp.L[i]
			rv += sp.V[i]
		}
		// As for a saturation point: the liquid's pressure counts by what it moves ln f.
		noise := 1 + 1e-2*rl*RT/p
		worst := 0.0
		for i := range n {
			F[i] = -(math.Log(sp.L[i]/sp.V[i]) + A.G[i] - B.G[i])
			worst = math.Max(worst, math.Abs(F[i]))
			for j := range n {
				J[i*size+j] = A.H[i][j] * sp.L[j]
				J[i*size+n+j] = -B.H[i][j] * sp.V[j]
			}
			J[i*size+i]++
			J[i*size+n+i]--
			if given == HeldPX {
				J[i*size+2*n] = (A.GT[i] - B.GT[i]) * sp.T
			}
		}
		F[n], F[n+1] = -(pl*RT/p - 1), -(pv*RT/p - 1)
		worst = math.Max(worst, math.Max(math.Abs(F[n])/noise, math.Abs(F[n+1])))
		for j := range n {
			sa, sb := 1.0, 1.0
			for i := range n {
				sa += sp.L[i] * A.H[i][j]
				sb += sp.V[i] * B.H[i][j]
			}
			J[n*size+j] = RT * sa * sp.L[j] / p
			J[(n+1)*size+n+j] = RT * sb * sp.V[j] / p
		}
		switch given {
		case HeldPX:
			J[n*size+2*n], J[(n+1)*size+2*n] = RT*(pl+sp.T*plT)/p, RT*(pv+sp.T*pvT)/p
		case HeldTX:
			J[n*size+2*n], J[(n+1)*size+2*n] = -pl*RT/p, -pv*RT/p
		}
		for i := range n - 1 {
			x, y := sp.L[i]/rl, sp.V[i]/rv
			k := n + 2 + i
			F[k] = z[i] - (1-sp.Beta)*x - sp.Beta*y
			worst = math.Max(worst, math.Abs(F[k]))
			for j := range n {
				J[k*size+j] = -(1 - sp.Beta) * x * sp.L[j] / rl
				J[k*size+n+j] = -sp.Beta * y * sp.V[j] / rv
			}
			J[k*size+i] += (1 - sp.Beta) * x
			J[k*size+n+i] += sp.Beta * y
			if given == HeldPT {
				J[k*size+2*n] = y - x
			}
		}
		sp.Residual = worst
		if math.IsNaN(worst) {
			return false
		}
		if worst < 3e-13 || (worst < 1e-8 && worst >= prev*0.5) {
			sp.Status = num.Converged
			var x, y [MaxN]float64
			for i := range n {
				x[i], y[i] = sp.L[i]/rl, sp.V[i]/rv
			}
			return math.Log(rl/rv) > 1e-3 && sp.Beta > -1e-8 && sp.Beta < 1+1e-8 && m.Branch(x[:n], sp.T, sp.P, rl, true) &&
				m.Branch(y[:n], sp.T, sp.P, rv, false)
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
			case i == 2*n && given == HeldPX:
				lim = 0.03
			case i == 2*n:
				lim = 0.3
			}
			if a := math.Abs(F[i]); a*limit > lim {
				limit = lim / a
			}
		}
		for i := range n {
			sp.L[i] *= math.Exp(limit * F[i])
			sp.V[i] *= math.Exp(limit * F[n+i])
		}
		switch d := limit * F[2*n]; given {
		case HeldPT:
			sp.Beta += d
		case HeldPX:
			sp.T *= math.Exp(d)
		case HeldTX:
			sp.P *= math.Exp(d)
		}
	}
	return false
}

// Partly solves the split at vapour share β (moles) between a bubble and a dew point of the same pressure (heldPX) or
// temperature (heldTX). The start lies between the two; where that is too far it walks from the bubble point.
func (m *Model) Partly(z []float64, bub, dew *Equilibrium, beta float64, given Held, maxIter int) (Split, bool) {
	n := m.N
	start := func(from *Split, b float64) Split {
		// A fraction f of the way from a known split to the dew point, in logs.
		f := (b - from.Beta) / (1 - from.Beta)
		sp := Split{Beta: b}
		for i := range n {
			sp.L[i] = from.L[i] * math.Pow(dew.Incipient[i]/from.L[i], f)
			sp.V[i] = from.V[i] * math.Pow(z[i]*dew.Bulk/from.V[i], f)
		}
		sp.T, sp.P = from.T*math.Pow(dew.T/from.T, f), from.P*math.Pow(dew.P/from.P, f)
		return sp
	}
	at := Split{T: bub.T, P: bub.P}
	for i := range n {
		at.L[i], at.V[i] = z[i]*bub.Bulk, bub.Incipient[i]
	}
	if beta >= 1 {
		sp := Split{T: dew.T, P: dew.P, Beta: 1, Solve: dew.Solve}
		for i := range n {
			sp.L[i], sp.V[i] = dew.Incipient[i], z[i]*dew.Bulk
		}
		return sp, true
	}
	if beta <= 0 {
		at.Solve = bub.Solve
		return at, true
	}
	sp := start(&at, beta)
	if m.PolishSplit(z, &sp, given, maxIter) {
		return sp, true
	}
	for step := beta / 4; step > 1e-3; {
		next := math.Min(beta, at.Beta+step)
		sp = start(&at, next)
		if !m.PolishSplit(z, &sp, given, maxIter) {
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

// Normalise scales numbers so that they add up to one.
func Normalise(x []float64) {
	s := 0.0
	for _, v := range x {
		s += v
	}
	for i := range x {
		x[i] /= s
	}
}
