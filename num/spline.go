package num

import "math"

// Spline is a cubic spline on equal cells of [Lo, Hi], twice continuously differentiable; beyond its ends it goes on
// along the tangent, and what is not a number stays that. The zero value is not usable; build it with [NewSpline].
type Spline struct {
	Lo, Hi float64
	n      int // cells
	inv    float64
	c      []float64 // four power coefficients a cell, in the cell's own coordinate 0 … 1
}

// bspline turns values at equal nodes into the coefficients of cubic B-splines: c[i] + 4 c[i+1] + c[i+2] = 6 y[i],
// with a third derivative that does not jump at the first and last inner node. y and c may have strides; work holds
// len(y) numbers.
func bspline(y []float64, strideY int, c []float64, strideC, n int, work []float64) {
	at := func(i int) float64 { return y[i*strideY] }
	set := func(i int, v float64) { c[i*strideC] = v }
	get := func(i int) float64 { return c[i*strideC] }
	set(2, (8*at(1)-at(0)-at(2))/6)
	set(n, (8*at(n-1)-at(n-2)-at(n))/6)
	// Tridiagonal for c[3] … c[n−1] by elimination.
	for i := 3; i < n; i++ {
		b, r := 4.0, 6*at(i-1)
		if i == 3 {
			r -= get(2)
		} else {
			b -= 1 / work[i-1]
			r -= get(i-1) / work[i-1]
		}
		if i == n-1 {
			r -= get(n)
		}
		work[i] = b
		set(i, r)
	}
	for i := n - 1; i >= 3; i-- {
		v := get(i)
		if i < n-1 {
			v -= get(i + 1)
		}
		set(i, v/work[i])
	}
	set(1, 6*at(1)-4*get(2)-get(3))
	set(0, 6*at(0)-4*get(1)-get(2))
	set(n+1, 6*at(n-1)-4*get(n)-get(n-1))
	set(n+2, 6*at(n)-4*get(n+1)-get(n))
}

// NewSpline interpolates values at equally spaced nodes.
//
//   - in: lo < hi; y, at least six values at lo … hi
//   - out: the spline through them, third derivative continuous at the first and last inner node
//   - source: de Boor (2001), A Practical Guide to Splines, ch. IV and XI; derivation for equal cells ours
//   - cost: linear in len(y); holds 32 bytes a cell
func NewSpline(lo, hi float64, y []float64) Spline {
	n := len(y) - 1
	c := make([]float64, n+3)
	bspline(y, 1, c, 1, n, make([]float64, n+1))
	s := Spline{Lo: lo, Hi: hi, n: n, inv: float64(n) / (hi - lo), c: make([]float64, 4*n)}
	for i := range n {
		a, b, d, e := c[i], c[i+1], c[i+2], c[i+3]
		p := s.c[4*i : 4*i+4]
		p[0], p[1], p[2], p[3] = (a+4*b+d)/6, (d-a)/2, (a-2*b+d)/2, (e-a)/6+(b-d)/2
	}
	return s
}

// At evaluates the spline.
//
//   - in: x
//   - out: value
//   - source: definition
//   - cost: one cell, no allocation
func (s *Spline) At(x float64) float64 {
	t := (x - s.Lo) * s.inv
	i := int(t)
	if t < 0 || uint(i) >= uint(s.n) { // not a number ends here too
		v, _ := s.ValueSlope(x)
		return v
	}
	u := t - float64(i)
	p := s.c[4*i : 4*i+4 : 4*i+4]
	return p[0] + u*(p[1]+u*(p[2]+u*p[3]))
}

// ValueSlope returns value and first derivative.
//
//   - in: x
//   - out: value, derivative with respect to x (constant beyond the ends)
//   - source: definition
func (s *Spline) ValueSlope(x float64) (v, d float64) {
	xc := math.Max(s.Lo, math.Min(s.Hi, x))
	t := (xc - s.Lo) * s.inv
	i := max(0, min(int(t), s.n-1))
	u := t - float64(i)
	p := s.c[4*i : 4*i+4 : 4*i+4]
	v = p[0] + u*(p[1]+u*(p[2]+u*p[3]))
	d = (p[1] + u*(2*p[2]+u*3*p[3])) * s.inv
	return v + d*(x-xc), d
}

// Curvature returns the second derivative; 0 beyond the ends.
//
//   - in: x
//   - out: d²/dx²
//   - source: definition
func (s *Spline) Curvature(x float64) float64 {
	if x < s.Lo || x > s.Hi {
		return 0
	}
	t := (x - s.Lo) * s.inv
	i := max(0, min(int(t), s.n-1))
	p := s.c[4*i : 4*i+4 : 4*i+4]
	return (2*p[2] + 6*(t-float64(i))*p[3]) * s.inv * s.inv
}

