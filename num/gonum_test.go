package num

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/diff/fd"
	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

// The tools of this package are written for the stack and for hot loops. Each is held here against the library that
// everybody else uses, on matrices and functions drawn at random.

// wellPosed draws a matrix with a condition number that leaves digits to compare.
func wellPosed(rng *rand.Rand, n int) []float64 {
	for {
		a := make([]float64, n*n)
		for i := range a {
			a[i] = rng.NormFloat64()
		}
		if mat.Cond(mat.NewDense(n, n, append([]float64{}, a...)), 2) < 1e4 {
			return a
		}
	}
}

func TestSolveDense_AgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 3))
	for n := 1; n <= 17; n++ {
		for range 20 {
			a, b := wellPosed(rng, n), make([]float64, n)
			for i := range b {
				b[i] = rng.NormFloat64()
			}
			var want mat.VecDense
			if err := want.SolveVec(mat.NewDense(n, n, append([]float64{}, a...)), mat.NewVecDense(n, append([]float64{}, b...))); err != nil {
				t.Fatal(err)
			}
			if !SolveDense(n, a, b) {
				t.Fatalf("%d equations: called singular", n)
			}
			for i := range b {
				// Condition 1e4 at most: twelve digits of the largest are left.
				if math.Abs(b[i]-want.AtVec(i)) > 1e-11*mat.Norm(&want, math.Inf(1)) {
					t.Errorf("%d equations, unknown %d: %.15g, gonum %.15g", n, i, b[i], want.AtVec(i))
				}
			}
		}
	}
}

func TestCholesky_AgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 8))
	for n := 1; n <= 12; n++ {
		for range 20 {
			g := wellPosed(rng, n)
			sym := mat.NewSymDense(n, nil)
			a := make([]float64, n*n)
			for i := range n {
				for j := range n {
					for k := range n {
						a[i*n+j] += g[i*n+k] * g[j*n+k]
					}
					if j >= i {
						sym.SetSym(i, j, a[i*n+j])
					}
				}
			}
			var c mat.Cholesky
			if !c.Factorize(sym) {
				t.Fatal("gonum finds no factor")
			}
			var l mat.TriDense
			c.LTo(&l)
			if !Cholesky(n, a) {
				t.Fatal("not positive definite")
			}
			b, x := mat.NewVecDense(n, nil), make([]float64, n)
			for i := range n {
				x[i] = rng.NormFloat64()
				b.SetVec(i, x[i])
				for j := range i + 1 {
					if d := a[i*n+j] - l.At(i, j); math.Abs(d) > 1e-10*mat.Norm(&l, 2) {
						t.Errorf("factor %d %d: %.12g, gonum %.12g", i, j, a[i*n+j], l.At(i, j))
					}
				}
			}
			var want mat.VecDense
			if err := c.SolveVecTo(&want, b); err != nil {
				t.Fatal(err)
			}
			CholeskySolve(n, a, x)
			for i := range n {
				// The square of the condition of g, 1e8: seven digits and a half are left.
				if math.Abs(x[i]-want.AtVec(i)) > 1e-7*mat.Norm(&want, math.Inf(1)) {
					t.Errorf("unknown %d: %.12g, gonum %.12g", i, x[i], want.AtVec(i))
				}
			}
		}
	}
}

// Our spline is the not-a-knot cubic spline of equal cells.
func TestSpline_AgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 9))
	for _, n := range []int{6, 7, 20, 97} {
		lo, hi := -1.5, 4.0
		x, y := make([]float64, n), make([]float64, n)
		for i := range x {
			x[i] = lo + (hi-lo)*float64(i)/float64(n-1)
			y[i] = rng.NormFloat64()
		}
		var want interp.NotAKnotCubic
		if err := want.Fit(x, y); err != nil {
			t.Fatal(err)
		}
		s := NewSpline(lo, hi, y)
		for range 300 {
			at := lo + (hi-lo)*rng.Float64()
			v, d := s.ValueSlope(at)
			w, wd := want.Predict(at), want.PredictDerivative(at)
			if math.Abs(v-w) > 1e-11 || math.Abs(s.At(at)-w) > 1e-11 || math.Abs(d-wd) > 1e-9 {
				t.Errorf("%d nodes at %g: %.13g slope %.13g, gonum %.13g slope %.13g", n, at, v, d, w, wd)
			}
		}
	}
}

