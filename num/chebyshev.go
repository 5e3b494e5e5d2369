package num

import "math"

// Chebyshev is a truncated Chebyshev series on [Lo, Hi]. The zero value is not usable; build it with [FitChebyshev].
type Chebyshev struct {
	Lo, Hi float64
	C      []float64
}

// ChebyshevNodes returns the n interpolation points of [lo, hi], ascending.
//
//   - in: n ≥ 2; lo < hi
//   - out: n points (Chebyshev points of the first kind)
//   - source: definition
func ChebyshevNodes(n int, lo, hi float64) []float64 {
	x := make([]float64, n)
	for k := range x {
		x[k] = lo + (hi-lo)*0.5*(1-math.Cos(math.Pi*(float64(k)+0.5)/float64(n)))
	}
	return x
}

// FitChebyshev interpolates values given at [ChebyshevNodes].
//
//   - in: y, values at the n nodes of [lo, hi]
//   - out: the series of degree n-1
//   - source: discrete orthogonality of the Chebyshev polynomials; definition
func FitChebyshev(lo, hi float64, y []float64) Chebyshev {
	n := len(y)
	c := make([]float64, n)
	for j := range c {
		s := 0.0
		for k := range y {
			// Node k ascends, hence the mirrored angle.
			s += y[k] * math.Cos(math.Pi*float64(j)*(float64(n-1-k)+0.5)/float64(n))
		}
		c[j] = 2 * s / float64(n)
	}
	c[0] /= 2
	return Chebyshev{lo, hi, c}
}

// At evaluates the series; outside [Lo, Hi] it continues along the tangent at the edge.
//
//   - in: x
//   - out: value
//   - source: Clenshaw (1955)
//   - cost: len(C) multiply-adds, no allocation
func (f *Chebyshev) At(x float64) float64 {
	if x < f.Lo {
		v, d := f.ValueSlope(f.Lo)
		return v + d*(x-f.Lo)
	}
	if x > f.Hi {
		v, d := f.ValueSlope(f.Hi)
		return v + d*(x-f.Hi)
	}
	t := (2*x - f.Lo - f.Hi) / (f.Hi - f.Lo)
	var b1, b2 float64
	for j := len(f.C) - 1; j > 0; j-- {
		b1, b2 = f.C[j]+2*t*b1-b2, b1
	}
	return f.C[0] + t*b1 - b2
}

// ValueSlope returns value and first derivative.
//
//   - in: x
//   - out: value, derivative with respect to x (constant outside [Lo, Hi])
//   - source: Clenshaw (1955), differentiated
func (f *Chebyshev) ValueSlope(x float64) (v, d float64) {
	xc := math.Max(f.Lo, math.Min(f.Hi, x))
	t := (2*xc - f.Lo - f.Hi) / (f.Hi - f.Lo)
	var b1, b2, d1, d2 float64
	for j := len(f.C) - 1; j > 0; j-- {
		d1, d2 = 2*b1+2*t*d1-d2, d1
		b1, b2 = f.C[j]+2*t*b1-b2, b1
	}
	v = f.C[0] + t*b1 - b2
	d = (b1 + t*d1 - d2) * 2 / (f.Hi - f.Lo)
	return v + d*(x-xc), d
}

// Chebyshev2 is a tensor series on a rectangle; C[i*NY+j] belongs to T_i(x) T_j(y).
type Chebyshev2 struct {
	XLo, XHi, YLo, YHi float64
	NX, NY             int
	C                  []float64
}

// FitChebyshev2 interpolates values at the tensor grid of Chebyshev nodes, z[i*ny+j] at (x_i, y_j).
//
//   - in: the rectangle, the numbers of nodes, the values
//   - out: the series
//   - source: definition
func FitChebyshev2(xlo, xhi, ylo, yhi float64, nx, ny int, z []float64) Chebyshev2 {
	c := make([]float64, nx*ny)
	for i := range nx {
		row := FitChebyshev(ylo, yhi, z[i*ny:(i+1)*ny])
		copy(c[i*ny:], row.C)
	}
	col := make([]float64, nx)
	for j := range ny {
		for i := range nx {
			col[i] = c[i*ny+j]
		}
		f := FitChebyshev(xlo, xhi, col)
		for i := range nx {
			c[i*ny+j] = f.C[i]
		}
	}
	return Chebyshev2{xlo, xhi, ylo, yhi, nx, ny, c}
}

// At evaluates the series at a point clamped to the rectangle, and its slope in y there.
//
//   - in: x, y
//   - out: value and ∂/∂y at the nearest point of the rectangle
//   - source: Clenshaw (1955) in both directions
//   - cost: NX·NY multiply-adds, no allocation
func (f *Chebyshev2) At(x, y float64) (v, dy float64) {
	x = math.Max(f.XLo, math.Min(f.XHi, x))
	y = math.Max(f.YLo, math.Min(f.YHi, y))
	s := (2*x - f.XLo - f.XHi) / (f.XHi - f.XLo)
	t := (2*y - f.YLo - f.YHi) / (f.YHi - f.YLo)
	var v1, v2, w1, w2 float64
	for i := f.NX - 1; i >= 0; i-- {
		row := f.C[i*f.NY : (i+1)*f.NY]
		var b1, b2, d1, d2 float64
		for j := len(row) - 1; j > 0; j-- {
			d1, d2 = 2*b1+2*t*d1-d2, d1
			b1, b2 = row[j]+2*t*b1-b2, b1
		}
		r, dr := row[0]+t*b1-b2, b1+t*d1-d2
		if i == 0 {
			return r + s*v1 - v2, (dr + s*w1 - w2) * 2 / (f.YHi - f.YLo)
		}
		v1, v2 = r+2*s*v1-v2, v1
		w1, w2 = dr+2*s*w1-w2, w1
	}
	return 0, 0
}

// Row contracts the series in x, leaving the coefficients of a series in y.
//
//   - in: x, clamped to the rectangle; dst with len NY
//   - out: dst
//   - source: Clenshaw (1955)
//   - cost: NX·NY multiply-adds, no allocation
func (f *Chebyshev2) Row(x float64, dst []float64) {
	x = math.Max(f.XLo, math.Min(f.XHi, x))
	s := (2*x - f.XLo - f.XHi) / (f.XHi - f.XLo)
	var b1, b2 [32]float64
	ny := f.NY
	for i := f.NX - 1; i > 0; i-- {
		row := f.C[i*ny : (i+1)*ny]
		for j, c := range row {
			b1[j], b2[j] = c+2*s*b1[j]-b2[j], b1[j]
		}
	}
	for j := range dst[:ny] {
		dst[j] = f.C[j] + s*b1[j] - b2[j]
	}
}
