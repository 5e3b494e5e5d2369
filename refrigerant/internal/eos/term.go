package eos

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"coldwright/refrigerant/internal/data"
)

// partials holds a function of (tau, delta) with its scaled derivatives: D = δ ∂/∂δ, T = τ ∂/∂τ, DD = δ² ∂²/∂δ², DT =
// δτ ∂²/∂δ∂τ, TT = τ² ∂²/∂τ².
type partials struct{ A, D, T, DD, DT, TT float64 }

func (p *partials) add(w float64, q *partials) {
	p.A += w * q.A
	p.D += w * q.D
	p.T += w * q.T
	p.DD += w * q.DD
	p.DT += w * q.DT
	p.TT += w * q.TT
}

// kind of the residual terms.
type kind uint8

const (
	powerExp kind = iota + 1
	powerDoubleExp
	gaussian
	gaussianReciprocal
	densityExponential
	criticalNonanalytic
)

// term is one residual term; the meaning of the letters is that of the data files.
type term struct {
	kind                   kind
	n, d, t, l, g, m       float64
	eta, eps, beta, gam, b float64
	bigA, bigB, bigC, bigD float64
	smallA                 float64
	di, li                 int // d and l where they are small whole numbers, else −1
}

// maxPower bounds the whole powers of δ that are kept in a table; it is a power of two.
const maxPower = 16

func whole(v float64) int {
	if v == math.Trunc(v) && v >= 0 && v < maxPower {
		return int(v)
	}
	return -1
}

func at(s []float64, i int, missing float64) float64 {
	if i < len(s) {
		return s[i]
	}
	return missing
}

func residualTerms(from []data.Term) ([]term, error) {
	var out []term
	for _, f := range from {
		for i := range f.N {
			x := term{
				n: f.N[i], d: at(f.D, i, 0), t: at(f.T, i, 0), l: at(f.L, i, 0), m: at(f.M, i, 0), eta: at(f.Eta, i, 0),
				eps: at(f.Epsilon, i, 0), beta: at(f.Beta, i, 0), gam: at(f.Gamma, i, 0), b: at(f.B, i, 0),
			}
			switch f.Family {
			case "power_exp":
				x.kind = powerExp
				if x.l != 0 {
					x.g = 1
				}
			case "power_exp_scaled":
				x.kind, x.g = powerExp, at(f.G, i, 0)
			case "power_double_exp":
				x.kind = powerDoubleExp
				if x.l != 0 {
					x.g = 1
				}
			case "gaussian":
				x.kind = gaussian
			case "gaussian_reciprocal":
				x.kind = gaussianReciprocal
			case "density_exponential":
				x.kind = densityExponential
			case "critical_nonanalytic":
				x.kind = criticalNonanalytic
				x.bigA, x.bigB, x.bigC, x.bigD, x.smallA = f.BigA[i], f.BigB[i], f.BigC[i], f.BigD[i], f.SmallA[i]
			default:
				return nil, fmt.Errorf("unknown family %q of residual terms", f.Family)
			}
			x.di, x.li = whole(x.d), whole(x.l)
			out = append(out, x)
		}
	}
	return out, nil
}

// series is a sum of residual terms in the order in which they are evaluated. Terms of the same form in δ share a
// slot: at one τ their factors add up to one coefficient, and a solve for the density goes over polynomials in δ with
// a few exponentials.
type series struct {
	power    []powerTerm // rising in t
	double   []ownTerm   // power terms with an exponential in τ
	decay    []decay
	d        []slot
	other    []ownTerm // Gaussian and the like: one slot each, after those of d
	critical []ownTerm // of these a slot holds the weight
}

// powerTerm is n τ^t in a slot; several lists of terms in one series are weighted by their owners' weights.
type powerTerm struct {
	n, t        float64
	slot, owner int
}

type ownTerm struct {
	*term
	slot, owner int
}

// decay is g and l of exp(−g δ^l), 0 without one, and the end of its slots.
type decay struct {
	g, l float64
	li   int
	end  int
}

// slot is a power of δ.
type slot struct {
	d  float64
	di int
}

