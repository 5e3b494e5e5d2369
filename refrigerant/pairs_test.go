package refrigerant

import (
	"errors"
	"fmt"
	"math"
	"testing"
)

// Every pair of inputs leads back to the state it came from (identity), in one phase and in two, for pure fluids and blends.
func TestStatePairs_RoundTrip(t *testing.T) {
	single, double, beyond := 0, 0, 0
	for _, name := range []string{"R-134a", "R-744", "R-290", "R-410A", "R-455A"} {
		r := mustLoad(t, name)
		for _, p := range []float64{150e3, 700e3, 2.2e6, 6e6, 12e6} {
			for _, T := range []float64{225, 250, 290, 330, 370} {
				a, err := r.StatePT(p, T, Options{})
				if err != nil {
					var out *RangeError
					if !errors.As(err, &out) {
						t.Errorf("%s at %g Pa, %g K: %v", name, p, T, err)
					}
					beyond++
					continue
				}
				single++
				same(t, fmt.Sprintf("%s T-s", name), a, r.StateTS, a.T, a.S)
				same(t, fmt.Sprintf("%s h-s", name), a, r.StateHS, a.H, a.S)
				if a.Phase == Vapour && p < 0.5*r.limits.PCrit { // elsewhere one enthalpy may belong to two states
					same(t, fmt.Sprintf("%s T-h", name), a, r.StateTH, a.T, a.H)
				}
			}
			for _, x := range []float64{0.1, 0.5, 0.93} {
				a, err := r.StatePX(p, x, Options{})
				if err != nil {
					var out *RangeError
					if !errors.As(err, &out) {
						t.Errorf("%s at %g Pa, share %g: %v", name, p, x, err)
					}
					beyond++
					continue
				}
				double++
				same(t, fmt.Sprintf("%s two-phase T-s", name), a, r.StateTS, a.T, a.S)
				same(t, fmt.Sprintf("%s two-phase T-h", name), a, r.StateTH, a.T, a.H)
				same(t, fmt.Sprintf("%s two-phase h-s", name), a, r.StateHS, a.H, a.S)
			}
		}
	}
	if single != 125 || double != 45 || beyond != 30 {
		t.Errorf("%d states in one phase, %d in two, %d beyond the range; there are 125, 45 and 30", single, double, beyond)
	}
}

func same(t *testing.T, what string, a State, f func(float64, float64, Options) (State, error), x, y float64) {
	t.Helper()
	b, err := f(x, y, Options{})
	if err != nil {
		t.Errorf("%s at %.4g Pa, %.2f K: %v", what, a.P, a.T, err)
		return
	}
	if b.Phase != a.Phase || math.Abs(b.T-a.T) > 1e-5 || math.Abs(b.P/a.P-1) > 1e-5 || math.Abs(b.Rho/a.Rho-1) > 1e-6 {
		t.Errorf(
			"%s: %s %.8g Pa, %.6f K, %.8g kg/m³; want %s %.8g Pa, %.6f K, %.8g",
			what,
			b.Phase,
			b.P,
			b.T,
			b.Rho,
			a.Phase,
			a.P,
			a.T,
			a.Rho,
		)
	}
}

func TestStatePairs_OutOfRange(t *testing.T) {
	r := mustLoad(t, "R-134a")
	for _, f := range []func() (State, error){
		func() (State, error) { return r.StateTS(300, 9e3, Options{}) },
		func() (State, error) { return r.StateTH(300, 9e6, Options{}) },
		func() (State, error) { return r.StateTH(300, -9e6, Options{}) },
		func() (State, error) { return r.StateTS(30, 1e3, Options{}) },
		func() (State, error) { return r.StateHS(9e6, 1e3, Options{}) },
	} {
		var out *RangeError
		if _, err := f(); !errors.As(err, &out) {
			t.Errorf("%v is no range error", err)
		}
	}
}
