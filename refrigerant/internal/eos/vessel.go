package eos

import (
	"math"

	"coldwright/num"
)

// Vessel is a volume of liquid and vapour in equilibrium at T.
type Vessel struct {
	T, P   float64
	Liquid float64       // volume share; slightly negative just beyond the last drop
	L, V   [MaxN]float64 // partial densities, mol/m³
	Worst  float64       // largest error in ln f
}

// balance sets the densities of the phase that is not a variable from c = s a + (1 − s) b; false when one would not be positive.
func balance(n int, c []float64, s float64, a, b *[MaxN]float64) bool {
	for i := range n {
		b[i] = (c[i] - s*a[i]) / (1 - s)
		if !(b[i] > 0) {
			return false
		}
	}
	return true
}

// splitNewton polishes a split of the overall partial densities c at v.T: equal fugacities and pressures. Variables
// are the densities of the phase with the smaller volume and its share, so the balance of every component and of the
// volume holds exactly.
func (m *Model) splitNewton(c []float64, w *Vessel) bool {
	n := m.N
	size := n + 1
	R, T := m.R, w.T
	liquidSmall := w.Liquid < 0.5
	a, b, s := &w.V, &w.L, 1-w.Liquid
	if liquidSmall {
		a, b, s = &w.L, &w.V, w.Liquid
	}
	if !balance(n, c, s, a, b) {
		return false
	}
	const big = MaxN + 1
	var J [big * big]float64
	var F [big]float64
	var A, B Isochoric
	prev := math.Inf(1)
	for range 60 {
		A, B = Isochoric{}, Isochoric{}
		m.Isochore(T, a[:n], &A)
		m.Isochore(T, b[:n], &B)
		pa, pb, ra, rb := -A.Psi, -B.Psi, 0.0, 0.0
		for i := range n {
			pa += a[i] * (1 + A.G[i])
			pb += b[i] * (1 + B.G[i])
			ra += a[i]
			rb += b[i]
		}
		w.P = R * T * pb
		if rb > ra { // the vapour's pressure is the better scale
			w.P = R * T * pa
		}
		scale := math.Max(math.Abs(w.P), 1e-3) / (R * T)
		worst := 0.0
		clear(J[:])
		for i := range n {
			F[i] = -(math.Log(a[i]/b[i]) + A.G[i] - B.G[i])
			worst = math.Max(worst, math.Abs(F[i]))
			for j := range n {
				d := B.H[i][j]
				if i == j {
					d += 1 / b[i]
				}
				J[i*size+j] = A.H[i][j]*a[j] + d*s*a[j]/(1-s)
				J[i*size+n] -= d * (b[j] - a[j]) / (1 - s)
			}
			J[i*size+i]++
		}
		for j := range n {
			sa, sb := 1.0, 1.0
			for i := range n {
				sa += a[i] * A.H[i][j]
				sb += b[i] * B.H[i][j]
			}
			J[n*size+j] = (sa + sb*s/(1-s)) * a[j] / scale
			J[n*size+n] -= sb * (b[j] - a[j]) / (1 - s) / scale
		}
		F[n] = -(pa - pb) / scale
		// As in newton: the liquid's pressure is a small difference of large numbers.
		worst = math.Max(worst, math.Abs(F[n])/(1+1e-2*math.Max(ra, rb)/scale))
		if math.IsNaN(worst) {
			return false
		}
		w.Worst = worst
		if worst < 3e-13 || worst < 1e-8 && worst >= prev*0.5 {
			w.Liquid = 1 - s
			if liquidSmall {
				w.Liquid = s
			}
			rl, rv := rb, ra
			if liquidSmall {
				rl, rv = ra, rb
			}
			return w.P > 0 && math.Log(rl/rv) > 5e-3
		}
		prev = worst
		if !num.SolveDense(size, J[:size*size], F[:size]) {
			return false
		}
		// Step limits: densities by a third, the other phase's as well.
		f := 1.0
		for i := range n {
			if x := math.Abs(F[i]); x*f > 0.3 {
				f = 0.3 / x
			}
		}
		ok := false
		for range 30 {
			var na, nb [MaxN]float64
			for i := range n {
				na[i] = a[i] * math.Exp(f*F[i])
			}
			ns := s + f*F[n]
			ok = ns < 1 && balance(n, c, ns, &na, &nb)
			for i := 0; ok && i < n; i++ {
				ok = math.Abs(math.Log(nb[i]/b[i])) < 0.7
			}
			if ok {
				*a, *b, s = na, nb, ns
				break
			}
			f /= 2
		}
		if !ok {
			return false
		}
	}
	return false
}

// splitCold splits without a start. At T the two phases are a bubble point of the liquid's composition, so that
// composition is all there is to find: successive substitution on it with the vapour share that fills the volume.
func (m *Model) splitCold(c []float64, T float64) (w Vessel, ok bool) {
	n := m.N
	var z, x [MaxN]float64
	total := 0.0
	for i := range n {
		total += c[i]
	}
	for i := range n {
		z[i] = c[i] / total
	}
	x = z
	for round := range 60 {
		e, good := m.SatT(x[:n], T, true, NewtonMax)
		if !good {
			return w, false
		}
		rl, rv := e.Bulk, e.IncRho(n)
		share := (rl - total) / (rl - rv) // of the volume, vapour
		beta := math.Max(0, math.Min(1, share*rv/total))
		w = Vessel{T: T, P: e.P, Liquid: 1 - share}
		change := 0.0
		for i := range n {
			w.L[i], w.V[i] = x[i]*rl, e.Incipient[i]
			k := e.Incipient[i] / rv / x[i]
			was := x[i]
			x[i] = z[i] / (1 + beta*(k-1))
			change += math.Abs(x[i] - was)
		}
		Normalise(x[:n])
		if round < 3 {
			continue
		}
		if try := w; m.splitNewton(c, &try) {
			return try, true
		}
		if change < 1e-13 {
			break
		}
	}
	return w, false
}

// SplitVessel solves the vessel with overall partial densities c, from a neighbour if there is one. The phases of the
// neighbour keep their densities and shares move so that the total fits.
func (m *Model) SplitVessel(c []float64, near *Vessel, T float64) (Vessel, bool) {
	if near != nil {
		w := *near
		rl, rv, total := 0.0, 0.0, 0.0
		for i := range m.N {
			rl += w.L[i]
			rv += w.V[i]
			total += c[i]
		}
		w.Liquid = (total - rv) / (rl - rv)
		if m.splitNewton(c, &w) {
			return w, true
		}
	}
	return m.splitCold(c, T)
}