// newSeries sorts lists of terms; the place of a list is its owner.
func newSeries(lists ...[]term) *series {
	s := &series{}
	type form struct{ d, l, g float64 }
	of := func(x *term) form {
		if x.g == 0 {
			return form{d: x.d}
		}
		return form{x.d, x.l, x.g}
	}
	var forms []form
	for _, terms := range lists {
		for i := range terms {
			if x := &terms[i]; x.kind <= powerDoubleExp && !slices.Contains(forms, of(x)) {
				forms = append(forms, of(x))
			}
		}
	}
	slices.SortFunc(forms, func(a, b form) int {
		return cmp.Or(cmp.Compare(a.l, b.l), cmp.Compare(a.g, b.g), cmp.Compare(a.d, b.d))
	})
	for k, f := range forms {
		s.d = append(s.d, slot{f.d, whole(f.d)})
		if k == 0 || f.l != forms[k-1].l || f.g != forms[k-1].g {
			s.decay = append(s.decay, decay{g: f.g, l: f.l, li: whole(f.l)})
		}
		s.decay[len(s.decay)-1].end = k + 1
	}
	for owner, terms := range lists {
		for i := range terms {
			x := &terms[i]
			switch {
			case x.kind == criticalNonanalytic:
				s.critical = append(s.critical, ownTerm{term: x, owner: owner})
			case x.kind > powerDoubleExp:
				s.other = append(s.other, ownTerm{x, len(s.d) + len(s.other), owner})
			case x.kind == powerDoubleExp && x.m != 0:
				s.double = append(s.double, ownTerm{x, slices.Index(forms, of(x)), owner})
			default:
				s.power = append(s.power, powerTerm{x.n, x.t, slices.Index(forms, of(x)), owner})
			}
		}
	}
	for i := range s.critical {
		s.critical[i].slot = len(s.d) + len(s.other) + i
	}
	slices.SortStableFunc(s.power, func(a, b powerTerm) int { return cmp.Compare(a.t, b.t) })
	return s
}

// powers holds δ^k.
type powers struct {
	delta float64
	k     [maxPower]float64
}

func (w *powers) set(delta float64) {
	w.delta = delta
	sq := delta * delta
	w.k[0], w.k[1] = 1, delta
	for i := 2; i < maxPower; i += 2 {
		w.k[i], w.k[i+1] = w.k[i-2]*sq, w.k[i-1]*sq
	}
}

// of returns δ^d.
func (w *powers) of(d float64, whole int) float64 {
	if whole >= 0 {
		return w.k[whole&(maxPower-1)]
	}
	return math.Pow(w.delta, d)
}

// inDelta returns the factor in δ of a term that has no slot, and its logarithmic derivatives: q = ∂ln/∂lnδ,
// dq = δ ∂q/∂δ, ddq = δ ∂dq/∂δ.
func (x *term) inDelta(w *powers) (u, q, dq, ddq float64) {
	e := w.delta - x.eps
	c := 2 * x.eta * w.delta
	exponent := -x.eta * e * e
	q, dq, ddq = x.d-c*e, -c*(w.delta+e), -c*(3*w.delta+e)
	switch x.kind {
	case gaussianReciprocal:
		exponent = -exponent
		q, dq, ddq = x.d+c*e, -dq, -ddq
	case densityExponential:
		b := x.beta * w.delta
		exponent -= x.beta * (w.delta - x.gam)
		q, dq, ddq = q-b, dq-b, ddq-b
	}
	return w.of(x.d, x.di) * math.Exp(exponent), q, dq, ddq
}

// inTau returns the factor in τ, n included, and its logarithmic derivatives r and dr.
func (x *term) inTau(tau, lnTau float64) (u, r, dr float64) {
	switch x.kind {
	case powerDoubleExp:
		gm := 0.0
		if x.m != 0 {
			gm = math.Exp(x.m * lnTau)
		}
		return x.n * math.Exp(x.t*lnTau-gm), x.t - x.m*gm, -x.m * x.m * gm
	case gaussian:
		g := tau - x.gam
		return x.n * math.Exp(x.t*lnTau-x.beta*g*g), x.t - 2*x.beta*tau*g, -2 * x.beta * tau * (tau + g)
	case gaussianReciprocal:
		g := tau - x.gam
		v := 1 / (x.beta*g*g + x.b)
		v1 := -v * v * 2 * x.beta * g
		v2 := -2*x.beta*v*v + 2*v*v*v*4*x.beta*x.beta*g*g
		return x.n * math.Exp(x.t*lnTau+v), x.t + tau*v1, tau*v1 + tau*tau*v2
	}
	return x.n * math.Exp(x.t*lnTau), x.t, 0
}

