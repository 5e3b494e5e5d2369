package leak

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"coldwright/refrigerant"
	"coldwright/units"
)

// Gas viscosities near 20 °C and 1 atm: handbook values, from memory, rounded (nitrogen and carbon dioxide are in every physics table).
func TestViscosity_Handbook(t *testing.T) {
	c := catalogue(t)
	if got := c.NitrogenGas().Viscosity; math.Abs(got/17.6e-6-1) > 0.03 {
		t.Errorf("nitrogen %.4g Pa s, want 17.6e-6 within 3 %%", got)
	}
	for _, r := range []struct {
		name string
		want float64 // µPa s
	}{{"R-744", 14.7}, {"R-290", 8.0}, {"R-134a", 11.6}, {"R-22", 12.4}, {"R-404A", 12.0}} {
		ref, err := refrigerant.Load(r.name)
		if err != nil {
			t.Fatal(err)
		}
		// 8 %: the formula's own scatter of 5 % for polar gases and the memory of the table.
		if got := GasOf(ref).Viscosity * 1e6; math.Abs(got/r.want-1) > 0.08 {
			t.Errorf("%s: %.2f µPa s, want %.2f within 8 %%", r.name, got, r.want)
		}
	}
}

// 1 g/year in standard cm³/s at 0 °C and 101.325 kPa: arithmetic of the house reference on vacuum and pressure, section 5.
func TestThroughput_Reference(t *testing.T) {
	for _, r := range []struct {
		name string
		want float64
	}{{"R-134a", 6.96e-6}, {"R-404A", 7.28e-6}, {"R-448A", 8.23e-6}, {"R-22", 8.21e-6}, {"R-290", 1.61e-5}} {
		ref, err := refrigerant.Load(r.name)
		if err != nil {
			t.Fatal(err)
		}
		got := Throughput(1, ref.MolarMass(), 273.15) / 101325 * 1e6
		if math.Abs(got/r.want-1) > 0.005 { // three printed digits, molar masses rounded
			t.Errorf("%s: %.4g std cm³/s, want %.4g", r.name, got, r.want)
		}
	}
}

func TestThrough_Published(t *testing.T) {
	atm := float64(units.Atm)
	helium, air := Gas{0.0040026, 19.6e-6}, Gas{0.028965, 18.15e-6}
	// A leak-tester maker's manual, appendix 10.1.4.2: a viscous helium leak of 0.001 at 10 atm against 1 atm passes
	// 0.004 at 20 atm (printed to one digit; 399/99 = 4.03), and 1.08 times as much air.
	if got := Through(1, 10*atm, 20*atm, atm, helium, helium, 0); math.Abs(got-399.0/99) > 1e-12 {
		t.Errorf("viscous 10 to 20 atm: %.5f, want 4.0303", got)
	}
	if got := Through(1, 10*atm, 10*atm, atm, helium, air, 0); math.Abs(got-1.08) > 0.005 {
		t.Errorf("viscous helium to air: %.4f, want 1.08", got)
	}
	// Knudsen's law as on the teaching site: in proportion to the difference of pressure, and to 1/√M.
	if got := Through(1, 2*atm, 4*atm, atm, helium, air, 1e30); math.Abs(got-3*math.Sqrt(4.0026/28.965)) > 1e-6 {
		t.Errorf("molecular: %.5f", got)
	}
}

func TestThrough_Properties(t *testing.T) {
	r404a, n2 := Gas{0.0976, 12e-6}, Gas{0.028, 17.6e-6}
	rapid.Check(t, func(t *rapid.T) {
		q := math.Pow(10, rapid.Float64Range(-10, -2).Draw(t, "q"))
		run := rapid.Float64Range(1.3e5, 2.5e6).Draw(t, "run")
		p := rapid.Float64Range(5e4, 2.5e6).Draw(t, "now")
		amb := rapid.Float64Range(7e4, 1.05e5).Draw(t, "amb")
		if got := Through(q, run, run, amb, r404a, r404a, 3e-7); math.Abs(got-1) > 1e-12 {
			t.Fatalf("nothing changed, factor %g", got)
		}
		a, b := Through(q, run, p, amb, r404a, n2, 3e-7), Through(q, run, p*1.01, amb, r404a, n2, 3e-7)
		if a < 0 || b < a || p <= amb && a != 0 || math.IsNaN(a) {
			t.Fatalf("not rising with pressure: %g then %g", a, b)
		}
		// A larger leak passes more at any pressure.
		if c := Through(q*1.1, run, p, amb, r404a, n2, 3e-7); q*1.1*c < q*a*(1-1e-9) {
			t.Fatalf("the larger leak passes less: %g < %g", q*1.1*c, q*a)
		}
	})
}

// A standing-pressure test that sees 1 psi from 20 litres in 24 hours sees q = V dp/t (arithmetic; house reference on
// vacuum and pressure, section 4).
func TestStandingPressure_Threshold(t *testing.T) {
	m, _ := catalogue(t).Method("standing_pressure")
	if want := 0.020 * 6894.757 / 86400; math.Abs(m.Threshold-want) > 0.05e-3 {
		t.Errorf("the catalogue says %g Pa m³/s, want %.4g", m.Threshold, want)
	}
}

func catalogue(t testing.TB) *Catalogue {
	t.Helper()
	c, err := Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return &c
}
