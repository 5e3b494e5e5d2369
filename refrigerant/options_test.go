package refrigerant

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"coldwright/num"
)

// calls are the functions that take two numbers and options.
func calls(r *Refrigerant) map[string]func(x, y float64, o Options) (State, error) {
	return map[string]func(x, y float64, o Options) (State, error){
		"p-T": r.StatePT, "p-h": r.StatePH, "p-s": r.StatePS, "p-x": r.StatePX, "T-x": r.StateTX, "T-rho": r.StateTD, "p-rho": r.StatePD,
		"T-s": r.StateTS, "T-h": r.StateTH, "h-s": r.StateHS,
	}
}

func saturations(r *Refrigerant) map[string]func(v float64, o Options) (Equilibrium, error) {
	return map[string]func(v float64, o Options) (Equilibrium, error){
		"dew at p": r.DewP, "bubble at p": r.BubbleP, "dew at T": r.DewT, "bubble at T": r.BubbleT,
	}
}

func allFinite(v ...float64) bool {
	return !slices.ContainsFunc(v, func(x float64) bool { return math.IsNaN(x) || math.IsInf(x, 0) })
}

// Nothing panics on numbers that mean nothing, no such number comes out, and what is refused is refused with a known
// kind of error whose numbers are finite.
func TestBadInput_IsRefused(t *testing.T) {
	bad := []float64{math.NaN(), math.Inf(1), math.Inf(-1), -1, 0, math.MaxFloat64, math.SmallestNonzeroFloat64, 300, 1e6}
	known := func(what string, err error) {
		t.Helper()
		var out *RangeError
		var none *num.NoConvergence
		if errors.As(err, &out) {
			if !allFinite(out.Value, out.Min, out.Max) {
				t.Errorf("%s: %+v", what, out)
			}
		} else if err != nil && !errors.As(err, &none) {
			t.Errorf("%s: %T %v", what, err, err)
		}
	}
	tried := 0
	for _, name := range []string{"R-134a", "R-407C"} {
		r := mustLoad(t, name)
		for _, o := range []Options{{}, {Extrapolate: true}, {MaxIter: 1}, {MaxIter: -3}} {
			for _, x := range bad {
				for what, f := range saturations(r) {
					tried++
					e, err := f(x, o)
					known(fmt.Sprintf("%s %s %g %+v", name, what, x, o), err)
					if err == nil && !allFinite(e.T, e.P, e.RhoLiquid, e.RhoVapour, e.HLiquid, e.HVapour, e.SLiquid, e.SVapour) {
						t.Errorf("%s %s %g: %+v", name, what, x, e)
					}
				}
				for _, y := range bad {
					for what, f := range calls(r) {
						tried++
						s, err := f(x, y, o)
						known(fmt.Sprintf("%s %s %g, %g %+v", name, what, x, y, o), err)
						if err == nil && !allFinite(s.T, s.P, s.Rho, s.H, s.S, s.VapourMass) {
							t.Errorf("%s %s %g, %g: %+v", name, what, x, y, s)
						}
					}
				}
			}
		}
		f, err := r.Fit()
		if err != nil {
			t.Fatal(err)
		}
		for i, x := range bad {
			for k, y := range bad {
				f.Vapour(x, y)
				f.VapourPH(x, y)
				f.VapourPS(x, y)
				f.LiquidPT(x, y)
				f.LiquidPH(x, y)
				f.VapourH(x, y)
				f.VapourLnRho(x, y)
				if (i+k)%4 == 0 { // a chart takes tens of milliseconds
					_, err := f.Chart(ChartOptions{First: x, Step: y})
					known(fmt.Sprintf("%s chart %g, %g", name, x, y), err)
				}
				_, _, err := r.CardError(r, x)
				known("card", err)
				_, err = r.FillCharge(x, y, 0.5)
				known("fill", err)
				for ph := Phase(-1); ph < 7; ph++ {
					_, err = r.Leak(Leak{Charge: 1, Volume: x, T: y, Phase: ph, Remove: 0.1, Steps: 1})
					known("leak", err)
				}
				r.EquilibriumError(Equilibrium{T: x, P: y})
				r.Instability(State{T: x, Rho: y})
				_, err = r.Recompute(State{T: x, Rho: y, P: x, VapourMass: y, Phase: TwoPhase}, Options{})
				known("recompute", err)
			}
			if _, err := r.AtComposition([]float64{x}); err == nil && name == "R-407C" {
				t.Errorf("one share %g for three components", x)
			}
			if _, err := Blend([]Part{{"R-32", x}, {"R-125", 0.5}}); err == nil {
				t.Errorf("a share of %g", x)
			}
			if _, err := r.TopUp(nil, x, 1); err == nil {
				t.Error("nothing mixed with something")
			}
		}
	}
	for _, s := range []string{"", " ", "-", "R", "R-", "9999999999999999999", "\x00", "R-134a/R-32", "../gwp"} {
		if _, err := Load(s); err == nil {
			t.Errorf("%q was loaded", s)
		}
		if _, err := EquationOf(s); err == nil {
			t.Errorf("%q has an equation", s)
		}
		if p, err := BlendOf(s); err != nil || p != nil {
			t.Errorf("%q is a blend: %v, %v", s, p, err)
		}
	}
	for _, words := range []fmt.Stringer{Kind(-1), Kind(9), Phase(-1), Phase(9), Reference(-1), Reference(9)} {
		if words.String() != "unknown" {
			t.Errorf("%T is %q", words, words)
		}
	}
	if _, err := mustLoad(t, "R-134a").DewT(280, Options{Reference: 9}); err == nil {
		t.Error("a reference that does not exist")
	}
	if tried < 5000 {
		t.Errorf("only %d calls", tried)
	}
}

