package eos

import (
	"math"

	"coldwright/num"
)

// Critical finds the critical point of the bulk composition: the smallest eigenvalue of the stability matrix and its change along its own
// direction vanish. Source: Heidemann and Khalil (1980), AIChE J. 26:769-779.
func (m *Model) Critical(z []float64) (T, rho float64, ok bool) {
	if m.N == 1 {
		return m.Components[0].TCrit, m.Components[0].rhoc, true
	}
	n := m.N
	form := func(T float64, r []float64, u *[MaxN]float64) (float64, [MaxN]float64) {
		var o Isochoric
		m.Isochore(T, r, &o)
		var a [MaxN * MaxN]float64
		for i := range n {
			for j := range n {
				a[i*n+j] = math.Sqrt(r[i]*r[j]) * o.H[i][j]
			}
			a[i*n+i]++
		}
		if u != nil {
			s := 0.0
			for i := range n {
				for j := range n {
					s += u[i] * a[i*n+j] * u[j]
				}
			}
			return s, *u
		}
		return smallestEigen(n, a[:n*n])
	}
	eval := func(T, rho float64) (b, c float64) {
		var r, q [MaxN]float64
		for i := range n {
			r[i] = z[i] * rho
		}
		b, u := form(T, r[:n], nil)
		const e = 1e-4
		var v [2]float64
		for k, s := range [2]float64{e, -e} {
			for i := range n {
				q[i] = r[i] + s*u[i]*math.Sqrt(r[i]*rho)
			}
			v[k], _ = form(T, q[:n], &u)
		}
		c = (v[0] - v[1]) / (2 * e)
		// The sign of the eigenvector is free; fix it so that c is smooth.
		s := 0.0
		for i := range n {
			s += u[i] * math.Sqrt(z[i])
		}
		if s < 0 {
			c = -c
		}
		return b, c
	}
	Tr, vr := m.Reducing(z, nil)
	for _, start := range [][2]float64{{1, 1}, {1.03, 1.05}, {0.98, 0.9}, {1.06, 1.2}, {1, 1.3}, {1.08, 0.9}} {
		T, rho = Tr*start[0], start[1]/vr
		for range 60 {
			b, c := eval(T, rho)
			const d = 1e-5
			bT, cT := eval(T*(1+d), rho)
			bR, cR := eval(T, rho*(1+d))
			J := []float64{(bT - b) / d, (bR - b) / d, (cT - c) / d, (cR - c) / d}
			F := []float64{-b, -c}
			if !num.SolveDense(2, J, F) {
				break
			}
			l := math.Min(1, math.Min(0.03/math.Max(math.Abs(F[0]), 1e-300), 0.1/math.Max(math.Abs(F[1]), 1e-300)))
			T *= math.Exp(l * F[0])
			rho *= math.Exp(l * F[1])
			if math.IsNaN(T) || T < 0.6*Tr || T > 1.6*Tr || rho*vr < 0.3 || rho*vr > 2.5 {
				break
			}
			if math.Abs(F[0]) < 1e-8 && math.Abs(F[1]) < 1e-7 {
				return T, rho, true
			}
		}
	}
	return 0, 0, false
}

// smallestEigen returns the smallest eigenvalue of a symmetric matrix and its vector, by cyclic Jacobi rotations on the
// stack: a general library, against which the test holds it, made a change of composition a tenth slower.
func smallestEigen(n int, a []float64) (float64, [MaxN]float64) {
	var v [MaxN][MaxN]float64
	for i := range n {
		v[i][i] = 1
	}
	for range 30 {
		off := 0.0
		for i := range n {
			for j := i + 1; j < n; j++ {
				off += a[i*n+j] * a[i*n+j]
			}
		}
		if off < 1e-28 {
			break
		}
		for p := range n {
			for q := p + 1; q < n; q++ {
				if a[p*n+q] == 0 {
					continue
				}
				th := (a[q*n+q] - a[p*n+p]) / (2 * a[p*n+q])
				t := math.Copysign(1, th) / (math.Abs(th) + math.Sqrt(th*th+1))
				c := 1 / math.Sqrt(t*t+1)
				s := t * c
				for k := range n {
					x, y := a[k*n+p], a[k*n+q]
					a[k*n+p], a[k*n+q] = c*x-s*y, s*x+c*y
				}
				for k := range n {
					x, y := a[p*n+k], a[q*n+k]
					a[p*n+k], a[q*n+k] = c*x-s*y, s*x+c*y
				}
				for k := range n {
					x, y := v[k][p], v[k][q]
					v[k][p], v[k][q] = c*x-s*y, s*x+c*y
				}
			}
		}
	}
	best := 0
	for i := range n {
		if a[i*n+i] < a[best*n+best] {
			best = i
		}
	}
	var u [MaxN]float64
	for i := range n {
		u[i] = v[i][best]
	}
	return a[best*n+best], u
}
