package refrigerant

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"coldwright/num"
	"coldwright/refrigerant/internal/data"
	"coldwright/refrigerant/internal/eos"
)

// ideal-gas reference of a check table, "IG:T:p:h:s" in K, Pa, J/mol, J/(mol K): what to subtract from raw h and s.
func (r *Refrigerant) tableShift(tb testing.TB, ref string) (h, s float64) {
	tb.Helper()
	switch {
	case ref == "" || ref == "raw":
		return 0, 0
	case ref == "IIR" || ref == "NBP" || ref == "ASHRAE":
		kind := map[string]Reference{"IIR": IIR, "NBP": NBP, "ASHRAE": ASHRAE}[ref]
		h, s, err := r.referenceShift(kind)
		if err != nil {
			tb.Fatal(err)
		}
		return h, s
	case strings.HasPrefix(ref, "IG:"):
		f := strings.Split(ref, ":")
		v := make([]float64, 4)
		for i := range v {
			v[i], _ = strconv.ParseFloat(f[i+1], 64)
		}
		T, p := v[0], v[1]
		rho := p / (r.m.R * T)
		a, b, _ := r.m.IdealAt(r.z, T, rho)
		return r.m.R*T*(1+b) - v[2], r.m.R*(b-a) - v[3]
	}
	tb.Fatalf("unknown reference state %q", ref)
	return 0, 0
}

// quantity reads one printed quantity off a point.
func (r *Refrigerant) quantity(tb testing.TB, q eos.Point, name string, h0, s0 float64) float64 {
	tb.Helper()
	M := r.molarMass
	switch name {
	case "p_pa":
		return q.P
	case "p_kpa":
		return q.P / 1e3
	case "p_mpa":
		return q.P / 1e6
	case "rho_mol_m3":
		return q.Rho
	case "rho_mol_l":
		return q.Rho / 1e3
	case "rho_kg_m3":
		return q.Rho * M
	case "w_m_s":
		return q.W
	case "cp_j_mol_k":
		return q.Cp
	case "cv_j_mol_k":
		return q.Cv
	case "cp_kj_mol_k":
		return q.Cp / 1e3
	case "cv_kj_mol_k":
		return q.Cv / 1e3
	case "cp_kj_kg_k":
		return q.Cp / M / 1e3
	case "cv_kj_kg_k":
		return q.Cv / M / 1e3
	case "h_j_mol":
		return q.H - h0
	case "h_kj_mol":
		return (q.H - h0) / 1e3
	case "h_kj_kg":
		return (q.H - h0) / M / 1e3
	case "s_j_mol_k":
		return q.S - s0
	case "s_kj_mol_k":
		return (q.S - s0) / 1e3
	case "s_kj_kg_k":
		return (q.S - s0) / M / 1e3
	case "u_j_mol":
		return q.H - q.P/q.Rho - h0
	case "u_kj_kg":
		return (q.H - q.P/q.Rho - h0) / M / 1e3
	}
	tb.Fatalf("unknown quantity %q", name)
	return 0
}

// missed: the note says what the equation gives where that is not the printed value.
func missed(t *testing.T, note string) (gives float64, ok bool) {
	t.Helper()
	rest, ok := strings.CutPrefix(note, "equation gives ")
	if !ok {
		return 0, false
	}
	number, _, _ := strings.Cut(rest, " ")
	return num64(t, strings.TrimSuffix(number, ":")), true
}