// A result outside the published validity is refused, and with Extrapolate carries the warning, by whatever pair it was
// asked for; inside there is no warning, with the option or without.
func TestExtrapolate_IsMarkedOnEveryState(t *testing.T) {
	for _, name := range []string{"R-134a", "R-404A"} {
		r := mustLoad(t, name)
		l := r.Limits()
		far := Options{Extrapolate: true}
		check := func(what string, wantMark bool, warnings []string, err error) {
			t.Helper()
			if err != nil || slices.Contains(warnings, Extrapolated) != wantMark {
				t.Errorf("%s %s: %v %v, want the mark: %v", name, what, warnings, err, wantMark)
			}
		}
		for _, c := range []struct {
			what    string
			p, T    float64
			outside bool
		}{
			{"vapour inside", 200e3, 300, false},
			{"vapour too hot", 200e3, l.TMax + 20, true},
			{"liquid too cold", 2e6, l.TMin - 2, true},
			{"liquid pressed too far", 1.2 * l.PMax, 300, true},
		} {
			s, err := r.StatePT(c.p, c.T, far)
			check(c.what+" p-T", c.outside, s.Warnings, err)
			if err != nil {
				continue
			}
			if _, err := r.StatePT(c.p, c.T, Options{}); (err != nil) != c.outside {
				t.Errorf("%s %s without the option: %v", name, c.what, err)
			}
			for pair, ask := range map[string]func(o Options) (State, error){
				"p-h":   func(o Options) (State, error) { return r.StatePH(c.p, s.H, o) },
				"p-s":   func(o Options) (State, error) { return r.StatePS(c.p, s.S, o) },
				"p-rho": func(o Options) (State, error) { return r.StatePD(c.p, s.Rho, o) },
				"T-rho": func(o Options) (State, error) { return r.StateTD(c.T, s.Rho, o) },
			} {
				q, err := ask(far)
				check(c.what+" "+pair, c.outside, q.Warnings, err)
				if err == nil && math.Abs(q.T-s.T) > 1e-3 {
					t.Errorf("%s %s %s: %.6f K, want %.6f", name, c.what, pair, q.T, s.T)
				}
				if _, err := ask(Options{}); (err != nil) != c.outside {
					t.Errorf("%s %s %s without the option: %v", name, c.what, pair, err)
				}
			}
		}
		cold := l.TMin - 1
		for what, ask := range map[string]func(o Options) ([]string, error){
			"dew":    func(o Options) ([]string, error) { e, err := r.DewT(cold, o); return e.Warnings, err },
			"bubble": func(o Options) ([]string, error) { e, err := r.BubbleT(cold, o); return e.Warnings, err },
			"T-x":    func(o Options) ([]string, error) { s, err := r.StateTX(cold, 0.5, o); return s.Warnings, err },
		} {
			w, err := ask(far)
			check(what, true, w, err)
			if _, err := ask(Options{}); err == nil {
				t.Errorf("%s %s without the option", name, what)
			}
		}
		e, err := r.BubbleT(cold, far)
		if err != nil {
			t.Fatal(err)
		}
		back, err := r.BubbleP(e.P, far)
		check("bubble at p", true, back.Warnings, err)
		x, err := r.StatePX(e.P, 0, far)
		check("p-x", true, x.Warnings, err)
	}
}

