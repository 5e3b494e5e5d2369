package units

import (
	"math"

	"coldwright/fail"
)

// The types. Defined types exist only where a confusion costs money.
type (
	Temp     float64 // K, absolute
	TempDiff float64 // K
	Pressure float64 // Pa, absolute
	Gauge    float64 // Pa above the ambient pressure
	Mass     float64 // kg
	Grams    int64   // ledger mass
)

// Conversion constants, SI per unit. Source: NIST SP 811, appendix B.8, exact unless said otherwise.
const (
	ZeroC             = 273.15
	Atm      Pressure = 101325
	Bar               = 1e5
	Kilo              = 1e3
	Psi               = 6894.757293168 // 4.4482216152605 N / (0.0254 m)²
	InHg              = 3386.389       // conventional, mercury at 0 °C
	Micron            = 0.1333224      // conventional: 1 µm of mercury
	Pound             = 0.45359237
	Ounce             = Pound / 16
	Foot              = 0.3048
	Fahr              = 5.0 / 9.0 // K per °F
	BtuPerH           = 0.29307107
	BtuPerLb          = 2326.0 // J/kg, international table
	Tonne             = 1000.0
	fahrZero          = 459.67
)

// Celsius returns c °C as an absolute temperature.
func Celsius(c float64) Temp { return Temp(c + ZeroC) }

// Fahrenheit returns f °F as an absolute temperature.
func Fahrenheit(f float64) Temp { return Temp((f + fahrZero) * Fahr) }

// C returns °C.
func (t Temp) C() float64 { return float64(t) - ZeroC }

// F returns °F.
func (t Temp) F() float64 { return float64(t)/Fahr - fahrZero }

// Sub returns t − u as a difference.
func (t Temp) Sub(u Temp) TempDiff { return TempDiff(t - u) }

// Add returns t + d.
func (t Temp) Add(d TempDiff) Temp { return t + Temp(d) }

// F returns the difference in Fahrenheit degrees.
func (d TempDiff) F() float64 { return float64(d) / Fahr }

// FahrenheitDiff returns a difference of f Fahrenheit degrees.
func FahrenheitDiff(f float64) TempDiff { return TempDiff(f * Fahr) }

// Gauge returns p relative to ambient.
func (p Pressure) Gauge(ambient Pressure) Gauge { return Gauge(p - ambient) }

// Absolute returns g above ambient.
func (g Gauge) Absolute(ambient Pressure) Pressure { return Pressure(g) + ambient }

// Psig returns a gauge pressure in psi.
func Psig(psi float64) Gauge { return Gauge(psi * Psi) }

// Atmosphere returns the ambient pressure at an altitude.
//
//   - in: altitude, m, −500 to 9,000
//   - out: Pa
//   - errors: [*fail.Error] outside the range
//   - source: US Standard Atmosphere 1976, p = 101325 (1 − 2.25577e-5 h)^5.25588
func Atmosphere(altitude float64) (Pressure, error) {
	if !(altitude >= -500 && altitude <= 9000) {
		return 0, fail.Of(fail.Range, "altitude", "units.altitude", fail.Args{"altitude": altitude})
	}
	return Atm * Pressure(math.Pow(1-2.25577e-5*altitude, 5.25588)), nil
}

// PressureEntry is a pressure as written: gauge or absolute, not yet converted.
type PressureEntry struct {
	Pa    float64
	Gauge bool
	Text  string
}

// Absolute converts with the ambient pressure of the site.
func (e PressureEntry) Absolute(ambient Pressure) Pressure {
	if e.Gauge {
		return Gauge(e.Pa).Absolute(ambient)
	}
	return Pressure(e.Pa)
}
