package refrigerant

import (
	"fmt"
	"math"

	"coldwright/num"
)

// Fit is a smooth approximation of one refrigerant for run time: saturation along temperature, and superheated vapour over (ln p, superheat).
// It is immutable, safe for concurrent use and does not allocate. Beyond its range every function goes on along the tangent of its edge, so
// that a solver sees a smooth world; ask [Fit.InRange] before believing a number.
type Fit struct {
	r                *Refrigerant
	tMin, tMax       float64
	pMin, pMax       float64
	dew, bub         num.Chebyshev // ln p against T
	dewInv, bubInv   num.Chebyshev // T against ln p
	hL, sL, lnRhoL   num.Chebyshev
	hV, sV, lnRhoV   num.Chebyshev
	vapH, vapS, vapZ num.Chebyshev2 // h; s + R ln p; ln(ρ/p)
	lnPLo, lnPHi     float64
	rs               float64 // R/M
}

// FitError is the largest deviation of a fit from the equation on points between its nodes.
type FitError struct {
	P   float64 // relative, dew and bubble pressure
	H   float64 // J/kg
	S   float64 // J/(kg K)
	Rho float64 // relative
}

const (
	satNodes    = 22
	vapNodesP   = 16
	vapNodesT   = 11
	maxSuper    = 140.0 // K above dew
	fitTopShare = 0.97  // of the critical temperature
)

// Fit builds the approximation.
//
//   - out: a fit from the larger of TMin and 190 K (or 60 % of the critical temperature) to 0.97 of the critical temperature
//   - errors: [*num.NoConvergence] where the equation finds no saturation
//   - source: Chebyshev interpolation of the equation, see [Fit.MaxError]
//   - cost: about 15 ms for a four-component blend; keep the value, the package keeps none
func (r *Refrigerant) Fit() (*Fit, error) {
	var f *Fit
	var err error
	// A few equations lose their saturation line in deep cold; the fit then starts higher and says so by its range.
	for low := 0.0; low < 60; low += 12 {
		if f, err = r.fitFrom(low); err == nil {
			return f, nil
		}
	}
	return nil, err
}

func (r *Refrigerant) fitFrom(low float64) (*Fit, error) {
	l := r.limits
	f := &Fit{r: r, rs: r.m.R / r.M}
	f.tMin = math.Max(l.TMin+0.01, math.Min(190, 0.6*l.TCrit)) + low
	f.tMax = fitTopShare * l.TCrit
	T := num.ChebyshevNodes(satNodes, f.tMin, f.tMax)
	col := func() []float64 { return make([]float64, satNodes) }
	pb, pd, hl, sl, rl, hv, sv, rv := col(), col(), col(), col(), col(), col(), col(), col()
	for k, t := range T {
		b, ok := r.m.satT(r.z, t, true, 50)
		if !ok {
			return nil, &num.NoConvergence{What: fmt.Sprintf("%s: bubble point at %.2f K", r.designation, t), Solve: b.Solve}
		}
		d, ok := r.m.satT(r.z, t, false, 50)
		if !ok {
			return nil, &num.NoConvergence{What: fmt.Sprintf("%s: dew point at %.2f K", r.designation, t), Solve: d.Solve}
		}
		ql, qv := r.m.at(r.z, t, b.bulk), r.m.at(r.z, t, d.bulk)
		pb[k], pd[k] = math.Log(b.p), math.Log(d.p)
		hl[k], sl[k], rl[k] = (ql.h-r.shiftH)/r.M, (ql.s-r.shiftS)/r.M, math.Log(b.bulk*r.M)
		hv[k], sv[k], rv[k] = (qv.h-r.shiftH)/r.M, (qv.s-r.shiftS)/r.M, math.Log(d.bulk*r.M)
	}
	fit := func(y []float64) num.Chebyshev { return num.FitChebyshev(f.tMin, f.tMax, y) }
	f.bub, f.dew = fit(pb), fit(pd)
	f.hL, f.sL, f.lnRhoL = fit(hl), fit(sl), fit(rl)
	f.hV, f.sV, f.lnRhoV = fit(hv), fit(sv), fit(rv)
	invert := func(c *num.Chebyshev) (num.Chebyshev, error) {
		lo, hi := c.At(f.tMin), c.At(f.tMax)
		y := make([]float64, satNodes)
		for k, lp := range num.ChebyshevNodes(satNodes, lo, hi) {
			t, _, err := num.Brent(func(t float64) float64 { return c.At(t) - lp }, f.tMin, f.tMax, 1e-11)
			if err != nil {
				return num.Chebyshev{}, err
			}
			y[k] = t
		}
		return num.FitChebyshev(lo, hi, y), nil
	}
	var err error
	if f.dewInv, err = invert(&f.dew); err != nil {
		return nil, err
	}
	if f.bubInv, err = invert(&f.bub); err != nil {
		return nil, err
	}
	f.lnPLo, f.lnPHi = f.dew.At(f.tMin), f.dew.At(f.tMax)
	f.pMin, f.pMax = math.Exp(f.lnPLo), math.Exp(f.lnPHi)
	grid := func() []float64 { return make([]float64, vapNodesP*vapNodesT) }
	zh, zs, zz := grid(), grid(), grid()
	for i, lp := range num.ChebyshevNodes(vapNodesP, f.lnPLo, f.lnPHi) {
		p := math.Exp(lp)
		td := f.DewP(p)
		start := 0.0
		for j, sh := range num.ChebyshevNodes(vapNodesT, 0, maxSuper) {
			rho, _, ok := r.m.rhoAt(r.z, td+sh, p, false, start)
			if !ok {
				return nil, &num.NoConvergence{What: fmt.Sprintf("%s: vapour at %.6g Pa, %.2f K", r.designation, p, td+sh)}
			}
			q := r.m.at(r.z, td+sh, rho)
			k := i*vapNodesT + j
			zh[k] = (q.h - r.shiftH) / r.M
			zs[k] = (q.s-r.shiftS)/r.M + f.rs*lp
			zz[k] = math.Log(rho*r.M) - lp
		}
	}
	f.vapH = num.FitChebyshev2(f.lnPLo, f.lnPHi, 0, maxSuper, vapNodesP, vapNodesT, zh)
	f.vapS = num.FitChebyshev2(f.lnPLo, f.lnPHi, 0, maxSuper, vapNodesP, vapNodesT, zs)
	f.vapZ = num.FitChebyshev2(f.lnPLo, f.lnPHi, 0, maxSuper, vapNodesP, vapNodesT, zz)
	return f, nil
}

