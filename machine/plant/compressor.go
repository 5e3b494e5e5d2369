package plant

import (
	"math"

	"coldwright/refrigerant"
)

// compressor draws gas by its swept volume and lifts it.
//
//	flow   m = V ρ_1 η_v (1 − s),        η_v = 1 + C − C r^(1/n)
//	work   w = (h_2s − h_1)/η · (1 − a s)/(1 − s)
//	gas    h_2 = h_1 + (1 − l) w
//
// s is the share of the gas that leaks back through worn valves, C the clearance, r the pressure ratio, l the share
// of the work that leaves through the shell.
//
//   - assumes: constant speed; isentropic efficiency does not depend on the pressure ratio; the power of a leaking
//     compressor falls by the share a of what it no longer moves
//   - limits: r = 1 or C = 0 draws the whole swept volume; s = 0 is a sound compressor
//   - source: clearance volumetric efficiency with a polytropic exponent n of re-expansion (definition); efficiencies,
//     n and a in coefficients.json, blocks design and compressor
type compressor struct {
	clearance, eta, shellLoss float64
	swept                     float64 // sized: m³/s per design kg/s
}

// compressorIn is the gas at the suction valve, the pressure it works against and the share leaking back.
type compressorIn struct {
	p, rho, h, s float64 // Pa, kg/m³, J/kg, J/(kg K)
	pc, leak     float64
}

// compressorOut is the gas at the discharge valve.
type compressorOut struct {
	m    float64 // flow it moves, kg/s per design kg/s
	w    float64 // work per kilogram moved, J/kg
	t, h float64 // K, J/kg
}

func (c *compressor) outlet(high *refrigerant.Isobar, in compressorIn) compressorOut {
	m := c.swept * in.rho * c.volumetric(in.pc/in.p) * (1 - in.leak)
	h2s, _ := high.H(high.TS(in.s))
	w := (h2s - in.h) / c.eta * (1 - coef.compressor.leakWork*in.leak) / (1 - in.leak)
	h := in.h + (1-c.shellLoss)*w
	return compressorOut{m, w, high.TH(h), h}
}

// volumetric is the share of the swept volume that is filled with fresh gas, at a pressure ratio.
func (c *compressor) volumetric(ratio float64) float64 {
	const least = 0.05 // of the swept volume: beyond, the machine has no state and the solver needs a slope
	return math.Max(least, 1+c.clearance-c.clearance*math.Exp(math.Log(ratio)/coef.compressor.polytropic))
}
