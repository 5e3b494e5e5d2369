package plant

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"coldwright/fail"
	"coldwright/internal/testkit"
	"coldwright/machine/reading"
	"coldwright/units"
)

// TestSolve_NestedOracle: Newton against bracketing on the same residuals (two methods, one answer), and the share of draws that solve.
func TestSolve_NestedOracle(t *testing.T) {
	for _, c := range []struct {
		name     string
		receiver bool
		e        reading.Expansion
		min      float64
	}{
		{"R-404A", true, reading.Valve, 0.98},
		{"R-134a", true, reading.Valve, 0.98},
		{"R-134a", false, reading.Valve, 0.98},
		{"R-134a", false, reading.Orifice, 0.97},
		{"R-448A", true, reading.Valve, 0.98},
	} {
		base := machine(t, c.name, c.receiver, c.e).design
		f := testkit.Fit(t, c.name)
		rng := rand.New(rand.NewPCG(7, 11))
		n, solved, unexplained, compared := 400, 0, 0, 0
		if testing.Short() {
			n = 120
		}
		for range n {
			d, in, ch := random(rng, base)
			p, err := New(d, f)
			if err != nil {
				t.Fatal(err)
			}
			r := p.Solve(in, ch, Options{})
			switch {
			case r.Status.OK() && r.Trip == TripNone:
				solved++
			case r.Trip == NoState:
				unexplained++
				continue
			default:
				continue
			}
			if compared < 25 && r.Mode == modeFree {
				compared++
				q := p.Solve(in, ch, Options{Nested: true})
				if !q.Status.OK() || math.Abs(q.U[0]-r.U[0]) > 1e-6 || math.Abs(q.U[2]-r.U[2]) > 1e-6 {
					t.Errorf("%s: Newton %v, bracketing %v (%v) for %+v", c.name, r.U, q.U, q.Status, ch)
				}
			}
		}
		t.Logf(
			"%s receiver %v %v: %.1f %% solved, %.1f %% unexplained",
			c.name,
			c.receiver,
			c.e,
			100*float64(solved)/float64(n),
			100*float64(unexplained)/float64(n),
		)
		if share := float64(solved) / float64(n); share < c.min {
			t.Errorf("%s receiver %v: only %.3f solved, want %.2f", c.name, c.receiver, share, c.min)
		}
		if share := float64(unexplained) / float64(n); share > 0.03 {
			t.Errorf("%s receiver %v: %.3f without a reason", c.name, c.receiver, share)
		}
	}
}

// TestSolve_Identities: at its design point the model gives back what it was sized from; charge has no effect until the
// receiver is empty, and then one; charge falls with the vapour share leaving the condenser.
func TestSolve_Identities(t *testing.T) {
	p := machine(t, "R-404A", true, reading.Valve)
	in := at(0, 80)
	ok := p.Solve(in, Change{}, Options{})
	// At the design point the model reproduces the numbers it was sized from.
	d := p.Solve(Inputs{BoxT: p.design.BoxT, AmbientT: p.design.AmbientT}, Change{}, Options{})
	if math.Abs(d.Out[CoilDew]-(p.design.BoxT-p.design.TD)) > 0.02 ||
		math.Abs(d.Out[DischargeDew]-(p.design.AmbientT+p.design.Split)) > 0.02 ||
		math.Abs(d.Out[Capacity]-1) > 0.01 ||
		math.Abs(d.Out[ChargeShare]-1) > 0.01 {
		t.Errorf(
			"design point: coil %.3f, head %.3f, capacity %.4f, charge %.4f",
			d.Out[CoilDew]-(p.design.BoxT-p.design.TD),
			d.Out[DischargeDew]-(p.design.AmbientT+p.design.Split),
			d.Out[Capacity],
			d.Out[ChargeShare],
		)
	}
	// A deficit that leaves what this state needs has no effect at all, a larger one has: the plateau.
	spare := 1 - ok.Out[ChargeShare]
	if spare < 0.005 {
		t.Fatalf("this state needs %.4f of the just-empty charge", ok.Out[ChargeShare])
	}
	if r := p.Solve(in, Change{LowCharge: 0.9 * spare}, Options{}); r.Out != ok.Out {
		t.Errorf("a deficit of %.4f with %.4f to spare moves suction by %g K", 0.9*spare, spare, r.Out[SuctionDew]-ok.Out[SuctionDew])
	}
	if r := p.Solve(in, Change{LowCharge: spare + 0.1}, Options{}); ok.Out[SuctionDew]-r.Out[SuctionDew] < 0.3 || r.Out[GlassQuality] < 0.01 {
		t.Errorf("a tenth too little moves suction by %g K, glass %.4f", r.Out[SuctionDew]-ok.Out[SuctionDew], r.Out[GlassQuality])
	}
	// Charge falls with the vapour share leaving the condenser and rises with its backed-up share.
	var last float64
	for i, c := range []float64{-0.3, -0.2, -0.1, -0.02, 0.02, 0.1, 0.2, 0.3} {
		e := 0
		r, good := p.newton(
			in,
			&Change{},
			modeFree,
			[4]float64{ok.U[0], ok.U[1], ok.U[2], c},
			nil,
			Options{MaxIter: 40, Tolerance: 1e-9},
			&e,
		)
		if !good {
			t.Errorf("no state at charge coordinate %g", c)
			continue
		}
		if i > 0 && r.Out[ChargeShare] <= last {
			t.Errorf("charge does not rise at coordinate %g: %.4f after %.4f", c, r.Out[ChargeShare], last)
		}
		last = r.Out[ChargeShare]
	}
}

