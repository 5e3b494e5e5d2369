package refrigerant

import (
	"fmt"
	"math"

	"coldwright/num"
	"coldwright/refrigerant/internal/eos"
)

// Fit is a smooth approximation of one refrigerant for run time: saturation along temperature and along pressure,
// superheated vapour and subcooled liquid over (p, T) and over (p, h). Every function is twice continuously
// differentiable inside its range. A fit is immutable, safe for concurrent use and does not allocate. Beyond its
// range every function goes on along the tangent of its edge, so that a solver sees a smooth world; ask [Fit.InRange]
// before believing a number.
//
// The equation is interpolated in Chebyshev points, which takes few of its costly evaluations, and the series is read
// into cubic splines on equal cells, which take few operations at run time.
type Fit struct {
	r              *Refrigerant
	tMin, tMax     float64
	pMin, pMax     float64    // dew pressures at tMin and tMax
	pBub           float64    // bubble pressure at tMin: below it the bubble temperature is outside
	dew, bub       num.Spline // ln p against T
	dewInv, bubInv num.Spline // T against ln p
	hL, sL, lnRhoL num.Spline
	hV, sV, lnRhoV num.Spline
	lnPLo, lnPHi   float64
	vapour, liquid region
	rs             float64 // R/M
}

// region is a single-phase region along its saturation line: x is ln p, y a stretched distance from saturation.
type region struct {
	span  num.Spline   // K from saturation to the far edge, against ln p
	pt    num.Surfaces // over (ln p, T): h; s + R ln p (vapour) or s; ln(ρ/p) (vapour) or ln ρ
	hEdge num.Spline   // enthalpy of saturation against ln p
	hSpan num.Spline   // enthalpy from saturation to the far edge
	ph    num.Surfaces // over (ln p, h): share of span; s as above; ρ/p (vapour) or ρ
}

// The three surfaces of [region.pt].
const (
	ofH = iota
	ofS
	ofZ
)

const (
	satNodes    = 26
	satCells    = 256
	vapNodesP   = 24
	vapNodesT   = 18
	liqNodesP   = 16
	liqNodesT   = 12
	cellsP      = 96
	cellsY      = 48
	maxSuper    = 140.0 // K above dew
	fitTopShare = 0.97  // of the critical temperature
	// stretch crowds the cells near saturation, where properties bend most: the distance grows as a·y + (1−a)·y².
	stretch = 0.25
)

// stretched turns a share of the span into the coordinate y of the cells; its inverse is spanned. Both run on along
// their tangents beyond 0 … 1.
func stretched(share float64) float64 {
	switch {
	case share < 0:
		return share / stretch
	case share > 1:
		return 1 + (share-1)/(2-stretch)
	}
	const inv = 1 / (2 * (1 - stretch)) // a division takes longer
	return (math.Sqrt(stretch*stretch+4*(1-stretch)*share) - stretch) * inv
}

func spanned(y float64) float64 { return y * (stretch + (1-stretch)*y) }

// Fit builds the approximation.
//
//   - out: a fit from the larger of TMin and 190 K (or 60 % of the critical temperature) to 0.97 of the critical temperature
//   - errors: [*num.NoConvergence] where the equation finds no saturation
//   - source: interpolation of the equation, see [Fit.MaxError]
//   - cost: 5 to 25 ms and 0.4 MB; keep the value, the package keeps none
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

func linspace(lo, hi float64, cells int) []float64 {
	x := make([]float64, cells+1)
	for i := range x {
		x[i] = lo + (hi-lo)*float64(i)/float64(cells)
	}
	return x
}

// tabulate reads a function into a spline.
func tabulate(lo, hi float64, cells int, at func(float64) float64) num.Spline {
	y := linspace(lo, hi, cells)
	for i, x := range y {
		y[i] = at(x)
	}
	return num.NewSpline(lo, hi, y)
}

