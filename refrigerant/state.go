package refrigerant

import (
	"fmt"
	"math"

	"coldwright/num"
	"coldwright/refrigerant/internal/eos"
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
	return word(int(p), "unknown", "liquid", "vapour", "two-phase", "supercritical")
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
	q          eos.Point
	solve      num.Solve
}

func (r *Refrigerant) checkPT(p, T float64, o Options) error {
	l := r.limits
	if o.Extrapolate && T > 0.8*l.TMin && T < 1.5*l.TMax && p > 0 && p < 2*l.PMax {
		return nil
	}
	if !(T >= l.TMin && T <= l.TMax) {
		return r.tooColdOrHot(T)
	}
	if !(p > 0 && p <= l.PMax) {
		return r.outside(QuantityPressure, num.Pressure, p, 0, l.PMax, reasonValidity)
	}
	return nil
}

func (r *Refrigerant) single(T, p, rho float64, ph Phase, evals int) raw {
	var o eos.Isotherm
	r.m.Isotherm(r.z, T, &o)
	return r.along(&o, T, p, rho, ph, evals)
}

// along is single on an isotherm known.
func (r *Refrigerant) along(o *eos.Isotherm, T, p, rho float64, ph Phase, evals int) raw {
	a := o.At(rho)
	q := r.m.PointOf(r.z, T, rho, &a)
	return raw{
		phase: ph, T: T, p: p, rho: rho, h: q.H, s: q.S, q: q,
		solve: num.Solve{Status: num.Converged, Iterations: evals, Evaluations: evals, Residual: math.Abs(q.P/p - 1)},
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
	var o eos.Isotherm
	r.m.Isotherm(r.z, T, &o)
	// Clearly above the critical temperature there is one root, and from the perfect gas the way to it is short unless the gas is dense.
	hot := T > 1.02*r.limits.TCrit && p*o.Scale < 0.5*r.m.R*T
	if T < r.limits.TCrit*0.999 || p < 0.5*r.limits.PCrit || hot {
		if rho, n, ok := o.RhoAt(r.z, T, p, liquidLike, 0); ok {
			return r.along(&o, T, p, rho, ph, n), true
		}
	}
	// One root only (or close to the critical point): bracket it.
	hi := 3.6 / o.Scale
	lo := math.Min(0.2*p/(r.m.R*T), 0.5*hi)
	n := 0
	f := func(rho float64) float64 {
		n++
		return o.Pressure(rho, T)/p - 1
	}
	rho, _, err := num.Brent(f, lo, hi, 1e-12*hi)
	if err != nil {
		return raw{}, false
	}
	return r.along(&o, T, p, rho, ph, n), true
}

func (r *Refrigerant) rawPT(p, T float64, o Options) (raw, error) {
	l := r.limits
	if T < l.TCrit {
		if r.m.N == 1 {
			// The start-value formula is within psatTrust of the equation: farther off it decides the phase.
			if ps := r.m.Components[0].PsatStart(T); math.Abs(p/ps-1) > psatTrust {
				if s, ok := r.singleAt(p, T, p > ps); ok {
					return s, nil
				}
			}
		}
		var bub, dew eos.Equilibrium
		var okb, okd bool
		if r.m.N > 1 {
			// The point on the likely side first: often it is enough.
			low := 0.0
			for i, c := range r.m.Components {
				low += r.z[i] / c.PsatStart(T)
			}
			if p < 1/low {
				if dew, okd = r.m.SatT(r.z, T, false, o.maxIter()); okd && p <= dew.P {
					if s, ok := r.singleAt(p, T, false); ok {
						return s, nil
					}
				}
			}
		}
		bub, okb = r.m.SatT(r.z, T, true, o.maxIter())
		switch {
		case r.m.N == 1:
			dew, okd = bub, okb
		case okb && p >= bub.P: // the dew point does not matter
			dew, okd = bub, true
		case !okd:
			dew, okd = r.m.SatT(r.z, T, false, o.maxIter())
		}
		if okb && okd {
			switch {
			case r.m.N == 1 && math.Abs(p/bub.P-1) < 1e-10:
				return raw{}, fmt.Errorf(
					"%s: %.6g Pa at %.4f K is saturated: pressure and temperature do not fix the state; give a vapour share, enthalpy or entropy",
					r.designation,
					p,
					T,
				)
			case p >= bub.P:
				if s, ok := r.singleAt(p, T, true); ok {
					return s, nil
				}
			case p <= dew.P:
				if s, ok := r.singleAt(p, T, false); ok {
					return s, nil
				}
			default:
				if s, ok := r.flashPT(p, T, &bub, &dew, o); ok {
					return s, nil
				}
			}
			return raw{}, &num.NoConvergence{
				What:  fmt.Sprintf("%s: state at %.6g Pa, %.3f K", r.designation, p, T),
				Solve: num.Solve{Status: num.Diverged},
			}
		}
	}
	if s, ok := r.singleAt(p, T, p > l.PCrit && T < l.TCrit); ok {
		if r.inside(&s) {
			// The dew line of a blend leads past its critical temperature and back.
			if bub, dew, ok := r.saturationAtP(p, o); ok && dew.T > T {
				if w, ok := r.share(&bub, &dew, eos.HeldPX, T, temperature, o); ok {
					return w, nil
				}
			}
			return raw{}, &num.NoConvergence{
				What:  fmt.Sprintf("%s: two phases at %.6g Pa, %.3f K", r.designation, p, T),
				Solve: num.Solve{Status: num.Diverged},
			}
		}
		return s, nil
	}
	return raw{}, &num.NoConvergence{
		What:  fmt.Sprintf("%s: state at %.6g Pa, %.3f K", r.designation, p, T),
		Solve: num.Solve{Status: num.Diverged},
	}
}

// beyond says that two phases are not looked for above the critical temperature by temperature: no share of vapour is known to start from.
func (r *Refrigerant) beyond(T float64) error {
	return &num.NoConvergence{
		What:  fmt.Sprintf("%s: two phases at %.3f K, above its critical temperature: give the pressure", r.designation, T),
		Solve: num.Solve{Status: num.OutOfRange},
	}
}

// inside reports whether a single phase found a little above the critical temperature of a blend would split.
func (r *Refrigerant) inside(s *raw) bool {
	l := r.limits
	return r.m.N > 1 && s.T >= l.TCrit && s.T < 1.05*l.TCrit && s.p > 0.5*l.PCrit && s.p < l.PCrit &&
		r.Instability(State{T: s.T, Rho: s.rho * r.molarMass}) > 1e-7
}

func (r *Refrigerant) finish(s raw, o Options) (State, error) {
	dh, ds, err := r.shift(o)
	if err != nil {
		return State{}, err
	}
	out := State{
		Solve: s.solve, Phase: s.phase,
		T: s.T, P: s.p, Rho: s.rho * r.molarMass, H: (s.h - dh) / r.molarMass, S: (s.s - ds) / r.molarMass,
	}
	r.mark(&out.Solve, s.T, s.p)
	if s.phase == TwoPhase {
		out.VapourMass = s.vapourMass
	} else {
		out.Cp, out.Cv, out.SpeedOfSound = s.q.Cp/r.molarMass, s.q.Cv/r.molarMass, s.q.W
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
	s, err := r.rawPT(p, T, o)
	if err != nil {
		return State{}, err
	}
	return r.finish(s, o)
}

// mix is the two-phase state of a pure fluid.
func (r *Refrigerant) mix(fb, fd *raw, x float64) raw {
	return raw{
		phase:      TwoPhase,
		T:          fb.T,
		p:          fb.p,
		rho:        1 / ((1-x)/fb.rho + x/fd.rho),
		h:          fb.h + x*(fd.h-fb.h),
		s:          fb.s + x*(fd.s-fb.s),
		vapourMass: x,
		solve:      fb.solve,
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
	return r.byPressure(p, h*r.molarMass+dh, dh, 1/r.molarMass, enthalpy, o)
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
	return r.byPressure(p, s*r.molarMass+ds, ds, 1/r.molarMass, entropy, o)
}

func (r *Refrigerant) checkShare(x float64) error {
	if !(x >= 0 && x <= 1) {
		return r.outside(QuantityVapourShare, num.Dimensionless, x, 0, 1, reasonDefinition)
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
	if err := r.checkShare(x); err != nil {
		return State{}, err
	}
	if !(p > 0 && p < r.limits.PCrit) {
		return State{}, r.outside(QuantitySaturationPressure, num.Pressure, p, r.lowest(x < 0.5), r.limits.PCrit, reasonCritical)
	}
	bub, dew, ok := r.saturationAtP(p, o)
	if !ok {
		return State{}, &num.NoConvergence{
			What:  fmt.Sprintf("%s: saturation at %.6g Pa", r.designation, p),
			Solve: num.Solve{Status: num.Diverged},
		}
	}
	s, err := r.atShare(&bub, &dew, x, eos.HeldPX, o)
	if err == nil {
		err = r.warmEnough(&s, o)
	}
	if err != nil {
		return State{}, err
	}
	return s, nil
}

// warmEnough refuses a result below the lower limit of the equation.
func (r *Refrigerant) warmEnough(s *State, o Options) error {
	if l := r.limits; s.T < l.TMin*(1-edge) && !o.Extrapolate {
		return r.tooColdOrHot(s.T)
	}
	return nil
}

// atShare is the state at vapour mass fraction x between a bubble and a dew point.
func (r *Refrigerant) atShare(bub, dew *eos.Equilibrium, x float64, given eos.Held, o Options) (State, error) {
	if r.m.N == 1 {
		fb, fd := r.single(bub.T, bub.P, bub.Bulk, Liquid, bub.Iterations), r.single(dew.T, dew.P, dew.Bulk, Vapour, dew.Iterations)
		return r.finish(r.mix(&fb, &fd, x), o)
	}
	s, ok := r.share(bub, dew, given, x, vapourShare, o)
	if !ok {
		return State{}, &num.NoConvergence{
			What:  fmt.Sprintf("%s: two phases at %.6g Pa, %.3f K", r.designation, bub.P, bub.T),
			Solve: num.Solve{Status: num.Diverged},
		}
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
	if err := r.checkShare(x); err != nil {
		return State{}, err
	}
	bub, dew, err := r.saturationAtT(T, o)
	if err != nil {
		return State{}, err
	}
	return r.atShare(&bub, &dew, x, eos.HeldTX, o)
}

// saturationAtT returns both saturation points at T.
func (r *Refrigerant) saturationAtT(T float64, o Options) (bub, dew eos.Equilibrium, err error) {
	l := r.limits
	if !(T >= l.TMin && T < l.TCrit) && !(o.Extrapolate && T > 0.9*l.TMin && T < l.TCrit) {
		return bub, dew, r.noSaturationAt(T)
	}
	bub, ok := r.m.SatT(r.z, T, true, o.maxIter())
	if ok && r.m.N == 1 {
		return bub, bub.Turned(), nil
	}
	if ok {
		if dew, ok = r.m.SatT(r.z, T, false, o.maxIter()); ok {
			return bub, dew, nil
		}
	}
	return bub, dew, &num.NoConvergence{
		What:  fmt.Sprintf("%s: saturation at %.3f K", r.designation, T),
		Solve: num.Solve{Status: num.Diverged},
	}
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
	if cold, hot := r.ends(o); !(T >= cold && T <= hot) {
		return State{}, r.tooColdOrHot(T)
	}
	if err := r.checkDensity(rho); err != nil {
		return State{}, err
	}
	d := rho / r.molarMass
	if T < l.TCrit {
		bub, dew, err := r.saturationAtT(T, o)
		if err != nil {
			return State{}, err
		}
		if d < bub.Bulk && d > dew.Bulk {
			if r.m.N == 1 {
				return r.atShare(&bub, &dew, (1/d-1/bub.Bulk)/(1/dew.Bulk-1/bub.Bulk), eos.HeldTX, o)
			}
			if s, ok := r.share(&bub, &dew, eos.HeldTX, -d, density, o); ok {
				return r.finish(s, o)
			}
			return State{}, &num.NoConvergence{
				What:  fmt.Sprintf("%s: two phases of %.6g kg/m³ at %.3f K", r.designation, rho, T),
				Solve: num.Solve{Status: num.Diverged},
			}
		}
	}
	q := r.m.At(r.z, T, d)
	if w := r.single(T, q.P, d, Vapour, 1); r.inside(&w) {
		return State{}, r.beyond(T)
	}
	if !(q.P > 0) || !(q.DpDrho > 0) {
		return State{}, &num.NoConvergence{
			What:  fmt.Sprintf("%s: %.6g kg/m³ at %.3f K is not a stable phase", r.designation, rho, T),
			Solve: num.Solve{Status: num.OutOfRange},
		}
	}
	if err := r.checkPT(q.P, T, o); err != nil {
		return State{}, err
	}
	ph := Vapour
	switch {
	case T >= l.TCrit && q.P >= l.PCrit:
		ph = Supercritical
	case rho > l.RhoCrit:
		ph = Liquid
	}
	return r.finish(r.single(T, q.P, d, ph, 1), o)
}

// checkDensity refuses what is no density; no liquid on file is as dense as eight times its critical density.
func (r *Refrigerant) checkDensity(rho float64) error {
	if most := 8 * r.limits.RhoCrit; !(rho > 0 && rho < most) {
		return r.outside(QuantityDensity, num.Density, rho, 0, most, reasonDefinition)
	}
	return nil
}

// StatePD returns the state at pressure p and density rho.
//
//   - in: p, Pa; rho, kg/m³
//   - out: the state, also in two phases
//   - errors: [*RangeError], [*num.NoConvergence]
//   - source: definition; bracketed root in temperature, density falls as temperature rises
//   - cost: about 1 ms for a blend
func (r *Refrigerant) StatePD(p, rho float64, o Options) (State, error) {
	if err := r.checkDensity(rho); err != nil {
		return State{}, err
	}
	d := rho / r.molarMass
	return r.byPressure(p, -d, 0, -r.molarMass, density, o)
}
