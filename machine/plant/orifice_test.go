package plant

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// orifice is a short tube of constant 1 on its own.
func orifice(f *refrigerant.Fit) expansion {
	l := f.Refrigerant().Limits()
	return expansion{kind: reading.Orifice, gamma: 1, constant: 1, tube: shortTube{l.PCrit, l.TCrit}}
}

// tubeFlow is the flow of a tube of constant 1 at a bubble temperature, subcooling or vapour share, and pressure behind.
func tubeFlow(f *refrigerant.Fit, bubble, subcooling, quality, pe float64) float64 {
	e := orifice(f)
	p := f.BubbleT(units.ZeroC + bubble)
	hf, _ := f.LiquidH(units.ZeroC + bubble)
	hfg := f.DewH(f.DewP(p)) - hf
	h, _ := f.LiquidH(units.ZeroC + bubble - subcooling)
	return math.Sqrt(e.throttle(f, h+quality*hfg, p, pe, hfg))
}

// TestShortTube_Flow: flow in kg/h through 1.5 × 12.7 mm against the correlation it is built on, in absolute numbers:
// Payne and O'Neal (2004), HVAC&R Research 10(1):73-87, evaluated by us from its constants with another property
// library. And against a second one that shares nothing with it: the semi-empirical form of Aaron and Domanski, with
// Kim and O'Neal's constants per refrigerant, evaluated likewise at 5 °C behind: two fits of measured tubes.
func TestShortTube_Flow(t *testing.T) {
	area := math.Pi / 4 * 1.5e-3 * 1.5e-3
	worst, other := 0.0, 0.0
	for _, c := range []struct {
		refrigerant        string
		bubble, subcooling float64
		payne, kim         float64
	}{
		{"R-22", 35, 2, 121.475, 121.374},
		{"R-22", 35, 5, 127.906, 128.297},
		{"R-22", 35, 12, 152.363, 151.059},
		{"R-22", 45, 2, 131.365, 131.383},
		{"R-22", 45, 5, 140.561, 140.427},
		{"R-22", 45, 8, 150.876, 151.064},
		{"R-22", 45, 12, 167.991, 166.856},
		{"R-134a", 35, 2, 102.563, 97.236},
		{"R-134a", 35, 5, 106.492, 103.84},
		{"R-134a", 35, 12, 124.838, 121.913},
		{"R-134a", 45, 5, 118.796, 116.602},
		{"R-134a", 45, 12, 142.098, 136.112},
		{"R-134a", 55, 2, 120.503, 121.243},
		{"R-134a", 55, 8, 140.225, 138.075},
		{"R-410A", 35, 2, 138.122, 128.45},
		{"R-410A", 35, 8, 161.93, 157.619},
		{"R-410A", 45, 5, 161.738, 155.61},
		{"R-410A", 45, 12, 189.46, 195.965},
		{"R-410A", 55, 8, 181.245, 186.858},
		{"R-407C", 35, 5, 133.41, 132.62},
		{"R-407C", 45, 8, 156.352, 155.372},
		{"R-407C", 55, 12, 182.591, 185.764},
	} {
		f := testkit.Fit(t, c.refrigerant)
		got := area * tubeFlow(f, c.bubble, c.subcooling, 0, f.DewT(units.ZeroC+5)) * 3600
		worst, other = math.Max(worst, math.Abs(got/c.payne-1)), math.Max(other, math.Abs(got/c.kim-1))
		// The shape is what a machine uses: its factor is sized at its own state.
		if math.Abs(got/c.payne-1) > 0.02 || math.Abs(got/c.kim-1) > 0.09 {
			t.Errorf("%s at %g °C, %g K: %.1f kg/h, its correlation %.1f, the other %.1f",
				c.refrigerant, c.bubble, c.subcooling, got, c.payne, c.kim)
		}
	}
	t.Logf("off its own correlation %.1f %%, off the other %.1f %% at the most", 100*worst, 100*other)
}