// maxFold is how many slots and terms without one are folded without the heap: every refrigerant on file.
const maxFold = 64

// fold is a series at one τ: each slot's coefficient, and what belongs to it in the first and second derivative in τ.
type fold struct {
	s    *series
	tau  float64
	f    [maxFold][3]float64
	more [][3]float64 // where f is too small
}

func (o *fold) slots() [][3]float64 {
	if o.more != nil {
		return o.more
	}
	return o.f[:]
}

// alone is the weight of a series with one owner.
var alone = [maxOwners]float64{1}

// set folds a series at τ with the weights of its owners.
func (o *fold) set(s *series, tau, lnTau float64, weight *[maxOwners]float64) {
	o.s, o.tau, o.more = s, tau, nil
	if n := len(s.d) + len(s.other) + len(s.critical); n > maxFold {
		o.more = make([][3]float64, n)
	}
	f := o.slots()
	clear(f[:len(s.d)])
	t, u := math.NaN(), 0.0
	for i := range s.power {
		x := &s.power[i]
		if x.t != t {
			t, u = x.t, math.Exp(x.t*lnTau)
		}
		c := &f[x.slot]
		v := weight[x.owner] * x.n * u
		b := t * v
		c[0] += v
		c[1] += b
		c[2] += (t - 1) * b
	}
	add := func(x *ownTerm) {
		v, r, dr := x.inTau(tau, lnTau)
		v *= weight[x.owner]
		c := &f[x.slot]
		c[0] += v
		c[1] += r * v
		c[2] += (r*r - r + dr) * v
	}
	for i := range s.double {
		add(&s.double[i])
	}
	for i := range s.other {
		x := &s.other[i]
		f[x.slot] = [3]float64{}
		add(x)
	}
	for i := range s.critical {
		x := &s.critical[i]
		f[x.slot][0] = weight[x.owner]
	}
}

// along returns δ ∂α/∂δ, δ² ∂²α/∂δ² and δ³ ∂³α/∂δ³: what a solve for the density wants.
func (o *fold) along(w *powers) (D, DD, DDD float64) {
	f := o.slots()
	k := 0
	// t1, t2 and t3 are moments: (δ∂/∂δ)^n of the sum.
	var t1, t2, t3 float64
	for i := range o.s.decay {
		g := &o.s.decay[i]
		var m0, m1, m2, m3 float64
		for ; k < g.end; k++ {
			x := &o.s.d[k]
			a := f[k][0] * w.of(x.d, x.di)
			m0 += a
			a *= x.d
			m1 += a
			a *= x.d
			m2 += a
			m3 += x.d * a
		}
		if g.g == 0 {
			t1, t2, t3 = t1+m1, t2+m2, t3+m3
			continue
		}
		gd := g.g * w.of(g.l, g.li)
		e := math.Exp(-gd)
		q := -g.l * gd
		dq := g.l * q
		ddq := g.l * dq
		a := q*q + dq
		t1 += e * (m1 + q*m0)
		t2 += e * (m2 + 2*q*m1 + a*m0)
		t3 += e * (m3 + 3*q*m2 + 3*a*m1 + (q*(a+2*dq)+ddq)*m0)
	}
	for i := range o.s.other {
		x := &o.s.other[i]
		u, q, dq, ddq := x.inDelta(w)
		u *= f[x.slot][0]
		a := q*q + dq
		t1 += q * u
		t2 += a * u
		t3 += (q*(a+2*dq) + ddq) * u
	}
	D, DD, DDD = t1, t2-t1, t3-3*t2+2*t1
	if len(o.s.critical) > 0 {
		var c critical
		c.set(o.tau, w.delta)
		for i := range o.s.critical {
			x := &o.s.critical[i]
			p, ddd := c.at(x.term, f[x.slot][0])
			D, DD, DDD = D+p.D, DD+p.DD, DDD+ddd
		}
	}
	return D, DD, DDD
}