// Surfaces is three bicubic splines on equal cells of one rectangle, twice continuously differentiable: what a caller
// wants of a point is mostly all three, so their coefficients lie side by side. The zero value is not usable; build
// it with [NewSurfaces].
type Surfaces struct {
	XLo, XHi, YLo, YHi float64
	nx, ny             int
	invX, invY         float64
	row                int       // numbers in a row of coefficients
	c                  []float64 // (nx+3) rows of (ny+3) nodes of three
}

// NewSurfaces interpolates z[k][i*(ny+1)+j] at equally spaced nodes (x_i, y_j), nx·ny cells.
//
//   - in: the rectangle; at least five cells each way; three times (nx+1)(ny+1) values
//   - out: the splines
//   - source: tensor product of [NewSpline]
//   - cost: linear in the number of values; holds 24 bytes a node
func NewSurfaces(xlo, xhi, ylo, yhi float64, nx, ny int, z *[3][]float64) Surfaces {
	w := ny + 3
	s := Surfaces{
		XLo:  xlo,
		XHi:  xhi,
		YLo:  ylo,
		YHi:  yhi,
		nx:   nx,
		ny:   ny,
		invX: float64(nx) / (xhi - xlo),
		invY: float64(ny) / (yhi - ylo),
		row:  3 * w,
	}
	work := make([]float64, max(nx, ny)+1)
	rows := make([]float64, (nx+1)*w)
	s.c = make([]float64, (nx+3)*s.row)
	for k := range z {
		for i := range nx + 1 {
			bspline(z[k][i*(ny+1):], 1, rows[i*w:], 1, ny, work)
		}
		for j := range w {
			bspline(rows[j:], w, s.c[3*j+k:], s.row, nx, work)
		}
	}
	return s
}

// Place is a point inside a rectangle of cells: which cell, and the weights of its sixteen neighbours.
type Place struct {
	at         int     // first coefficient of the cell's row
	col        int     // and of its column, from there
	ux, uy     float64 // inside the cell, 0 … 1
	wx, wy     [4]float64
	offX, offY float64 // how far the asked point lies beyond the rectangle
}

// weights of the four B-splines over a cell, and their slopes, at u of it.
func weights(u float64, w *[4]float64) {
	const sixth = 1.0 / 6
	v := 1 - u
	uu, vv := u*u, v*v
	w[0], w[3] = vv*v*sixth, uu*u*sixth
	w[1], w[2] = (4+uu*(3*u-6))*sixth, (4+vv*(3*v-6))*sixth
}

func slopes(u, inv float64) [4]float64 {
	v := 1 - u
	return [4]float64{-0.5 * v * v * inv, u * (1.5*u - 2) * inv, -v * (1.5*v - 2) * inv, 0.5 * u * u * inv}
}

// Place finds the cell of (x, y), clamped to the rectangle.
//
//   - in: x, y
//   - out: p
//   - source: definition of the uniform cubic B-spline
//   - cost: no allocation
func (s *Surfaces) Place(p *Place, x, y float64) {
	xc := math.Max(s.XLo, math.Min(s.XHi, x))
	a := (xc - s.XLo) * s.invX
	i := max(0, min(int(a), s.nx-1))
	p.at, p.ux, p.offX = i*s.row, a-float64(i), x-xc
	weights(p.ux, &p.wx)
	s.MoveY(p, y)
}

// MoveY moves a place along y, keeping its x.
func (s *Surfaces) MoveY(p *Place, y float64) {
	b := (y - s.YLo) * s.invY
	j := int(b)
	p.offY = 0
	if b < 0 || uint(j) >= uint(s.ny) { // not a number ends here too
		yc := math.Max(s.YLo, math.Min(s.YHi, y))
		b = (yc - s.YLo) * s.invY
		j = max(0, min(int(b), s.ny-1))
		p.offY = y - yc
	}
	p.col, p.uy = 3*j, b-float64(j)
	weights(p.uy, &p.wy)
}

// Values evaluates all three at (x, y).
//
//   - in: x, y inside the rectangle
//   - out: the values; false, and nothing found, on its far edges, beyond it, or at what is not a number: there ask [Surfaces.At]
//   - source: definition
//   - cost: 48 coefficients in four stretches of memory, no allocation
func (s *Surfaces) Values(x, y float64) (a, b, c float64, inside bool) {
	t, u := (x-s.XLo)*s.invX, (y-s.YLo)*s.invY
	i, j := int(t), int(u)
	if !(t >= 0 && u >= 0) || uint(i) >= uint(s.nx) || uint(j) >= uint(s.ny) {
		return 0, 0, 0, false
	}
	var wx, wy [4]float64
	weights(t-float64(i), &wx)
	weights(u-float64(j), &wy)
	a, b, c = s.sum(i*s.row+3*j, &wx, &wy)
	return a, b, c, true
}