// TestEquations_PublishedValues walks every check value on file of the pure fluids; source, table and tolerance stand in
// each row. Three kinds are counted apart: values printed in the papers, and one in the NIST WebBook; printed values the
// equation is known to miss, for which the note's own value must come out, and not the printed one; and another program's
// solutions of the same equation, which say that our solver solves and nothing about the equation.
func TestEquations_PublishedValues(t *testing.T) {
	printed, off, solver := 0, 0, 0
	for _, name := range data.Fluids() {
		f, err := data.LoadFluid(name)
		if err != nil {
			t.Fatal(err)
		}
		blocks, err := data.FluidChecks(f)
		if err != nil {
			t.Fatal(err)
		}
		r := mustLoad(t, name)
		for _, b := range blocks {
			for _, row := range b.Rows {
				got, err := r.checkRow(t, row)
				if err != nil {
					t.Errorf("%s %+v: %v", name, row, err)
					continue
				}
				where := fmt.Sprintf("%s %s %s at T=%v p=%v rho=%v/%v (%s, %s)", name, row.State, row.Quantity,
					deref(row.T), deref(row.P), deref(row.RhoMolar), deref(row.RhoMass), b.Source.Cite, b.Source.Table)
				// One unit of the last printed digit, and the double precision of the solver.
				tol := row.Tolerance*1.0001 + 2e-9*math.Abs(row.Expected)
				if gives, ok := missed(t, row.Note); ok {
					off++
					// Nine digits stand in the note.
					if math.Abs(got/gives-1) > 6e-9 || math.Abs(got-row.Expected) <= row.Tolerance {
						t.Errorf("%s: got %.12g; the note says %.9g, printed is %.9g ± %.2g", where, got, gives, row.Expected, row.Tolerance)
					}
					continue
				}
				if strings.HasPrefix(b.Source.Evidence, "solution of the same equation") {
					solver++
				} else {
					printed++
				}
				if !(math.Abs(got-row.Expected) <= tol) {
					t.Errorf("%s: got %.12g, want %.12g ± %.2g", where, got, row.Expected, tol)
				}
			}
		}
	}
	t.Logf("%d printed values met, %d known to be missed, %d solutions of another program", printed, off, solver)
	if printed != 2823 || off != 29 || solver != 558 {
		t.Errorf("%d printed, %d known to be missed, %d of another program; on file are 2823, 29 and 558", printed, off, solver)
	}
}

func deref(p *float64) float64 {
	if p == nil {
		return math.NaN()
	}
	return *p
}

func (r *Refrigerant) checkRow(t *testing.T, row data.CheckRow) (float64, error) {
	h0, s0 := r.tableShift(t, row.ReferenceState)
	if row.State == "single_phase" || row.State == "ideal_gas" {
		rho := 0.0
		switch {
		case row.RhoMolar != nil:
			rho = *row.RhoMolar
		case row.RhoMass != nil:
			rho = *row.RhoMass / r.molarMass
		default:
			s, err := r.rawPT(*row.P, *row.T, Options{})
			if err != nil {
				return 0, err
			}
			rho = s.rho
		}
		if rho == 0 {
			rho = 1e-9 // the ideal-gas limit
		}
		return r.quantity(t, r.m.At(r.z, *row.T, rho), row.Quantity, h0, s0), nil
	}
	var e eos.Equilibrium
	ok := false
	if row.T != nil {
		e, ok = r.m.SatT(r.z, *row.T, true, 80)
	} else {
		e, ok = r.m.SatP(r.z, *row.P, true, 80, r.limits.TMin*0.9, r.limits.TCrit)
	}
	if !ok {
		return 0, fmt.Errorf("no saturation: %+v", e.Solve)
	}
	l, v := r.m.At(r.z, e.T, e.Bulk), r.m.At(r.z, e.T, e.Incipient[0])
	switch row.State {
	case "saturated_liquid":
		return r.quantity(t, l, row.Quantity, h0, s0), nil
	case "saturated_vapour":
		return r.quantity(t, v, row.Quantity, h0, s0), nil
	}
	switch row.Quantity {
	case "h_vap_kj_kg":
		return (v.H - l.H) / r.molarMass / 1e3, nil
	case "t_c":
		return e.T - 273.15, nil
	case "t_k":
		return e.T, nil
	}
	v.P = e.P
	return r.quantity(t, v, row.Quantity, h0, s0), nil
}