// at returns all partials.
func (o *fold) at(w *powers) (p partials) {
	f := o.slots()
	k := 0
	for i := range o.s.decay {
		g := &o.s.decay[i]
		var m0, m1, m2, b0, b1, c0 float64
		for ; k < g.end; k++ {
			x, c := &o.s.d[k], &f[k]
			u := w.of(x.d, x.di)
			a, b := c[0]*u, c[1]*u
			m0 += a
			a *= x.d
			m1 += a
			m2 += x.d * a
			b0 += b
			b1 += x.d * b
			c0 += c[2] * u
		}
		if g.g != 0 {
			gd := g.g * w.of(g.l, g.li)
			e := math.Exp(-gd)
			q := -g.l * gd
			m2 = e * (m2 + 2*q*m1 + (q*q+g.l*q)*m0)
			m1 = e * (m1 + q*m0)
			b1 = e * (b1 + q*b0)
			m0, b0, c0 = e*m0, e*b0, e*c0
		}
		p.A += m0
		p.D += m1
		p.DD += m2 - m1
		p.T += b0
		p.DT += b1
		p.TT += c0
	}
	for i := range o.s.other {
		x := &o.s.other[i]
		c := &f[x.slot]
		u, q, dq, _ := x.inDelta(w)
		p.A += c[0] * u
		p.D += q * c[0] * u
		p.DD += (q*q - q + dq) * c[0] * u
		p.T += c[1] * u
		p.DT += q * c[1] * u
		p.TT += c[2] * u
	}
	if len(o.s.critical) > 0 {
		var c critical
		c.set(o.tau, w.delta)
		for i := range o.s.critical {
			x := &o.s.critical[i]
			q, _ := c.at(x.term, f[x.slot][0])
			p.add(1, &q)
		}
	}
	return p
}

// evaluate sums a series of one owner at (tau, delta).
func evaluate(s *series, tau, delta float64) partials {
	var o fold
	var w powers
	o.set(s, tau, math.Log(tau), &alone)
	w.set(delta)
	return o.at(&w)
}

// critical evaluates the critical-region terms of Span and Wagner (1996), J. Phys. Chem. Ref. Data 25:1509-1596,
// table 32, at (τ, δ): n Δ^b δ ψ. Terms in a row mostly share exponents, so powers are kept. Derivatives are taken of
// the logarithm; they are 0/0 on δ = 1, hence the step aside.
type critical struct {
	tau, delta   float64
	dm, tm, s    float64
	lnS          float64
	ib, sib      float64 // last exponent 1/(2β) and power of s
	a, sa        float64
	Delta, lnDel float64
}

func (c *critical) set(tau, delta float64) {
	if math.Abs(delta-1) < 1e-9 {
		delta = 1 + 1e-9
	}
	c.tau, c.delta, c.dm, c.tm = tau, delta, delta-1, tau-1
	c.s = c.dm * c.dm
	c.lnS = math.Log(c.s)
	c.ib, c.a, c.Delta = math.NaN(), math.NaN(), math.NaN()
}

// at returns a term with its derivatives times a weight, and δ³ ∂³/∂δ³ of it.
func (c *critical) at(x *term, weight float64) (p partials, DDD float64) {
	psi := x.bigC*c.s + x.bigD*c.tm*c.tm
	if psi > 60 {
		return p, 0 // below 1e-20 of the sum with all its derivatives
	}
	if ib := 1 / (2 * x.beta); ib != c.ib {
		c.ib, c.sib = ib, math.Exp(ib*c.lnS)
	}
	if x.smallA != c.a {
		c.a, c.sa = x.smallA, math.Exp(x.smallA*c.lnS)
	}
	inv := 1 / c.dm
	e, f := 2*c.ib, 2*c.a
	X, Y := x.bigA*c.sib, x.bigB*c.sa
	X1, Y1 := e*X*inv, f*Y*inv
	X2, Y2 := (e-1)*X1*inv, (f-1)*Y1*inv
	X3, Y3 := (e-2)*X2*inv, (f-2)*Y2*inv
	theta := X - c.tm
	Delta := theta*theta + Y
	if Delta != c.Delta {
		c.Delta, c.lnDel = Delta, math.Log(Delta)
	}
	iD := 1 / Delta
	// Derivatives of ln Δ in δ and τ.
	l1 := (2*theta*X1 + Y1) * iD
	k2 := (2*X1*X1 + 2*theta*X2 + Y2) * iD
	l2 := k2 - l1*l1
	l3 := (6*X1*X2+2*theta*X3+Y3)*iD - 3*l1*k2 + 2*l1*l1*l1
	lt := -2 * theta * iD
	ltt := 2*iD - lt*lt
	ldt := -2*X1*iD - l1*lt
	// Of the logarithm of the whole, each scaled by its powers of δ and τ.
	d := c.delta
	g1 := 1 + d*(x.b*l1-2*x.bigC*c.dm)
	g2 := -1 + d*d*(x.b*l2-2*x.bigC)
	g3 := 2 + d*d*d*x.b*l3
	gt := c.tau * (x.b*lt - 2*x.bigD*c.tm)
	gtt := c.tau * c.tau * (x.b*ltt - 2*x.bigD)
	gdt := d * c.tau * x.b * ldt
	u := weight * x.n * d * math.Exp(x.b*c.lnDel-psi)
	p = partials{A: u, D: u * g1, T: u * gt, DD: u * (g2 + g1*g1), DT: u * (gdt + g1*gt), TT: u * (gtt + gt*gt)}
	return p, u * (g3 + 3*g1*g2 + g1*g1*g1)
}

