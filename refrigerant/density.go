package refrigerant

import "math"

// rhoAt finds the density at T, p on the liquid or the vapour branch; ok is false when that branch has no root.
func (m *model) rhoAt(x []float64, T, p float64, liquid bool, start float64) (rho float64, evals int, ok bool) {
	R := m.R
	if start > 0 {
		rho = start
	} else if liquid {
		rho = m.liquidStart(x, T)
	} else {
		rho = p / (R * T)
	}
	for evals = 1; evals <= 60; evals++ {
		r := m.residual(x, T, rho)
		f := rho*R*T*(1+r.D) - p
		df := R * T * (1 + 2*r.D + r.DD)
		if !(df > 0) || math.IsNaN(f) {
			// Past the spinodal: go back to where the branch is stable.
			if liquid {
				if f > 0 && df > 0 {
					break
				}
				rho *= 1.03
				if rho > 6*m.densityScale(x) {
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
		if math.Abs(step) < 1e-13*rho || (math.Abs(step) < 1e-10*rho && math.Abs(f) < 1e-12*p) {
			return rho, evals, true
		}
	}
	// The last digits of a stiff liquid may not settle; a relative density change below 1e-9 is no failure.
	r := m.residual(x, T, rho)
	f := rho*R*T*(1+r.D) - p
	df := R * T * (1 + 2*r.D + r.DD)
	return rho, evals, df > 0 && math.Abs(f/df) < 1e-9*rho
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
