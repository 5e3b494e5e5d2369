package refrigerant

import (
	"math"

	"coldwright/num"
	"coldwright/refrigerant/internal/eos"
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
	n := r.m.N
	liquid, vapour := e.LiquidMole[:n], e.VapourMole[:n]
	Ml, Mv := r.m.MolarMass(liquid), r.m.MolarMass(vapour)
	if !(Ml > 0 && Mv > 0 && e.RhoLiquid > 0 && e.RhoVapour > 0) {
		return math.Inf(1), math.Inf(1), math.Inf(1)
	}
	var x, y [eos.MaxN]float64
	rl, rv := e.RhoLiquid/Ml, e.RhoVapour/Mv
	for i := range n {
		x[i], y[i] = liquid[i]*rl, vapour[i]*rv
	}
	var A, B eos.Isochoric
	r.m.Isochore(e.T, x[:n], &A)
	r.m.Isochore(e.T, y[:n], &B)
	for i := range n {
		lnF = math.Max(lnF, math.Abs(math.Log(x[i]/y[i])+A.G[i]-B.G[i]))
	}
	ql, qv := r.m.At(liquid, e.T, rl), r.m.At(vapour, e.T, rv)
	return lnF, math.Abs(qv.P/e.P - 1), math.Abs((ql.P - e.P) / (ql.DpDrho * rl))
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
		q := r.m.At(r.z, s.T, rho)
		return r.finish(raw{phase: s.Phase, T: s.T, p: q.P, rho: rho, h: q.H, s: q.S, q: q, solve: num.Solve{Status: num.Converged}}, o)
	}
	n := r.m.N
	none := &num.NoConvergence{What: r.designation + ": split while recomputing a state", Last: s.P}
	bub, ok := r.m.SatT(r.z, s.T, true, o.maxIter())
	var dew eos.Equilibrium
	if ok && n > 1 {
		dew, ok = r.m.SatT(r.z, s.T, false, o.maxIter())
	}
	if !ok && n > 1 {
		// Between the critical temperature and the end of the dew line a start comes from the points at the pressure.
		bub, dew, ok = r.saturationAtP(s.P, o)
	}
	if !ok {
		return State{}, none
	}
	if n == 1 {
		rl, rv := bub.Bulk, bub.Incipient[0]
		x := (1/rho - 1/rl) / (1/rv - 1/rl)
		fl, fv := r.single(s.T, bub.P, rl, Liquid, 0), r.single(s.T, bub.P, rv, Vapour, 0)
		return r.finish(r.mix(&fl, &fv, x), o)
	}
	// A start between the phases of the bubble and of the dew point, by the share of the vapour.
	var c [eos.MaxN]float64
	near := eos.Vessel{T: s.T}
	for i := range n {
		c[i] = r.z[i] * rho
		near.L[i] = math.Exp((1-s.VapourMass)*math.Log(r.z[i]*bub.Bulk) + s.VapourMass*math.Log(dew.Incipient[i]))
		near.V[i] = math.Exp((1-s.VapourMass)*math.Log(bub.Incipient[i]) + s.VapourMass*math.Log(r.z[i]*dew.Bulk))
	}
	w, ok := r.m.SplitVessel(c[:n], &near, s.T)
	if !ok || math.Abs(w.P/s.P-1) > 1e-6 {
		// From far off Newton may end on a loop of the equation; the cold start does not.
		w, ok = r.m.SplitVessel(c[:n], nil, s.T)
	}
	if !ok {
		return State{}, none
	}
	var x, y [eos.MaxN]float64
	var rl, rv float64
	for i := range n {
		rl += w.L[i]
		rv += w.V[i]
	}
	for i := range n {
		x[i], y[i] = w.L[i]/rl, w.V[i]/rv
	}
	ql, qv := r.m.At(x[:n], s.T, rl), r.m.At(y[:n], s.T, rv)
	beta := (1 - w.Liquid) * rv / rho // moles in the vapour
	return r.finish(raw{
		phase: TwoPhase, T: s.T, p: w.P, rho: w.Liquid*rl + (1-w.Liquid)*rv, h: (1-beta)*ql.H + beta*qv.H, s: (1-beta)*ql.S + beta*qv.S,
		vapourMass: (1 - w.Liquid) * rv * r.m.MolarMass(y[:n]) / s.Rho,
		solve:      num.Solve{Status: num.Converged, Residual: w.Worst},
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
	if r.m.N == 1 {
		return 0
	}
	q := r.m.At(r.z, s.T, s.Rho/r.molarMass)
	if !(q.P > 0 && q.DpDrho > 0) {
		return math.Inf(1)
	}
	return r.m.Instability(r.z, s.T, s.Rho/r.molarMass, q.P)
}
