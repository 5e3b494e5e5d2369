package eos

import (
	"math"
	"slices"
	"testing"

	"coldwright/refrigerant/internal/data"
)

// TestPseudoPure_CheckValues: the equations that treat a blend as one substance, by the same code as every other
// equation, at the check values of Lemmon (2003), Table V; each to one unit of its last printed digit.
func TestPseudoPure_CheckValues(t *testing.T) {
	checked := 0
	for _, name := range []string{"R-404A", "R-407C", "R-410A", "R-507A"} {
		f, err := data.LoadPseudoPure(name)
		if err != nil {
			t.Fatal(err)
		}
		blocks, err := data.FluidChecks(f)
		if err != nil {
			t.Fatal(err)
		}
		c, err := componentOf(name, f)
		if err != nil {
			t.Fatal(err)
		}
		m := &Model{N: 1, Components: []*Component{c}, M: []float64{c.M}, whole: c.residual}
		m.SetGasConstant([]float64{1})
		for _, b := range blocks {
			for _, row := range b.Rows {
				if row.RhoMolar == nil || !slices.Contains([]string{"single_phase", "ideal_gas"}, row.State) {
					t.Fatalf("%s: %+v", name, row)
				}
				rho := *row.RhoMolar
				if rho == 0 {
					rho = 1e-9 // the ideal-gas limit
				}
				p := m.At([]float64{1}, *row.T, rho)
				got, ok := map[string]float64{"p_mpa": p.P / 1e6, "cv_j_mol_k": p.Cv, "cp_j_mol_k": p.Cp, "w_m_s": p.W}[row.Quantity]
				if !ok || !(math.Abs(got-row.Expected) <= row.Tolerance) {
					t.Errorf("%s %s at %g K, %g mol/m³: %.8g, printed %.6g ± %.2g (%s, %s)", name, row.Quantity, *row.T, *row.RhoMolar,
						got, row.Expected, row.Tolerance, b.Source.Cite, b.Source.Table)
				}
				checked++
			}
		}
	}
	if checked != 28 {
		t.Errorf("%d values checked, on file are 28", checked)
	}
}
