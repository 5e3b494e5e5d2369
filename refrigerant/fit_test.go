package refrigerant

import (
	"math"
	"testing"
)

// TestFit_Error: the fit against the equation between its nodes, for every designation that has one.
func TestFit_Error(t *testing.T) {
	var names []string
	names = append(names, Designations()...)
	if testing.Short() {
		names = []string{
			"R-404A", "R-507A", "R-134a", "R-22", "R-410A", "R-32", "R-290", "R-600a", "R-744", "R-1234yf", "R-407A", "R-407C", "R-407F",
			"R-448A", "R-449A", "R-452A", "R-454A", "R-454C", "R-455A", "R-513A",
		}
	}
	for _, n := range names {
		f, err := mustLoad(t, n).Fit()
		if err != nil {
			t.Error(err)
			continue
		}
		e, err := f.MaxError(200)
		if err != nil {
			t.Error(err)
			continue
		}
		if e.Exceeds(StatedFitError()) {
			t.Errorf("%s: %.1e K, pressure %.1e, h %.1f J/kg, s %.2g J/(kg K), rho %.1e, p-h %.1e K", n, e.T, e.P, e.H, e.S, e.Rho, e.PH)
		}
		lo, hi := f.PRange()
		for _, p := range []float64{lo, 1.3 * lo, math.Sqrt(lo * hi), 0.98 * hi} {
			if d := f.DewT(f.DewP(p))/p - 1; math.Abs(d) > 1e-6 {
				t.Errorf("%s: dew at %g Pa does not invert: %g", n, p, d)
			}
			T := f.DewP(p) + 23
			_, h, s := f.Vapour(p, T)
			if t2, h2 := f.VapourPS(p, s); math.Abs(t2-T) > 1e-6 || math.Abs(h2-h) > 1e-2 {
				t.Errorf("%s: p-s gives %g K, want %g", n, t2, T)
			}
			if t2, _, _ := f.VapourPH(p, h); math.Abs(t2-T) > 5e-3 {
				t.Errorf("%s: p-h gives %g K, want %g", n, t2, T)
			}
		}
		for _, p := range []float64{1, lo / 50, hi * 3} {
			if v := f.DewP(p); math.IsNaN(v) || math.IsInf(v, 0) {
				t.Errorf("%s: dew at %g Pa is %g", n, p, v)
			}
		}
	}
}

// TestFit_Derivatives: heat capacity and its kin against the equation's own analytic derivatives, second derivatives
// against differences of first ones. Source: definitions; the isothermal slope of enthalpy is v − T(∂v/∂T)_p.
func TestFit_Derivatives(t *testing.T) {
	for _, name := range []string{"R-134a", "R-448A", "R-744"} {
		r := mustLoad(t, name)
		f, err := r.Fit()
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := f.PRange()
		for _, p := range []float64{2 * lo, math.Sqrt(lo * hi), 0.7 * hi} {
			for _, sh := range []float64{4, 25, 90} {
				T := f.DewP(p) + sh
				if T > r.Limits().TMax {
					continue
				}
				s, err := r.StatePT(p, T, Options{})
				if err != nil {
					t.Fatal(err)
				}
				e, g := f.VapourH(p, T), f.VapourLnRho(p, T)
				near := func(what string, got, want, rel float64) {
					t.Helper()
					if math.Abs(got-want) > rel*math.Abs(want) {
						t.Errorf("%s at %.4g Pa, %.1f K above dew: %s %.8g, want %.8g", name, p, sh, what, got, want)
					}
				}
				near("h", e.Value, s.H, 1e-5)
				near("cp", e.T, s.Cp, 1e-3)
				near("ln rho", g.Value, math.Log(s.Rho), 1e-5)
				near("dh/dp", e.P, (1+T*g.T)/s.Rho, 2e-2) // v − T ∂v/∂T = v (1 + T ∂lnρ/∂T)
				const dT = 1e-3
				dp := 1e-6 * p
				up, down := f.VapourH(p, T+dT), f.VapourH(p, T-dT)
				near("h_TT", e.TT, (up.T-down.T)/(2*dT), 1e-4)
				near("h_pT", e.PT, (up.P-down.P)/(2*dT), 1e-4)
				right, left := f.VapourLnRho(p+dp, T), f.VapourLnRho(p-dp, T)
				near("lnrho_pp", g.PP, (right.P-left.P)/(2*dp), 1e-4)
				near("lnrho_p", g.P, (right.Value-left.Value)/(2*dp), 1e-5)
				// The liquid beside it, over both pairs of coordinates.
				cold, _ := f.TRange()
				if Tl := f.BubbleP(p) - sh/3; Tl > cold && f.BubbleP(p) > cold+5 {
					l, err := r.StatePT(p, Tl, Options{})
					if err != nil {
						t.Fatal(err)
					}
					rho, h, ent := f.LiquidPT(p, Tl)
					near("liquid rho", rho, l.Rho, 1e-4)
					near("liquid h", h, l.H, 1e-5)
					near("liquid s", ent, l.S, 1e-5)
					T2, rho2, _ := f.LiquidPH(p, l.H)
					near("liquid T(p,h)", T2, Tl, 1e-5)
					near("liquid rho(p,h)", rho2, l.Rho, 1e-4)
				}
			}
		}
	}
}