func TestNew_Refused(t *testing.T) {
	p := machine(t, "R-404A", true, reading.Valve)
	d := p.design
	d.AmbientT += 40
	if _, err := New(d, p.f); err == nil {
		t.Error("condensing above the critical point was accepted")
	}
	d = p.design
	d.TD = -1
	if _, err := New(d, p.f); err == nil {
		t.Error("a negative TD was accepted")
	}
	// A very hot day ends as a high-pressure trip, not as a number.
	r := p.Solve(at(0, 135), Change{CondenserAir: 0.7}, Options{})
	if r.Trip != HighPressure {
		t.Errorf("135 °F outside with a blocked condenser: %v %v", r.Status, r.Trip)
	}
}

func BenchmarkSolve(b *testing.B) {
	for _, name := range []string{"R-404A", "R-448A"} {
		p := machine(b, name, true, reading.Valve)
		in := at(0, 80)
		r := p.Solve(in, Change{}, Options{})
		b.Run(name+"/cold", func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				p.Solve(in, Change{}, Options{})
			}
		})
		b.Run(name+"/warm", func(b *testing.B) {
			in2 := Inputs{BoxT: in.BoxT + 0.5, AmbientT: in.AmbientT + 0.5}
			for b.Loop() {
				p.Solve(in2, Change{}, Options{Near: &r})
			}
		})
	}
}

// TestCondenses_CO2: a machine that would have to condense CO₂ above its critical point is refused in words; a
// cascade's low stage is not. Critical temperature of CO₂ 30.98 °C: Span and Wagner (1996).
func TestCondenses_CO2(t *testing.T) {
	f := testkit.Fit(t, "R-744")
	rm, _ := reading.Machine{Refrigerant: "R-744", Application: reading.WalkInFreezer}.Resolve()
	d := FromMachine(rm)
	_, err := New(d, f)
	var e *fail.Error
	if !errors.As(err, &e) || e.Code != fail.NoAnswer || e.Key != "machine.transcritical" ||
		math.Abs(float64(e.Args["critical"].(units.Temp)-units.Celsius(31))) > 0.05 {
		t.Errorf("a CO₂ freezer in 90 °F air: %v", err)
	}
	d.AmbientT, d.Split = units.ZeroC-10, 5
	p, err := New(d, f)
	if err != nil {
		t.Fatal(err)
	}
	if r := p.Solve(Inputs{BoxT: d.BoxT, AmbientT: d.AmbientT}, Change{}, Options{}); r.Trip != TripNone {
		t.Errorf("low stage of a cascade: %v %v", r.Status, r.Trip)
	}
	// Built for the cold, standing in the heat: the same words.
	if err := Condenses(d, f, units.ZeroC+30); err == nil {
		t.Error("30 °C outside is accepted for CO₂")
	}
	// Others trip, which is a result.
	if err := Condenses(machine(t, "R-404A", true, reading.Valve).design, testkit.Fit(t, "R-404A"), units.ZeroC+60); err != nil {
		t.Errorf("R-404A: %v", err)
	}
}

// TestNew_Overfeed: a coil fed with more liquid than it evaporates is refused in words, not taken for one with a valve.
func TestNew_Overfeed(t *testing.T) {
	rm, _ := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, Expansion: reading.Overfeed}.Resolve()
	_, err := New(FromMachine(rm), testkit.Fit(t, "R-404A"))
	var e *fail.Error
	if !errors.As(err, &e) || e.Code != fail.NoAnswer || e.Key != "machine.overfeed" {
		t.Errorf("a liquid overfeed machine: %v", err)
	}
}
