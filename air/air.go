package air

import (
	"math"

	"coldwright/num"
	"coldwright/units"
	"coldwright/water"
)

const (
	tripleT  = water.TripleTemperature
	ratioM   = 0.621945 // molar mass of water over dry air, ASHRAE Fundamentals (2017), ch. 1, Eq. (20)
	rDry     = 287.042  // J/(kg K), ASHRAE Fundamentals (2017), ch. 1, Eq. (1)
	cpDry    = 1006.0   // J/(kg K), Eq. (28)
	cpVapour = 1860.0   // J/(kg K), Eq. (29)
	hVapour  = 2501e3   // J/kg at 0 °C, Eq. (29)
	cpWater  = 4186.0   // J/(kg K), Eq. (33)
	cpIce    = 2100.0   // J/(kg K), Eq. (35)
	hIce     = -329e3   // J/kg at 0 °C: 2501 less the 2830 kJ/kg of Eq. (35)
)

// The range of temperatures: wider than any cold room, cut where a machine room ends.
const (
	TMin = 180.0 // K
	TMax = 360.0 // K
)

// RangeError says that a value lies outside what moist air can be here.
type RangeError = num.RangeError

func check(quantity string, d num.Dimension, v, lo, hi float64) error {
	if v >= lo && v <= hi {
		return nil
	}
	return num.OutOfRangeError("moist air", quantity, d, v, lo, hi, "")
}

// State is air at one point.
type State struct {
	T, P     float64 // K, Pa
	W        float64 // kg water per kg dry air
	RH       float64 // relative humidity, 0 to 1; over ice below freezing
	DewPoint float64 // K; frost point below freezing
	WetBulb  float64 // K
	H        float64 // J per kg dry air
	Rho      float64 // kg moist air per m³
}

// FromRH returns air of a relative humidity.
//
//   - in: T, K; rh, 0.001 to 1; p, absolute pressure, Pa, 30 to 120 kPa
//   - out: the state
//   - errors: [*RangeError]; also where p is below the saturation pressure
//   - source: ASHRAE Fundamentals (2017), ch. 1, Eq. (20), (12), (30), (33), (35); dew point and wet bulb by [num.Brent]
//   - cost: about 30 saturation pressures
func FromRH(T, rh, p float64) (State, error) {
	if err := check("temperature", num.Temperature, T, TMin, TMax); err != nil {
		return State{}, err
	}
	if err := check("relative humidity", num.Dimensionless, rh, 0.001, 1); err != nil {
		return State{}, err
	}
	return fromVapour(T, rh*water.Curve(T), p)
}

// FromW returns air of a humidity ratio.
//
//   - in: T, K; W, kg/kg, above zero; p as [FromRH]
//   - out: the state
//   - errors: [*RangeError], where the air would be foggy as well
//   - source: as [FromRH]
//   - cost: as [FromRH]
func FromW(T, W, p float64) (State, error) {
	if err := check("humidity ratio", num.Dimensionless, W, 1e-7, 1); err != nil {
		return State{}, err
	}
	return fromVapour(T, p*W/(ratioM+W), p)
}

// FromDewPoint returns air of a dew or frost point.
//
//   - in: T, K; dew, K, not above T; p as [FromRH]
//   - out: the state
//   - errors: [*RangeError]
//   - source: as [FromRH]
//   - cost: as [FromRH]
func FromDewPoint(T, dew, p float64) (State, error) {
	if err := check("dew point", num.Temperature, dew, TMin, T); err != nil {
		return State{}, err
	}
	return fromVapour(T, water.Curve(dew), p)
}

// FromWetBulb returns air of a wet-bulb temperature; below freezing the bulb is iced.
//
//   - in: T, K; wet, K, not above T; p as [FromRH]
//   - out: the state
//   - errors: [*RangeError], where the pair means drier than dry air as well
//   - source: ASHRAE Fundamentals (2017), ch. 1, Eq. (33) and (35)
//   - cost: as [FromRH]
func FromWetBulb(T, wet, p float64) (State, error) {
	if err := check("wet bulb", num.Temperature, wet, TMin, T); err != nil {
		return State{}, err
	}
	if err := check("pressure", num.Pressure, p, 30e3, 120e3); err != nil {
		return State{}, err
	}
	return FromW(T, ratioAtWetBulb(T, wet, p), p)
}

// ratioAtWetBulb is the humidity ratio of air that saturates adiabatically at wet.
func ratioAtWetBulb(T, wet, p float64) float64 {
	ws := ratio(water.Curve(wet), p)
	t, tw := T-units.ZeroC, wet-units.ZeroC
	condensed := cpWater * tw
	if wet < tripleT {
		condensed = hIce + cpIce*tw
	}
	// The enthalpy balance of adiabatic saturation, h + (Ws − W) h_condensed = h_s, solved for W: Eq. (33) and (35) with our constants.
	return (cpDry*(tw-t) + ws*(hVapour+cpVapour*tw-condensed)) / (hVapour + cpVapour*t - condensed)
}

func ratio(pw, p float64) float64 { return ratioM * pw / (p - pw) }

func fromVapour(T, pw, p float64) (State, error) {
	if err := check("temperature", num.Temperature, T, TMin, TMax); err != nil {
		return State{}, err
	}
	if err := check("pressure", num.Pressure, p, 30e3, 120e3); err != nil {
		return State{}, err
	}
	ps := water.Curve(T)
	if err := check("vapour pressure", num.Pressure, pw, water.Curve(TMin), math.Min(ps*(1+1e-12), 0.9*p)); err != nil {
		return State{}, err
	}
	s := State{T: T, P: p, W: ratio(pw, p), RH: math.Min(1, pw/ps)}
	t := T - units.ZeroC
	s.H = cpDry*t + s.W*(hVapour+cpVapour*t)
	s.Rho = (1 + s.W) / (rDry * T * (1 + s.W/ratioM) / p)
	s.DewPoint, s.WetBulb = T, T
	if s.RH > 1-1e-12 {
		return s, nil
	}
	var err error
	if s.DewPoint, _, err = num.Brent(func(x float64) float64 { return math.Log(water.Curve(x) / pw) }, TMin, T, 1e-9); err != nil {
		return State{}, err
	}
	s.WetBulb, err = wetBulb(T, s.W, s.DewPoint, p)
	return s, err
}

// wetBulb lies between dew point and dry bulb. At the triple point the condensate changes from water to ice and the
// balance jumps; where the root falls into that jump the bulb stands at the triple point.
func wetBulb(T, W, dew, p float64) (float64, error) {
	f := func(x float64) float64 { return ratioAtWetBulb(T, x, p) - W }
	lo, hi := dew, T
	if lo < tripleT && hi > tripleT {
		below := math.Nextafter(tripleT, 0)
		switch {
		case f(below) >= 0:
			hi = below
		case f(tripleT) <= 0:
			lo = tripleT
		default:
			return tripleT, nil
		}
	}
	x, _, err := num.Brent(f, lo, hi, 1e-9)
	return x, err
}
