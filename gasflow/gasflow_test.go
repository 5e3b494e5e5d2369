package gasflow

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"coldwright/num"
	"coldwright/refrigerant"
	"coldwright/units"
)

func near(t *testing.T, what string, got, want, rel float64, source string) {
	t.Helper()
	if !(math.Abs(got/want-1) <= rel) {
		t.Errorf("%s: got %.5g, want %.5g within %.2g %%, off by %.2g %%; %s", what, got, want, 100*rel, 100*(got/want-1), source)
	}
}

// Nitrogen and air in the limit of low density: check values printed in Lemmon and Jacobsen (2004), Int. J. Thermophys.
// 25:21-69, Table V. 1.5 %: what Chung et al. give as their mean error for gases that are not polar.
func TestViscosity_PrintedCheckValues(t *testing.T) {
	const source = "Lemmon and Jacobsen (2004), Table V"
	near(t, "nitrogen, 300 K", Nitrogen(300).Viscosity, 17.8771e-6, 0.015, source)
	near(t, "air, 300 K", Air(300).Viscosity, 18.5230e-6, 0.015, source)
	// At 100 K, below the range of leaks, 3 %: a wrong collision integral would show here first.
	near(t, "nitrogen, 100 K", Nitrogen(100).Viscosity, 6.90349e-6, 0.03, source)
	near(t, "air, 100 K", Air(100).Viscosity, 7.09559e-6, 0.03, source)
}

// Refrigerants at 20 °C and vanishing density, µPa s: the published correlations, evaluated with the property library
// CoolProp 8.0.0. The bound of a row says how far the model is off for its kind of gas.
func TestViscosity_PublishedCorrelations(t *testing.T) {
	rows := []struct {
		name   string
		want   float64
		rel    float64
		source string
	}{
		{"R-728", 17.560, 0.01, "Lemmon and Jacobsen (2004), Int. J. Thermophys. 25:21-69"},
		{"R-744", 14.666, 0.01, "Laesecke and Muzny (2017), J. Phys. Chem. Ref. Data 46:013107"},
		{"R-134a", 11.659, 0.01, "Huber, Laesecke and Perkins (2003), Ind. Eng. Chem. Res. 42:3163-3178"},
		{"R-290", 8.022, 0.02, "Vogel et al. (1998), J. Phys. Chem. Ref. Data 27:947-970"},
		{"R-600a", 7.398, 0.01, "Vogel, Küchenmeister and Bich (2000), Int. J. Thermophys. 21:343-356"},
		{"R-23", 14.680, 0.02, "Shan, Penoncello and Jacobsen (2000), ASHRAE Trans. 106(1)"},
		{"R-125", 12.747, 0.03, "Huber and Laesecke (2006), Ind. Eng. Chem. Res. 45:4447-4453"},
		{"R-404A", 12.005, 0.01, "Geller, Bivens and Yokozeki (2000), Purdue refrigeration conference, paper 512"},
		{"R-507A", 11.966, 0.02, "Geller, Bivens and Yokozeki (2000)"},
		{"R-407C", 12.040, 0.02, "Geller, Bivens and Yokozeki (2000)"},
		{"R-410A", 12.625, 0.04, "Geller, Bivens and Yokozeki (2000)"},
		// Ammonia is polar, and the terms for that are left out.
		{"R-717", 9.940, 0.08, "Fenghour et al. (1995), J. Phys. Chem. Ref. Data 24:1649-1667"},
	}
	for _, r := range rows {
		ref, err := refrigerant.Load(r.name)
		if err != nil {
			t.Fatal(err)
		}
		g, err := Vapour(ref, Room)
		if err != nil {
			t.Fatal(err)
		}
		near(t, r.name, g.Viscosity*1e6, r.want, r.rel, r.source)
	}
}

// The constants of nitrogen here and the equation of state on file are of one gas.
func TestNitrogen_IsTheOneOnFile(t *testing.T) {
	r, err := refrigerant.Load("R-728")
	if err != nil {
		t.Fatal(err)
	}
	g, err := Vapour(r, Room)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "viscosity", Nitrogen(Room).Viscosity, g.Viscosity, 1e-4, "identity")
	near(t, "molar mass", Nitrogen(Room).MolarMass, g.MolarMass, 1e-6, "identity")
}

// A gram a year in standard cm³/s by hand: 1 g/(M·31,557,600 s) mol/s times 22,414 cm³/mol (CODATA 2018), molar masses
// of ASHRAE 34 printed to two decimals.
func TestFlow_StandardCC(t *testing.T) {
	for _, c := range []struct {
		name string
		M    float64 // g/mol
		want float64
	}{
		{"R-134a", 102.03, 6.961e-6}, {"R-404A", 97.60, 7.277e-6}, {"R-22", 86.47, 8.214e-6}, {"R-290", 44.10, 1.6105e-5},
	} {
		near(t, c.name, PerYear(1, c.M/1000).StandardCC(), c.want, 2e-4, "CODATA 2018 molar volume 22.41396954 L/mol")
	}
	near(t, "molar volume", Flow(1).StandardCC(), 22413.96954, 1e-9, "CODATA 2018")
	// 1 std cm³/s is 0.101325 Pa m³/s at 0 °C, by definition.
	near(t, "Pa m³/s", FromThroughput(0.101325, num.ZeroCelsius).StandardCC(), 1, 1e-12, "definition")
}

