package eos

import (
	"math"

	"coldwright/refrigerant/internal/data"
)

// MaxN bounds the number of components, so that work arrays live on the stack.
const MaxN = 8

// Component is a pure fluid inside a refrigerant.
type Component struct {
	designation      string
	T, rho           float64 // reducing
	R, M             float64
	TCrit, rhoc, pc  float64 // critical point of the equation (pressure: stated)
	TLow             float64
	terms            []term
	residual         *series
	ideal            ideal
	psat, rhoL, rhoV Ancillary
	TMin, TMax, PMax float64
}

// Ancillary is a short formula along saturation, for start values.
type Ancillary struct {
	form    string
	red, tr float64
	n, t    []float64
	tMin    float64
}

// NewAncillary reads a start-value formula.
func NewAncillary(a data.Ancillary) Ancillary {
	red := a.ReducingP
	if red == 0 {
		red = a.ReducingRho
	}
	return Ancillary{a.Form, red, a.TRedK, a.N, a.T, a.TMinK}
}

// At evaluates the start-value formula, continued above the reducing temperature along ln p against 1/T by the caller.
func (a *Ancillary) At(T float64) float64 {
	lnX := math.Log(math.Max(1-T/a.tr, 1e-12))
	s := 0.0
	for i, n := range a.n {
		s += n * math.Exp(a.t[i]*lnX)
	}
	switch a.form {
	case "log_tau_weighted":
		return a.red * math.Exp(s*a.tr/T)
	case "log":
		return a.red * math.Exp(s)
	}
	return a.red * (1 + s)
}

// PsatStart extrapolates the vapour pressure above critical as a straight line in 1/T, which is what K-value starts need.
func (c *Component) PsatStart(T float64) float64 {
	hi, lo := 0.98*c.TCrit, c.psat.tMin
	if T <= hi && T >= lo {
		return c.psat.At(T)
	}
	a, b := hi, 0.9*hi
	if T < lo {
		a, b = lo, lo*1.05
	}
	pa, pb := math.Log(c.psat.At(a)), math.Log(c.psat.At(b))
	return math.Exp(pa + (pa-pb)/(1/a-1/b)*(1/T-1/a))
}

func newComponent(designation string) (*Component, error) {
	f, err := data.LoadFluid(designation)
	if err != nil {
		return nil, err
	}
	return componentOf(designation, f)
}

func componentOf(designation string, f *data.Fluid) (c *Component, err error) {
	c = &Component{
		designation: designation, T: f.Reducing.T, rho: f.Reducing.Rho, R: f.GasConstant, M: f.MolarMass,
		TCrit: f.CriticalOfEOS.T, rhoc: f.CriticalOfEOS.Rho, pc: f.Critical.P, TLow: f.Lowest.T,
		TMin: f.Validity.TMin, TMax: f.Validity.TMax, PMax: f.Validity.PMax,
	}
	if c.TCrit == 0 {
		c.TCrit, c.rhoc = f.Critical.T, f.Critical.Rho
	}
	if c.terms, err = residualTerms(f.Residual); err != nil {
		return nil, err
	}
	c.residual = newSeries(c.terms)
	if c.ideal, err = newIdeal(f.Reducing.T, f.Ideal); err != nil {
		return nil, err
	}
	anc, err := f.Ancillaries()
	if err != nil {
		return nil, err
	}
	c.psat, c.rhoL, c.rhoV = NewAncillary(anc["p_sat"]), NewAncillary(anc["rho_liq"]), NewAncillary(anc["rho_vap"])
	return c, nil
}

// pair holds the mixing parameters of components i < j.
type pair struct {
	i, j          int
	betaT, gammaT float64
	betaV, gammaV float64
	tij, vij      float64 // 2 β γ (T_i T_j)^½ and the like, without the composition factor
	f             float64
	terms         []term
	departure     *series
}

// Model is a mixture of n components (n = 1: a pure fluid) with fixed pair parameters; composition is an argument.
type Model struct {
	N          int
	Components []*Component
	pairs      []pair
	R          float64
	M          []float64
	whole      *series // the terms of all components, then those of the departures: at one composition they are one sum
}

// reducingDerivatives are gradients and Hessians of T_r and v_r in the mole fractions, taken as independent variables.
type reducingDerivatives struct {
	gT, gV [MaxN]float64
	hT, hV [MaxN][MaxN]float64
}

