package vacuum

import (
	"math"

	"coldwright/num"
	"coldwright/units"
)

// Constants of water: triple point and critical point, IAPWS R14-08(2011) and Wagner and Pruss (1993).
const (
	waterTripleT = 273.16    // K
	waterTripleP = 611.657   // Pa
	waterCritT   = 647.096   // K
	waterCritP   = 22.064e6  // Pa
	waterM       = 18.015e-3 // kg/mol
)

// WaterVapour returns the pressure at which water vapour stands over ice (below the triple point) or liquid water, Pa.
//
//   - in: T, K, 50 to 647
//   - out: Pa
//   - errors: none; NaN outside the range
//   - assumes: water alone, no air or oil
//   - source: ice: IAPWS R14-08(2011), eq. 6; liquid: Wagner and Pruss (1993), J. Phys. Chem. Ref. Data 22:783-787, eq. 1
func WaterVapour(T units.Temp) units.Pressure {
	t := float64(T)
	if !(t >= 50 && t <= 647) {
		return units.Pressure(math.NaN())
	}
	if t < waterTripleT {
		th := t / waterTripleT
		s := -21.2144006*math.Pow(th, 0.00333333333) + 27.3203819*math.Pow(th, 1.20666667) - 6.10598130*math.Pow(th, 1.70333333)
		return units.Pressure(waterTripleP * math.Exp(s/th))
	}
	x := 1 - t/waterCritT
	s := -7.85951783*x + 1.84408259*math.Pow(
		x,
		1.5,
	) - 11.7866497*math.Pow(
		x,
		3,
	) + 22.6807411*math.Pow(
		x,
		3.5,
	) - 15.9618719*math.Pow(
		x,
		4,
	) + 1.80122502*math.Pow(
		x,
		7.5,
	)
	return units.Pressure(waterCritP * math.Exp(waterCritT/t*s))
}

// WaterMass returns the mass of water that fills a volume as vapour to a pressure, kg.
//
//   - in: pressure; volume, m³; temperature
//   - out: kg
//   - source: ideal gas, m = pVM/(RT)
func WaterMass(p units.Pressure, volume float64, T units.Temp) float64 {
	return float64(p) * volume * waterM / (num.GasConstant * float64(T))
}
