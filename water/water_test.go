package water

import (
	"errors"
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/num"
)

func vapour(t *testing.T, T float64) float64 {
	t.Helper()
	p, err := VapourPressure(T)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The check value printed with the equation over ice, and the values of the saturation line printed with IAPWS-95,
// Table 8.
func TestVapourPressure_PrintedCheckValues(t *testing.T) {
	testkit.Near(t, "over ice, 230 K", vapour(t, 230), 8.94735, 5e-6, "IAPWS R14-08(2011), Table 3")
	// Half the last printed digit, and the 0.01 % in which the auxiliary equation follows IAPWS-95.
	for _, c := range []struct{ T, p float64 }{{275, 0.698451167e3}, {450, 0.932203564e6}, {625, 0.169082693e8}} {
		testkit.Near(t, "over water", vapour(t, c.T), c.p, 1e-4*c.p, "IAPWS R6-95(2018), Table 8")
	}
	testkit.Near(t, "normal boiling point, 373.1243 K", vapour(t, 373.1243), 101325, 15, "IAPWS R6-95(2018)")
	testkit.Near(t, "critical point", vapour(t, CriticalTemperature), CriticalPressure, 1, "definition")
}

// Both equations meet at the triple point, in value; the slope over ice is steeper by the heat of melting.
func TestVapourPressure_TriplePoint(t *testing.T) {
	below, above := math.Nextafter(TripleTemperature, 0), TripleTemperature
	testkit.Near(t, "over ice", vapour(t, below), TriplePressure, 0.001, "IAPWS R14-08(2011)")
	testkit.Near(t, "over water", vapour(t, above), TriplePressure, 0.05, "IAPWS R14-08(2011)")
	// Clausius and Clapeyron: d ln p/dT = L M/(R T²), so the step of the slope gives the heat of melting, 333.4 kJ/kg (IAPWS).
	slope := func(T, dT float64) float64 { return (math.Log(vapour(t, T+dT)) - math.Log(vapour(t, T))) / dT }
	melting := (slope(below, -1e-3) - slope(above, 1e-3)) * num.GasConstant * above * above / MolarMass
	testkit.Near(t, "heat of melting, kJ/kg", melting/1e3, 333.4, 1.5, "IAPWS R10-06(2009); ideal vapour")
}

// Another formulation, on which psychrometric tables stand: Hyland and Wexler (1983), ASHRAE Trans. 89(2A):500-519, Eq.
// (17) and (18) as printed in ASHRAE Fundamentals (2017), ch. 1, Eq. (5) and (6).
func hylandWexler(T float64) float64 {
	if T < TripleTemperature {
		return math.Exp(
			-5.6745359e3/T + 6.3925247 + T*(-9.6778430e-3+T*(6.2215701e-7+T*(2.0747825e-9-9.4840240e-13*T))) + 4.1635019*math.Log(T),
		)
	}
	return math.Exp(-5.8002206e3/T + 1.3914993 + T*(-4.8640239e-2+T*(4.1764768e-5-1.4452093e-8*T)) + 6.5459673*math.Log(T))
}

func TestVapourPressure_HylandWexler(t *testing.T) {
	worstIce, worstWater := 0.0, 0.0
	for T := 233.15; T <= 363.15; T += 0.5 {
		d := math.Abs(vapour(t, T)/hylandWexler(T) - 1)
		if T < TripleTemperature {
			worstIce = math.Max(worstIce, d)
		} else {
			worstWater = math.Max(worstWater, d)
		}
	}
	if worstIce > 4e-4 || worstWater > 2.5e-4 {
		t.Errorf("%.3g over ice, %.3g over water", worstIce, worstWater)
	}
	t.Logf("within %.2g over ice from -40 °C, %.2g over water to 90 °C", worstIce, worstWater)
}

// The steam table of the building-simulation program EnergyPlus (FluidPropertiesRefData.idf), °C and Pa, to its last digit.
func TestVapourPressure_SteamTable(t *testing.T) {
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
		testkit.Near(t, "over water", vapour(t, num.ZeroCelsius+c.c), c.p, c.tol, "EnergyPlus steam table")
	}
}

func TestOutOfRange(t *testing.T) {
	var r *num.RangeError
	for _, T := range []float64{49.9, 0, -1, 647.1, math.NaN(), math.Inf(1), math.Inf(-1)} {
		if p, err := VapourPressure(T); !errors.As(err, &r) || p != 0 {
			t.Errorf("%g K: %g, %v", T, p, err)
		}
	}
	for _, c := range [][3]float64{{-1, 1, 300}, {1, -1, 300}, {1, 1, 0}, {math.NaN(), 1, 300}, {1, math.Inf(1), 300}, {1, 1, math.NaN()}} {
		if m, err := Mass(c[0], c[1], c[2]); !errors.As(err, &r) || m != 0 {
			t.Errorf("%v: %g, %v", c, m, err)
		}
	}
}

// Saturated vapour at 20 °C weighs 17.31 g/m³: IAPWS-95, specific volume 57.757 m³/kg; the ideal gas is 0.1 % lighter.
func TestMass_SteamTable(t *testing.T) {
	m, err := Mass(vapour(t, 293.15), 1, 293.15)
	if err != nil {
		t.Fatal(err)
	}
	testkit.Near(t, "g in a cubic metre", 1e3*m, 1e3/57.757, 0.03, "IAPWS R6-95(2018), saturated vapour at 20 °C")
}
