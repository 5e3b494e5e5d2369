package refrigerant

import (
	"fmt"
	"math"

	"coldwright/refrigerant/data"
)

// partials holds a function of (tau, delta) with its scaled derivatives: D = δ ∂/∂δ, T = τ ∂/∂τ, DD = δ² ∂²/∂δ², DT = δτ ∂²/∂δ∂τ, TT = τ² ∂²/∂τ².
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

// maxPower bounds the whole powers of δ that are kept in a table.
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

// powers holds δ^k and, once asked for, exp(−δ^k).
type powers struct {
	delta, ln float64
	k         [maxPower]float64
	e         [maxPower]float64
	have      [maxPower]bool
}

func (w *powers) set(delta, ln float64) {
	w.delta, w.ln = delta, ln
	w.k[0] = 1
	for i := 1; i < maxPower; i++ {
		w.k[i] = w.k[i-1] * delta
	}
	w.have = [maxPower]bool{}
}

// of returns δ^d.
func (w *powers) of(d float64, whole int) float64 {
	if whole >= 0 {
		return w.k[whole]
	}
	return math.Exp(d * w.ln)
}

// decay returns g δ^l and exp(−g δ^l) of a term, 0 and 1 without one.
func (w *powers) decay(x *term) (gd, e float64) {
	if x.g == 0 {
		return 0, 1
	}
	gd = x.g * w.of(x.l, x.li)
	if x.g != 1 || x.li < 0 {
		return gd, math.Exp(-gd)
	}
	if !w.have[x.li] {
		w.have[x.li], w.e[x.li] = true, math.Exp(-gd)
	}
	return gd, w.e[x.li]
}

