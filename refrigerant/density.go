package refrigerant

import "math"

// isotherm is the residual part along density at fixed temperature and composition: what depends on τ alone is computed once.
type isotherm struct {
	m          *model
	x          []float64
	tau, scale float64 // scale: δ per mol/m³
	w          powers
	buf        [maxFactors]float64
	big        []float64 // where buf is too small
}

// maxFactors residual terms fit without the heap: pure fluids and nearly every blend.
const maxFactors = 160

func (o *isotherm) factors() []float64 {
	if o.big != nil {
		return o.big
	}
	return o.buf[:]
}

func (m *model) isotherm(x []float64, T float64, o *isotherm) {
	o.m, o.x = m, x
	if m.n == 1 {
		o.tau, o.scale = m.c[0].T/T, 1/m.c[0].rho
	} else {
		Tr, vr := m.reducing(x, nil)
		o.tau, o.scale = Tr/T, vr
	}
	if m.terms > maxFactors {
		o.big = make([]float64, m.terms)
	}
	dst := o.factors()
	lnTau := math.Log(o.tau)
	k := 0
	for i, c := range m.c {
		factors(c.residual, o.tau, lnTau, x[i], dst[k:])
		k += len(c.residual)
	}
	for i := range m.pairs {
		p := &m.pairs[i]
		if p.departure != nil {
			factors(p.departure, o.tau, lnTau, x[p.i]*x[p.j]*p.f, dst[k:])
			k += len(p.departure)
		}
	}
}

// at returns A, D and DD at a density, mol/m³.
func (o *isotherm) at(rho float64) (p partials) {
	delta := math.Max(rho, 1e-12) * o.scale
	o.w.set(delta, math.Log(delta))
	factor := o.factors()
	k := 0
	for i, c := range o.m.c {
		residualAlong(c.residual, factor[k:], o.tau, &o.w, o.x[i], &p)
		k += len(c.residual)
	}
	for i := range o.m.pairs {
		q := &o.m.pairs[i]
		if q.departure != nil {
			residualAlong(q.departure, factor[k:], o.tau, &o.w, o.x[q.i]*o.x[q.j]*q.f, &p)
			k += len(q.departure)
		}
	}
	return p
}

// rhoAt finds the density at T, p on the liquid or the vapour branch; ok is false when that branch has no root.
func (m *model) rhoAt(x []float64, T, p float64, liquid bool, start float64) (rho float64, evals int, ok bool) {
	var o isotherm
	m.isotherm(x, T, &o)
	return o.rhoAt(T, p, liquid, start)
}

func (o *isotherm) rhoAt(T, p float64, liquid bool, start float64) (rho float64, evals int, ok bool) {
	RT := o.m.R * T
	if start > 0 {
		rho = start
	} else if liquid {
		rho = o.m.liquidStart(o.x, T)
	} else {
		rho = p / RT
	}
	for evals = 1; evals <= 60; evals++ {
		r := o.at(rho)
		f := rho*RT*(1+r.D) - p
		df := RT * (1 + 2*r.D + r.DD)
		if !(df > 0) || math.IsNaN(f) {
			// Past the spinodal: go back to where the branch is stable.
			if liquid {
				rho *= 1.03
				if rho*o.scale > 6 {
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
		step := -f / df
		if math.Abs(step) > 0.2*rho {
			step = math.Copysign(0.2*rho, step)
		}
		rho += step
		// Newton squares its error: after a step this small the next would be below round-off.
		if math.Abs(step) < 1e-8*rho {
			return rho, evals, true
		}
	}
	// The last digits of a stiff liquid may not settle; a relative density change below 1e-9 is no failure.
	r := o.at(rho)
	f := rho*RT*(1+r.D) - p
	df := RT * (1 + 2*r.D + r.DD)
	return rho, evals, df > 0 && math.Abs(f/df) < 1e-9*rho
}

// branch reports whether rho is the density of the liquid or of the vapour at T, p, and not another root: between its spinodals an equation has loops.
// Near the critical temperature, where there is nothing to confuse, it says yes.
func (m *model) branch(x []float64, T, p, rho float64, liquid bool) bool {
	Tr, _ := m.reducing(x, nil)
	if T > 0.97*Tr {
		return true
	}
	want, _, ok := m.rhoAt(x, T, p, liquid, 0)
	return ok && math.Abs(want/rho-1) < 1e-5
}

func (m *model) densityScale(x []float64) float64 {
	_, v := m.reducing(x, nil)
	return 1 / v
}

func (m *model) liquidStart(x []float64, T float64) float64 {
	Tr, _ := m.reducing(x, nil)
	v := 0.0
	for i, c := range m.c {
		if x[i] == 0 {
			continue
		}
		t := math.Min(T/Tr*c.T, 0.995*c.tc)
		t = math.Max(t, c.rhoL.tMin)
		rho := c.rhoL.at(t)
		if !(rho > c.rhoc) {
			rho = 2.5 * c.rhoc
		}
		v += x[i] / rho
	}
	return 1.02 / v
}