// TestMixture_PublishedResiduals: published values of the mixture model, each with its components in both orders
// (which tests the reciprocal of beta). Sources stand in the data file.
func TestMixture_PublishedResiduals(t *testing.T) {
	rows, err := data.MixtureChecks()
	if err != nil {
		t.Fatal(err)
	}
	printed, computed, early := 0, 0, 0
	for _, row := range rows {
		parts := []Part{{row.Components[0], 0.5}, {row.Components[1], 0.5}}
		r, err := Blend(parts)
		if err != nil {
			t.Fatal(err)
		}
		got := r.m.Residual(row.Mole, row.T, row.Rho).A
		where := fmt.Sprintf("%v %v: alpha_r = %.14f, printed %.14f ± %g (%s %s)", row.Components, row.Mole, got, row.Expected,
			row.Tolerance, row.Source.Cite, row.Source.Table)
		if strings.HasPrefix(row.Note, "the paper used an R-1234yf equation from before its publication") {
			// By the note it misses by 0.9 % or in the last digits: near it, and not on it.
			early++
			if d := math.Abs(got - row.Expected); d <= row.Tolerance || d > 0.01*math.Abs(row.Expected) {
				t.Errorf("%s: an early equation should be near by", where)
			}
			continue
		}
		if row.Note != "" {
			t.Errorf("%s: a note nobody knows: %s", where, row.Note)
		}
		if strings.HasPrefix(row.Source.Evidence, "computed by CoolProp") {
			computed++
		} else {
			printed++
		}
		if math.Abs(got-row.Expected) > row.Tolerance {
			t.Error(where)
		}
	}
	if printed != 12 || computed != 10 || early != 4 {
		t.Errorf("%d printed, %d computed by another program, %d of an early equation; on file are 12, 10 and 4", printed, computed, early)
	}
}

func csvRows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	c := csv.NewReader(f)
	c.Comment = '#'
	rows, err := c.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows[1:]
}

