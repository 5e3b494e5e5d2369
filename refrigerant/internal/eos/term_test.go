package eos

import (
	"math"
	"math/cmplx"
	"testing"

	"gonum.org/v1/gonum/diff/fd"

	"coldwright/refrigerant/internal/data"
)

// TestTerms_ComplexStep: analytic first derivatives of every family against complex-step evaluation of the same
// formula, second ones against central differences of the first (Richardson), scaled by the size of the terms.
func TestTerms_ComplexStep(t *testing.T) {
	for _, name := range data.Fluids() {
		c, err := newComponent(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, pt := range [][2]float64{{1.3, 0.3}, {1.05, 1.2}, {0.8, 0.05}, {1.6, 2.2}} {
			tau, delta := pt[0], pt[1]
			p := evaluate(c.residual, tau, delta)
			scale := 0.0
			for i := range c.terms {
				q := evaluate(newSeries(c.terms[i:i+1]), tau, delta)
				scale += math.Abs(q.A) + math.Abs(q.D) + math.Abs(q.T) + math.Abs(q.DD) + math.Abs(q.TT)
			}
			const h = 1e-40
			if v, ok := complexSum(c.terms, complex(tau, h), complex(delta, 0)); ok {
				if d := imag(v) / h * tau; math.Abs(d-p.T) > 1e-13*scale {
					t.Errorf("%s tau derivative: %.15g, complex step %.15g", name, p.T, d)
				}
				v, _ = complexSum(c.terms, complex(tau, 0), complex(delta, h))
				if d := imag(v) / h * delta; math.Abs(d-p.D) > 1e-13*scale {
					t.Errorf("%s delta derivative: %.15g, complex step %.15g", name, p.D, d)
				}
			}
			s := &fd.Settings{Formula: fd.Central, Step: 1e-5}
			along := func(delta float64) (D, DD, DDD float64) {
				var o fold
				var w powers
				o.set(c.residual, tau, math.Log(tau), &alone)
				w.set(delta)
				return o.along(&w)
			}
			D, DD, DDD := along(delta)
			if math.Abs(D-p.D) > 1e-13*scale || math.Abs(DD-p.DD) > 1e-13*scale {
				t.Errorf("%s along density %.15g, %.15g, at the point %.15g, %.15g", name, D, DD, p.D, p.DD)
			}
			ddd := fd.Derivative(func(x float64) float64 { _, dd, _ := along(x); return dd / (x * x) }, delta, s)
			if got := DDD / (delta * delta * delta); math.Abs(got-ddd) > 1e-6*scale/(delta*delta*delta) {
				t.Errorf("%s third delta derivative %.10g, differences %.10g", name, got, ddd)
			}
			dd := fd.Derivative(func(x float64) float64 { return evaluate(c.residual, tau, x).D / x }, delta, s)
			if got := p.DD / (delta * delta); math.Abs(got-dd) > 1e-7*scale/(delta*delta) {
				t.Errorf("%s second delta derivative %.10g, differences %.10g", name, got, dd)
			}
			tt := fd.Derivative(func(x float64) float64 { return evaluate(c.residual, x, delta).T / x }, tau, s)
			if got := p.TT / (tau * tau); math.Abs(got-tt) > 1e-7*scale {
				t.Errorf("%s second tau derivative %.10g, differences %.10g", name, got, tt)
			}
			dt := fd.Derivative(func(x float64) float64 { return evaluate(c.residual, x, delta).D / delta }, tau, s)
			if got := p.DT / (tau * delta); math.Abs(got-dt) > 1e-7*scale/delta {
				t.Errorf("%s mixed derivative %.10g, differences %.10g", name, got, dt)
			}
		}
	}
}

// complexSum evaluates the formula itself for complex arguments; the non-analytic term is left to the difference check.
func complexSum(terms []term, tau, delta complex128) (sum complex128, ok bool) {
	c := func(x float64) complex128 { return complex(x, 0) }
	for _, x := range terms {
		u := c(x.n) * cmplx.Pow(tau, c(x.t)) * cmplx.Pow(delta, c(x.d))
		switch x.kind {
		case powerExp, powerDoubleExp:
			if x.l != 0 {
				u *= cmplx.Exp(-c(x.g) * cmplx.Pow(delta, c(x.l)))
			}
			if x.kind == powerDoubleExp && x.m != 0 {
				u *= cmplx.Exp(-cmplx.Pow(tau, c(x.m)))
			}
		case gaussian:
			u *= cmplx.Exp(-c(x.eta)*(delta-c(x.eps))*(delta-c(x.eps)) - c(x.beta)*(tau-c(x.gam))*(tau-c(x.gam)))
		case gaussianReciprocal:
			u *= cmplx.Exp(c(x.eta)*(delta-c(x.eps))*(delta-c(x.eps)) + 1/(c(x.beta)*(tau-c(x.gam))*(tau-c(x.gam))+c(x.b)))
		default:
			return 0, false
		}
		sum += u
	}
	return sum, true
}

// Every refrigerant on file folds without the heap.
func TestFold_Room(t *testing.T) {
	n := 0
	room := func(name string, parts []string) {
		m, _, _, err := New(parts)
		if err != nil {
			t.Fatal(err)
		}
		n++
		if s := m.whole; len(s.d)+len(s.other)+len(s.critical) > maxFold {
			t.Errorf("%s has %d slots, more than %d", name, len(s.d)+len(s.other)+len(s.critical), maxFold)
		}
	}
	for _, name := range data.Fluids() {
		room(name, []string{name})
	}
	for _, name := range data.Blends() {
		b, err := data.LoadBlend(name)
		if err != nil {
			t.Fatal(err)
		}
		var parts []string
		for _, c := range b.Components {
			parts = append(parts, c.Designation)
		}
		room(name, parts)
	}
	if n < 200 {
		t.Errorf("only %d refrigerants", n)
	}
}
