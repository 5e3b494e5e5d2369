package air

import (
	"math"

	"coldwright/num"
	"coldwright/units"
	"coldwright/water"
)

const (
	ratioM   = 0.621945 // molar mass of water over dry air, ASHRAE Fundamentals (2017), ch. 1, Eq. (20)
	rDry     = 287.042  // J/(kg K), ASHRAE Fundamentals (2017), ch. 1, Eq. (1)
	cpDry    = 1006.0   // J/(kg K), Eq. (28)
	cpVapour = 1860.0   // J/(kg K), Eq. (29)
	hVapour  = 2501e3   // J/kg at 0 °C, Eq. (29)
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
	T, P float64 // K, Pa
	W    float64 // kg water per kg dry air
	RH   float64 // relative humidity, 0 to 1; over ice below freezing
	H    float64 // J per kg dry air
	Rho  float64 // kg moist air per m³
}

// FromRH returns air of a relative humidity.
//
//   - in: T, K; rh, 0.001 to 1; p, absolute pressure, Pa, 30 to 120 kPa
//   - out: the state
//   - errors: [*RangeError]; also where the vapour would be more than 0.9 of p
//   - source: ASHRAE Fundamentals (2017), ch. 1, Eq. (12), (20), (26) and (30); saturation as [water.VapourPressure]
//   - cost: one saturation pressure
func FromRH(T, rh, p float64) (State, error) {
	if err := check("temperature", num.Temperature, T, TMin, TMax); err != nil {
		return State{}, err
	}
	if err := check("relative humidity", num.Dimensionless, rh, 0.001, 1); err != nil {
		return State{}, err
	}
	if err := check("pressure", num.Pressure, p, 30e3, 120e3); err != nil {
		return State{}, err
	}
	pw := rh * water.Curve(T)
	if err := check("vapour pressure", num.Pressure, pw, 0, 0.9*p); err != nil {
		return State{}, err
	}
	s := State{T: T, P: p, RH: rh, W: ratioM * pw / (p - pw)}
	t := T - units.ZeroC
	s.H = cpDry*t + s.W*(hVapour+cpVapour*t)
	s.Rho = (1 + s.W) / (rDry * T * (1 + s.W/ratioM) / p)
	return s, nil
}

// FromWetBulb returns air of a wet-bulb temperature.
//
//   - in: T and wetBulb, K; p, absolute pressure, Pa, 30 to 120 kPa
//   - out: the state
//   - errors: [*RangeError]; also where the wet bulb is above T or drier than dry air has it
//   - assumes: the wick is iced below 0 °C
//   - source: ASHRAE Fundamentals (2017), ch. 1, Eq. (33) and (35); saturation as [water.VapourPressure]
//   - cost: two saturation pressures
func FromWetBulb(T, wetBulb, p float64) (State, error) {
	if err := check("temperature", num.Temperature, T, TMin, TMax); err != nil {
		return State{}, err
	}
	if err := check("wet-bulb temperature", num.Temperature, wetBulb, TMin, T); err != nil {
		return State{}, err
	}
	if err := check("pressure", num.Pressure, p, 30e3, 120e3); err != nil {
		return State{}, err
	}
	ps := water.Curve(wetBulb)
	if err := check("vapour pressure", num.Pressure, ps, 0, 0.9*p); err != nil {
		return State{}, err
	}
	ws := ratioM * ps / (p - ps)
	t, b := T-units.ZeroC, wetBulb-units.ZeroC
	w := ((hVapour-2326*b)*ws - cpDry*(t-b)) / (hVapour + cpVapour*t - 4186*b)
	if b < 0 {
		w = ((2830e3-240*b)*ws - cpDry*(t-b)) / (2830e3 + cpVapour*t - 2100*b)
	}
	pw := w * p / (ratioM + w)
	return FromRH(T, math.Min(1, pw/water.Curve(T)), p)
}

// WetBulb is the temperature of a wetted wick in air of a relative humidity.
//
//   - in: T, K; rh, 0.001 to 1; p, absolute pressure, Pa, 30 to 120 kPa
//   - out: K, at most T
//   - errors: [*RangeError]
//   - assumes: as [FromWetBulb], of which it is the inverse; at 0 °C wick and ice meet with a step of 0.3 K at most
//   - source: [FromWetBulb], bisected
//   - cost: about 60 saturation pressures
func WetBulb(T, rh, p float64) (float64, error) {
	if _, err := FromRH(T, rh, p); err != nil {
		return 0, err
	}
	lo, hi := math.Max(TMin, T-60), T
	for range 30 {
		mid := 0.5 * (lo + hi)
		if s, err := FromWetBulb(T, mid, p); err == nil && s.RH >= rh {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi, nil
}