// Designation returns the refrigerant's name.
func (f *Fit) Designation() string { return f.r.designation }

// Refrigerant returns what was fitted.
func (f *Fit) Refrigerant() *Refrigerant { return f.r }

// TRange returns the saturation temperatures the fit covers, K.
func (f *Fit) TRange() (lo, hi float64) { return f.tMin, f.tMax }

// PRange returns the dew pressures the fit covers, Pa.
func (f *Fit) PRange() (lo, hi float64) { return f.pMin, f.pMax }

// InRange reports whether dew and bubble temperature at p are inside the fit.
func (f *Fit) InRange(p float64) bool { return p >= f.pMin && p <= f.pMax }

// DewT returns the dew pressure at T, Pa.
func (f *Fit) DewT(T float64) float64 { return math.Exp(f.dew.At(T)) }

// BubbleT returns the bubble pressure at T, Pa.
func (f *Fit) BubbleT(T float64) float64 { return math.Exp(f.bub.At(T)) }

// DewP returns the dew temperature at p, K.
func (f *Fit) DewP(p float64) float64 { return f.dewInv.At(math.Log(p)) }

// BubbleP returns the bubble temperature at p, K.
func (f *Fit) BubbleP(p float64) float64 { return f.bubInv.At(math.Log(p)) }

// DewSlope returns dp/dT on the dew line at T, Pa/K.
func (f *Fit) DewSlope(T float64) float64 {
	v, d := f.dew.ValueSlope(T)
	return math.Exp(v) * d
}

// BubbleSlope returns dp/dT on the bubble line at T, Pa/K.
func (f *Fit) BubbleSlope(T float64) float64 {
	v, d := f.bub.ValueSlope(T)
	return math.Exp(v) * d
}

// Liquid returns density, enthalpy and entropy of saturated liquid of the bulk composition at T.
func (f *Fit) Liquid(T float64) (rho, h, s float64) {
	return math.Exp(f.lnRhoL.At(T)), f.hL.At(T), f.sL.At(T)
}

// LiquidH returns the enthalpy of saturated liquid at T and its slope, J/kg and J/(kg K).
func (f *Fit) LiquidH(T float64) (h, slope float64) { return f.hL.ValueSlope(T) }

// LiquidRho returns the density of saturated liquid at T, kg/m³.
func (f *Fit) LiquidRho(T float64) float64 { return math.Exp(f.lnRhoL.At(T)) }

// DewVapour returns density, enthalpy and entropy of saturated vapour of the bulk composition at dew temperature T.
func (f *Fit) DewVapour(T float64) (rho, h, s float64) {
	return math.Exp(f.lnRhoV.At(T)), f.hV.At(T), f.sV.At(T)
}

// DewH returns the enthalpy of saturated vapour at dew temperature T, J/kg.
func (f *Fit) DewH(T float64) float64 { return f.hV.At(T) }

// Isobar is the superheated vapour at one pressure: everything along it costs a short series. It is a value; make one per pressure.
type Isobar struct {
	Dew     float64 // dew temperature, K
	lp, rs  float64
	h, s, z [vapNodesT]float64
}

// Isobar prepares the vapour at pressure p.
func (f *Fit) Isobar(p float64) (b Isobar) {
	b.lp, b.rs = math.Log(p), f.rs
	b.Dew = f.dewInv.At(b.lp)
	f.vapH.Row(b.lp, b.h[:])
	f.vapS.Row(b.lp, b.s[:])
	f.vapZ.Row(b.lp, b.z[:])
	return b
}

