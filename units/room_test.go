package units

import (
	"math"
	"testing"
)

// Published conversions: tube sizes in inches (ASTM B280 prints both), R-25 as U 0.227 W/(m² K) (walk-in standards
// table), 61 kcal per tonne and day as 2.95 mW/kg (arithmetic).
func TestRoomQuantities(t *testing.T) {
	for _, c := range []struct {
		text string
		read func(string, string) (float64, error)
		want float64
		tol  float64
	}{
		{"7/8 in", ParseSize, 22.225e-3, 1e-12},
		{"1 3/8 in", ParseSize, 34.925e-3, 1e-12},
		{"1-1/8in", ParseSize, 28.575e-3, 1e-12},
		{"40 mm", ParseSize, 0.04, 1e-15},
		{"12 ft", ParseSize, 3.6576, 1e-12},
		{"3.6 m", ParseSize, 3.6, 1e-15},
		{"100 ft2", ParseArea, 9.290304, 1e-9},
		{"R-25", ParseTransmittance, 0.2271, 5e-5},
		{"R 32", ParseTransmittance, 0.1774, 5e-5},
		{"0.25 W/m2K", ParseTransmittance, 0.25, 1e-15},
		{"1 Btu/h ft2 F", ParseTransmittance, 5.678263, 1e-9},
		{"0.86 Btu/lbF", ParseSpecificHeat, 3600.648, 1e-3},
		{"61 kcal/t day", ParseHeatRate, 2.954e-3, 1e-6},
		{"30 W/t", ParseHeatRate, 0.03, 1e-15},
	} {
		got, err := c.read(c.text, "")
		if err != nil || math.Abs(got-c.want) > c.tol {
			t.Errorf("%q: got %v (%v), want %v", c.text, got, err, c.want)
		}
	}
	for _, bad := range []string{"7/0 in", "7/8", "1/2/3 in", "-3 m", "3", "x/8 in", "4 parsec", "/8 in", "1 2 3/8 in"} {
		if v, err := ParseSize(bad, ""); err == nil {
			t.Errorf("%q was read as %v", bad, v)
		}
	}
	for _, bad := range []string{"R-0", "R-", "Rx", "0.2", "-1 W/m2K"} {
		if v, err := ParseTransmittance(bad, ""); err == nil {
			t.Errorf("%q was read as %v", bad, v)
		}
	}
}
