package refrigerant

import (
	"fmt"
	"math"

	"coldwright/num"
	"coldwright/refrigerant/internal/eos"
)

// psatTrust bounds the relative error of the vapour-pressure start values of every fluid on file; a test measures it.
const psatTrust = 0.05

// edge is the slack at the ends of a range, relative: what a value loses on its way there and back.
const edge = 1e-9

// quantity is what a state at a pressure is wanted by.
type quantity int

const (
	enthalpy quantity = iota
	entropy
	density // minus the density
	// By these a split in two phases is searched only.
	temperature
	pressure // minus the pressure
	vapourShare
)

// of returns the quantity with its derivatives in T and ln ρ; it rises with temperature at constant pressure, hence minus the density.
func (k quantity) of(q *eos.Point) (v, vT, vR float64) {
	switch k {
	case enthalpy:
		return q.H, q.Cv + q.DpDT/q.Rho, q.DpDrho - q.T*q.DpDT/q.Rho
	case entropy:
		return q.S, q.Cv / q.T, -q.DpDT / q.Rho
	}
	return -q.Rho, 0, -q.Rho
}

// named is the quantity in an error.
func (k quantity) named() (string, num.Dimension) {
	switch k {
	case enthalpy:
		return QuantityEnthalpy, num.Enthalpy
	case entropy:
		return QuantityEntropy, num.Entropy
	}
	return QuantityDensity, num.Density
}

func (k quantity) value(s *raw) float64 {
	switch k {
	case enthalpy:
		return s.h
	case entropy:
		return s.s
	case temperature:
		return s.T
	case pressure:
		return -s.p
	case vapourShare:
		return s.vapourMass
	}
	return -s.rho
}

// newtonP finds T and ρ of one phase at p with the quantity wanted, from a start near by.
func (r *Refrigerant) newtonP(p, want float64, k quantity, T, rho float64, ph Phase, maxIter int) (raw, bool) {
	for it := 1; it <= maxIter; it++ {
		q := r.m.At(r.z, T, rho)
		v, vT, vR := k.of(&q)
		a, b := q.DpDT, rho*q.DpDrho
		det := a*vR - b*vT
		if !(q.DpDrho > 0) || det == 0 || math.IsNaN(det) {
			return raw{}, false
		}
		f, g := p-q.P, want-v
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
			if T < l.TCrit && !r.m.Branch(r.z, T, p, rho, ph == Liquid) {
				return raw{}, false
			}
			s := r.single(T, p, rho, ph, it)
			return s, s.q.DpDrho > 0
		}
	}
	return raw{}, false
}

// from starts newtonP at a state of the phase, along its isobar.
func (r *Refrigerant) from(p, want float64, k quantity, s *raw, maxIter int) (raw, bool) {
	q := &s.q
	v, vT, vR := k.of(q)
	slope := vT - vR*q.DpDT/(q.Rho*q.DpDrho) // along the isobar
	dT := (want - v) / slope
	T := s.T + math.Max(-0.3*s.T, math.Min(0.6*s.T, dT))
	rho := s.rho
	if s.phase == Vapour {
		rho *= s.T / T
	}
	if k == density {
		T, rho = s.T, -want
	}
	return r.newtonP(p, want, k, T, rho, s.phase, maxIter)
}

// direct finds a single phase by Newton without knowing saturation: a pure fluid clearly off its saturation line, or
// any fluid above the critical pressure.
func (r *Refrigerant) direct(p, want float64, k quantity, o Options) (raw, bool) {
	l := r.limits
	cold, hot := r.ends(o)
	inside := func(s raw, ok bool) (raw, bool) { return s, ok && s.T >= cold && s.T <= hot }
	if p > 1.0001*l.PCrit {
		for _, f := range [4]float64{0.8, 0.97, 1.06, 1.3} {
			T := math.Max(l.TMin, math.Min(l.TMax, f*l.TCrit))
			if s, ok := r.singleAt(p, T, T < l.TCrit); ok && (want <= k.value(&s) || f == 1.3) {
				return inside(r.from(p, want, k, &s, o.maxIter()))
			}
		}
		return raw{}, false
	}
	if p > 0.9*l.PCrit {
		return raw{}, false
	}
	// psatTrust in pressure is below 0.7 % in temperature: d ln p/d ln T is above 7 along every vapour-pressure line.
	// A blend is not trusted at all: its answer is checked against the saturation point at the temperature found.
	for _, side := range [2]float64{1.007, 0.993} {
		liquid := side < 1
		if r.m.N > 1 {
			side = 1 + 3*(side-1)
		}
		T := side * r.m.RaoultT(r.z, p, liquid)
		rho, n, ok := r.m.RhoAt(r.z, T, p, liquid, 0)
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
		s, ok = inside(r.from(p, want, k, &s, o.maxIter()))
		if !ok || r.m.N == 1 || s.T > l.TCrit && p < 0.7*l.PCrit {
			return s, ok
		}
		e, known := r.m.SatT(r.z, s.T, liquid, o.maxIter())
		return s, known && (liquid && p >= e.P || !liquid && p <= e.P)
	}
	return raw{}, false
}

