package eos

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func TestSmallestEigen_AgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	for n := 1; n <= MaxN; n++ {
		for range 50 {
			a := make([]float64, n*n)
			for i := range n {
				for j := range i + 1 {
					a[i*n+j] = rng.NormFloat64()
					a[j*n+i] = a[i*n+j]
				}
			}
			var want mat.EigenSym
			if !want.Factorize(mat.NewSymDense(n, append([]float64{}, a...)), true) {
				t.Fatal("gonum finds no eigenvalues")
			}
			m := append([]float64{}, a...)
			l, u := smallestEigen(n, m)
			if d := l - want.Values(nil)[0]; math.Abs(d) > 1e-12 {
				t.Errorf("%d: %.15g, gonum %.15g", n, l, want.Values(nil)[0])
			}
			// The vector: a u = λ u, of length one.
			length := 0.0
			for i := range n {
				s := 0.0
				for j := range n {
					s += a[i*n+j] * u[j]
				}
				length += u[i] * u[i]
				if math.Abs(s-l*u[i]) > 1e-12 {
					t.Errorf("%d: row %d of a u is %.12g, λ u %.12g", n, i, s, l*u[i])
				}
			}
			if math.Abs(length-1) > 1e-12 {
				t.Errorf("%d: the vector has length %g", n, math.Sqrt(length))
			}
		}
	}
}
