package refrigerant

import (
	"math"

	"coldwright/num"
)

// EquilibriumError measures a saturation point from its temperature, densities and compositions alone.
//
//   - in: e, a result of this refrigerant
//   - out: lnF, the largest difference of a component's ln f between the phases; pVapour, the relative difference
//     between the pressure of the vapour's equation and e.P; rhoLiquid, the relative change of liquid density that
//     would make the liquid's pressure e.P, since that pressure is a small difference of large numbers
//   - source: definition
//   - cost: two evaluations
func (r *Refrigerant) EquilibriumError(e Equilibrium) (lnF, pVapour, rhoLiquid float64) {
	n := r.m.n
	liquid, vapour := e.LiquidMole[:n], e.VapourMole[:n]
	Ml, Mv := r.m.molarMass(liquid), r.m.molarMass(vapour)
	if !(Ml > 0 && Mv > 0 && e.RhoLiquid > 0 && e.RhoVapour > 0) {
		return math.Inf(1), math.Inf(1), math.Inf(1)
	}
	var x, y [maxN]float64
	rl, rv := e.RhoLiquid/Ml, e.RhoVapour/Mv
	for i := range n {
		x[i], y[i] = liquid[i]*rl, vapour[i]*rv
	}
	var A, B isochoric
	r.m.isochore(e.T, x[:n], &A)
	r.m.isochore(e.T, y[:n], &B)
	for i := range n {
		lnF = math.Max(lnF, math.Abs(math.Log(x[i]/y[i])+A.g[i]-B.g[i]))
	}
	ql, qv := r.m.at(liquid, e.T, rl), r.m.at(vapour, e.T, rv)
	return lnF, math.Abs(qv.p/e.P - 1), math.Abs((ql.p - e.P) / (ql.dpdrho * rl))
}

// Recompute returns the state at the temperature and density of s by a route that shares nothing with the one that
// found s: one phase by a single evaluation of the equation, two phases by the isochoric split at T and ρ. What it
// gives for pressure, enthalpy, entropy and vapour share is compared with s.
//
//   - in: s, a result of this refrigerant; o, its reference
//   - out: the state at s.T and s.Rho in the phase or phases of s; P of a single phase is the equation's
//   - errors: [*num.NoConvergence] where the split finds no two phases
//   - source: definition; split as [Refrigerant.Leak]
//   - cost: one evaluation in one phase, under 1 ms in two
func (r *Refrigerant) Recompute(s State, o Options) (State, error) {
	rho := s.Rho / r.molarMass
	if s.Phase != TwoPhase {
		q := r.m.at(r.z, s.T, rho)
		return r.finish(raw{phase: s.Phase, T: s.T, p: q.p, rho: rho, h: q.h, s: q.s, q: q, solve: num.Solve{Status: num.Converged}}, o)
	}
	n := r.m.n
	none := &num.NoConvergence{What: r.designation + ": split while recomputing a state", Last: s.P}
	bub, ok := r.m.satT(r.z, s.T, true, o.maxIter())
	var dew equilibrium
	if ok && n > 1 {
		dew, ok = r.m.satT(r.z, s.T, false, o.maxIter())
	}
	if !ok && n > 1 {
		// Between the critical temperature and the end of the dew line a start comes from the points at the pressure.
		bub, dew, ok = r.saturationAtP(s.P, o)
	}
	if !ok {
		return State{}, none
	}
	if n == 1 {
		rl, rv := bub.bulk, bub.inc[0]
		x := (1/rho - 1/rl) / (1/rv - 1/rl)
		fl, fv := r.single(s.T, bub.p, rl, Liquid, 0), r.single(s.T, bub.p, rv, Vapour, 0)
		return r.finish(r.mix(&fl, &fv, x), o)
	}
	// A start between the phases of the bubble and of the dew point, by the share of the vapour.
	var c [maxN]float64
	near := vessel{T: s.T}
	for i := range n {
		c[i] = r.z[i] * rho
		near.l[i] = math.Exp((1-s.VapourMass)*math.Log(r.z[i]*bub.bulk) + s.VapourMass*math.Log(dew.inc[i]))
		near.v[i] = math.Exp((1-s.VapourMass)*math.Log(bub.inc[i]) + s.VapourMass*math.Log(r.z[i]*dew.bulk))
	}
	w, ok := r.m.split(c[:n], &near, s.T)
	if !ok || math.Abs(w.p/s.P-1) > 1e-6 {
		// From far off Newton may end on a loop of the equation; the cold start does not.
		w, ok = r.m.split(c[:n], nil, s.T)
	}
	if !ok {
		return State{}, none
	}
	var x, y [maxN]float64
	var rl, rv float64
	for i := range n {
		rl += w.l[i]
		rv += w.v[i]
	}
	for i := range n {
		x[i], y[i] = w.l[i]/rl, w.v[i]/rv
	}
	ql, qv := r.m.at(x[:n], s.T, rl), r.m.at(y[:n], s.T, rv)
	beta := (1 - w.liquid) * rv / rho // moles in the vapour
	return r.finish(raw{
		phase: TwoPhase, T: s.T, p: w.p, rho: w.liquid*rl + (1-w.liquid)*rv, h: (1-beta)*ql.h + beta*qv.h, s: (1-beta)*ql.s + beta*qv.s,
		vapourMass: (1 - w.liquid) * rv * r.m.molarMass(y[:n]) / s.Rho,
		solve:      num.Solve{Status: num.Converged, Residual: w.worst},
	}, o)
}

