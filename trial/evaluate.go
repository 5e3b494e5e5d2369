package trial

import (
	"math"
	"math/rand/v2"

	"coldwright/num"
	"coldwright/units"
)

// simulateHold draws a standing-pressure test: 300 psig, gas temperature swinging with the day, a loss of share per day (0 is tight), with looks at equal
// intervals. Noise as an instrument shows it: gauge to a fifth of a psi, thermometer 0.3 K, gas that lags or leads its thermometer by a tenth, weather.
// It returns the readings and the true change, Pa at the first temperature. The gas is ideal here, so that the engine's equation is not its own judge.
func simulateHold(rng *rand.Rand, share, hours float64, looks int) ([]HoldPoint, float64) {
	const p0 = 300*units.Psi + num.StandardAtmosphere
	t0 := 285 + 20*rng.Float64()
	amp, phase, trend := 6*rng.Float64(), 2*math.Pi*rng.Float64(), 4*rng.NormFloat64()
	follow := 1 + 0.1*rng.NormFloat64()
	drift := 0.1 * units.Psi * rng.NormFloat64()
	swing := func(h float64) float64 {
		return amp*(math.Sin(2*math.Pi*h/24+phase)-math.Sin(phase)) + trend*(1-math.Exp(-h/6))
	}
	var out []HoldPoint
	weather := 0.0
	for k := range looks {
		f := float64(k) / float64(looks-1)
		h := hours * f
		if k > 0 {
			weather += 1e3 * math.Sqrt(hours/float64(looks-1)/24) * rng.NormFloat64()
		}
		dT := swing(h)
		p := p0*math.Exp(-share*h/24)*(t0+follow*dT)/t0 + drift*f + weather + 0.35*units.Psi*rng.NormFloat64()
		p = math.Round((p-num.StandardAtmosphere)/(0.2*units.Psi))*0.2*units.Psi + num.StandardAtmosphere
		out = append(out, HoldPoint{h * 60, units.Pressure(p), []units.Temp{units.Temp(t0 + dT + 0.3*rng.NormFloat64())}})
	}
	return out, p0 * (math.Exp(-share*hours/24) - 1)
}
