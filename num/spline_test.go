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
		if math.Abs(v-f(x)) > 1e-13 || math.Abs(s.At(x)-f(x)) > 1e-13 || math.Abs(d-(-1+x-0.75*x*x)) > 1e-12 || math.Abs(s.Curvature(x)-(1-1.5*x)) > 1e-11 {
			t.Fatalf("at %g: %.15g, %.15g, %.15g", x, v-f(x), d-(-1+x-0.75*x*x), s.Curvature(x)-(1-1.5*x))
		}
	}
	if v := s.At(3); math.Abs(v-(f(2)+(-1+2-3.0)*1)) > 1e-12 {
		t.Errorf("beyond the end %g, not along the tangent", v)
	}
}

// The error falls with the fourth power of the cell: 1/384 h⁴ max|f⁗| inside. Source: Hall and Meyer (1976), J. Approx. Theory 16:105-122, from memory.
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

func TestSpline2_BicubicIsExact(t *testing.T) {
	f := func(x, y float64) float64 { return (1 + x - 0.3*x*x*x) * (2 - y*y + 0.1*y*y*y) }
	const nx, ny = 7, 6
	z := make([]float64, (nx+1)*(ny+1))
	for i := range nx + 1 {
		for j := range ny + 1 {
			z[i*(ny+1)+j] = f(float64(i)/nx*2-1, float64(j)/ny*3)
		}
	}
	s := NewSpline2(-1, 1, 0, 3, nx, ny, z)
	rng := rand.New(rand.NewPCG(1, 2))
	for range 500 {
		x, y := 2*rng.Float64()-1, 3*rng.Float64()
		p := s.Place(x, y)
		v, dx, dy := s.At(&p)
		xx, xy, yy := s.Curvatures(&p)
		X, Y := 1+x-0.3*x*x*x, 2-y*y+0.1*y*y*y
		X1, Y1 := 1-0.9*x*x, -2*y+0.3*y*y
		for _, c := range [][2]float64{{v, X * Y}, {s.Value(&p), X * Y}, {dx, X1 * Y}, {dy, X * Y1}, {xx, -1.8 * x * Y}, {xy, X1 * Y1}, {yy, X * (-2 + 0.6*y)}} {
			if math.Abs(c[0]-c[1]) > 1e-11 {
				t.Fatalf("at %g, %g: %.12g, not %.12g", x, y, c[0], c[1])
			}
		}
	}
	p := s.Place(0.3, 4)
	if v, _, dy := s.At(&p); math.Abs(v-(f(0.3, 3)+dy)) > 1e-11 {
		t.Error("beyond the edge it does not follow the tangent")
	}
}

// Solvers step anywhere: nothing may panic, and not-a-number comes out as that.
func TestSpline_Anywhere(t *testing.T) {
	s := NewSpline(0, 1, []float64{0, 1, 4, 9, 16, 25})
	z := make([]float64, 36)
	s2 := NewSpline2(0, 1, 0, 1, 5, 5, z)
	for _, x := range []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1e300, 1e300, -1e-300, math.Nextafter(1, 0), 1} {
		v, d := s.ValueSlope(x)
		p := s2.Place(x, 0.5)
		w, _, _ := s2.At(&p)
		p = s2.Place(0.5, x)
		u, _, _ := s2.At(&p)
		if a := s.At(x); math.IsNaN(x) != math.IsNaN(a) || math.IsNaN(x) != math.IsNaN(v) || math.IsNaN(d) && !math.IsNaN(x) {
			t.Errorf("at %g: %g, %g, %g", x, a, v, d)
		}
		if math.IsNaN(x) && !(math.IsNaN(w) && math.IsNaN(u)) {
			t.Errorf("two variables at %g: %g, %g", x, w, u)
		}
		s.Curvature(x)
		s2.Curvatures(&p)
	}
}
