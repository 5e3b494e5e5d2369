package refrigerant

import (
	"errors"
	"math"
	"testing"
)

// TestTopUp_MassBalance: what is left and what is added make the charge, component by component; nothing removed is the nominal blend.
func TestTopUp_MassBalance(t *testing.T) {
	r := mustLoad(t, "R-448A")
	l := filled(t, r, 298.15, 0.7, Vapour, 0.4)
	run := mustLeak(t, r, l)
	if run.Steps[0].Left != r {
		t.Error("nothing removed is not the nominal blend")
	}
	last := run.Steps[len(run.Steps)-1]
	full, err := r.TopUp(last.Left, last.Mass, l.Charge-last.Mass)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for i, p := range full.parts {
		want := 0.6*last.Left.parts[i].MassFraction + 0.4*r.parts[i].MassFraction
		if math.Abs(p.MassFraction-want) > 1e-12 {
			t.Errorf("%s: %.12f, want %.12f", p.Designation, p.MassFraction, want)
		}
		sum += p.MassFraction
	}
	if math.Abs(sum-1) > 1e-12 {
		t.Errorf("fractions add up to %v", sum)
	}
	again, err := r.TopUp(last.Left, 0, l.Charge)
	if err != nil || math.Abs(again.parts[0].MassFraction-r.parts[0].MassFraction) > 1e-15 {
		t.Errorf("an empty vessel filled: %v %v", again.parts, err)
	}
	if _, err := r.TopUp(mustLoad(t, "R-407C"), 1, 1); err == nil {
		t.Error("R-407C was topped up with R-448A")
	}
	if _, err := r.TopUp(last.Left, 0, 0); err == nil {
		t.Error("nothing was mixed with nothing")
	}
}

// TestAtComposition_EqualsBlend: the cheap way gives the same refrigerant as the public one.
func TestAtComposition_EqualsBlend(t *testing.T) {
	r := mustLoad(t, "R-407C")
	w := []float64{0.1, 0.3, 0.6}
	a, err := r.AtComposition(w)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Blend([]Part{{"R-32", 0.1}, {"R-125", 0.3}, {"R-134a", 0.6}})
	if err != nil {
		t.Fatal(err)
	}
	if a.limits != b.limits || a.designation != b.designation || a.shiftH != b.shiftH || a.molarMass != b.molarMass {
		t.Errorf("%+v\n%+v", a, b)
	}
	for _, q := range []func(*Refrigerant) (Equilibrium, error){
		func(r *Refrigerant) (Equilibrium, error) { return r.DewP(5e5, Options{}) },
		func(r *Refrigerant) (Equilibrium, error) { return r.BubbleT(280, Options{}) },
	} {
		x, err1 := q(a)
		y, err2 := q(b)
		if err := errors.Join(err1, err2); err != nil || x.T != y.T || x.P != y.P || x.HVapour != y.HVapour {
			t.Errorf("%+v\n%+v (%v)", x, y, err)
		}
	}
	for _, bad := range [][]float64{{1}, {0.5, 0.5, 0}, {0.5, 0.4, 0.2}, {math.NaN(), 0.5, 0.5}, {-0.1, 0.6, 0.5}} {
		if _, err := r.AtComposition(bad); err == nil {
			t.Errorf("%v was accepted", bad)
		}
	}
}

// TestCardError_Sign: a machine that lost boils and condenses warmer than the card says.
func TestCardError_Sign(t *testing.T) {
	r := mustLoad(t, "R-407C")
	poor, err := r.AtComposition([]float64{0.15, 0.2, 0.65})
	if err != nil {
		t.Fatal(err)
	}
	d, b, err := r.CardError(poor, 5e5)
	if err != nil || !(d > 0 && b > 0) {
		t.Errorf("dew %.3f K, bubble %.3f K (%v)", d, b, err)
	}
	if d, b, err = r.CardError(r, 5e5); err != nil || d != 0 || b != 0 {
		t.Errorf("nominal: dew %g K, bubble %g K (%v)", d, b, err)
	}
	if _, _, err = r.CardError(poor, 9e6); err == nil {
		t.Error("90 bar was accepted")
	}
}
