package vacuum

import (
	"math"
	"testing"

	"coldwright/units"
)

func TestWaterVapour_Published(t *testing.T) {
	// IAPWS R14-08(2011), table of check values: 230 K over ice, 8.94735 Pa.
	near(t, "230 K", float64(WaterVapour(230)), 8.94735, 1e-4, "IAPWS R14-08(2011)")
	// Both sides meet at the triple point, 611.657 Pa.
	near(t, "triple point, ice", float64(WaterVapour(273.1599)), 611.657, 0.02, "IAPWS")
	near(t, "triple point, liquid", float64(WaterVapour(273.1601)), 611.657, 0.05, "IAPWS")
	// Steam table of a government building-simulation program (°C, Pa), printed to the digits here.
	for _, c := range []struct{ c, p, tol float64 }{
		{1, 657.1, 0.1},
		{5, 872.6, 0.1},
		{10, 1228, 1},
		{15, 1706, 1},
		{20, 2339, 1},
		{25, 3170, 1},
		{30, 4247, 1},
		{35, 5629, 1},
		{40, 7385, 1},
		{50, 12350, 10},
		{60, 19950, 10},
	} {
		near(t, "over water", float64(WaterVapour(units.Celsius(c.c))), c.p, c.tol, "government steam table")
	}
	// Over ice, Hyland and Wexler (1983) as printed in the design reference; it agrees with IAPWS to 0.02 % in the whole, 0.1 % at −40 °C.
	for _, c := range []struct{ c, p float64 }{
		{-40, 12.85},
		{-35, 22.35},
		{-30, 38.02},
		{-25, 63.29},
		{-20, 103.26},
		{-15, 165.30},
		{-10, 259.90},
		{-5, 401.76},
		{0, 611.21},
	} {
		near(t, "over ice", float64(WaterVapour(units.Celsius(c.c))), c.p, 0.001*c.p, "Hyland and Wexler (1983)")
	}
	// A freezer coil at −10 °F holds ice at about 560 micron (design reference).
	near(t, "−10 °F, micron", float64(WaterVapour(units.Fahrenheit(-10)))/units.Micron, 560, 3, "design reference")
	if !math.IsNaN(float64(WaterVapour(20))) {
		t.Error("20 K is outside")
	}
}

// Design reference: 20 L at 20 °C filled to 2,000 micron (266.6 Pa) hold 0.0394 g of water.
func TestWaterMass(t *testing.T) {
	near(t, "g", 1000*WaterMass(266.6, 0.020, 293.15), 0.0394, 0.0001, "design reference, arithmetic")
}
