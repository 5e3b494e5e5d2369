package water

import (
	"math"

	"coldwright/num"
)

// Constants of water. Source: triple point IAPWS R14-08(2011); critical point Wagner and Pruss (1993); molar mass
// IAPWS R6-95(2018).
const (
	TripleTemperature   = 273.16       // K
	TriplePressure      = 611.657      // Pa
	CriticalTemperature = 647.096      // K
	CriticalPressure    = 22.064e6     // Pa
	MolarMass           = 18.015268e-3 // kg/mol
)

// coldest is where the equation over ice begins, K.
const coldest = 50

// VapourPressure returns the pressure at which water vapour is in equilibrium with ice (below the triple point) or liquid water.
//
//   - in: T, K, 50 to 647.096
//   - out: Pa
//   - errors: [*num.RangeError]
//   - assumes: water alone, no air or oil
//   - source: ice: IAPWS R14-08(2011), eq. 6; liquid: Wagner and Pruss (1993), J. Phys. Chem. Ref. Data 22:783-787, eq. 1
//   - cost: one exponential over water, four transcendental functions over ice
func VapourPressure(T float64) (float64, error) {
	if !(T >= coldest && T <= CriticalTemperature) {
		return 0, num.OutOfRangeError("water", "temperature", num.Temperature, T, coldest, CriticalTemperature, "validity of the equation")
	}
	return Curve(T), nil
}

// Curve is [VapourPressure] without the check of its range, for solvers; outside the range its value means nothing.
//
//   - in: T, K, 50 to 647.096
//   - out: Pa
//   - source: as [VapourPressure]
//   - cost: as [VapourPressure]
func Curve(T float64) float64 {
	if T < TripleTemperature {
		th := T / TripleTemperature
		s := -21.2144006*math.Pow(th, 0.00333333333) + 27.3203819*math.Pow(th, 1.20666667) - 6.10598130*math.Pow(th, 1.70333333)
		return TriplePressure * math.Exp(s/th)
	}
	x := math.Max(0, 1-T/CriticalTemperature)
	root := math.Sqrt(x)
	x3 := x * x * x
	s := x*(-7.85951783+1.84408259*root) + x3*(-11.7866497+22.6807411*root-15.9618719*x+1.80122502*x3*x*root)
	return CriticalPressure * math.Exp(CriticalTemperature/T*s)
}

// Mass returns the mass of water that fills a volume as vapour to a pressure.
//
//   - in: p, Pa; volume, m³; T, K, above zero
//   - out: kg
//   - errors: [*num.RangeError] where an input is negative, the temperature is zero, or one is no number
//   - assumes: ideal gas; saturated vapour at 20 °C is denser by 0.1 %
//   - source: m = pVM/(RT)
func Mass(p, volume, T float64) (float64, error) {
	for _, q := range [...]struct {
		name  string
		dim   num.Dimension
		v, lo float64
	}{
		{"pressure", num.Pressure, p, 0}, {"volume", num.Volume, volume, 0}, {"temperature", num.Temperature, T, coldest},
	} {
		if !(q.v >= q.lo && q.v <= math.MaxFloat64) {
			return 0, num.OutOfRangeError("water", q.name, q.dim, q.v, q.lo, math.MaxFloat64, "definition")
		}
	}
	return p * volume * MolarMass / (num.GasConstant * T), nil
}