// ends is the range of temperatures in which a state may be found.
func (r *Refrigerant) ends(o Options) (cold, hot float64) {
	if o.Extrapolate {
		return 0.8 * r.limits.TMin, 1.5 * r.limits.TMax
	}
	return r.limits.TMin * (1 - edge), r.limits.TMax * (1 + edge)
}

// saturationAtP finds the two saturation points at a pressure, if there are any.
func (r *Refrigerant) saturationAtP(p float64, o Options) (bub, dew eos.Equilibrium, ok bool) {
	l := r.limits
	if p >= l.PCrit*0.99999 {
		return bub, dew, false
	}
	bub, ok = r.m.SatP(r.z, p, true, o.maxIter(), l.TMin*0.9, l.TCrit)
	if !ok || r.m.N == 1 {
		return bub, bub.Turned(), ok
	}
	dew, ok = r.m.SatP(r.z, p, false, o.maxIter(), l.TMin*0.9, l.TCrit)
	return bub, dew, ok
}

// checkWanted refuses what no state can have.
func (r *Refrigerant) checkWanted(want float64, k quantity) error {
	if math.IsNaN(want) || math.IsInf(want, 0) {
		what, d := k.named()
		return r.outside(what, d, want, math.Inf(-1), math.Inf(1), "not a finite number")
	}
	return nil
}

// byPressure finds the state at p with the quantity wanted, which rises with temperature.
func (r *Refrigerant) byPressure(p, want, zero, scale float64, k quantity, o Options) (State, error) {
	l := r.limits
	if err := r.checkWanted(want, k); err != nil {
		return State{}, err
	}
	if err := r.checkPT(p, math.Max(l.TMin, math.Min(l.TMax, 300)), o); err != nil {
		return State{}, err
	}
	if s, ok := r.direct(p, want, k, o); ok {
		return r.finish(s, o)
	}
	return r.search(p, want, zero, scale, k, o)
}

// search is byPressure by way of the saturation points, with brackets where Newton gives up.
func (r *Refrigerant) search(p, want, zero, scale float64, k quantity, o Options) (State, error) {
	l := r.limits
	cold, hot := r.ends(o)
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
			return k.value(&s) - want
		}
		a, b := f(lo), f(hi)
		if a > 0 || b < 0 {
			x, y := (want+a-zero)*scale, (want+b-zero)*scale
			what, d := k.named()
			reason := fmt.Sprintf("validity of the equation at %.6g Pa", p)
			return State{}, r.outside(what, d, (want-zero)*scale, math.Min(x, y), math.Max(x, y), reason)
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
	warm := func(s raw) (State, error) {
		st, err := r.finish(s, o)
		if err == nil {
			err = r.warmEnough(&st, o)
		}
		if err != nil {
			return State{}, err
		}
		return st, nil
	}
	bub, dew, ok := r.saturationAtP(p, o)
	switch {
	case ok:
	case p >= 0.999*l.PCrit:
		return search(cold, hot, func(T float64) (raw, bool) { return r.singleAt(p, T, T < l.TCrit) })
	case p < r.lowest(false):
		return search(cold, hot, func(T float64) (raw, bool) { return r.singleAt(p, T, false) })
	default:
		return State{}, &num.NoConvergence{
			What:  fmt.Sprintf("%s: saturation at %.6g Pa", r.designation, p),
			Solve: num.Solve{Status: num.Diverged},
		}
	}
	fb, fd := r.single(bub.T, p, bub.Bulk, Liquid, bub.Iterations), r.single(dew.T, p, dew.Bulk, Vapour, dew.Iterations)
	vb, vd := k.value(&fb), k.value(&fd)
	if want <= vb || want >= vd {
		e := &fb
		if want >= vd {
			e = &fd
		}
		if s, ok := r.from(
			p,
			want,
			k,
			e,
			o.maxIter(),
		); ok && s.T >= math.Min(cold, e.T) && s.T <= math.Max(hot, e.T) &&
			(s.T >= e.T) == (e == &fd) {
			return r.finish(s, o)
		}
	}
	switch {
	case want <= vb:
		return search(math.Min(cold, bub.T), bub.T, func(T float64) (raw, bool) {
			if T >= bub.T {
				return fb, true
			}
			return r.singleAt(p, T, true)
		})
	case want >= vd:
		return search(dew.T, math.Max(hot, dew.T), func(T float64) (raw, bool) {
			if T <= dew.T {
				return fd, true
			}
			return r.singleAt(p, T, false)
		})
	case r.m.N == 1:
		x := (want - vb) / (vd - vb)
		if k == density {
			x = (1/want - 1/vb) / (1/vd - 1/vb)
		}
		return warm(r.mix(&fb, &fd, x))
	}
	if s, ok := r.share(&bub, &dew, eos.HeldPX, want, k, o); ok {
		return warm(s)
	}
	return State{}, &num.NoConvergence{
		What:  fmt.Sprintf("%s: two phases at %.6g Pa", r.designation, p),
		Solve: num.Solve{Status: num.Diverged, Evaluations: evals},
	}
}