func TestFlow_ConversionsInvert(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := math.Pow(10, rapid.Float64Range(-3, 6).Draw(t, "log g"))
		M := rapid.Float64Range(0.004, 0.2).Draw(t, "M")
		T := rapid.Float64Range(200, 400).Draw(t, "T")
		f := PerYear(g, M)
		if back := f.GramsPerYear(M); math.Abs(back/g-1) > 1e-12 {
			t.Fatalf("%g g/year comes back as %g", g, back)
		}
		if back := FromThroughput(f.Throughput(T), T); math.Abs(float64(back/f)-1) > 1e-12 {
			t.Fatalf("%g mol/s comes back as %g", f, back)
		}
	})
}

func TestRatio_Published(t *testing.T) {
	atm := float64(units.Atm)
	helium := Gas{MolarMass: 4.002602e-3, Viscosity: 19.6138e-6} // 20 °C, CODATA and Arp, McCarty and Friend (1998)
	air := Air(Room)
	// Squared pressures: from 10 to 20 atm against 1 atm a viscous leak passes 399/99 times as much (Poiseuille).
	near(t, "viscous, 10 to 20 atm", Ratio(Drive{helium, 10 * atm, atm}, Drive{helium, 20 * atm, atm}, 0), 399.0/99, 1e-12, "Poiseuille")
	// Helium to air, viscous: 1.08 in tables of leak-testing handbooks (ratio of the viscosities).
	near(t, "helium to air, viscous", Ratio(Drive{helium, 2 * atm, atm}, Drive{air, 2 * atm, atm}, 0), 1.08, 0.005, "leak-testing handbooks")
	// Helium to air, molecular: 0.374 in the same tables; the root of the masses, √(4.003/28.96), is 0.372.
	near(t, "helium to air, molecular", Ratio(Drive{helium, 2 * atm, atm}, Drive{air, 2 * atm, atm}, 1), 0.374, 0.01, "leak-testing handbooks")
	// Molecular flow goes with the difference of the pressures: 3 atm for 1 atm (Knudsen).
	near(t, "molecular, 2 to 4 atm", Ratio(Drive{air, 2 * atm, atm}, Drive{air, 4 * atm, atm}, 1), 3, 1e-12, "Knudsen")
}

func TestRatio_Properties(t *testing.T) {
	gas := func(t *rapid.T, what string) Gas {
		return Gas{MolarMass: rapid.Float64Range(0.004, 0.15).Draw(t, what+" M"), Viscosity: rapid.Float64Range(7e-6, 20e-6).Draw(t, what+" η")}
	}
	rapid.Check(t, func(t *rapid.T) {
		out := rapid.Float64Range(0, 1.05e5).Draw(t, "outside")
		drive := func(what string) Drive {
			return Drive{gas(t, what), out + math.Pow(10, rapid.Float64Range(2, 6.5).Draw(t, what+" over")), out}
		}
		a, b, c := drive("a"), drive("b"), drive("c")
		share := rapid.Float64Range(0, 1).Draw(t, "share")
		if got := Ratio(a, a, share); math.Abs(got-1) > 1e-12 {
			t.Fatalf("nothing changed, factor %g", got)
		}
		// By way of a third state comes the same, when the flow is all of one kind.
		for _, kind := range []float64{0, 1} {
			if direct, by := Ratio(a, c, kind), Ratio(a, b, kind)*Ratio(b, c, kind); math.Abs(by/direct-1) > 1e-9 {
				t.Fatalf("kind %g: %g directly, %g by way of another state", kind, direct, by)
			}
		}
		more := b
		more.Inside *= 1.01
		if Ratio(a, more, share) <= Ratio(a, b, share) {
			t.Fatal("more pressure, less flow")
		}
		// The mixed law lies between its two limits.
		v, m, mid := Ratio(a, b, 0), Ratio(a, b, 1), Ratio(a, b, share)
		if mid < math.Min(v, m)*(1-1e-12) || mid > math.Max(v, m)*(1+1e-12) {
			t.Fatalf("%g is not between %g and %g", mid, v, m)
		}
	})
}

func TestNothingFlowsInwards(t *testing.T) {
	g := Nitrogen(Room)
	up, down, nan := Drive{g, 2e5, 1e5}, Drive{g, 1e5, 2e5}, Drive{g, math.NaN(), 1e5}
	for _, c := range [][2]Drive{{up, down}, {down, up}, {up, nan}, {nan, up}, {up, {g, 1e5, 1e5}}} {
		if got := Ratio(c[0], c[1], 0.5); got != 0 {
			t.Errorf("%+v: %g", c, got)
		}
	}
	for _, c := range []Critical{{}, {math.NaN(), 1e-4, 0, 0.03}, {300, -1, 0, 0.03}} {
		if got := Viscosity(Room, c); got != 0 {
			t.Errorf("%+v: %g", c, got)
		}
	}
}
