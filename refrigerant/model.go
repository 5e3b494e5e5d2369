package refrigerant

import (
	"math"

	"coldwright/refrigerant/data"
)

// maxN bounds the number of components, so that work arrays live on the stack.
const maxN = 8

// component is a pure fluid inside a refrigerant.
type component struct {
	designation      string
	T, rho           float64 // reducing
	R, M             float64
	tc, rhoc, pc     float64 // critical point of the equation (pressure: stated)
	tLow             float64
	terms            []term
	residual         *series
	ideal            ideal
	psat, rhoL, rhoV ancillary
	tMin, tMax, pMax float64
}

type ancillary struct {
	form    string
	red, tr float64
	n, t    []float64
	tMin    float64
}

func newAncillary(a data.Ancillary) ancillary {
	red := a.ReducingP
	if red == 0 {
		red = a.ReducingRho
	}
	return ancillary{a.Form, red, a.TRedK, a.N, a.T, a.TMinK}
}

// at evaluates the start-value formula, continued above the reducing temperature along ln p against 1/T by the caller.
func (a *ancillary) at(T float64) float64 {
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

// psatStart extrapolates the vapour pressure above critical as a straight line in 1/T, which is what K-value starts need.
func (c *component) psatStart(T float64) float64 {
	hi, lo := 0.98*c.tc, c.psat.tMin
	if T <= hi && T >= lo {
		return c.psat.at(T)
	}
	a, b := hi, 0.9*hi
	if T < lo {
		a, b = lo, lo*1.05
	}
	pa, pb := math.Log(c.psat.at(a)), math.Log(c.psat.at(b))
	return math.Exp(pa + (pa-pb)/(1/a-1/b)*(1/T-1/a))
}

func newComponent(designation string) (*component, error) {
	f, err := data.LoadFluid(designation)
	if err != nil {
		return nil, err
	}
	c := &component{
		designation: designation, T: f.Reducing.T, rho: f.Reducing.Rho, R: f.GasConstant, M: f.MolarMass,
		tc: f.CriticalOfEOS.T, rhoc: f.CriticalOfEOS.Rho, pc: f.Critical.P, tLow: f.Lowest.T,
		tMin: f.Validity.TMin, tMax: f.Validity.TMax, pMax: f.Validity.PMax,
	}
	if c.tc == 0 {
		c.tc, c.rhoc = f.Critical.T, f.Critical.Rho
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
	c.psat, c.rhoL, c.rhoV = newAncillary(anc["p_sat"]), newAncillary(anc["rho_liq"]), newAncillary(anc["rho_vap"])
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

// model is a mixture of n components (n = 1: a pure fluid) with fixed pair parameters; composition is an argument.
type model struct {
	n     int
	c     []*component
	pairs []pair
	R     float64
	M     []float64
	whole *series // the terms of all components, then those of the departures: at one composition they are one sum
}

// reducing returns T_r and v_r = 1/rho_r at mole fractions x, with gradients and Hessians in x taken as independent variables when g is not
// nil. Source: Kunz and Wagner (2012), Eqs. (16)-(17).
type reducingDerivatives struct {
	gT, gV [maxN]float64
	hT, hV [maxN][maxN]float64
}

func (m *model) reducing(x []float64, g *reducingDerivatives) (Tr, vr float64) {
	for i, c := range m.c {
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

func spread(p *pair, s float64, d *[5]float64, g *[maxN]float64, h *[maxN][maxN]float64) {
	g[p.i] += s * d[0]
	g[p.j] += s * d[1]
	h[p.i][p.i] += s * d[2]
	h[p.j][p.j] += s * d[3]
	h[p.i][p.j] += s * d[4]
	h[p.j][p.i] += s * d[4]
}

// residual returns the residual part at fixed composition with scaled derivatives.
func (m *model) residual(x []float64, T, rho float64) partials {
	var o isotherm
	m.isotherm(x, T, &o)
	return o.at(rho)
}

// idealAt returns A0 (with ln delta and mixing), τ∂τ A0 and τ²∂²τ A0 of the bulk at T, rho.
func (m *model) idealAt(x []float64, T, rho float64) (a, b, bb float64) {
	for i, c := range m.c {
		if x[i] == 0 {
			continue
		}
		ai, bi, bbi := c.ideal.at(T)
		w := x[i] * c.R / m.R
		a += w * (ai + math.Log(math.Max(rho, 1e-300)/c.rho))
		if m.n > 1 {
			a += w * math.Log(x[i])
		}
		b += w * bi
		bb += w * bbi
	}
	return a, b, bb
}

func (m *model) molarMass(x []float64) (M float64) {
	for i := range m.n {
		M += x[i] * m.M[i]
	}
	return M
}

// point is the full evaluation of a single phase: no iteration, cannot fail to converge.
type point struct {
	T, rho       float64 // K, mol/m³
	p, h, s, g   float64 // Pa, J/mol, J/(mol K), J/mol
	cp, cv, w    float64 // J/(mol K), m/s
	dpdrho, dpdT float64
}

func (m *model) at(x []float64, T, rho float64) point {
	r := m.residual(x, T, rho)
	return m.point(x, T, rho, &r)
}

// point is at with the residual part known.
func (m *model) point(x []float64, T, rho float64, r *partials) point {
	a0, b, bb := m.idealAt(x, T, rho)
	R := m.R
	q := point{T: T, rho: rho}
	q.p = rho * R * T * (1 + r.D)
	q.dpdrho = R * T * (1 + 2*r.D + r.DD)
	q.dpdT = rho * R * (1 + r.D - r.DT)
	q.h = R * T * (1 + b + r.T + r.D)
	q.s = R * (b + r.T - a0 - r.A)
	q.g = R * T * (1 + a0 + r.A + r.D)
	q.cv = -R * (bb + r.TT)
	k := 1 + r.D - r.DT
	q.cp = q.cv + R*k*k/(1+2*r.D+r.DD)
	w2 := R * T / m.molarMass(x) * (1 + 2*r.D + r.DD - k*k/(bb+r.TT))
	q.w = math.Sqrt(math.Max(w2, 0))
	return q
}

// isochoric holds ψ = Ψ_r/(R T) = ρ α_r of a density vector with gradient, Hessian and the temperature derivatives of ψ and its gradient.
type isochoric struct {
	psi, psiT float64
	g, gT     [maxN]float64
	h         [maxN][maxN]float64
}

// isochore evaluates ψ at partial molar densities r. Fugacity: ln f_i = ln(r_i R T) + g_i; pressure: p = R T (Σ r_i − ψ + Σ r_i g_i).
// Source: Deiters and Bell (2018); chain rule over the reducing functions is ours.
func (m *model) isochore(T float64, r []float64, o *isochoric) {
	n := m.n
	rho := 0.0
	for i := range n {
		rho += r[i]
	}
	if n == 1 {
		c := m.c[0]
		p := evaluate(c.residual, c.T/T, rho/c.rho)
		o.psi = rho * p.A
		o.psiT = -rho * p.T / T
		o.g[0] = p.A + p.D
		o.gT[0] = -(p.T + p.DT) / T
		o.h[0][0] = (2*p.D + p.DD) / rho
		return
	}
	var x [maxN]float64
	for i := range n {
		x[i] = r[i] / rho
	}
	var rd reducingDerivatives
	Tr, v := m.reducing(x[:n], &rd)
	tau, delta := Tr/T, rho*v
	// Derivatives of T_r and v with respect to the densities: homogeneous of degree zero.
	var tI, dI [maxN]float64
	var sxT, sxV, sxxT, sxxV float64
	var hxT, hxV [maxN]float64
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
	var vI [maxN]float64
	for i := range n {
		tI[i] = (rd.gT[i] - sxT) / (rho * T)
		vI[i] = (rd.gV[i] - sxV) / rho
		dI[i] = v + rho*vI[i]
	}
	// Φ(τ, δ, r) = Σ r_i α_i + Σ_{i<j} r_i r_j F α_ij / ρ.
	var F partials // of Φ/ρ with x as weights
	var e [maxN]partials
	var at fold
	var w powers
	lnTau := math.Log(tau)
	w.set(delta)
	for i, c := range m.c {
		at.set(c.residual, tau, lnTau, &alone)
		e[i] = at.at(&w)
		F.add(x[i], &e[i])
	}
	var S partials
	var P [maxN]partials
	var pairA [maxN][maxN]float64
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
	o.psi = rho * F.A
	o.psiT = ft * tauT
	for i := range n {
		o.g[i] = e[i].A + ft*tI[i] + fd*dI[i]
		o.gT[i] = (e[i].T/tau+ftt*tI[i]+ftd*dI[i])*tauT - ft*tI[i]/T
	}
	for i := range n {
		for j := i; j < n; j++ {
			tij := (rd.hT[i][j] - hxT[i] - hxT[j] + sxxT - rd.gT[i] - rd.gT[j] + 2*sxT) / (rho * rho * T)
			vij := (rd.hV[i][j] - hxV[i] - hxV[j] + sxxV - rd.gV[i] - rd.gV[j] + 2*sxV) / (rho * rho)
			dij := vI[i] + vI[j] + rho*vij
			q := (pairA[i][j] - P[i].A - P[j].A + 2*S.A) / rho
			h := q + e[i].T/tau*tI[j] + e[i].D/delta*dI[j] + e[j].T/tau*tI[i] + e[j].D/delta*dI[i] +
				ftt*tI[i]*tI[j] + ftd*(tI[i]*dI[j]+tI[j]*dI[i]) + fdd*dI[i]*dI[j] + ft*tij + fd*dij
			o.h[i][j], o.h[j][i] = h, h
		}
	}
}
