package refrigerant

import (
	"fmt"
	"math"
	"math/rand/v2"

	"coldwright/num"
	"coldwright/refrigerant/internal/eos"
)

// FitError is the largest deviation of a fit from the equation on points between its nodes.
type FitError struct {
	T   float64 // K, dew and bubble temperature at a pressure
	P   float64 // relative, dew and bubble pressure
	H   float64 // J/kg
	S   float64 // J/(kg K)
	Rho float64 // relative
	PH  float64 // K, temperature at pressure and enthalpy
}

// StatedFitError is what no fit of a refrigerant on file exceeds, up to 0.97 of the critical temperature. Most stay
// far below; entropy and the temperature at pressure and enthalpy are set by liquid R-21 at 4 MPa and 210 K.
//
//   - source: ours; a test and the command refcheck hold it against the equations
func StatedFitError() FitError {
	return FitError{T: 1e-3, P: 3e-5, H: 50, S: 0.3, Rho: 5e-4, PH: 0.03}
}

// Exceeds reports whether any deviation is larger than the stated one. What is not a number is larger.
func (e FitError) Exceeds(stated FitError) bool {
	return !(e.T <= stated.T && e.P <= stated.P && e.H <= stated.H && e.S <= stated.S && e.Rho <= stated.Rho && e.PH <= stated.PH)
}

// perPoint is how many states one point of the unit square is good for: bubble, dew, two of vapour and one of liquid.
const perPoint = 5

// MaxError compares the fit with the equation at points between its nodes.
//
//   - in: n, about how many states; at least 100
//   - out: the largest deviations over saturation, vapour up to 0.97 of the critical temperature and liquid
//   - errors: [*num.NoConvergence]
//   - source: definition; points of a lattice with irrational steps
//   - cost: n times the equation's
func (f *Fit) MaxError(n int) (FitError, error) {
	var e FitError
	const golden, plastic = 0.6180339887498949, 0.7548776662466927
	frac := func(x float64) float64 { return x - math.Floor(x) }
	for k := range max(n, 100) / perPoint {
		if err := f.deviate(&e, frac(0.37+float64(k)*golden), frac(0.11+float64(k)*plastic)); err != nil {
			return e, err
		}
	}
	return e, nil
}

// RandomError is [Fit.MaxError] at random points.
//
//   - in: n, about how many states; rng, seeded by the caller
//   - out: as [Fit.MaxError]
//   - errors: [*num.NoConvergence]
//   - source: definition
//   - cost: n times the equation's
func (f *Fit) RandomError(n int, rng *rand.Rand) (FitError, error) {
	var e FitError
	for range (n + perPoint - 1) / perPoint {
		if err := f.deviate(&e, rng.Float64(), rng.Float64()); err != nil {
			return e, err
		}
	}
	return e, nil
}

// deviate compares at the share u of the temperatures and the share v of the distance from saturation.
func (f *Fit) deviate(e *FitError, u, v float64) error {
	r := f.r
	rel := func(a, b float64) float64 { return math.Abs(a/b - 1) }
	T := f.tMin + (f.tMax-f.tMin)*u
	b, ok1 := r.m.SatT(r.z, T, true, eos.NewtonMax)
	d, ok2 := r.m.SatT(r.z, T, false, eos.NewtonMax)
	if !ok1 || !ok2 {
		return &num.NoConvergence{What: fmt.Sprintf("%s: saturation at %.17g K while measuring a fit", r.designation, T)}
	}
	ql, qv := r.m.At(r.z, T, b.Bulk), r.m.At(r.z, T, d.Bulk)
	e.P = max(e.P, rel(f.BubbleT(T), b.P), rel(f.DewT(T), d.P))
	e.T = max(e.T, math.Abs(f.BubbleP(b.P)-T), math.Abs(f.DewP(d.P)-T))
	see := func(q *eos.Point, rho, h, s float64) {
		e.H, e.S, e.Rho = max(e.H, math.Abs(h-(q.H-r.shiftH)/r.molarMass)), max(e.S, math.Abs(s-(q.S-r.shiftS)/r.molarMass)),
			max(e.Rho, rel(rho, q.Rho*r.molarMass))
	}
	rho, h, s := f.Liquid(T)
	see(&ql, rho, h, s)
	rho, h, s = f.DewVapour(T)
	see(&qv, rho, h, s)
	for range 2 {
		t := T + maxSuper*spanned(v)
		dens, _, ok := r.m.RhoAt(r.z, t, d.P, false, 0)
		if !ok {
			return &num.NoConvergence{What: fmt.Sprintf("%s: vapour at %.17g Pa, %.17g K while measuring a fit", r.designation, d.P, t)}
		}
		q := r.m.At(r.z, t, dens)
		rho, h, s = f.Vapour(d.P, t)
		see(&q, rho, h, s)
		t2, rho, s := f.VapourPH(d.P, (q.H-r.shiftH)/r.molarMass)
		see(&q, rho, (q.H-r.shiftH)/r.molarMass, s)
		e.PH = max(e.PH, math.Abs(t2-t))
		v = math.Mod(v+0.5, 1)
	}
	if lp := math.Log(b.P); lp > f.liquid.pt.XLo {
		t := T - (T-f.tMin)*spanned(v)
		dens, _, ok := r.m.RhoAt(r.z, t, b.P, true, 0)
		if !ok {
			return &num.NoConvergence{What: fmt.Sprintf("%s: liquid at %.17g Pa, %.17g K while measuring a fit", r.designation, b.P, t)}
		}
		q := r.m.At(r.z, t, dens)
		rho, h, s = f.LiquidPT(b.P, t)
		see(&q, rho, h, s)
		t2, rho, s := f.LiquidPH(b.P, (q.H-r.shiftH)/r.molarMass)
		see(&q, rho, (q.H-r.shiftH)/r.molarMass, s)
		e.PH = max(e.PH, math.Abs(t2-t))
	}
	return nil
}
