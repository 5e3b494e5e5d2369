package num

import (
	"errors"
	"math"
	"testing"
)

func TestBrent_Roots(t *testing.T) {
	// Roots known in closed form.
	for _, c := range []struct {
		f          func(float64) float64
		a, b, want float64
	}{
		{func(x float64) float64 { return x*x - 2 }, 0, 2, math.Sqrt2},
		{math.Cos, 1, 2, math.Pi / 2},
		{func(x float64) float64 { return math.Exp(x) - 3 }, -5, 5, math.Log(3)},
		{func(x float64) float64 { return x }, -1, 0, 0},
	} {
		x, s, err := Brent(c.f, c.a, c.b, 1e-13)
		if err != nil || !s.Status.OK() || math.Abs(x-c.want) > 1e-12 {
			t.Errorf("root in [%g, %g]: got %.15g (%v, %v), want %.15g", c.a, c.b, x, s.Status, err, c.want)
		}
	}
	_, _, err := Brent(func(x float64) float64 { return x*x + 1 }, -1, 1, 1e-9)
	var n *NoConvergence
	if !errors.As(err, &n) {
		t.Errorf("no sign change: got %v, want *NoConvergence", err)
	}
}

func TestChebyshev_PolynomialExact(t *testing.T) {
	// A polynomial of degree below the number of nodes is reproduced exactly (identity).
	f := func(x float64) float64 { return 3 - 2*x + 0.5*x*x*x }
	df := func(x float64) float64 { return -2 + 1.5*x*x }
	nodes := ChebyshevNodes(6, -1, 4)
	y := make([]float64, len(nodes))
	for i, x := range nodes {
		y[i] = f(x)
	}
	c := FitChebyshev(-1, 4, y)
	for x := -1.0; x <= 4; x += 0.37 {
		v, d := c.ValueSlope(x)
		if math.Abs(v-f(x)) > 1e-12 || math.Abs(d-df(x)) > 1e-11 || math.Abs(c.At(x)-v) > 1e-12 {
			t.Errorf("at %g: %g, %g want %g, %g", x, v, d, f(x), df(x))
		}
	}
	if got, want := c.At(5), f(4)+df(4); math.Abs(got-want) > 1e-10 {
		t.Errorf("beyond the edge: %g, want the tangent's %g", got, want)
	}
}

func TestChebyshev2_PolynomialExact(t *testing.T) {
	f := func(x, y float64) float64 { return 1 + x*y - 2*x*x*y + y*y*y }
	dy := func(x, y float64) float64 { return x - 2*x*x + 3*y*y }
	xs, ys := ChebyshevNodes(4, 0, 2), ChebyshevNodes(5, -3, 1)
	z := make([]float64, 20)
	for i, x := range xs {
		for j, y := range ys {
			z[i*5+j] = f(x, y)
		}
	}
	c := FitChebyshev2(0, 2, -3, 1, 4, 5, z)
	for x := 0.0; x <= 2; x += 0.31 {
		for y := -3.0; y <= 1; y += 0.43 {
			v, d := c.At(x, y)
			if math.Abs(v-f(x, y)) > 1e-11 || math.Abs(d-dy(x, y)) > 1e-10 {
				t.Errorf("at %g, %g: %g, %g want %g, %g", x, y, v, d, f(x, y), dy(x, y))
			}
		}
	}
}

func TestSolveDense_Residual(t *testing.T) {
	a := []float64{0, 2, 1, 1, -2, -3, -1, 1, 2}
	b := []float64{-8, 0, 3}
	aa, x := append([]float64{}, a...), append([]float64{}, b...)
	if !SolveDense(3, aa, x) {
		t.Fatal("singular")
	}
	for i := range 3 {
		s := 0.0
		for j := range 3 {
			s += a[i*3+j] * x[j]
		}
		if math.Abs(s-b[i]) > 1e-12 {
			t.Errorf("row %d: %g, want %g", i, s, b[i])
		}
	}
	if SolveDense(2, []float64{1, 2, 2, 4}, []float64{1, 2}) {
		t.Error("a singular matrix was solved")
	}
}

func TestCholesky_Residual(t *testing.T) {
	a := []float64{4, 2, 0.6, 2, 5, 1, 0.6, 1, 3}
	l, x := append([]float64{}, a...), []float64{1, 2, 3}
	if !Cholesky(3, l) {
		t.Fatal("not positive definite")
	}
	CholeskySolve(3, l, x)
	for i, want := range []float64{1, 2, 3} {
		s := 0.0
		for j := range 3 {
			s += a[i*3+j] * x[j]
		}
		if math.Abs(s-want) > 1e-12 {
			t.Errorf("row %d: %g, want %g", i, s, want)
		}
	}
	if Cholesky(2, []float64{1, 2, 2, 1}) {
		t.Error("an indefinite matrix was factored")
	}
}