// Reducing returns T_r and v_r = 1/ρ_r at mole fractions x, and their derivatives when g is not nil. Source: Kunz and Wagner
// (2012), Eqs. (16)-(17).
func (m *Model) Reducing(x []float64, g *reducingDerivatives) (Tr, vr float64) {
	for i, c := range m.Components {
		v := 1 / c.rho
		Tr += x[i] * x[i] * c.T
		vr += x[i] * x[i] * v
		if g != nil {
			g.gT[i] += 2 * x[i] * c.T
			g.gV[i] += 2 * x[i] * v
			g.hT[i][i] += 2 * c.T
			g.hV[i][i] += 2 * v
		}
	}
	for k := range m.pairs {
		p := &m.pairs[k]
		if g == nil {
			Tr += p.tij * asymmetric(x[p.i], x[p.j], p.betaT, nil)
			vr += p.vij * asymmetric(x[p.i], x[p.j], p.betaV, nil)
			continue
		}
		var d [5]float64
		Tr += p.tij * asymmetric(x[p.i], x[p.j], p.betaT, &d)
		spread(p, p.tij, &d, &g.gT, &g.hT)
		vr += p.vij * asymmetric(x[p.i], x[p.j], p.betaV, &d)
		spread(p, p.vij, &d, &g.gV, &g.hV)
	}
	return Tr, vr
}

// asymmetric is xi xj (xi + xj)/(β² xi + xj) with derivatives i, j, ii, jj, ij.
func asymmetric(xi, xj, beta float64, d *[5]float64) float64 {
	b2 := beta * beta
	D := b2*xi + xj
	if D == 0 {
		return 0
	}
	F := xi * xj * (xi + xj) / D
	if d != nil {
		Fi, Fj := (2*xi*xj+xj*xj-F*b2)/D, (xi*xi+2*xi*xj-F)/D
		*d = [5]float64{Fi, Fj, (2*xj - 2*Fi*b2) / D, (2*xi - 2*Fj) / D, (2*xi + 2*xj - Fi - Fj*b2) / D}
	}
	return F
}

func spread(p *pair, s float64, d *[5]float64, g *[MaxN]float64, h *[MaxN][MaxN]float64) {
	g[p.i] += s * d[0]
	g[p.j] += s * d[1]
	h[p.i][p.i] += s * d[2]
	h[p.j][p.j] += s * d[3]
	h[p.i][p.j] += s * d[4]
	h[p.j][p.i] += s * d[4]
}

// Residual returns the residual part at fixed composition with scaled derivatives.
func (m *Model) Residual(x []float64, T, rho float64) partials {
	var o Isotherm
	m.Isotherm(x, T, &o)
	return o.At(rho)
}

// IdealAt returns A0 (with ln delta and mixing), τ∂τ A0 and τ²∂²τ A0 of the bulk at T, rho.
func (m *Model) IdealAt(x []float64, T, rho float64) (a, b, bb float64) {
	for i, c := range m.Components {
		if x[i] == 0 {
			continue
		}
		ai, bi, bbi := c.ideal.at(T)
		w := x[i] * c.R / m.R
		a += w * (ai + math.Log(math.Max(rho, 1e-300)/c.rho))
		if m.N > 1 {
			a += w * math.Log(x[i])
		}
		b += w * bi
		bb += w * bbi
	}
	return a, b, bb
}

// MolarMass of a composition, kg/mol.
func (m *Model) MolarMass(x []float64) (M float64) {
	for i := range m.N {
		M += x[i] * m.M[i]
	}
	return M
}

// Point is the full evaluation of a single phase: no iteration, cannot fail to converge.
type Point struct {
	T, Rho       float64 // K, mol/m³
	P, H, S, g   float64 // Pa, J/mol, J/(mol K), J/mol
	Cp, Cv, W    float64 // J/(mol K), m/s
	DpDrho, DpDT float64
}

// At evaluates one phase of composition x at T, K, and rho, mol/m³.
func (m *Model) At(x []float64, T, rho float64) Point {
	r := m.Residual(x, T, rho)
	return m.PointOf(x, T, rho, &r)
}

// PointOf is at with the residual part known.
func (m *Model) PointOf(x []float64, T, rho float64, r *partials) Point {
	a0, b, bb := m.IdealAt(x, T, rho)
	R := m.R
	q := Point{T: T, Rho: rho}
	q.P = rho * R * T * (1 + r.D)
	q.DpDrho = R * T * (1 + 2*r.D + r.DD)
	q.DpDT = rho * R * (1 + r.D - r.DT)
	q.H = R * T * (1 + b + r.T + r.D)
	q.S = R * (b + r.T - a0 - r.A)
	q.g = R * T * (1 + a0 + r.A + r.D)
	q.Cv = -R * (bb + r.TT)
	k := 1 + r.D - r.DT
	q.Cp = q.Cv + R*k*k/(1+2*r.D+r.DD)
	w2 := R * T / m.MolarMass(x) * (1 + 2*r.D + r.DD - k*k/(bb+r.TT))
	q.W = math.Sqrt(math.Max(w2, 0))
	return q
}

// Isochoric holds ψ = Ψ_r/(R T) = ρ α_r of a density vector with gradient, Hessian and the temperature derivatives of ψ and
// its gradient.
type Isochoric struct {
	Psi, psiT float64
	G, GT     [MaxN]float64
	H         [MaxN][MaxN]float64
}

