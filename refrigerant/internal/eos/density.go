package eos

import "math"

// maxOwners bounds the components and departures of a model.
const maxOwners = MaxN + MaxN*(MaxN-1)/2

// allTerms is one series of all components and departures.
func (m *Model) allTerms() *series {
	var lists [][]term
	for _, c := range m.Components {
		lists = append(lists, c.terms)
	}
	for i := range m.pairs {
		if m.pairs[i].departure != nil {
			lists = append(lists, m.pairs[i].terms)
		}
	}
	return newSeries(lists...)
}

// Isotherm is the residual part along density at fixed temperature and composition: what depends on τ alone is computed once.
type Isotherm struct {
	m     *Model
	Scale float64 // δ per mol/m³
	w     powers
	own   [maxOwners]float64
	fold
}

// Isotherm prepares the residual part at T of the composition x.
func (m *Model) Isotherm(x []float64, T float64, o *Isotherm) {
	o.m = m
	var tau float64
	if m.N == 1 {
		tau, o.Scale = m.Components[0].T/T, 1/m.Components[0].rho
		o.own[0] = 1
	} else {
		Tr, vr := m.Reducing(x, nil)
		tau, o.Scale = Tr/T, vr
		k := copy(o.own[:], x[:m.N])
		for i := range m.pairs {
			if p := &m.pairs[i]; p.departure != nil {
				o.own[k] = x[p.i] * x[p.j] * p.f
				k++
			}
		}
	}
	o.set(m.whole, tau, math.Log(tau), &o.own)
}

// At returns the residual part at a density, mol/m³.
func (o *Isotherm) At(rho float64) partials {
	o.w.set(math.Max(rho, 1e-12) * o.Scale)
	return o.fold.at(&o.w)
}

// Pressure returns the pressure at a density.
func (o *Isotherm) Pressure(rho, T float64) float64 {
	o.w.set(math.Max(rho, 1e-12) * o.Scale)
	D, _, _ := o.along(&o.w)
	return rho * o.m.R * T * (1 + D)
}

// RhoAt finds the density at T, p on the liquid or the vapour branch; ok is false when that branch has no root.
func (m *Model) RhoAt(x []float64, T, p float64, liquid bool, start float64) (rho float64, evals int, ok bool) {
	var o Isotherm
	m.Isotherm(x, T, &o)
	return o.RhoAt(x, T, p, liquid, start)
}

// RhoAt is [Model.RhoAt] on this isotherm.
func (o *Isotherm) RhoAt(x []float64, T, p float64, liquid bool, start float64) (rho float64, evals int, ok bool) {
	RT := o.m.R * T
	if start > 0 {
		rho = start
	} else if liquid {
		rho = o.m.liquidStart(x, T)
	} else {
		rho = p / RT
	}
	// f and df are p(ρ) − p and its slope, bend is ρ/2 times the slope of ln df.
	look := func() (f, df, bend float64) {
		o.w.set(math.Max(rho, 1e-12) * o.Scale)
		D, DD, DDD := o.along(&o.w)
		df = 1 + 2*D + DD
		return rho*RT*(1+D) - p, RT * df, (D + 2*DD + 0.5*DDD) / df
	}
	for evals = 1; evals <= 60; evals++ {
		f, df, bend := look()
		if !(df > 0) || math.IsNaN(f) {
			// Past the spinodal: go back to where the branch is stable.
			if liquid {
				rho *= 1.03
				if rho*o.Scale > 6 {
					return 0, evals, false
				}
			} else {
				rho *= 0.7
				if evals > 40 {
					return 0, evals, false
				}
			}
			continue
		}
		// Halley's step: Newton's, bent.
		step := -f / df
		turn := step / rho * bend
		if math.Abs(turn) < 0.3 {
			step /= 1 + turn
		}
		if math.Abs(step) > 0.2*rho {
			step = math.Copysign(0.2*rho, step)
		}
		rho += step
		// Halley cubes its error: after a step this small the next would be below round-off.
		if small := step / rho; math.Abs(small)*(small*small+turn*turn) < 1e-16 {
			return rho, evals, true
		}
	}
	// The last digits of a stiff liquid may not settle; a relative density change below 1e-9 is no failure.
	f, df, _ := look()
	return rho, evals, df > 0 && math.Abs(f/df) < 1e-9*rho
}

// Branch reports whether rho is the density of the liquid or of the vapour at T, p, and not another root: between its
// spinodals an equation has loops. Near the critical temperature, where there is nothing to confuse, it says yes.
func (m *Model) Branch(x []float64, T, p, rho float64, liquid bool) bool {
	Tr, _ := m.Reducing(x, nil)
	if T > 0.97*Tr {
		return true
	}
	want, _, ok := m.RhoAt(x, T, p, liquid, 0)
	return ok && math.Abs(want/rho-1) < 1e-5
}

func (m *Model) liquidStart(x []float64, T float64) float64 {
	Tr, _ := m.Reducing(x, nil)
	v := 0.0
	for i, c := range m.Components {
		if x[i] == 0 {
			continue
		}
		t := math.Min(T/Tr*c.T, 0.995*c.TCrit)
		t = math.Max(t, c.rhoL.tMin)
		rho := c.rhoL.At(t)
		if !(rho > c.rhoc) {
			rho = 2.5 * c.rhoc
		}
		v += x[i] / rho
	}
	return 1.02 / v
}