// ideal is the ideal-gas part of one fluid without ln δ: value, τ∂τ and τ²∂²τ at temperature T. Every published form
// is a sum of: a constant and a term in τ, a logarithm, powers of τ, Einstein functions.
type ideal struct {
	tRed         float64
	a1, a2, lnA  float64
	power        []idealTerm // n τ^t
	einstein     []idealTerm // n ln(1 − exp(−t τ))
	cp0Const     []idealTerm // n = cp0/R, t = reference temperature
	cp0Power     []idealTerm // n T^t in cp0/R
	cp0Reference []float64
	cp0Start     []float64 // its power
}

type idealTerm struct{ n, t float64 }

func newIdeal(tRed float64, terms []data.Term) (ideal, error) {
	id := ideal{tRed: tRed}
	for _, f := range terms {
		switch f.Family {
		case "lead", "offset":
			id.a1 += f.A1
			id.a2 += f.A2
		case "log_tau":
			id.lnA += f.LogA
		case "power":
			for k, n := range f.N {
				id.power = append(id.power, idealTerm{n, f.T[k]})
			}
		case "einstein":
			for k, n := range f.N {
				id.einstein = append(id.einstein, idealTerm{n, f.Theta[k]})
			}
		case "einstein_temperature":
			for k, n := range f.N {
				id.einstein = append(id.einstein, idealTerm{n, f.ThetaK[k] / tRed})
			}
		case "cp0_constant":
			id.cp0Const = append(id.cp0Const, idealTerm{f.Cp0OverR, f.TRefK})
		case "cp0_power":
			for k, c := range f.C {
				switch f.T[k] {
				case -1:
					return ideal{}, fmt.Errorf("cp0_power with exponent -1 has another integral")
				case 0:
					id.cp0Const = append(id.cp0Const, idealTerm{c, f.TRefK})
				default:
					id.cp0Power = append(id.cp0Power, idealTerm{c, f.T[k]})
					id.cp0Reference = append(id.cp0Reference, f.TRefK)
					id.cp0Start = append(id.cp0Start, math.Pow(f.TRefK, f.T[k]))
				}
			}
		default:
			return ideal{}, fmt.Errorf("unknown family %q of ideal terms", f.Family)
		}
	}
	return id, nil
}

func (id *ideal) at(T float64) (a, b, bb float64) {
	tau := id.tRed / T
	lnTau := math.Log(tau)
	a = id.a1 + id.a2*tau + id.lnA*lnTau
	b = id.a2*tau + id.lnA
	bb = -id.lnA
	for _, x := range id.power {
		u := x.n * math.Exp(x.t*lnTau)
		a += u
		b += x.t * u
		bb += x.t * (x.t - 1) * u
	}
	for _, x := range id.einstein {
		y := x.t * tau
		e := math.Exp(-y)
		a += x.n * math.Log(1-e) // 1 − e is as good as e
		v := y / (1 - e)
		u := x.n * v * e
		b += u
		bb -= u * v
	}
	for _, x := range id.cp0Const {
		y := x.t / T
		a += x.n * (1 - y + math.Log(y))
		b += x.n * (1 - y)
		bb -= x.n
	}
	for k, x := range id.cp0Power {
		t0 := id.cp0Reference[k]
		u, u0 := math.Pow(T, x.t), id.cp0Start[k]
		a += x.n*(u-u0*t0/T)/(x.t+1) - x.n*(u-u0)/x.t
		b += x.n * (u - u0*t0/T) / (x.t + 1)
		bb -= x.n * u
	}
	return a, b, bb
}
