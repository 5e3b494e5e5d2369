package main

import (
	"math"
	"os"
	"strings"
	"testing"

	"coldwright/refrigerant"
)

// TestGrid_Converges: a coarse grid over every kind of refrigerant; the full one is the command's. The choice has a
// fluid with a high triple point, an azeotrope, the widest glides, a blend with carbon dioxide and one of five
// components.
func TestGrid_Converges(t *testing.T) {
	list := []string{"R-134a", "R-744", "R-717", "R-404A", "R-407C", "R-441A", "R-448A", "R-455A", "R-507A", "R-508B"}
	all, err := grid(t.Output(), list, 120, "", 0)
	if err != nil {
		t.Error(err)
	}
	for _, q := range all {
		if _, tried := q.sums(); tried < 150 {
			t.Errorf("%s: only %d calls", q.Designation, tried)
		}
		for _, k := range kinds {
			if q.Tried[k] == 0 {
				t.Errorf("%s: %s was not tried", q.Designation, k)
			}
		}
	}
}

// TestGrid_Notices: what is wrong with a state or a saturation point does not pass.
func TestGrid_Notices(t *testing.T) {
	r, err := refrigerant.Load("R-407C")
	if err != nil {
		t.Fatal(err)
	}
	var o refrigerant.Options
	one, err := r.StatePT(300e3, 300, o)
	if err != nil {
		t.Fatal(err)
	}
	two, err := r.StatePX(300e3, 0.4, o)
	if err != nil {
		t.Fatal(err)
	}
	for name, s := range map[string]refrigerant.State{"one phase": one, "two phases": two} {
		if why := again(r, s); why != "" {
			t.Errorf("%s: %s", name, why)
		}
		for what, change := range map[string]func(*refrigerant.State){
			"pressure":    func(s *refrigerant.State) { s.P *= 1 + 1e-4 },
			"temperature": func(s *refrigerant.State) { s.T += 1e-3 },
			"density":     func(s *refrigerant.State) { s.Rho *= 1 + 1e-5 },
			"enthalpy":    func(s *refrigerant.State) { s.H += 1 },
			"entropy":     func(s *refrigerant.State) { s.S += 1e-2 },
			"no number":   func(s *refrigerant.State) { s.H = math.NaN() },
		} {
			bad := s
			change(&bad)
			if again(r, bad) == "" {
				t.Errorf("%s: a wrong %s passes", name, what)
			}
		}
	}
	bad := two
	bad.VapourMass += 1e-3
	if again(r, bad) == "" {
		t.Error("a wrong vapour share passes")
	}
	if same(one, two) == "" {
		t.Error("two different states pass for the same")
	}
	// Vapour pressed beyond its dew point is no stable phase, and neither is liquid below its bubble point.
	dew, err := r.DewT(300, o)
	if err != nil {
		t.Fatal(err)
	}
	if d := r.Instability(refrigerant.State{T: 300, Rho: dew.RhoVapour * 1.1, Phase: refrigerant.Vapour}); !(d > 1e-3) {
		t.Errorf("vapour beyond its dew point: tangent plane %g", d)
	}
	bubble, err := r.BubbleT(300, o)
	if err != nil {
		t.Fatal(err)
	}
	if d := r.Instability(refrigerant.State{T: 300, Rho: bubble.RhoLiquid * 0.999, Phase: refrigerant.Liquid}); !(d > 1e-3) {
		t.Errorf("liquid below its bubble point: tangent plane %g", d)
	}
	dew.VapourMole[0] += 1e-3
	dew.VapourMole[1] -= 1e-3
	if lnF, _, _ := r.EquilibriumError(dew); lnF < 1e-4 {
		t.Errorf("a wrong composition moves ln f by %g only", lnF)
	}
	tally := &tally{designation: "x", tried: map[string]int{}, converged: map[string]int{}}
	if tally.try("p-T", "", func() string { panic("boom") }) || len(tally.failures) != 1 {
		t.Error("a panic is not counted")
	}
}

func TestFits_Stated(t *testing.T) {
	all, err := fits(t.Output(), []string{"R-134a", "R-404A", "R-744"}, 3000, 7)
	if err != nil {
		t.Error(err)
	}
	for _, q := range all {
		if q.Points != 1000 || !(q.Error.H > 0) {
			t.Errorf("%+v", q)
		}
	}
	if !(refrigerant.FitError{T: math.NaN()}).Exceeds(refrigerant.StatedFitError()) {
		t.Error("an error that is not a number passes")
	}
}

func TestRun_Usage(t *testing.T) {
	for _, args := range [][]string{nil, {"nothing"}, {"grid", "R-0"}, {"fits", "R-0"}} {
		if err := run(args, t.Output()); err == nil {
			t.Errorf("%v is accepted", args)
		}
	}
	var out strings.Builder
	if err := run([]string{"grid", "--states", "20", "R-134a"}, &out); err != nil || !strings.Contains(out.String(), "\nR-134a ") {
		t.Errorf("%v\n%s", err, out.String())
	}
}

// TestDocument_Current: the committed page says of every designation what is on file now.
func TestDocument_Current(t *testing.T) {
	text, err := os.ReadFile("../../docs/refrigerants.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, d := range refrigerant.Designations() {
		row, err := coverageRow(d)
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(string(text), "\n"+row) {
			t.Errorf("docs/refrigerants.md lacks %s", row)
		}
		if n := strings.Count(string(text), "\n| "+d+" |"); n < 2 {
			t.Errorf("%s stands in %d tables only", d, n)
		}
	}
}