// sum is the sixteen neighbours of a cell by their weights.
func (s *Surfaces) sum(k int, wx, wy *[4]float64) (a, b, c float64) {
	y0, y1, y2, y3 := wy[0], wy[1], wy[2], wy[3]
	for _, w := range wx {
		n := (*[12]float64)(s.c[k:])
		a += w * (n[0]*y0 + n[3]*y1 + n[6]*y2 + n[9]*y3)
		b += w * (n[1]*y0 + n[4]*y1 + n[7]*y2 + n[10]*y3)
		c += w * (n[2]*y0 + n[5]*y1 + n[8]*y2 + n[11]*y3)
		k += s.row
	}
	return a, b, c
}

// All evaluates all three at a place; beyond the rectangle they go on along the tangent planes of the nearest point.
//
//   - in: a place in the same rectangle and cells
//   - out: the values
//   - source: definition
//   - cost: as [Surfaces.Values] inside
func (s *Surfaces) All(p *Place) (a, b, c float64) {
	if p.offX == 0 && p.offY == 0 {
		return s.sum(p.at+p.col, &p.wx, &p.wy)
	}
	a, _, _ = s.At(0, p)
	b, _, _ = s.At(1, p)
	c, _, _ = s.At(2, p)
	return a, b, c
}

// At evaluates one of the three at a place; beyond the rectangle it goes on along the tangent plane of the nearest point.
//
//   - in: which, 0 to 2; a place in the same rectangle and cells
//   - out: value, ∂/∂x, ∂/∂y
//   - source: definition
//   - cost: 16 coefficients, no allocation
func (s *Surfaces) At(which int, p *Place) (v, dx, dy float64) {
	sx, sy := slopes(p.ux, s.invX), slopes(p.uy, s.invY)
	k := p.at + p.col + which
	for i := range 4 {
		c := (*[10]float64)(s.c[k:])
		r := c[0]*p.wy[0] + c[3]*p.wy[1] + c[6]*p.wy[2] + c[9]*p.wy[3]
		v += p.wx[i] * r
		dx += sx[i] * r
		dy += p.wx[i] * (c[0]*sy[0] + c[3]*sy[1] + c[6]*sy[2] + c[9]*sy[3])
		k += s.row
	}
	return v + dx*p.offX + dy*p.offY, dx, dy
}

// Along is [Surfaces.At] without the slope in x, for a place moved along y inside its x.
func (s *Surfaces) Along(which int, p *Place) (v, dy float64) {
	if p.offX != 0 {
		v, _, dy = s.At(which, p)
		return v, dy
	}
	sy := slopes(p.uy, s.invY)
	k := p.at + p.col + which
	for _, w := range p.wx {
		c := (*[10]float64)(s.c[k:])
		v += w * (c[0]*p.wy[0] + c[3]*p.wy[1] + c[6]*p.wy[2] + c[9]*p.wy[3])
		dy += w * (c[0]*sy[0] + c[3]*sy[1] + c[6]*sy[2] + c[9]*sy[3])
		k += s.row
	}
	return v + dy*p.offY, dy
}

// Curvatures returns the second derivatives of one of the three at a place inside the rectangle.
//
//   - in: which, 0 to 2; a place in the same rectangle and cells
//   - out: ∂²/∂x², ∂²/∂x∂y, ∂²/∂y²
//   - source: definition
func (s *Surfaces) Curvatures(which int, p *Place) (xx, xy, yy float64) {
	second := func(u, inv float64) [4]float64 {
		q := inv * inv
		return [4]float64{(1 - u) * q, (3*u - 2) * q, (1 - 3*u) * q, u * q}
	}
	ex, ey := second(p.ux, s.invX), second(p.uy, s.invY)
	sx, sy := slopes(p.ux, s.invX), slopes(p.uy, s.invY)
	k := p.at + p.col + which
	for i := range 4 {
		c := (*[10]float64)(s.c[k:])
		var r, rd, rdd float64
		for j := range 4 {
			r += c[3*j] * p.wy[j]
			rd += c[3*j] * sy[j]
			rdd += c[3*j] * ey[j]
		}
		xx += ex[i] * r
		xy += sx[i] * rd
		yy += p.wx[i] * rdd
		k += s.row
	}
	return xx, xy, yy
}
