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
			out = append(out, x)
		}
	}
	return out, nil
}

// evaluate sums the terms at (tau, delta). Cost: one exponential per term.
func evaluate(terms []term, tau, delta float64) (p partials) {
	lnTau, lnDelta := math.Log(tau), math.Log(delta)
	lastL, deltaL := 0.0, 1.0
	for i := range terms {
		x := &terms[i]
		var u, q, dq, r, dr float64
		switch x.kind {
		case powerExp:
			if x.l == 0 {
				u = x.n * math.Exp(x.t*lnTau+x.d*lnDelta)
				q = x.d
			} else {
				if x.l != lastL {
					lastL = x.l
					switch x.l {
					case 1:
						deltaL = delta
					case 2:
						deltaL = delta * delta
					case 3:
						deltaL = delta * delta * delta
					default:
						deltaL = math.Exp(x.l * lnDelta)
					}
				}
				gd := x.g * deltaL
				u = x.n * math.Exp(x.t*lnTau+x.d*lnDelta-gd)
				q = x.d - x.l*gd
				dq = -x.l * x.l * gd
			}
			r = x.t
		case powerDoubleExp:
			gd := 0.0
			if x.l != 0 {
				gd = x.g * math.Exp(x.l*lnDelta)
			}
			gm := 0.0
			if x.m != 0 {
				gm = math.Exp(x.m * lnTau)
			}
			u = x.n * math.Exp(x.t*lnTau+x.d*lnDelta-gd-gm)
			q, dq = x.d-x.l*gd, -x.l*x.l*gd
			r, dr = x.t-x.m*gm, -x.m*x.m*gm
		case gaussian:
			e, g := delta-x.eps, tau-x.gam
			u = x.n * math.Exp(x.t*lnTau+x.d*lnDelta-x.eta*e*e-x.beta*g*g)
			q, dq = x.d-2*x.eta*delta*e, -2*x.eta*delta*(delta+e)
			r, dr = x.t-2*x.beta*tau*g, -2*x.beta*tau*(tau+g)
		case gaussianReciprocal:
			e, g := delta-x.eps, tau-x.gam
			v := 1 / (x.beta*g*g + x.b)
			v1 := -v * v * 2 * x.beta * g
			v2 := -2*x.beta*v*v + 2*v*v*v*4*x.beta*x.beta*g*g
			u = x.n * math.Exp(x.t*lnTau+x.d*lnDelta+x.eta*e*e+v)
			q, dq = x.d+2*x.eta*delta*e, 2*x.eta*delta*(delta+e)
			r, dr = x.t+tau*v1, tau*v1+tau*tau*v2
		case densityExponential:
			e := delta - x.eps
			u = x.n * math.Exp(x.t*lnTau+x.d*lnDelta-x.eta*e*e-x.beta*(delta-x.gam))
			q, dq = x.d-2*x.eta*delta*e-x.beta*delta, -2*x.eta*delta*(delta+e)-x.beta*delta
			r = x.t
		case criticalNonanalytic:
			c := x.nonanalytic(tau, delta)
			p.add(1, &c)
			continue
		}
		p.A += u
		p.D += q * u
		p.T += r * u
		p.DD += (q*q - q + dq) * u
		p.DT += q * r * u
		p.TT += (r*r - r + dr) * u
	}
	return p
}

// nonanalytic is the critical-region term of Span and Wagner (1996), J. Phys. Chem. Ref. Data 25:1509-1596, table 32. Its derivatives are 0/0
// on delta = 1, hence the step aside.
func (x *term) nonanalytic(tau, delta float64) (p partials) {
	if math.Abs(delta-1) < 1e-9 {
		delta = 1 + 1e-9
	}
	dm, tm := delta-1, tau-1
	s := dm * dm
	ib := 1 / (2 * x.beta)
	sib1 := math.Pow(s, ib-1)
	theta := (1 - tau) + x.bigA*sib1*s
	sa1 := math.Pow(s, x.smallA-1)
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

// ideal is the ideal-gas part of one fluid without ln delta: value, τ∂τ and τ²∂²τ at temperature T.
type ideal struct {
	tRed  float64
	terms []data.Term
}

func newIdeal(tRed float64, terms []data.Term) (ideal, error) {
	for _, f := range terms {
		switch f.Family {
		case "lead", "offset", "log_tau", "power", "einstein", "einstein_temperature", "cp0_constant":
		case "cp0_power":
			for _, t := range f.T {
				if t == -1 {
					return ideal{}, fmt.Errorf("cp0_power with exponent -1 has another integral")
				}
			}
		default:
			return ideal{}, fmt.Errorf("unknown family %q of ideal terms", f.Family)
		}
	}
	return ideal{tRed, terms}, nil
}

func (id *ideal) at(T float64) (a, b, bb float64) {
	tau := id.tRed / T
	for i := range id.terms {
		f := &id.terms[i]
		switch f.Family {
		case "lead", "offset":
			a += f.A1 + f.A2*tau
			b += f.A2 * tau
		case "log_tau":
			a += f.LogA * math.Log(tau)
			b += f.LogA
			bb -= f.LogA
		case "power":
			for k, n := range f.N {
				u := n * math.Pow(tau, f.T[k])
				a += u
				b += f.T[k] * u
				bb += f.T[k] * (f.T[k] - 1) * u
			}
		case "einstein", "einstein_temperature":
			for k, n := range f.N {
				var x float64
				if f.Family == "einstein" {
					x = f.Theta[k] * tau
				} else {
					x = f.ThetaK[k] / T
				}
				e := math.Exp(-x)
				a += n * math.Log1p(-e)
				b += n * x * e / (1 - e)
				bb -= n * x * x * e / ((1 - e) * (1 - e))
			}
		case "cp0_constant":
			a, b, bb = cp0Constant(f.Cp0OverR, f.TRefK, T, a, b, bb)
		case "cp0_power":
			for k, c := range f.C {
				t := f.T[k]
				if t == 0 {
					a, b, bb = cp0Constant(c, f.TRefK, T, a, b, bb)
					continue
				}
				u, u0 := math.Pow(T, t), math.Pow(f.TRefK, t)
				a += c*(u-u0*f.TRefK/T)/(t+1) - c*(u-u0)/t
				b += c * (u - u0*f.TRefK/T) / (t + 1)
				bb -= c * u
			}
		}
	}
	return a, b, bb
}

func cp0Constant(c, T0, T, a, b, bb float64) (float64, float64, float64) {
	x := T0 / T
	return a + c*(1-x+math.Log(x)), b + c*(1-x), bb - c
}