func num64(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// TestDewT_GovernmentTables: dew pressure within 0.1 % of the tables of the US Department of Energy's data file
// (source in each file's head). The tables carry four to five digits.
func TestDewT_GovernmentTables(t *testing.T) {
	for _, name := range []string{"R-134a", "R-404A", "R-410A", "R-22"} {
		r := mustLoad(t, name)
		fit, err := r.Fit()
		if err != nil {
			t.Fatal(err)
		}
		worst := 0.0
		for _, row := range csvRows(t, strings.ToLower(strings.ReplaceAll(name, "-", ""))+"_government_table.csv") {
			T, want := num64(t, row[0])+273.15, num64(t, row[1])*1e3
			if T >= 0.97*r.limits.TCrit {
				continue
			}
			e, err := r.DewT(T, Options{})
			if err != nil {
				t.Fatal(err)
			}
			worst = math.Max(worst, math.Abs(e.P/want-1))
			if math.Abs(e.P/want-1) > 1e-3 || math.Abs(fit.DewT(T)/want-1) > 1e-3 {
				t.Errorf("%s at %.2f K: %.6g Pa (fit %.6g), table %.6g", name, T, e.P, fit.DewT(T), want)
			}
		}
		t.Logf("%s: worst %.4f %%", name, 100*worst)
	}
}

// TestDewP_LaboratoryPairs: R-410A dew temperatures of NISTIR 7350, appendix D. The pairs scatter by 0.024 K about a
// smooth curve, and so does the equation about them within 0.02 K more. As a whole they lie 0.05 to 0.16 K above the
// equation, which itself meets the government's table within 0.012 %: the two publications differ by that much, and
// 0.2 K bounds it here.
func TestDewP_LaboratoryPairs(t *testing.T) {
	r := mustLoad(t, "R-410A")
	var d, x []float64
	for _, row := range csvRows(t, "r410a_laboratory_pairs.csv") {
		p := num64(t, row[1]) * 6894.757293168
		want := (num64(t, row[2])-32)/1.8 + 273.15
		e, err := r.DewP(p, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(e.T-want) > 0.2 {
			t.Errorf("%.2f psia: %.3f K, printed %.3f K", num64(t, row[1]), e.T, want)
		}
		d, x = append(d, e.T-want), append(x, math.Log(p/1e6))
	}
	if len(d) != 32 {
		t.Fatalf("%d pairs, want 32", len(d))
	}
	// The smooth part of the offset: a parabola in ln p, by normal equations.
	var a [9]float64
	var b [3]float64
	for k := range d {
		v := [3]float64{1, x[k], x[k] * x[k]}
		for i := range 3 {
			for j := range 3 {
				a[i*3+j] += v[i] * v[j]
			}
			b[i] += v[i] * d[k]
		}
	}
	if !num.SolveDense(3, a[:], b[:]) {
		t.Fatal("singular")
	}
	for k := range d {
		if res := d[k] - b[0] - b[1]*x[k] - b[2]*x[k]*x[k]; math.Abs(res) > 0.024+0.02 {
			t.Errorf("pair %d: %.4f K off the smooth offset, allowed 0.044", k, res)
		}
	}
}

// TestDewT_Card: pairs read off a printed pressure–temperature chart, both to the nearest whole number. Common practice, no
// source. At the pressure the temperature is off by no more than half a degree and what half a psi is worth there.
func TestDewT_Card(t *testing.T) {
	r := mustLoad(t, "R-404A")
	dew := func(psig float64) float64 {
		e, err := r.DewP(psig*6894.757293168+101325, Options{})
		if err != nil {
			t.Fatal(err)
		}
		return (e.T-273.15)*1.8 + 32
	}
	for _, c := range []struct{ f, psig float64 }{{-7, 26}, {103, 247}, {-10, 24}, {105, 252}} {
		if lo, hi := dew(c.psig-0.5)-0.5, dew(c.psig+0.5)+0.5; c.f < lo || c.f > hi {
			t.Errorf("%g psig: %.2f °F, the chart says %g, which rounds from %.2f to %.2f", c.psig, dew(c.psig), c.f, lo, hi)
		}
	}
}

// TestPseudoPure: the mixture model against independent pseudo-pure equations of the same blends, −40 to 60 °C:
// bubble and dew within 0.03 % (Lemmon 2003; sources in the data files).
func TestPseudoPure(t *testing.T) {
	for _, name := range []string{"R-404A", "R-407C", "R-410A", "R-507A"} {
		f, err := data.LoadPseudoPure(name)
		if err != nil {
			t.Fatal(err)
		}
		anc, err := f.Ancillaries()
		if err != nil {
			t.Fatal(err)
		}
		bub, dew := eos.NewAncillary(anc["p_bubble"]), eos.NewAncillary(anc["p_dew"])
		r := mustLoad(t, name)
		for T := 233.15; T < 334; T += 10 {
			b, err1 := r.BubbleT(T, Options{})
			d, err2 := r.DewT(T, Options{})
			if err1 != nil || err2 != nil {
				t.Error(err1, err2)
				continue
			}
			if math.Abs(b.P/bub.At(T)-1) > 3e-4 || math.Abs(d.P/dew.At(T)-1) > 3e-4 {
				t.Errorf("%s at %g K: bubble %.6g against %.6g, dew %.6g against %.6g", name, T, b.P, bub.At(T), d.P, dew.At(T))
			}
		}
	}
}

// TestHeatOfVaporisation: R-134a at 0 °C, 0.29280 MPa and 398.60 - 200.00 kJ/kg: Tillner-Roth and Baehr (1994), J. Phys.
// Chem. Ref. Data 23:657-729, as printed in ASHRAE Fundamentals (2017), ch. 30; to half the last digit.
func TestHeatOfVaporisation(t *testing.T) {
	e, err := mustLoad(t, "R-134a").DewT(273.15, Options{})
	if err != nil || math.Abs(e.P-292.80e3) > 5 || math.Abs(e.HVapour-e.HLiquid-198.60e3) > 7 {
		t.Errorf("R-134a: %g Pa, %g J/kg (%v)", e.P, e.HVapour-e.HLiquid, err)
	}
}