// TestShortTube_Flash: what vapour ahead of the tube takes, against 5 K of subcooling, and the two-phase factor of the
// same correlation, which does not tend to 1 without vapour and has a pole at low head, and is not used. Off by a quarter
// at 2 % of vapour in R-134a at 35 °C, by an eighth at most elsewhere.
func TestShortTube_Flash(t *testing.T) {
	worst := 0.0
	for _, c := range []struct {
		refrigerant     string
		bubble, quality float64
		flow, dry       float64 // kg/h; at 5 K of subcooling
	}{
		{"R-134a", 35, 0.02, 66.232, 106.492},
		{"R-134a", 35, 0.05, 62.203, 106.492},
		{"R-134a", 35, 0.10, 53.389, 106.492},
		{"R-134a", 45, 0.02, 85.154, 118.796},
		{"R-134a", 45, 0.05, 75.465, 118.796},
		{"R-134a", 45, 0.10, 63.481, 118.796},
		{"R-407C", 45, 0.02, 115.575, 145.352},
		{"R-407C", 45, 0.05, 107.219, 145.352},
		{"R-407C", 45, 0.10, 96.413, 145.352},
		{"R-22", 35, 0.02, 92.198, 127.906},
		{"R-22", 35, 0.05, 80.607, 127.906},
		{"R-22", 35, 0.10, 67.605, 127.906},
		{"R-410A", 35, 0.05, 110.229, 150.046},
		{"R-410A", 45, 0.10, 126.451, 161.738},
	} {
		f := testkit.Fit(t, c.refrigerant)
		pe := f.DewT(units.ZeroC + 5)
		got, want := tubeFlow(f, c.bubble, 0, c.quality, pe)/tubeFlow(f, c.bubble, 5, 0, pe), c.flow/c.dry
		worst = math.Max(worst, math.Abs(got/want-1))
		t.Logf("%s, %g °C, %g vapour: ×%.3f, there ×%.3f (%+.0f %%)", c.refrigerant, c.bubble, c.quality, got, want, 100*(got/want-1))
		if math.Abs(got/want-1) > 0.25 {
			t.Errorf("%s, %g °C, %g vapour: flow ×%.3f, correlation ×%.3f", c.refrigerant, c.bubble, c.quality, got, want)
		}
	}
	t.Logf("%.0f %% at the most", 100*worst)
}

// TestShortTube_Shape: a tube chokes: the pressure behind it hardly matters; subcooling and head raise the flow all the
// way, without a step where the correlation ends; vapour lowers it; pressures that meet stop it.
func TestShortTube_Shape(t *testing.T) {
	for _, name := range []string{"R-22", "R-134a", "R-410A", "R-404A", "R-448A", "R-290"} {
		f := testkit.Fit(t, name)
		pe := f.DewT(units.ZeroC + 5)
		if a, b := tubeFlow(f, 40, 6, 0, pe), tubeFlow(f, 40, 6, 0, f.DewT(units.ZeroC-10)); b < a || b > 1.01*a {
			t.Errorf("%s: ×%.4f with −10 °C behind instead of 5", name, b/a)
		}
		for _, head := range []float64{25, 35, 45, 55} {
			last := tubeFlow(f, head, 0, 0.3, pe)
			for x := 0.29; x > 0.005; x -= 0.01 {
				m := tubeFlow(f, head, 0, x, pe)
				if m < last {
					t.Errorf("%s, %g °C: flow %.0f at %.2f vapour, %.0f above", name, head, m, x, last)
				}
				last = m
			}
			if m := tubeFlow(f, head, 0, 0, pe); m < last || m > 1.25*last {
				t.Errorf("%s, %g °C: flow ×%.4f from a hundredth of vapour to none", name, head, m/last)
			} else {
				last = m
			}
			// Where there is little head the correlation has a shallow minimum at the first kelvins.
			for sub := 0.25; sub < 20 && sub < head-8; sub += 0.25 {
				m := tubeFlow(f, head, sub, 0, pe)
				if m < 0.993*last || m > 1.025*last {
					t.Errorf("%s, %g °C: flow ×%.4f from %.2f K of subcooling to %.2f", name, head, m/last, sub-0.25, sub)
				}
				last = m
			}
		}
		p := f.BubbleT(units.ZeroC + 40)
		if m := tubeFlow(f, 40, 6, 0, p); m > 1e-2*tubeFlow(f, 40, 6, 0, pe) {
			t.Errorf("%s: %.3g passes without a pressure difference", name, m)
		}
	}
}
