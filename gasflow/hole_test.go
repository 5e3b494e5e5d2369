package gasflow

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"coldwright/refrigerant"
	"coldwright/units"
)

// The three laws of which the flow of a hole is made, each where it holds alone.
func TestHole_Limits(t *testing.T) {
	atm, air := float64(units.Atm), Air(Room)
	near(t, "air, Pa s", air.Viscosity, 18.2e-6, 0.01, "Lemmon and Jacobsen (2004), 20 °C")
	// Poiseuille, by hand: 10 µm, 0.437 mm long, air at 0.1 Pa over 1 bar against 1 bar, so slow that neither jet nor single
	// molecules count: π (1e-5)⁴/(256·18.2e-6·0.437e-3)·(0.1·2e5) = 3.086e-10 Pa m³/s; the molecules add d³/(6 l) √(2πRT/M)
	// Δp = 1e-15/(2.622e-3)·727.2·0.1 = 2.773e-11.
	q := Hole(10e-6).Flow(Drive{air, 1e5 + 0.1, 1e5}).Throughput(Room)
	near(t, "friction", q, 3.086e-10+0.277e-10, 0.02, "Poiseuille and Knudsen by hand; the viscosity is within 1 %")
	// Knudsen, by hand: 0.1 µm into a vacuum from 1 kPa: 1e-21/2.622e-3·727.2·1000 = 2.773e-13.
	q = Hole(0.1e-6).Flow(Drive{air, 1000, 0}).Throughput(Room)
	near(t, "molecules", q, 2.773e-13, 0.002, "Knudsen's long tube by hand")
	// Choked nitrogen, 300 psig, contraction 0.8 (arithmetic of a textbook nozzle): 100 µm 25 std cm³/s, 50 µm 6.3. A hole of
	// 1 mm, more than twice as wide as long, is such an orifice: a hundred times the first, less what friction takes, 3 %.
	n2 := Drive{Nitrogen(Room), 300*units.Psi + atm, atm}
	cc := Hole(1e-3).Flow(n2).StandardCC()
	near(t, "choked", cc, 2520, 0.04, "ψ A p √(RT/M), ψ = 0.6847: 0.8·7.854e-7·0.6847·2.170e6·295.0·273.15/293.15/0.101325 cm³/s")
	// At the transition half the flow of air from an atmosphere into a vacuum is molecular: 3.2e-7 Pa m³/s, the geometric
	// middle of 1e-4 to 1e-7 mbar l/s (Leakage Testing Handbook, Jet Propulsion Laboratory, second-hand).
	into := Drive{air, atm, 0}
	h := HoleOf(FromThroughput(3.2e-7, Room), into)
	d3 := math.Pow(float64(h), 3)
	near(t, "transition", into.law().molecular*d3*atm*atm/3.2e-7, 0.5, 0.02, "middle of the published range")
	// The same handbook: laminar to 1e-1, turbulent from 1e-2 mbar l/s. Half the pressure goes into the jet between.
	for _, x := range []struct {
		mbar   float64
		lo, hi float64
	}{{1e-3, 0, 0.25}, {1, 0.75, 1}} {
		l := into.law()
		h := float64(HoleOf(FromThroughput(x.mbar*0.1, Room), into))
		jet := l.jet * math.Pow(x.mbar*0.1, 2) / (l.squares * math.Pow(h, 4))
		if jet < x.lo || jet > x.hi {
			t.Errorf("%g mbar l/s: %.2f of the pressure goes into the jet, want %v to %v", x.mbar, jet, x.lo, x.hi)
		}
	}
}

// One hole has one size: what it passes with nitrogen under pressure, with air into a vacuum, and with refrigerant leads
// back to it, by whatever way. More pressure, more flow, between what each law alone would make of it.
func TestHole_ThereAndBack(t *testing.T) {
	r, err := refrigerant.Load("R-404A")
	if err != nil {
		t.Fatal(err)
	}
	vapour, err := Vapour(r, Room)
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		h := Hole(math.Pow(10, rapid.Float64Range(-8, -2.5).Draw(t, "log d")))
		out := rapid.Float64Range(6e4, 1.05e5).Draw(t, "outside")
		tests := []Drive{
			{Nitrogen(Room), out + rapid.Float64Range(1e4, 4e6).Draw(t, "nitrogen"), out},
			{Air(Room), out, rapid.Float64Range(0, 300).Draw(t, "vacuum")},
			{vapour, out + rapid.Float64Range(1e4, 3e6).Draw(t, "refrigerant"), out},
		}
		for i, d := range tests {
			flow := h.Flow(d)
			if back := HoleOf(flow, d); math.Abs(float64(back/h)-1) > 1e-9 {
				t.Fatalf("%g m by way %d comes back as %g", h, i, back)
			}
			more := d
			more.Inside *= 1.01
			if h.Flow(more) <= flow || (h*1.01).Flow(d) <= flow {
				t.Fatalf("way %d: more pressure or a larger hole, and less flow", i)
			}
			for _, e := range tests {
				// From one test to another and back is the same flow.
				there := HoleOf(flow, d).Flow(e)
				if again := HoleOf(there, e).Flow(d); math.Abs(float64(again/flow)-1) > 1e-8 {
					t.Fatalf("%g mol/s comes back as %g", flow, again)
				}
				// It lies between what friction, molecules and the jet would make of it, each alone.
				jet := math.Sqrt(e.law().squares * d.law().jet / (d.law().squares * e.law().jet))
				lo, hi := min(Ratio(d, e, 0), Ratio(d, e, 1), jet), max(Ratio(d, e, 0), Ratio(d, e, 1), jet)
				if got := float64(there / flow); got > hi*(1+1e-7) || got < lo*(1-1e-7) {
					t.Fatalf("%g times the flow, want %g to %g", got, lo, hi)
				}
			}
		}
	})
	for _, d := range []Drive{{Nitrogen(Room), 1e5, 2e5}, {Nitrogen(Room), math.NaN(), 1e5}, {Gas{}, 2e5, 1e5}} {
		if Hole(1e-5).Flow(d) != 0 || HoleOf(1e-6, d) != 0 {
			t.Errorf("%+v: something flows", d)
		}
	}
	for _, f := range []Flow{0, -1, Flow(math.NaN()), Flow(math.Inf(1))} {
		if got := HoleOf(f, Drive{Nitrogen(Room), 2e5, 1e5}); got != 0 {
			t.Errorf("%g mol/s: a hole of %g m", f, got)
		}
	}
}

func BenchmarkHoleOf(b *testing.B) {
	d := Drive{Nitrogen(Room), 2e6, 1e5}
	for b.Loop() {
		HoleOf(1e-7, d)
	}
}