// Isochore evaluates ψ at partial molar densities r. Fugacity: ln f_i = ln(r_i R T) + g_i; pressure: p = R T (Σ r_i − ψ + Σ r_i g_i).
// Source: Deiters and Bell (2018); chain rule over the reducing functions is ours.
func (m *Model) Isochore(T float64, r []float64, o *Isochoric) {
	n := m.N
	rho := 0.0
	for i := range n {
		rho += r[i]
	}
	if n == 1 {
		c := m.Components[0]
		p := evaluate(c.residual, c.T/T, rho/c.rho)
		o.Psi = rho * p.A
		o.psiT = -rho * p.T / T
		o.G[0] = p.A + p.D
		o.GT[0] = -(p.T + p.DT) / T
		o.H[0][0] = (2*p.D + p.DD) / rho
		return
	}
	var x [MaxN]float64
	for i := range n {
		x[i] = r[i] / rho
	}
	var rd reducingDerivatives
	Tr, v := m.Reducing(x[:n], &rd)
	tau, delta := Tr/T, rho*v
	// Derivatives of T_r and v with respect to the densities: homogeneous of degree zero.
	var tI, dI [MaxN]float64
	var sxT, sxV, sxxT, sxxV float64
	var hxT, hxV [MaxN]float64
	for i := range n {
		sxT += x[i] * rd.gT[i]
		sxV += x[i] * rd.gV[i]
		for j := range n {
			hxT[i] += rd.hT[i][j] * x[j]
			hxV[i] += rd.hV[i][j] * x[j]
		}
	}
	for i := range n {
		sxxT += x[i] * hxT[i]
		sxxV += x[i] * hxV[i]
	}
	var vI [MaxN]float64
	for i := range n {
		tI[i] = (rd.gT[i] - sxT) / (rho * T)
		vI[i] = (rd.gV[i] - sxV) / rho
		dI[i] = v + rho*vI[i]
	}
	// Φ(τ, δ, r) = Σ r_i α_i + Σ_{i<j} r_i r_j F α_ij / ρ.
	var F partials // of Φ/ρ with x as weights
	var e [MaxN]partials
	var at fold
	var w powers
	lnTau := math.Log(tau)
	w.set(delta)
	for i, c := range m.Components {
		at.set(c.residual, tau, lnTau, &alone)
		e[i] = at.at(&w)
		F.add(x[i], &e[i])
	}
	var S partials
	var P [MaxN]partials
	var pairA [MaxN][MaxN]float64
	for k := range m.pairs {
		p := &m.pairs[k]
		if p.departure == nil {
			continue
		}
		at.set(p.departure, tau, lnTau, &alone)
		d := at.at(&w)
		S.add(x[p.i]*x[p.j]*p.f, &d)
		P[p.i].add(x[p.j]*p.f, &d)
		P[p.j].add(x[p.i]*p.f, &d)
		pairA[p.i][p.j], pairA[p.j][p.i] = p.f*d.A, p.f*d.A
	}
	F.add(1, &S)
	for i := range n {
		e[i].add(1, &P[i])
		e[i].add(-1, &S)
	}
	// Plain derivatives of Φ.
	ft, fd := rho*F.T/tau, rho*F.D/delta
	ftt, ftd, fdd := rho*F.TT/(tau*tau), rho*F.DT/(tau*delta), rho*F.DD/(delta*delta)
	tauT := -tau / T
	o.Psi = rho * F.A
	o.psiT = ft * tauT
	for i := range n {
		o.G[i] = e[i].A + ft*tI[i] + fd*dI[i]
		o.GT[i] = (e[i].T/tau+ftt*tI[i]+ftd*dI[i])*tauT - ft*tI[i]/T
	}
	for i := range n {
		for j := i; j < n; j++ {
			tij := (rd.hT[i][j] - hxT[i] - hxT[j] + sxxT - rd.gT[i] - rd.gT[j] + 2*sxT) / (rho * rho * T)
			vij := (rd.hV[i][j] - hxV[i] - hxV[j] + sxxV - rd.gV[i] - rd.gV[j] + 2*sxV) / (rho * rho)
			dij := vI[i] + vI[j] + rho*vij
			q := (pairA[i][j] - P[i].A - P[j].A + 2*S.A) / rho
			h := q + e[i].T/tau*tI[j] + e[i].D/delta*dI[j] + e[j].T/tau*tI[i] + e[j].D/delta*dI[i] +
				ftt*tI[i]*tI[j] + ftd*(tI[i]*dI[j]+tI[j]*dI[i]) + fdd*dI[i]*dI[j] + ft*tij + fd*dij
			o.H[i][j], o.H[j][i] = h, h
		}
	}
}
