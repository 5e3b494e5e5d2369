package num

import "math"

// Brent finds a root of f between a and b.
//
//   - in: a, b with f(a)·f(b) ≤ 0; tol, absolute tolerance on x
//   - out: x and the record of the solve
//   - errors: [*NoConvergence] when the bracket has no sign change or 100 iterations do not suffice
//   - source: Brent (1973), ch. 4
//   - cost: about 10 evaluations for smooth f
func Brent(f func(float64) float64, a, b, tol float64) (float64, Solve, error) {
	fa, fb := f(a), f(b)
	s := Solve{Evaluations: 2}
	if math.IsNaN(fa) || math.IsNaN(fb) || fa*fb > 0 {
		s.Status, s.Residual = OutOfRange, math.Min(math.Abs(fa), math.Abs(fb))
		if math.IsNaN(s.Residual) {
			s.Residual = math.MaxFloat64
		}
		return 0, s, &NoConvergence{What: "root", Solve: s, Last: a}
	}
	c, fc := a, fa
	d := b - a
	e := d
	for s.Iterations = 1; s.Iterations <= 100; s.Iterations++ {
		if math.Abs(fc) < math.Abs(fb) {
			a, b, c = b, c, b
			fa, fb, fc = fb, fc, fb
		}
		tol1 := 2*2.3e-16*math.Abs(b) + 0.5*tol
		m := 0.5 * (c - b)
		if math.Abs(m) <= tol1 || fb == 0 {
			s.Status, s.Residual = Converged, math.Abs(fb)
			return b, s, nil
		}
		if math.Abs(e) < tol1 || math.Abs(fa) <= math.Abs(fb) {
			d = m
			e = d
		} else {
			var p, q float64
			r := fb / fa
			if a == c {
				p, q = 2*m*r, 1-r
			} else {
				q = fa / fc
				t := fb / fc
				p = r * (2*m*q*(q-t) - (b-a)*(t-1))
				q = (q - 1) * (t - 1) * (r - 1)
			}
			if p > 0 {
				q = -q
			} else {
				p = -p
			}
			if 2*p < math.Min(3*m*q-math.Abs(tol1*q), math.Abs(e*q)) {
				e, d = d, p/q
			} else {
				d, e = m, m
			}
		}
		a, fa = b, fb
		if math.Abs(d) > tol1 {
			b += d
		} else {
			b += math.Copysign(tol1, m)
		}
		fb = f(b)
		s.Evaluations++
		if fb*fc > 0 {
			c, fc = a, fa
			d = b - a
			e = d
		}
	}
	s.Status, s.Residual = Budget, math.Abs(fb)
	return 0, s, &NoConvergence{What: "root", Solve: s, Last: b}
}

// SolveDense solves a x = b in place by elimination with row pivoting; a is n×n row-major and is destroyed, b becomes x.
//
//   - in: a (len n·n), b (len n)
//   - out: true, or false when a is singular to working precision
//   - source: definition
//   - cost: n³/3 multiplications, no allocation
func SolveDense(n int, a, b []float64) bool {
	for k := range n {
		p := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i*n+k]) > math.Abs(a[p*n+k]) {
				p = i
			}
		}
		if v := a[p*n+k]; v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
		if p != k {
			for j := k; j < n; j++ {
				a[k*n+j], a[p*n+j] = a[p*n+j], a[k*n+j]
			}
			b[k], b[p] = b[p], b[k]
		}
		for i := k + 1; i < n; i++ {
			f := a[i*n+k] / a[k*n+k]
			if f == 0 {
				continue
			}
			for j := k + 1; j < n; j++ {
				a[i*n+j] -= f * a[k*n+j]
			}
			b[i] -= f * b[k]
		}
	}
	for k := n - 1; k >= 0; k-- {
		s := b[k]
		for j := k + 1; j < n; j++ {
			s -= a[k*n+j] * b[j]
		}
		b[k] = s / a[k*n+k]
	}
	return true
}

// Cholesky replaces the lower triangle of the symmetric a (n×n row-major) by its factor L.
//
//   - in: a
//   - out: false when a is not positive definite
//   - source: definition
func Cholesky(n int, a []float64) bool {
	for j := range n {
		s := a[j*n+j]
		for k := range j {
			s -= a[j*n+k] * a[j*n+k]
		}
		if !(s > 0) {
			return false
		}
		d := math.Sqrt(s)
		a[j*n+j] = d
		for i := j + 1; i < n; i++ {
			s := a[i*n+j]
			for k := range j {
				s -= a[i*n+k] * a[j*n+k]
			}
			a[i*n+j] = s / d
		}
	}
	return true
}

// CholeskySolve solves L Lᵀ x = b in place for the factor of [Cholesky].
//
//   - in: l, the factor; b
//   - out: b becomes x
//   - source: definition
func CholeskySolve(n int, l, b []float64) {
	for i := range n {
		s := b[i]
		for k := range i {
			s -= l[i*n+k] * b[k]
		}
		b[i] = s / l[i*n+i]
	}
	for i := n - 1; i >= 0; i-- {
		s := b[i]
		for k := i + 1; k < n; k++ {
			s -= l[k*n+i] * b[k]
		}
		b[i] = s / l[i*n+i]
	}
}
