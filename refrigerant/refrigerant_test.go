package refrigerant

import (
	"encoding/csv"
	"errors"
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

func mustLoad(tb testing.TB, name string) *Refrigerant {
	tb.Helper()
	r, err := Load(name)
	if err != nil {
		tb.Fatal(err)
	}
	return r
}

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
// each row. Three kinds are counted apart: values printed in the papers; printed values the equation is known to miss, for
// which the note's own value must come out, and not the printed one; and another program's solutions of the same
// equation, which say that our solver solves and nothing about the equation.
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
	if printed != 2693 || off != 29 || solver != 549 {
		t.Errorf("%d printed, %d known to be missed, %d of another program; on file are 2693, 29 and 549", printed, off, solver)
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

// TestSaturation_AllBlends: bubble and dew of all 144 blends from −40 to 60 °C in 10 K steps below their critical
// point converge, fugacities and pressures are equal, and dew pressure inverts to the temperature (identities).
func TestSaturation_AllBlends(t *testing.T) {
	n := 0
	for _, name := range data.Blends() {
		r := mustLoad(t, name)
		for T := 233.15; T < 334 && T < 0.999*r.limits.TCrit; T += 10 {
			if T < r.limits.TMin {
				continue // R-114 and R-1132(E) are published from 273 and 240 K
			}
			n++
			b, err := r.BubbleT(T, Options{})
			if err != nil {
				t.Error(err)
				continue
			}
			d, err := r.DewT(T, Options{})
			if err != nil {
				t.Error(err)
				continue
			}
			if b.P < d.P*(1-1e-9) {
				t.Errorf("%s at %g K: bubble pressure %g below dew pressure %g", name, T, b.P, d.P)
			}
			back, err := r.DewP(d.P, Options{})
			if err != nil || math.Abs(back.T-T) > 1e-6 {
				t.Errorf("%s: dew at %g Pa is %.8f K (%v), want %.8f", name, d.P, back.T, err, T)
			}
			for _, e := range []Equilibrium{b, d} {
				var A, B eos.Isochoric
				x, y := make([]float64, r.m.N), make([]float64, r.m.N)
				for i := range x {
					x[i] = e.LiquidMole[i] * e.RhoLiquid / r.m.MolarMass(e.LiquidMole[:])
					y[i] = e.VapourMole[i] * e.RhoVapour / r.m.MolarMass(e.VapourMole[:])
				}
				r.m.Isochore(T, x, &A)
				r.m.Isochore(T, y, &B)
				for i := range x {
					if d := math.Log(x[i]/y[i]) + A.G[i] - B.G[i]; math.Abs(d) > 1e-7 {
						t.Errorf("%s at %g K: fugacities of component %d differ by %g", name, T, i, d)
					}
				}
			}
		}
	}
	if n < 1500 {
		t.Errorf("only %d points", n)
	}
}

// TestStates_RoundTrip: p–T, p–h, p–s, p–x, T–x, T–ρ and p–ρ name the same state (identity).
func TestStates_RoundTrip(t *testing.T) {
	for _, name := range []string{"R-134a", "R-404A", "R-448A", "R-455A", "R-744", "R-290", "R-22", "R-454C"} {
		r := mustLoad(t, name)
		for _, p := range []float64{150e3, 600e3, 1.6e6, 2.6e6, 8e6} {
			for _, T := range []float64{235, 262, 285.5, 301, 325, 380} {
				s, err := r.StatePT(p, T, Options{})
				if err != nil {
					t.Errorf("%s %g Pa %g K: %v", name, p, T, err)
					continue
				}
				check := func(what string, q State, err error, tol float64) {
					t.Helper()
					if err != nil {
						t.Errorf("%s %s at %g Pa %g K: %v", name, what, p, T, err)
						return
					}
					if math.Abs(q.T-s.T) > tol || math.Abs(q.Rho/s.Rho-1) > 1e-5 || math.Abs(q.H-s.H) > 1 || q.Phase != s.Phase {
						t.Errorf(
							"%s %s at %g Pa: T %.6f rho %.6f h %.3f %v, want %.6f %.6f %.3f %v",
							name,
							what,
							p,
							q.T,
							q.Rho,
							q.H,
							q.Phase,
							s.T,
							s.Rho,
							s.H,
							s.Phase,
						)
					}
				}
				q, err := r.StatePH(p, s.H, Options{})
				check("p-h", q, err, 1e-4)
				q, err = r.StatePS(p, s.S, Options{})
				check("p-s", q, err, 1e-4)
				q, err = r.StateTD(T, s.Rho, Options{})
				check("T-rho", q, err, 1e-6)
				q, err = r.StatePD(p, s.Rho, Options{})
				check("p-rho", q, err, 1e-3)
			}
		}
		for _, x := range []float64{0, 0.2, 0.7, 1} {
			s, err := r.StatePX(900e3, x, Options{})
			if err != nil {
				t.Errorf("%s p-x: %v", name, err)
				continue
			}
			q, err := r.StateTX(s.T, x, Options{})
			if err != nil || math.Abs(q.P-s.P) > 2 {
				t.Errorf("%s T-x %g: %g Pa (%v), want %g", name, x, q.P, err, s.P)
			}
			if x > 0 && x < 1 {
				h, err := r.StatePH(900e3, s.H, Options{})
				if err != nil || math.Abs(h.VapourMass-x) > 1e-6 {
					t.Errorf("%s p-h in two phases: x %g (%v), want %g", name, h.VapourMass, err, x)
				}
			}
		}
	}
}

// TestBlend_OrderInvariant: the order in which parts are named changes nothing (property).
func TestBlend_OrderInvariant(t *testing.T) {
	a, err := Blend([]Part{{"R-32", 0.26}, {"R-125", 0.26}, {"R-134a", 0.21}, {"R-1234yf", 0.2}, {"R-1234ze(E)", 0.07}})
	if err != nil {
		t.Fatal(err)
	}
	b, err := Blend([]Part{{"R-1234ze(E)", 0.07}, {"R-134a", 0.21}, {"R-1234yf", 0.2}, {"R-125", 0.26}, {"R-32", 0.26}})
	if err != nil {
		t.Fatal(err)
	}
	c := mustLoad(t, "448A")
	for _, T := range []float64{240, 280, 330} {
		x, err1 := a.DewT(T, Options{})
		y, err2 := b.DewT(T, Options{})
		w, err3 := c.DewT(T, Options{})
		if err1 != nil || err2 != nil || err3 != nil || math.Abs(x.P/y.P-1) > 1e-9 || math.Abs(x.P/w.P-1) > 1e-9 ||
			math.Abs(x.HVapour-y.HVapour) > 1e-3 {
			t.Errorf("%g K: %.10g, %.10g, %.10g", T, x.P, y.P, w.P)
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

// TestReference_IIR: 200 kJ/kg and 1 kJ/(kg K) in saturated liquid at 0 °C (definition).
func TestReference_IIR(t *testing.T) {
	for _, name := range []string{"R-134a", "R-448A", "R-717"} {
		e, err := mustLoad(t, name).BubbleT(273.15, Options{})
		if err != nil || math.Abs(e.HLiquid-200e3) > 1e-3 || math.Abs(e.SLiquid-1e3) > 1e-5 {
			t.Errorf("%s: h %.6f, s %.8f (%v)", name, e.HLiquid, e.SLiquid, err)
		}
		e, err = mustLoad(t, name).BubbleT(233.15, Options{Reference: ASHRAE})
		if err != nil || math.Abs(e.HLiquid) > 1e-3 || math.Abs(e.SLiquid) > 1e-5 {
			t.Errorf("%s: ASHRAE h %.6f, s %.8f (%v)", name, e.HLiquid, e.SLiquid, err)
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

func TestLoad_Names(t *testing.T) {
	for _, s := range []string{"R448A", "r-448a", "448A", " R-448A "} {
		if r, err := Load(s); err != nil || r.Designation() != "R-448A" {
			t.Errorf("%q: %v", s, err)
		}
	}
	_, err := Load("R-448Z")
	var u *UnknownError
	if !errors.As(err, &u) || len(u.Near) == 0 {
		t.Errorf("R-448Z: %v, want an *UnknownError with near names", err)
	}
	for _, parts := range [][]Part{{{"R-32", 0.5}}, {{"R-32", 0.5}, {"R-32", 0.5}}, {{"R-32", 1.5}, {"R-125", -0.5}}, {{"R-9", 1}}, nil} {
		if _, err := Blend(parts); err == nil {
			t.Errorf("%v was accepted", parts)
		}
	}
}

func TestOutOfRange(t *testing.T) {
	r := mustLoad(t, "R-404A")
	var re *RangeError
	for what, err := range map[string]error{
		"dew above critical":       second(r.DewT(350, Options{})),
		"dew below validity":       second(r.DewT(120, Options{})),
		"dew at zero pressure":     second(r.DewP(0, Options{})),
		"dew at negative pressure": second(r.DewP(-1, Options{})),
		"dew at NaN":               second(r.DewP(math.NaN(), Options{})),
		"bubble above critical":    second(r.BubbleP(5e6, Options{})),
		"state too hot":            second(r.StatePT(1e6, 2000, Options{})),
		"state at no pressure":     second(r.StatePT(0, 300, Options{})),
		"enthalpy too high":        second(r.StatePH(1e6, 1e8, Options{})),
		"share above one":          second(r.StatePX(1e6, 1.2, Options{})),
	} {
		if !errors.As(err, &re) {
			t.Errorf("%s: %v, want *RangeError", what, err)
		}
	}
}

func second[T any](_ T, err error) error { return err }

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

// TestPsatTrust: the start values by which a phase is told without solving are as close to the equation as the code believes.
func TestPsatTrust(t *testing.T) {
	for _, n := range Designations() {
		r := mustLoad(t, n)
		if r.Kind() != Pure {
			continue
		}
		l := r.Limits()
		for k := range 60 {
			T := l.TMin + (0.9999*l.TCrit-l.TMin)*float64(k)/59
			e, err := r.BubbleT(T, Options{})
			if err != nil {
				t.Errorf("%s at %.3f K: %v", n, T, err)
				continue
			}
			if d := r.m.Components[0].PsatStart(T)/e.P - 1; math.Abs(d) > 0.8*psatTrust {
				t.Errorf("%s at %.2f K: start value off by %.3f", n, T, d)
			}
			if d := r.m.RaoultT([]float64{1}, e.P, true)/T - 1; math.Abs(d) > 0.006 {
				t.Errorf("%s at %.2f K: start temperature off by %.4f", n, T, d)
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

// TestStatePT_MaxwellRelation: (∂s/∂p)_T = −(∂v/∂T)_p (identity).
func TestStatePT_MaxwellRelation(t *testing.T) {
	for _, name := range []string{"R-134a", "R-448A", "R-744"} {
		r := mustLoad(t, name)
		for _, c := range []struct{ p, T float64 }{{300e3, 300}, {5e6, 265}} {
			get := func(p, T float64) State {
				s, err := r.StatePT(p, T, Options{})
				if err != nil {
					t.Fatal(err)
				}
				return s
			}
			dp, dT := c.p*1e-4, 0.01
			ds := (get(c.p+dp, c.T).S - get(c.p-dp, c.T).S) / (2 * dp)
			dv := (1/get(c.p, c.T+dT).Rho - 1/get(c.p, c.T-dT).Rho) / (2 * dT)
			if math.Abs(ds+dv) > 1e-4*math.Abs(dv) {
				t.Errorf("%s at %g Pa, %g K: ds/dp %.8g, dv/dT %.8g", name, c.p, c.T, ds, dv)
			}
		}
	}
}

// A saturation call stays under 1 ms, a blend of five components included; ten times that is allowed so that a busy
// machine does not fail it.
func TestSaturation_Quick(t *testing.T) {
	res := testing.Benchmark(func(b *testing.B) {
		r := mustLoad(b, "R-448A")
		for b.Loop() {
			if _, err := r.DewP(300e3, Options{}); err != nil {
				b.Fatal(err)
			}
		}
	})
	if ns := res.NsPerOp(); ns > 10e6 {
		t.Errorf("a saturation call takes %d ns", ns)
	}
}
