package plant

import (
	"math"
	"testing"

	"coldwright/machine/reading"
	"coldwright/units"
)

// TestExchanger_EnergyAndEffectiveness: what the liquid loses the gas takes up, and the gas warms by the stated share
// of what it could (definitions).
func TestExchanger_EnergyAndEffectiveness(t *testing.T) {
	for _, name := range []string{"R-404A", "R-134a", "R-448A"} {
		p := built(
			t,
			reading.Machine{Refrigerant: name, Application: reading.WalkInFreezer},
			func(d *Design) { d.Exchanger, d.SuctionNTU, d.SuctionDrop = 0.4, 1e-9, 1e-6 },
		)
		in := Inputs{BoxT: p.design.BoxT + 3, AmbientT: p.design.AmbientT - 5}
		r := p.Solve(in, Change{}, Options{})
		m := math.Exp(r.U[1])
		iso := p.f.Isobar(p.f.DewT(r.Out[CoilDew]))
		hOut, _ := iso.H(r.Out[CoilOutletT])
		h1, _ := iso.H(r.Out[SuctionLineT])
		hl, _ := p.f.LiquidH(r.Out[LiquidLineT])
		h4 := hOut - r.Out[Capacity]*p.nominal.capacity/m
		// The liquid's temperature takes one heat capacity for its way through the unit.
		if d := (h1 - hOut) - (hl - h4); math.Abs(d) > 5e-3*(h1-hOut) {
			t.Errorf("%s: gas takes up %.1f J/kg, liquid loses %.1f", name, h1-hOut, hl-h4)
		}
		eff := (r.Out[SuctionLineT] - r.Out[CoilOutletT]) / (r.Out[LiquidLineT] - r.Out[CoilOutletT])
		if math.Abs(eff-0.4) > 0.02 { // the heat capacity of the gas changes by some per cent along the way
			t.Errorf("%s: effectiveness %.3f, want 0.4", name, eff)
		}
	}
}

// TestExchanger_Solves: the heat given belongs to the superheat of the coil that it leaves behind (identity), found
// again by bisection; effectiveness 0 moves nothing; a flooded coil gives the whole difference to the liquid.
func TestExchanger_Solves(t *testing.T) {
	in := exchangerIn{cp: 750, lift: 45, td: 6, hfg: 1.2e5, wetting: 1 / 2.2e4, mean: 6.2, warming: 1e-6, dry: 2}
	coil := func(q float64) float64 { // superheat of the coil when q goes to the gas
		z := in.wetting * (in.hfg + q) / (in.mean + in.warming*q)
		return in.td * (1 - math.Exp(-in.dry*math.Max(0, 1-z)))
	}
	for _, eff := range []float64{0, 0.1, 0.4, 0.8} {
		x := exchanger{eff}
		lo, hi := 0.0, in.td
		for range 100 {
			sh := 0.5 * (lo + hi)
			if coil(eff*in.cp*(in.lift-sh)) > sh {
				lo = sh
			} else {
				hi = sh
			}
		}
		if got, want := x.heat(in), eff*in.cp*(in.lift-lo); math.Abs(got-want) > 1e-3 {
			t.Errorf("effectiveness %g: %.4f J/kg, by bisection %.4f", eff, got, want)
		}
	}
	in.wetting *= 2
	if got := (exchanger{0.4}).heat(in); got != 0.4*in.cp*in.lift {
		t.Errorf("flooded: %.3f J/kg, want the whole difference %.3f", got, 0.4*in.cp*in.lift)
	}
}

// TestExchanger_WhichRefrigerants: without pressure loss an exchanger gains with R-507A, R-134a, R-404A, R-290,
// R-407C, R-600 and R-410A and loses with. Source: Klein, Reindl and Brownell (2000), Int. J.
// Refrigeration 23:588-596, abstract.
func TestExchanger_WhichRefrigerants(t *testing.T) {
	for name, gains := range map[string]bool{
		"R-507A": true, "R-134a": true, "R-404A": true, "R-290": true, "R-407C": true, "R-600": true,
		"R-410A": true, "R-22": false, "R-32": false, "R-717": false,
	} {
		cop := func(e float64) float64 {
			// Evaporating at −20 °C, condensing at 40 °C, no gain on the line, no loss of pressure: the case of the
			// paper as far as the abstract states it.
			p := built(t, reading.Machine{Refrigerant: name, Application: reading.WalkInFreezer}, func(d *Design) {
				d.BoxT, d.TD, d.AmbientT, d.Split = units.ZeroC-14, 6, units.ZeroC+26, 14
				d.Exchanger, d.SuctionNTU, d.SuctionDrop, d.SHRatio, d.LiquidCool, d.Clearance, d.ShellLoss = e, 1e-9, 1e-6, 0.02, 1e-6, 0, 0
			})
			return p.nominal.capacity / p.nominal.work
		}
		if d := cop(0.6)/cop(0) - 1; (d > 0) != gains {
			t.Errorf("%s: an exchanger changes COP by %+.2f %%, published: gains %v", name, 100*d, gains)
		}
	}
}