// along evaluates a series in superheat with its slope; beyond its ends it goes on along the tangent.
func along(c *[vapNodesT]float64, sh float64) (v, d float64) {
	in := math.Max(0, math.Min(maxSuper, sh))
	t := 2*in/maxSuper - 1
	var b1, b2, d1, d2 float64
	for j := vapNodesT - 1; j > 0; j-- {
		d1, d2 = 2*b1+2*t*d1-d2, d1
		b1, b2 = c[j]+2*t*b1-b2, b1
	}
	v, d = c[0]+t*b1-b2, (b1+t*d1-d2)*2/maxSuper
	return v + d*(sh-in), d
}

// H returns enthalpy, J/kg, and heat capacity, J/(kg K), at T.
func (b *Isobar) H(T float64) (h, cp float64) { return along(&b.h, T-b.Dew) }

// S returns entropy, J/(kg K), at T.
func (b *Isobar) S(T float64) float64 {
	s, _ := along(&b.s, T-b.Dew)
	return s - b.rs*b.lp
}

// Rho returns density, kg/m³, at T.
func (b *Isobar) Rho(T float64) float64 {
	z, _ := along(&b.z, T-b.Dew)
	return math.Exp(z + b.lp)
}

// at inverts a series by Newton.
func (b *Isobar) at(c *[vapNodesT]float64, want float64) float64 {
	sh := 40.0
	for range 20 {
		v, d := along(c, sh)
		step := (want - v) / d
		sh += step
		if math.Abs(step) < 1e-9 {
			break
		}
	}
	return b.Dew + sh
}

// TS returns the temperature at entropy s.
func (b *Isobar) TS(s float64) float64 { return b.at(&b.s, s+b.rs*b.lp) }

// TH returns the temperature at enthalpy h.
func (b *Isobar) TH(h float64) float64 { return b.at(&b.h, h) }

// VapourH returns the enthalpy of vapour at p, T and its slope in T, J/kg and J/(kg K).
func (f *Fit) VapourH(p, T float64) (h, cp float64) {
	b := f.Isobar(p)
	return b.H(T)
}

// Vapour returns density, enthalpy and entropy of vapour at p, T.
func (f *Fit) Vapour(p, T float64) (rho, h, s float64) {
	b := f.Isobar(p)
	h, _ = b.H(T)
	return b.Rho(T), h, b.S(T)
}

// VapourPS returns temperature and enthalpy of vapour at p with entropy s, by Newton on the fit.
func (f *Fit) VapourPS(p, s float64) (T, h float64) {
	b := f.Isobar(p)
	T = b.TS(s)
	h, _ = b.H(T)
	return T, h
}

// VapourPH returns the temperature of vapour at p with enthalpy h, by Newton on the fit.
func (f *Fit) VapourPH(p, h float64) (T float64) {
	b := f.Isobar(p)
	return b.TH(h)
}

// MaxError compares the fit with the equation at points between its nodes.
//
//   - out: the largest deviations over saturation and vapour
//   - errors: [*num.NoConvergence]
//   - source: definition
//   - cost: about 30 ms
func (f *Fit) MaxError() (FitError, error) {
	var e FitError
	r := f.r
	rel := func(a, b float64) float64 { return math.Abs(a/b - 1) }
	for k := range 40 {
		T := f.tMin + (f.tMax-f.tMin)*(float64(k)+0.37)/40
		b, ok1 := r.m.satT(r.z, T, true, 50)
		d, ok2 := r.m.satT(r.z, T, false, 50)
		if !ok1 || !ok2 {
			return e, &num.NoConvergence{What: r.designation + ": saturation while measuring a fit"}
		}
		ql, qv := r.m.at(r.z, T, b.bulk), r.m.at(r.z, T, d.bulk)
		e.P = max(e.P, rel(f.BubbleT(T), b.p), rel(f.DewT(T), d.p))
		rho, h, s := f.Liquid(T)
		e.H, e.S, e.Rho = max(e.H, math.Abs(h-(ql.h-r.shiftH)/r.M)), max(e.S, math.Abs(s-(ql.s-r.shiftS)/r.M)), max(e.Rho, rel(rho, b.bulk*r.M))
		rho, h, s = f.DewVapour(T)
		e.H, e.S, e.Rho = max(e.H, math.Abs(h-(qv.h-r.shiftH)/r.M)), max(e.S, math.Abs(s-(qv.s-r.shiftS)/r.M)), max(e.Rho, rel(rho, d.bulk*r.M))
		for j := range 8 {
			sh := maxSuper * (float64(j) + 0.41) / 8
			p := d.p
			dens, _, ok := r.m.rhoAt(r.z, T+sh, p, false, 0)
			if !ok {
				return e, &num.NoConvergence{What: r.designation + ": vapour while measuring a fit"}
			}
			q := r.m.at(r.z, T+sh, dens)
			rho, h, s := f.Vapour(p, T+sh)
			e.H, e.S, e.Rho = max(e.H, math.Abs(h-(q.h-r.shiftH)/r.M)), max(e.S, math.Abs(s-(q.s-r.shiftS)/r.M)), max(e.Rho, rel(rho, dens*r.M))
		}
	}
	return e, nil
}
