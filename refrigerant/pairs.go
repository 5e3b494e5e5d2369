package refrigerant

import (
	"errors"
	"fmt"
	"math"

	"coldwright/num"
	"coldwright/refrigerant/internal/eos"
)

// byTemperature finds the state at T with the enthalpy or entropy wanted: two phases by their share, one phase along
// its isotherm in ln ρ. Both fall as vapour is compressed; where a dense fluid takes the same enthalpy twice, the
// state of lower pressure is given.
func (r *Refrigerant) byTemperature(T, want, zero float64, k quantity, o Options) (State, error) {
	l := r.limits
	if err := r.checkWanted(want, k); err != nil {
		return State{}, err
	}
	if err := r.checkPT(math.Min(l.PMax, num.StandardAtmosphere), T, o); err != nil {
		return State{}, err
	}
	both := func(lnRho float64) (v, slope float64) {
		q := r.m.At(r.z, T, math.Exp(lnRho))
		v, _, slope = k.of(&q)
		return v - want, slope
	}
	value := func(lnRho float64) float64 { v, _ := both(lnRho); return v }
	slope := func(lnRho float64) float64 { _, d := both(lnRho); return d }
	along := func(lo, hi float64, ph Phase) (State, bool, error) {
		root := func(a, b float64) (State, bool, error) {
			x, s, err := num.Brent(value, a, b, 1e-14)
			if err != nil {
				return State{}, false, err
			}
			rho := math.Exp(x)
			w := r.single(T, r.m.At(r.z, T, rho).P, rho, ph, s.Evaluations)
			if w.p > l.PCrit && T > l.TCrit {
				w.phase = Supercritical
			}
			if r.inside(&w) {
				return State{}, false, r.beyond(T)
			}
			st, err := r.finish(w, o)
			return st, true, err
		}
		// In steps, so that a turning enthalpy is not jumped over.
		const steps = 12
		a := lo
		fa, da := both(a)
		for i := 1; i <= steps; i++ {
			b := lo + (hi-lo)*float64(i)/steps
			fb, db := both(b)
			if fa*fb <= 0 {
				return root(a, b)
			}
			if da*db < 0 {
				// It turns inside the step, and may touch what is wanted there.
				if x, _, err := num.Brent(slope, a, b, 1e-12); err == nil && fa*value(x) <= 0 {
					return root(a, x)
				}
			}
			a, fa, da = b, fb, db
		}
		return State{}, false, nil
	}
	thin := math.Log(1e-3 / (r.m.R * T)) // 1 mPa
	dense, ok := 0.0, false
	// Some equations are printed to pressures at which they have frozen long ago: the densest state found bounds the search.
	for p := l.PMax; !ok && p > 1e-4*l.PMax; p /= 2 {
		if T >= l.TCrit {
			var s raw
			s, ok = r.singleAt(p, T, false)
			dense = s.rho
		} else {
			dense, _, ok = r.m.RhoAt(r.z, T, p, true, 0)
		}
	}
	if !ok {
		return State{}, &num.NoConvergence{What: fmt.Sprintf("%s: density at %.6g Pa, %.3f K", r.designation, l.PMax, T)}
	}
	refuse := func() error {
		a, b := value(thin)+want-zero, value(math.Log(dense))+want-zero
		what, d := k.named()
		reason := fmt.Sprintf("validity of the equation at %.6g K", T)
		return r.outside(what, d, (want-zero)/r.molarMass, math.Min(a, b)/r.molarMass, math.Max(a, b)/r.molarMass, reason)
	}
	if T >= l.TCrit {
		s, found, err := along(thin, math.Log(dense), Vapour)
		if err == nil && !found {
			err = refuse()
		}
		return s, err
	}
	bub, dew, err := r.saturationAtT(T, o)
	if err != nil {
		return State{}, err
	}
	fb, fd := r.single(T, bub.P, bub.Bulk, Liquid, bub.Iterations), r.single(T, dew.P, dew.Bulk, Vapour, dew.Iterations)
	vb, vd := k.value(&fb), k.value(&fd)
	if slack := 1e-11 * (vd - vb); math.Abs(want-vb) < slack || math.Abs(want-vd) < slack {
		want = math.Max(vb, math.Min(vd, want)) // saturated but for round-off
	}
	switch {
	case want > vd:
		s, found, err := along(thin, math.Log(dew.Bulk), Vapour)
		if err == nil && !found {
			err = refuse()
		}
		return s, err
	case want < vb:
		s, found, err := along(math.Log(bub.Bulk), math.Log(dense), Liquid)
		if err == nil && !found {
			err = refuse()
		}
		return s, err
	case r.m.N == 1:
		return r.finish(r.mix(&fb, &fd, (want-vb)/(vd-vb)), o)
	}
	if s, ok := r.share(&bub, &dew, eos.HeldTX, want, k, o); ok {
		return r.finish(s, o)
	}
	return State{}, &num.NoConvergence{
		What:  fmt.Sprintf("%s: two phases at %.3f K", r.designation, T),
		Solve: num.Solve{Status: num.Diverged},
	}
}