// inDelta returns a term's factor in δ and its first two logarithmic derivatives: q = ∂ln/∂lnδ and dq = δ ∂q/∂δ.
func (x *term) inDelta(w *powers) (u, q, dq float64) {
	u = w.of(x.d, x.di)
	switch x.kind {
	case powerExp, powerDoubleExp:
		gd, e := w.decay(x)
		return u * e, x.d - x.l*gd, -x.l * x.l * gd
	case gaussian:
		e := w.delta - x.eps
		return u * math.Exp(-x.eta*e*e), x.d - 2*x.eta*w.delta*e, -2 * x.eta * w.delta * (w.delta + e)
	case gaussianReciprocal:
		e := w.delta - x.eps
		return u * math.Exp(x.eta*e*e), x.d + 2*x.eta*w.delta*e, 2 * x.eta * w.delta * (w.delta + e)
	}
	// density_exponential
	e := w.delta - x.eps
	return u * math.Exp(-x.eta*e*e-x.beta*(w.delta-x.gam)), x.d - 2*x.eta*w.delta*e - x.beta*w.delta, -2*x.eta*w.delta*(w.delta+e) - x.beta*w.delta
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

// evaluate sums the terms at (tau, delta). Cost: one exponential a term, and few more.
func evaluate(terms []term, tau, delta float64) (p partials) {
	var w powers
	lnTau := math.Log(tau)
	w.set(delta, math.Log(delta))
	for i := range terms {
		x := &terms[i]
		if x.kind == criticalNonanalytic {
			c := x.nonanalytic(tau, delta)
			p.add(1, &c)
			continue
		}
		u, q, dq := x.inDelta(&w)
		v, r, dr := x.inTau(tau, lnTau)
		u *= v
		p.A += u
		p.D += q * u
		p.T += r * u
		p.DD += (q*q - q + dq) * u
		p.DT += q * r * u
		p.TT += (r*r - r + dr) * u
	}
	return p
}

// residualAlong sums the terms at delta with their factors in τ known; only A, D and DD are filled. tau serves the terms that do not factor.
func residualAlong(terms []term, factor []float64, tau float64, w *powers, scale float64, p *partials) {
	for i := range terms {
		x := &terms[i]
		if x.kind == criticalNonanalytic {
			c := x.nonanalytic(tau, w.delta)
			p.add(scale, &c)
			continue
		}
		u, q, dq := x.inDelta(w)
		u *= factor[i]
		p.A += u
		p.D += q * u
		p.DD += (q*q - q + dq) * u
	}
}

// factors fills the terms' factors in τ, times scale.
func factors(terms []term, tau, lnTau, scale float64, dst []float64) {
	for i := range terms {
		if terms[i].kind != criticalNonanalytic {
			u, _, _ := terms[i].inTau(tau, lnTau)
			dst[i] = scale * u
		}
	}
}

// nonanalytic is the critical-region term of Span and Wagner (1996), J. Phys. Chem. Ref. Data 25:1509-1596, table 32. Its derivatives are 0/0
// on delta = 1, hence the step aside.
func (x *term) nonanalytic(tau, delta float64) (p partials) {
	if math.Abs(delta-1) < 1e-9 {
		delta = 1 + 1e-9
	}
	dm, tm := delta-1, tau-1
	s := dm * dm
	lnS := math.Log(s)
	ib := 1 / (2 * x.beta)
	sib1 := math.Exp((ib - 1) * lnS)
	theta := (1 - tau) + x.bigA*sib1*s
	sa1 := math.Exp((x.smallA - 1) * lnS)
	Delta := theta*theta + x.bigB*sa1*s
	dD := dm * (x.bigA*theta*2/x.beta*sib1 + 2*x.bigB*x.smallA*sa1)
	dDD := dD/dm + s*(4*x.bigB*x.smallA*(x.smallA-1)*sa1/s+2*x.bigA*x.bigA/(x.beta*x.beta)*sib1*sib1+x.bigA*theta*4/x.beta*(ib-1)*sib1/s)
	b := x.b
	P := math.Pow(Delta, b)
	P1 := b * P / Delta
	P2 := b * (b - 1) * P / (Delta * Delta)
	Pd := P1 * dD
	Pdd := P1*dDD + P2*dD*dD
	Pt := -2 * theta * P1
	Ptt := 2*P1 + 4*theta*theta*P2
	Pdt := -x.bigA*2/x.beta*P1*dm*sib1 - 2*theta*P2*dD
	psi := math.Exp(-x.bigC*s - x.bigD*tm*tm)
	sd := -2 * x.bigC * dm * psi
	sdd := (2*x.bigC*s - 1) * 2 * x.bigC * psi
	st := -2 * x.bigD * tm * psi
	stt := (2*x.bigD*tm*tm - 1) * 2 * x.bigD * psi
	sdt := 4 * x.bigC * x.bigD * dm * tm * psi
	n := x.n
	p.A = n * P * delta * psi
	p.D = delta * n * (P*(psi+delta*sd) + Pd*delta*psi)
	p.DD = delta * delta * n * (P*(2*sd+delta*sdd) + 2*Pd*(psi+delta*sd) + Pdd*delta*psi)
	p.T = tau * n * delta * (Pt*psi + P*st)
	p.TT = tau * tau * n * delta * (Ptt*psi + 2*Pt*st + P*stt)
	p.DT = tau * delta * n * (P*(st+delta*sdt) + delta*Pd*st + Pt*(psi+delta*sd) + Pdt*delta*psi)
	return p
}

// ideal is the ideal-gas part of one fluid without ln δ: value, τ∂τ and τ²∂²τ at temperature T. Every published form is a sum of: a constant and a
// term in τ, a logarithm, powers of τ, Einstein functions.
type ideal struct {
	tRed         float64
	a1, a2, lnA  float64
	power        []idealTerm // n τ^t
	einstein     []idealTerm // n ln(1 − exp(−t τ))
	cp0Const     []idealTerm // n = cp0/R, t = reference temperature
	cp0Power     []idealTerm // n T^t in cp0/R
	cp0Reference []float64
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
		a += x.n * math.Log1p(-e)
		b += x.n * y * e / (1 - e)
		bb -= x.n * y * y * e / ((1 - e) * (1 - e))
	}
	for _, x := range id.cp0Const {
		y := x.t / T
		a += x.n * (1 - y + math.Log(y))
		b += x.n * (1 - y)
		bb -= x.n
	}
	for k, x := range id.cp0Power {
		t0 := id.cp0Reference[k]
		u, u0 := math.Pow(T, x.t), math.Pow(t0, x.t)
		a += x.n*(u-u0*t0/T)/(x.t+1) - x.n*(u-u0)/x.t
		b += x.n * (u - u0*t0/T) / (x.t + 1)
		bb -= x.n * u
	}
	return a, b, bb
}