func (r *Refrigerant) fitFrom(low float64) (*Fit, error) {
	l := r.limits
	f := &Fit{r: r, rs: r.m.R / r.molarMass}
	f.tMin = math.Max(l.TMin+0.01, math.Min(190, 0.6*l.TCrit)) + low
	f.tMax = fitTopShare * l.TCrit
	// Saturation is analytic in the root of the distance to the critical temperature, and the critical point is not
	// far: that is the coordinate of the series.
	root := func(t float64) float64 { return math.Sqrt(l.TCrit - t) }
	lo, hi := root(f.tMax), root(f.tMin)
	col := func() []float64 { return make([]float64, satNodes) }
	pb, pd, hl, sl, rl, hv, sv, rv := col(), col(), col(), col(), col(), col(), col(), col()
	for k, v := range num.ChebyshevNodes(satNodes, lo, hi) {
		t := l.TCrit - v*v
		b, ok := r.m.SatT(r.z, t, true, eos.NewtonMax)
		if !ok {
			return nil, &num.NoConvergence{What: fmt.Sprintf("%s: bubble point at %.2f K", r.designation, t), Solve: b.Solve}
		}
		d := b
		if r.m.N > 1 {
			if d, ok = r.m.SatT(r.z, t, false, eos.NewtonMax); !ok {
				return nil, &num.NoConvergence{What: fmt.Sprintf("%s: dew point at %.2f K", r.designation, t), Solve: d.Solve}
			}
		} else {
			d.Bulk = b.Incipient[0]
		}
		ql, qv := r.m.At(r.z, t, b.Bulk), r.m.At(r.z, t, d.Bulk)
		pb[k], pd[k] = math.Log(b.P), math.Log(d.P)
		hl[k], sl[k], rl[k] = (ql.H-r.shiftH)/r.molarMass, (ql.S-r.shiftS)/r.molarMass, math.Log(b.Bulk*r.molarMass)
		hv[k], sv[k], rv[k] = (qv.H-r.shiftH)/r.molarMass, (qv.S-r.shiftS)/r.molarMass, math.Log(d.Bulk*r.molarMass)
	}
	fit := func(y []float64) num.Spline {
		c := num.FitChebyshev(lo, hi, y)
		return tabulate(f.tMin, f.tMax, satCells, func(t float64) float64 { return c.At(root(t)) })
	}
	f.bub, f.dew = fit(pb), fit(pd)
	f.hL, f.sL, f.lnRhoL = fit(hl), fit(sl), fit(rl)
	f.hV, f.sV, f.lnRhoV = fit(hv), fit(sv), fit(rv)
	f.dewInv, f.bubInv = inverse(&f.dew, satCells), inverse(&f.bub, satCells)
	f.lnPLo, f.lnPHi = f.dew.At(f.tMin), f.dew.At(f.tMax)
	f.pMin, f.pMax = math.Exp(f.lnPLo), math.Exp(f.lnPHi)
	f.pBub = math.Exp(f.bub.At(f.tMin))
	if err := f.fitVapour(); err != nil {
		return nil, err
	}
	return f, f.fitLiquid()
}

// inverse tabulates x(y) of a rising spline by Newton.
func inverse(s *num.Spline, cells int) num.Spline {
	x := s.Lo
	return tabulate(s.At(s.Lo), s.At(s.Hi), cells, func(y float64) float64 {
		for range 30 {
			v, d := s.ValueSlope(x)
			step := (y - v) / d
			x += step
			if math.Abs(step) < 1e-12*math.Abs(x) {
				break
			}
		}
		return x
	})
}

func (f *Fit) fitVapour() error {
	f.vapour.span = tabulate(f.lnPLo, f.lnPHi, 6, func(float64) float64 { return maxSuper })
	return f.fitRegion(&f.vapour, "vapour", f.lnPLo, f.lnPHi, vapNodesP, vapNodesT, &f.dewInv, 1, f.rs)
}

func (f *Fit) fitLiquid() error {
	// The far edge is the lowest temperature of the fit; close to it a region has no width, hence the start 5 K above.
	lo, hi := f.bub.At(f.tMin+5), f.bub.At(f.tMax)
	f.liquid.span = tabulate(lo, hi, satCells, func(lp float64) float64 { return f.bubInv.At(lp) - f.tMin })
	return f.fitRegion(&f.liquid, "liquid", lo, hi, liqNodesP, liqNodesT, &f.bubInv, -1, 0)
}