// StateTS returns the state at temperature T and entropy s.
//
//   - in: T, K; s, J/(kg K) in the reference of o
//   - out: the state, also in two phases
//   - errors: [*RangeError], [*num.NoConvergence]
//   - source: definition; entropy falls with density at constant temperature
//   - cost: about 10 µs for a pure fluid, under 1 ms for a blend
func (r *Refrigerant) StateTS(T, s float64, o Options) (State, error) {
	_, ds, err := r.shift(o)
	if err != nil {
		return State{}, err
	}
	return r.byTemperature(T, s*r.molarMass+ds, ds, entropy, o)
}

// StateTH returns the state at temperature T and enthalpy h. A dense fluid can have one enthalpy at two pressures: the lower one is given.
//
//   - in: T, K; h, J/kg in the reference of o
//   - out: the state, also in two phases
//   - errors: [*RangeError], [*num.NoConvergence]
//   - source: definition
//   - cost: as [Refrigerant.StateTS]
func (r *Refrigerant) StateTH(T, h float64, o Options) (State, error) {
	dh, _, err := r.shift(o)
	if err != nil {
		return State{}, err
	}
	return r.byTemperature(T, h*r.molarMass+dh, dh, enthalpy, o)
}

// StateHS returns the state of enthalpy h and entropy s.
//
//   - in: h, J/kg; s, J/(kg K), both in the reference of o
//   - out: the state, also in two phases
//   - errors: [*RangeError] when no pressure within the limits has both, [*num.NoConvergence]
//   - source: definition; dh = v dp at constant entropy, so the enthalpy rises with pressure
//   - cost: about 20 times [Refrigerant.StatePS]
func (r *Refrigerant) StateHS(h, s float64, o Options) (State, error) {
	l := r.limits
	if err := r.checkWanted(h, enthalpy); err != nil {
		return State{}, err
	}
	if err := r.checkWanted(s, entropy); err != nil {
		return State{}, err
	}
	var last State
	var hard error
	// Along an isentrope temperature rises with pressure: where the range ends on the cold side the pressure must be
	// higher, on the hot side lower.
	f := func(lp float64) (v float64, inside bool) {
		st, err := r.StatePS(math.Exp(lp), s, o)
		if err == nil {
			last = st
			return st.H - h, true
		}
		var out *RangeError
		if !errors.As(err, &out) {
			hard = err
			return 0, false
		}
		if out.Value < out.Min || out.Quantity == QuantityTemperature {
			return math.Inf(-1), false
		}
		return math.Inf(1), false
	}
	lo, hi := math.Log(10), math.Log(l.PMax)
	hi = math.Min(hi, math.Log(40*l.PCrit)) // beyond, equations are extrapolated in print
	a, okA := f(lo)
	b, okB := f(hi)
	for range 60 {
		if hard != nil || a > 0 || b < 0 || okA && okB {
			break
		}
		mid := 0.5 * (lo + hi)
		if v, ok := f(mid); v < 0 {
			lo, a, okA = mid, v, ok
		} else {
			hi, b, okB = mid, v, ok
		}
	}
	switch {
	case hard != nil:
		return State{}, hard
	case okA && okB && a <= 0 && b >= 0:
		x, sv, err := num.Brent(func(lp float64) float64 { v, _ := f(lp); return v }, lo, hi, 1e-13)
		if err != nil {
			return State{}, err
		}
		f(x)
		last.Evaluations = sv.Evaluations
		return last, nil
	}
	// What is left is an end of the range itself.
	for _, at := range [2]float64{lo, hi} {
		if v, ok := f(at); ok && math.Abs(v) < 1e-6*math.Max(1e3, math.Abs(h)) {
			return last, nil
		}
	}
	low, high := math.Inf(-1), math.Inf(1) // not known where the range itself ends
	if okA {
		low = h + a
	}
	if okB {
		high = h + b
	}
	const reason = "no pressure up to the limit of the equation has both"
	return State{}, r.outside(QuantityEnthalpyAtEntropy, num.Enthalpy, h, low, high, reason)
}