// Instability looks for a phase that would form out of the single phase s of a blend.
//
//   - in: s, in one phase
//   - out: how far below the tangent plane at s the deepest trial phase lies, in units of R T per mole; 0 where none
//     does, and for a pure fluid, whose phase its vapour pressure settles; infinite where s cannot exist at all.
//     Trials start vapour-like and liquid-like, from the components' vapour pressures
//   - assumes: cold phases are dense liquid or thin vapour; between them an equation has loops that are no phases,
//     and trials that end there do not count
//   - source: Michelsen (1982), Fluid Phase Equilib. 9:1-19
//   - cost: about 1 ms
func (r *Refrigerant) Instability(s State) float64 {
	if r.m.n == 1 {
		return 0
	}
	q := r.m.at(r.z, s.T, s.Rho/r.molarMass)
	if !(q.p > 0 && q.dpdrho > 0) {
		return math.Inf(1)
	}
	return r.instability(s.T, s.Rho/r.molarMass, q.p)
}

// instability is [Refrigerant.Instability] where the pressure is known better than from the density: cold liquid's is
// a small difference of large numbers.
func (r *Refrigerant) instability(T, rho, p float64) float64 {
	m, n := r.m, r.m.n
	// ln(z φ) of the bulk, with ln φ = g − ln Z.
	var d, w, dens [maxN]float64
	var A isochoric
	for i := range n {
		dens[i] = r.z[i] * rho
	}
	m.isochore(T, dens[:n], &A)
	for i := range n {
		d[i] = math.Log(r.z[i]) + A.g[i] - math.Log(p/(rho*m.R*T))
	}
	depth := 0.0
	for _, liquid := range []bool{false, true} {
		for i, c := range m.c {
			k := c.psatStart(T) / p
			w[i] = r.z[i] * k
			if liquid {
				w[i] = r.z[i] / k
			}
		}
		for range 60 {
			sum := 0.0
			for i := range n {
				sum += w[i]
			}
			x := w
			normalise(x[:n])
			rw, _, ok := m.rhoAt(x[:n], T, p, liquid, 0)
			if !ok {
				break
			}
			for i := range n {
				dens[i] = x[i] * rw
			}
			A = isochoric{}
			m.isochore(T, dens[:n], &A)
			change, away, next := 0.0, 0.0, 0.0
			for i := range n {
				v := math.Exp(d[i] - A.g[i] + math.Log(p/(rw*m.R*T)))
				change = math.Max(change, math.Abs(v-w[i]))
				away = math.Max(away, math.Abs(x[i]-r.z[i]))
				w[i] = v
				next += v
			}
			if away < 1e-4 && math.Abs(rw/rho-1) < 1e-3 {
				break // the trial fell back on the bulk
			}
			if change < 1e-10 {
				Tr, vr := m.reducing(x[:n], nil)
				if T < 0.9*Tr && (liquid && rw*vr < 1.6 || !liquid && rw*vr > 0.4) {
					break
				}
				depth = math.Max(depth, math.Log(next))
				break
			}
		}
	}
	return depth
}
