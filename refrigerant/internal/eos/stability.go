package eos

import "math"

// Instability is how far below the tangent plane at a single phase of z the deepest trial phase lies, in units of R T per
// mole. The pressure is an argument: cold liquid's is a small difference of large numbers and known better from elsewhere.
// Trials start vapour-like and liquid-like, from the components' vapour pressures; those that end on a loop of the equation
// between thin vapour and dense liquid do not count. Source: Michelsen (1982), Fluid Phase Equilib. 9:1-19.
func (m *Model) Instability(z []float64, T, rho, p float64) float64 {
	n := m.N
	// ln(z φ) of the bulk, with ln φ = g − ln Z.
	var d, w, dens [MaxN]float64
	var A Isochoric
	for i := range n {
		dens[i] = z[i] * rho
	}
	m.Isochore(T, dens[:n], &A)
	for i := range n {
		d[i] = math.Log(z[i]) + A.G[i] - math.Log(p/(rho*m.R*T))
	}
	depth := 0.0
	for _, liquid := range []bool{false, true} {
		for i, c := range m.Components {
			k := c.PsatStart(T) / p
			w[i] = z[i] * k
			if liquid {
				w[i] = z[i] / k
			}
		}
		for range 60 {
			sum := 0.0
			for i := range n {
				sum += w[i]
			}
			x := w
			Normalise(x[:n])
			rw, _, ok := m.RhoAt(x[:n], T, p, liquid, 0)
			if !ok {
				break
			}
			for i := range n {
				dens[i] = x[i] * rw
			}
			A = Isochoric{}
			m.Isochore(T, dens[:n], &A)
			change, away, next := 0.0, 0.0, 0.0
			for i := range n {
				v := math.Exp(d[i] - A.G[i] + math.Log(p/(rw*m.R*T)))
				change = math.Max(change, math.Abs(v-w[i]))
				away = math.Max(away, math.Abs(x[i]-z[i]))
				w[i] = v
				next += v
			}
			if away < 1e-4 && math.Abs(rw/rho-1) < 1e-3 {
				break // the trial fell back on the bulk
			}
			if change < 1e-10 {
				Tr, vr := m.Reducing(x[:n], nil)
				if T < 0.9*Tr && (liquid && rw*vr < 1.6 || !liquid && rw*vr > 0.4) {
					break
				}
				depth = math.Max(depth, math.Log(next))
				break
			}
		}
	}
	return depth
}
