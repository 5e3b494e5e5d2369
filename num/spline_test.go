package num

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A cubic is its own not-a-knot spline. Source: definition.
func TestSpline_CubicIsExact(t *testing.T) {
	f := func(x float64) float64 { return 2 - x + 0.5*x*x - 0.25*x*x*x }
	y := make([]float64, 9)
	for i := range y {
		y[i] = f(-1 + 3*float64(i)/8)
	}
	s := NewSpline(-1, 2, y)
	for x := -1.0; x <= 2; x += 0.0371 {
		v, d := s.ValueSlope(x)
		if math.Abs(v-f(x)) > 1e-13 || math.Abs(s.At(x)-f(x)) > 1e-13 || math.Abs(d-(-1+x-0.75*x*x)) > 1e-12 ||
			math.Abs(s.Curvature(x)-(1-1.5*x)) > 1e-11 {
			t.Fatalf("at %g: %.15g, %.15g, %.15g", x, v-f(x), d-(-1+x-0.75*x*x), s.Curvature(x)-(1-1.5*x))
		}
	}
	if v := s.At(3); math.Abs(v-(f(2)+(-1+2-3.0)*1)) > 1e-12 {
		t.Errorf("beyond the end %g, not along the tangent", v)
	}
}

// The error falls with the fourth power of the cell: 1/384 h⁴ max|f⁗| inside. Source: Hall and Meyer (1976), J.
// Approx. Theory 16:105-122, from memory.
func TestSpline_FourthOrder(t *testing.T) {
	worst := func(n int) (w float64) {
		y := make([]float64, n+1)
		for i := range y {
			y[i] = math.Sin(3 * float64(i) / float64(n))
		}
		s := NewSpline(0, 3, y)
		for x := 0.0; x <= 3; x += 0.001 {
			w = math.Max(w, math.Abs(s.At(x)-math.Sin(x)))
		}
		return w
	}
	a, b := worst(24), worst(48)
	if r := a / b; r < 12 || r > 40 {
		t.Errorf("halving the cells divides the error by %.1f, not about 16", r)
	}
}

// A bicubic is its own not-a-knot spline, whichever of the three it is. Source: definition.
func TestSurfaces_BicubicIsExact(t *testing.T) {
	X := func(x float64) (v, d, dd float64) { return 1 + x - 0.3*x*x*x, 1 - 0.9*x*x, -1.8 * x }
	Y := func(k int, y float64) (v, d, dd float64) {
		a := float64(k) - 0.5
		return 2 - y*y + a*y*y*y, -2*y + 3*a*y*y, -2 + 6*a*y
	}
	const nx, ny = 7, 6
	var z [3][]float64
	for k := range z {
		for i := range nx + 1 {
			for j := range ny + 1 {
				a, _, _ := X(float64(i)/nx*2 - 1)
				b, _, _ := Y(k, float64(j)/ny*3)
				z[k] = append(z[k], a*b)
			}
		}
	}
	s := NewSurfaces(-1, 1, 0, 3, nx, ny, &z)
	rng := rand.New(rand.NewPCG(1, 2))
	var p Place
	for range 500 {
		x, y := 2*rng.Float64()-1, 3*rng.Float64()
		s.Place(&p, x, y)
		var values, all [3]float64
		var inside bool
		values[0], values[1], values[2], inside = s.Values(x, y)
		all[0], all[1], all[2] = s.All(&p)
		if !inside {
			t.Fatalf("%g, %g is not inside", x, y)
		}
		for k := range 3 {
			v, dx, dy := s.At(k, &p)
			w, dw := s.Along(k, &p)
			xx, xy, yy := s.Curvatures(k, &p)
			X, X1, X2 := X(x)
			Y, Y1, Y2 := Y(k, y)
			for _, c := range [][2]float64{
				{v, X * Y},
				{w, X * Y},
				{values[k], X * Y},
				{all[k], X * Y},
				{dx, X1 * Y},
				{dy, X * Y1},
				{dw, X * Y1},
				{xx, X2 * Y},
				{xy, X1 * Y1},
				{yy, X * Y2},
			} {
				if math.Abs(c[0]-c[1]) > 1e-11*(1+math.Abs(c[1])) {
					t.Fatalf("surface %d at %g, %g: %.12g, not %.12g", k, x, y, c[0], c[1])
				}
			}
		}
	}
	// Beyond the edges: along the tangents, in one direction and in both.
	for k := range 3 {
		x0, _, _ := X(0.3)
		y0, y1, _ := Y(k, 3)
		s.Place(&p, 0.3, 4)
		v, _, _ := s.At(k, &p)
		w, _ := s.Along(k, &p)
		var all [3]float64
		all[0], all[1], all[2] = s.All(&p)
		for _, v := range []float64{v, w, all[k]} {
			if math.Abs(v-x0*(y0+y1)) > 1e-11*math.Abs(x0*(y0+y1)) {
				t.Errorf("surface %d beyond the edge: %g, not %g", k, v, x0*(y0+y1))
			}
		}
		s.Place(&p, 2, 4)
		x0, x1, _ := X(1)
		w, _ = s.Along(k, &p)
		if want := x0*y0 + x1*y0 + x0*y1; math.Abs(w-want) > 1e-11*math.Abs(want) {
			t.Errorf("surface %d beyond the corner: %g, not %g", k, w, want)
		}
	}
}

// Solvers step anywhere: nothing may panic, and not-a-number comes out as that.
func TestSpline_Anywhere(t *testing.T) {
	s := NewSpline(0, 1, []float64{0, 1, 4, 9, 16, 25})
	z := make([]float64, 36)
	s2 := NewSurfaces(0, 1, 0, 1, 5, 5, &[3][]float64{z, z, z})
	var p, q Place
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1e300, 1e300, -1e-300, math.Nextafter(1, 0), 1} {
		v, d := s.ValueSlope(x)
		s2.Place(&p, x, 0.5)
		w, _, _ := s2.At(0, &p)
		s2.Place(&q, 0.5, x)
		u, _ := s2.Along(1, &q)
		if _, _, _, inside := s2.Values(x, 0.5); inside != (x >= 0 && x < 1) {
			t.Errorf("%g counts as inside: %v", x, inside)
		}
		if _, _, _, inside := s2.Values(0.5, x); inside != (x >= 0 && x < 1) {
			t.Errorf("%g counts as inside: %v", x, inside)
		}
		if a := s.At(x); math.IsNaN(x) != math.IsNaN(a) || math.IsNaN(x) != math.IsNaN(v) || math.IsNaN(d) && !math.IsNaN(x) {
			t.Errorf("at %g: %g, %g, %g", x, a, v, d)
		}
		if math.IsNaN(x) && !(math.IsNaN(w) && math.IsNaN(u)) {
			t.Errorf("two variables at %g: %g, %g", x, w, u)
		}
		s.Curvature(x)
		s2.Curvatures(2, &p)
	}
}