// fitRegion evaluates the equation in Chebyshev points over (ln p, y) and tabulates both forms. side is +1 where
// temperature rises away from saturation, −1 where it falls; the vapour's entropy and density are taken without their
// ideal-gas pressure part, gas being R/M or 0.
func (f *Fit) fitRegion(g *region, name string, lo, hi float64, nodesP, nodesT int, edge *num.Spline, side, gas float64) error {
	r := f.r
	grid := func() []float64 { return make([]float64, nodesP*nodesT) }
	zh, zs, zz := grid(), grid(), grid()
	for i, lp := range num.ChebyshevNodes(nodesP, lo, hi) {
		p, sat, span, start := math.Exp(lp), edge.At(lp), g.span.At(lp), 0.0
		for j, y := range num.ChebyshevNodes(nodesT, 0, 1) {
			t := sat + side*span*spanned(y)
			rho, _, ok := r.m.RhoAt(r.z, t, p, side < 0, start)
			if !ok {
				return &num.NoConvergence{What: fmt.Sprintf("%s: %s at %.6g Pa, %.2f K", r.designation, name, p, t)}
			}
			q := r.m.At(r.z, t, rho)
			k := i*nodesT + j
			zh[k] = (q.H - r.shiftH) / r.molarMass
			zs[k] = (q.S-r.shiftS)/r.molarMass + gas*lp
			zz[k] = math.Log(rho * r.molarMass)
			if gas > 0 {
				zz[k] -= lp
			}
		}
	}
	series := func(z []float64) num.Chebyshev2 { return num.FitChebyshev2(lo, hi, 0, 1, nodesP, nodesT, z) }
	ch, cs, cz := series(zh), series(zs), series(zz)
	table := func() []float64 { return make([]float64, (cellsP+1)*(cellsY+1)) }
	th, ts, tz, pt, ps, pz := table(), table(), table(), table(), table(), table()
	hEdge, hSpan := make([]float64, cellsP+1), make([]float64, cellsP+1)
	rowH, rowS, rowZ := num.Chebyshev{
		Hi: 1,
		C:  make([]float64, nodesT),
	}, num.Chebyshev{
		Hi: 1,
		C:  make([]float64, nodesT),
	}, num.Chebyshev{
		Hi: 1,
		C:  make([]float64, nodesT),
	}
	cells := linspace(0, 1, cellsY)
	for i, lp := range linspace(lo, hi, cellsP) {
		ch.Row(lp, rowH.C)
		cs.Row(lp, rowS.C)
		cz.Row(lp, rowZ.C)
		a, b := rowH.At(0), rowH.At(1)
		hEdge[i], hSpan[i] = a, b-a
		v := 0.0
		for j, y := range cells {
			k := i*(cellsY+1) + j
			th[k], ts[k], tz[k] = rowH.At(y), rowS.At(y), rowZ.At(y)
			want := a + (b-a)*spanned(y)
			for range 30 {
				h, d := rowH.ValueSlope(v)
				step := (want - h) / d
				v += step
				if math.Abs(step) < 1e-13 {
					break
				}
			}
			pt[k], ps[k], pz[k] = spanned(v), rowS.At(v), math.Exp(rowZ.At(v))
		}
	}
	g.pt = num.NewSurfaces(lo, hi, 0, 1, cellsP, cellsY, &[3][]float64{ofH: th, ofS: ts, ofZ: tz})
	g.ph = num.NewSurfaces(lo, hi, 0, 1, cellsP, cellsY, &[3][]float64{pt, ps, pz})
	g.hEdge, g.hSpan = num.NewSpline(lo, hi, hEdge), num.NewSpline(lo, hi, hSpan)
	return nil
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
func (f *Fit) InRange(p float64) bool { return p >= f.pBub && p <= f.pMax }

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

// Isobar is the superheated vapour at one pressure: what depends on the pressure alone is found once. It is a value; make one per pressure.
type Isobar struct {
	Dew   float64 // dew temperature, K
	f     *Fit
	lp    float64
	place num.Place
}

// Isobar prepares the vapour at pressure p.
func (f *Fit) Isobar(p float64) (b Isobar) {
	b.f, b.lp = f, math.Log(p)
	b.Dew = f.dewInv.At(b.lp)
	f.vapour.pt.Place(&b.place, b.lp, 0)
	return b
}

// superSlope is the slope of the cells' coordinate in temperature.
func superSlope(y float64) float64 {
	return 1 / (maxSuper * (stretch + 2*(1-stretch)*math.Max(0, math.Min(1, y))))
}

func (b *Isobar) along(which int, T float64) (v, d float64) {
	y := stretched((T - b.Dew) / maxSuper)
	p := b.place
	g := &b.f.vapour.pt
	g.MoveY(&p, y)
	v, d = g.Along(which, &p)
	return v, d * superSlope(y)
}

// H returns enthalpy, J/kg, and heat capacity, J/(kg K), at T.
func (b *Isobar) H(T float64) (h, cp float64) { return b.along(ofH, T) }

// S returns entropy, J/(kg K), at T.
func (b *Isobar) S(T float64) float64 {
	s, _ := b.along(ofS, T)
	return s - b.f.rs*b.lp
}

// Rho returns density, kg/m³, at T.
func (b *Isobar) Rho(T float64) float64 {
	z, _ := b.along(ofZ, T)
	return math.Exp(z + b.lp)
}

// At returns density, enthalpy and entropy at T.
func (b *Isobar) At(T float64) (rho, h, s float64) {
	g := &b.f.vapour.pt
	p := b.place
	g.MoveY(&p, stretched((T-b.Dew)/maxSuper))
	h, s, z := g.All(&p)
	return math.Exp(z + b.lp), h, s - b.f.rs*b.lp
}

// polish inverts a table by Newton from a start near by. It stops at a step of 1 mK: the next one would be of its square.
func (b *Isobar) polish(which int, want, T float64) float64 {
	for range 20 {
		v, d := b.along(which, T)
		step := (want - v) / d
		T += step
		if math.Abs(step) < 1e-3 {
			break
		}
	}
	return T
}

// TS returns the temperature at entropy s.
func (b *Isobar) TS(s float64) float64 {
	return b.polish(ofS, s+b.f.rs*b.lp, b.Dew+25)
}

// TH returns the temperature at enthalpy h.
func (b *Isobar) TH(h float64) float64 {
	share, _, _ := b.f.vapour.byH(b.lp, h)
	return b.polish(ofH, h, b.Dew+maxSuper*share)
}

// Vapour returns density, enthalpy and entropy of vapour at p, T.
func (f *Fit) Vapour(p, T float64) (rho, h, s float64) {
	lp := math.Log(p)
	h, s, z := read(&f.vapour.pt, lp, stretched((T-f.dewInv.At(lp))/maxSuper))
	return math.Exp(z + lp), h, s - f.rs*lp
}

// VapourPS returns temperature and enthalpy of vapour at p with entropy s, by Newton on the fit.
func (f *Fit) VapourPS(p, s float64) (T, h float64) {
	b := f.Isobar(p)
	T = b.TS(s)
	h, _ = b.H(T)
	return T, h
}

// VapourPH returns temperature, density and entropy of vapour at p with enthalpy h.
func (f *Fit) VapourPH(p, h float64) (T, rho, s float64) {
	lp := math.Log(p)
	share, u, w := f.vapour.byH(lp, h)
	return f.dewInv.At(lp) + maxSuper*share, w * p, u - f.rs*lp
}

// byH reads a region over (ln p, h): the share of its span in temperature, entropy and density as tabulated.
func (g *region) byH(lp, h float64) (share, u, w float64) {
	return read(&g.ph, lp, stretched((h-g.hEdge.At(lp))/g.hSpan.At(lp)))
}

// read evaluates three surfaces, beyond their edges along the tangents.
func read(s *num.Surfaces, x, y float64) (a, b, c float64) {
	a, b, c, inside := s.Values(x, y)
	if !inside {
		var p num.Place
		s.Place(&p, x, y)
		a, b, c = s.All(&p)
	}
	return a, b, c
}

// LiquidPT returns density, enthalpy and entropy of subcooled liquid at p, T.
func (f *Fit) LiquidPT(p, T float64) (rho, h, s float64) {
	lp := math.Log(p)
	g := &f.liquid
	h, s, z := read(&g.pt, lp, stretched((f.bubInv.At(lp)-T)/g.span.At(lp)))
	return math.Exp(z), h, s
}

// LiquidPH returns temperature, density and entropy of subcooled liquid at p with enthalpy h.
func (f *Fit) LiquidPH(p, h float64) (T, rho, s float64) {
	lp := math.Log(p)
	share, u, w := f.liquid.byH(lp, h)
	return f.bubInv.At(lp) - f.liquid.span.At(lp)*share, w, u
}

// Expansion is a property with its first and second partial derivatives in pressure (Pa) and temperature (K).
type Expansion struct{ Value, P, T, PP, PT, TT float64 }

// VapourH returns the enthalpy of vapour around p, T, J/kg.
//
//   - in: p, Pa; T, K, not below the dew temperature
//   - out: enthalpy with its derivatives; T is the heat capacity
//   - source: chain rule over the coordinates of the table
//   - cost: about 0.1 µs
func (f *Fit) VapourH(p, T float64) Expansion { return f.expand(ofH, p, T) }

// VapourLnRho returns the logarithm of the density of vapour around p, T; density in kg/m³.
//
//   - in: as [Fit.VapourH]
//   - out: ln ρ with its derivatives; T is minus the expansion coefficient, P the compressibility
//   - source: as [Fit.VapourH]
//   - cost: as [Fit.VapourH]
func (f *Fit) VapourLnRho(p, T float64) Expansion {
	e := f.expand(ofZ, p, T)
	e.Value += math.Log(p)
	e.P += 1 / p
	e.PP -= 1 / (p * p)
	return e
}

func (f *Fit) expand(which int, p, T float64) Expansion {
	lp := math.Log(p)
	D, D1 := f.dewInv.ValueSlope(lp)
	D2 := f.dewInv.Curvature(lp)
	y := stretched((T - D) / maxSuper)
	y1 := superSlope(y)
	y2 := -2 * (1 - stretch) * maxSuper * y1 * y1 * y1
	var q num.Place
	s := &f.vapour.pt
	s.Place(&q, lp, y)
	v, fx, fy := s.At(which, &q)
	xx, xy, yy := s.Curvatures(which, &q)
	t, tt := fy*y1, yy*y1*y1+fy*y2
	x := fx - t*D1
	return Expansion{
		Value: v, T: t, TT: tt, P: x / p, PT: (xy*y1 - tt*D1) / p,
		PP: (xx - 2*xy*y1*D1 + tt*D1*D1 - t*D2 - x) / (p * p),
	}
}
