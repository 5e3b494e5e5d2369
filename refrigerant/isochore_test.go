package refrigerant

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/diff/fd"

	"coldwright/refrigerant/internal/eos"
)

// TestIsochore_Derivatives: gradient, Hessian and temperature derivatives of the mixture against differences, and the
// pressure from them against the pressure of the fixed-composition formula.
func TestIsochore_Derivatives(t *testing.T) {
	for _, name := range []string{"R-134a", "R-448A", "R-455A", "R-407C", "R-404A"} {
		r := mustLoad(t, name)
		n := r.m.N
		for _, c := range []struct{ T, rho float64 }{{250, 12000}, {300, 300}, {330, 4000}} {
			dens := make([]float64, n)
			for i := range n {
				dens[i] = r.z[i] * c.rho
			}
			var o eos.Isochoric
			r.m.Isochore(c.T, dens, &o)
			p := r.m.R * c.T * (c.rho - o.Psi)
			for i := range n {
				p += r.m.R * c.T * dens[i] * o.G[i]
			}
			if want := r.m.At(r.z, c.T, c.rho).P; math.Abs(p-want) > 1e-9*math.Abs(c.rho*r.m.R*c.T) {
				t.Errorf("%s: pressure %.12g, want %.12g", name, p, want)
			}
			set := &fd.Settings{Formula: fd.Central, Step: 1e-3}
			psi := func(x []float64) float64 { var q eos.Isochoric; r.m.Isochore(c.T, x, &q); return q.Psi }
			grad := fd.Gradient(nil, psi, dens, set)
			for i := range n {
				if math.Abs(grad[i]-o.G[i]) > 1e-5*math.Max(1, math.Abs(o.G[i])) {
					t.Errorf("%s gradient %d: %.10g, differences %.10g", name, i, o.G[i], grad[i])
				}
				for j := range n {
					d := fd.Derivative(func(x float64) float64 {
						y := append([]float64{}, dens...)
						y[j] = x
						var q eos.Isochoric
						r.m.Isochore(c.T, y, &q)
						return q.G[i]
					}, dens[j], set)
					if math.Abs(d-o.H[i][j]) > 1e-5*(math.Abs(o.H[i][j])+1e-4) {
						t.Errorf("%s Hessian %d %d: %.10g, differences %.10g", name, i, j, o.H[i][j], d)
					}
				}
				d := fd.Derivative(
					func(x float64) float64 { var q eos.Isochoric; r.m.Isochore(x, dens, &q); return q.G[i] },
					c.T,
					&fd.Settings{Formula: fd.Central, Step: 1e-3},
				)
				if math.Abs(d-o.GT[i]) > 1e-6*(math.Abs(o.GT[i])+1e-3) {
					t.Errorf("%s temperature derivative %d: %.10g, differences %.10g", name, i, o.GT[i], d)
				}
			}
		}
	}
}