// Surfaces are the same spline in both directions: along each line of nodes they are gonum's.
func TestSurfaces_AgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 4))
	const nx, ny = 9, 11
	var z [3][]float64
	for k := range z {
		for range (nx + 1) * (ny + 1) {
			z[k] = append(z[k], rng.NormFloat64())
		}
	}
	s := NewSurfaces(0, 1, -2, 3, nx, ny, &z)
	node := func(lo, hi float64, i, n int) float64 { return lo + (hi-lo)*float64(i)/float64(n) }
	for k := range z {
		// Between the lines: spline along x of the values of the splines along y.
		y := -2 + 5*rng.Float64()
		xs, column := make([]float64, nx+1), make([]float64, nx+1)
		for i := range xs {
			xs[i] = node(0, 1, i, nx)
			ys := make([]float64, ny+1)
			for j := range ys {
				ys[j] = node(-2, 3, j, ny)
			}
			var row interp.NotAKnotCubic
			if err := row.Fit(ys, z[k][i*(ny+1):(i+1)*(ny+1)]); err != nil {
				t.Fatal(err)
			}
			column[i] = row.Predict(y)
		}
		var along interp.NotAKnotCubic
		if err := along.Fit(xs, column); err != nil {
			t.Fatal(err)
		}
		for range 50 {
			x := rng.Float64()
			var p Place
			s.Place(&p, x, y)
			v, dx, dy := s.At(k, &p)
			slope := fd.Derivative(func(u float64) float64 {
				var q Place
				s.Place(&q, x, u)
				w, _, _ := s.At(k, &q)
				return w
			}, y, &fd.Settings{Formula: fd.Central, Step: 1e-5})
			if math.Abs(v-along.Predict(x)) > 1e-11 || math.Abs(dx-along.PredictDerivative(x)) > 1e-9 || math.Abs(dy-slope) > 1e-6 {
				t.Errorf("surface %d at %g, %g: %.12g, gonum %.12g", k, x, y, v, along.Predict(x))
			}
		}
	}
}

// Clenshaw's recurrence against the sum of cosines that defines the series.
func TestChebyshev_Definition(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 30).Draw(t, "n")
		c := Chebyshev{Lo: -3, Hi: 2}
		for range n {
			c.C = append(c.C, rapid.Float64Range(-1, 1).Draw(t, "c"))
		}
		x := rapid.Float64Range(-2.9, 1.9).Draw(t, "x")
		sum := 0.0
		for j, a := range c.C {
			sum += a * math.Cos(float64(j)*math.Acos((2*x+1)/5))
		}
		v, d := c.ValueSlope(x)
		if math.Abs(c.At(x)-sum) > 1e-12*float64(n) || math.Abs(v-sum) > 1e-12*float64(n) {
			t.Fatalf("at %g: %.14g and %.14g, the sum is %.14g", x, c.At(x), v, sum)
		}
		want := fd.Derivative(c.At, x, &fd.Settings{Formula: fd.Central, Step: 1e-6})
		if math.Abs(d-want) > 1e-6*float64(n*n) {
			t.Fatalf("slope at %g: %.10g, differences %.10g", x, d, want)
		}
	})
}

func TestNormal_AgainstGonum(t *testing.T) {
	u := distuv.UnitNormal
	for z := -8.0; z <= 8; z += 0.37 {
		if got, want := NormalCDF(z), u.CDF(z); math.Abs(got-want) > 1e-13*want {
			t.Errorf("share below %g: %.16g, gonum %.16g", z, got, want)
		}
	}
	for _, p := range []float64{1e-12, 1e-6, 0.001, 0.05, 0.1, 0.25, 0.5, 0.9, 0.975, 0.999999} {
		got, want := NormalQuantile(p), u.Quantile(p)
		if math.Abs(got-want) > 1e-9*(1+math.Abs(want)) || math.Abs(NormalCDF(got)/p-1) > 1e-12 {
			t.Errorf("quantile %g: %.14g, gonum %.14g", p, got, want)
		}
	}
	for half, p := range map[float64]float64{Normal90: 0.95, Normal95: 0.975} {
		if math.Abs(half-u.Quantile(p)) > 1e-12 {
			t.Errorf("half width %.16g, gonum %.16g", half, u.Quantile(p))
		}
	}
	if !math.IsInf(NormalQuantile(0), -1) || !math.IsInf(NormalQuantile(1), 1) || !math.IsNaN(NormalQuantile(1.1)) {
		t.Error("the ends")
	}
}

// Brent finds the root of any rising cubic, at most to its tolerance away, and never leaves the bracket.
func TestBrent_RisingCubics(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Float64Range(-2, 3).Draw(t, "root")
		a, b := rapid.Float64Range(0.1, 5).Draw(t, "a"), rapid.Float64Range(0, 5).Draw(t, "b")
		lo, hi := r-rapid.Float64Range(0, 4).Draw(t, "left"), r+rapid.Float64Range(0, 4).Draw(t, "right")
		f := func(x float64) float64 {
			if x < lo || x > hi {
				t.Fatalf("asked at %g, outside %g to %g", x, lo, hi)
			}
			return (x - r) * (a + b*(x-r)*(x-r))
		}
		x, s, err := Brent(f, lo, hi, 1e-10)
		if err != nil || !s.Status.OK() || math.Abs(x-r) > 1.1e-10 {
			t.Fatalf("%g (%v, %v), want %g", x, s.Status, err, r)
		}
	})
}