// Newton stops at MaxIter: no solve reports more, and what it finds with few iterations is what it finds with many, or an error.
func TestMaxIter_IsHonoured(t *testing.T) {
	fewer, failed := 0, 0
	for _, name := range []string{"R-134a", "R-407C", "R-448A"} {
		r := mustLoad(t, name)
		for _, T := range []float64{240, 275, 310} {
			full, err := r.DewT(T, Options{})
			if err != nil {
				t.Fatal(err)
			}
			for n := 1; n <= full.Iterations+1; n++ {
				e, err := r.DewT(T, Options{MaxIter: n})
				switch {
				case err != nil:
					var none *num.NoConvergence
					if !errors.As(err, &none) {
						t.Errorf("%s: %v", name, err)
					}
					failed++
				case math.Abs(e.P/full.P-1) > 1e-8:
					t.Errorf("%s at %g K with %d iterations: %.10g Pa, want %.10g", name, T, n, e.P, full.P)
				case name != "R-134a" && e.Iterations > n: // a pure fluid falls back on brackets, with a bound of their own
					t.Errorf("%s at %g K: %d iterations of %d", name, T, e.Iterations, n)
				default:
					fewer++
				}
			}
			// The state at a pressure takes as few: with one iteration it is right or refused.
			s, err := r.StatePH(full.P, full.HVapour+20e3, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if q, err := r.StatePH(full.P, full.HVapour+20e3, Options{MaxIter: 1}); err == nil && math.Abs(q.T-s.T) > 1e-6 {
				t.Errorf("%s at %g K: %.9f K with one iteration, %.9f without a bound", name, T, q.T, s.T)
			}
		}
	}
	if fewer == 0 || failed == 0 {
		t.Errorf("%d found, %d refused: the option does nothing", fewer, failed)
	}
}

// The zero value of Reference leaves the choice to the substance; an explicit one is never replaced by another.
func TestReference_Unset(t *testing.T) {
	r, n2 := mustLoad(t, "R-134a"), mustLoad(t, "R-728")
	if got := r.ReferenceUsed(Options{}); got != IIR {
		t.Errorf("R-134a: %v", got)
	}
	if got := n2.ReferenceUsed(Options{}); got != NBP {
		t.Errorf("nitrogen: %v", got)
	}
	if _, err := n2.DewT(100, Options{}); err != nil {
		t.Error(err)
	}
	if _, err := n2.DewT(100, Options{Reference: IIR}); err == nil {
		t.Error("nitrogen has no liquid at 0 °C, and an enthalpy in that reference came out")
	}
	b, err := n2.BubbleP(num.StandardAtmosphere, Options{Reference: NBP})
	if err != nil || math.Abs(b.HLiquid) > 1e-3 {
		t.Errorf("liquid nitrogen at its normal boiling point: %g J/kg (%v)", b.HLiquid, err)
	}
}
