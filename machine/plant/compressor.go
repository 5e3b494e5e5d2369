package plant

import (
	"math"

	"coldwright/refrigerant"
)

// compressor draws gas by its swept volume and lifts it.
//
//	flow        m = V ρ_1 η_v (1 − s),        η_v = 1 + C − C r^(1/n)
//	work        w = (h_2s − h_1)/η · (1 − a s)/(1 − s)
//	efficiency  η = η_best/(1 + f ln²(r/r_best))
//	shell       l = κ/(1 + κ),  κ = U (T_2s − T_amb)/(m w)
//	gas         h_2 = h_1 + (1 − l) w
//
// s is the share of the gas that leaks back through worn valves, C the clearance, r the pressure ratio, l the share
// of the work that leaves through the shell, T_2s the temperature of isentropic compression.
//
//   - assumes: constant speed; efficiency goes with the pressure ratio alone, least far from the one the kind of
//     compressor is built for; the shell stands over its air by what isentropic compression does, whatever the air
//     moves; the power of a leaking compressor falls by the share a of what it no longer moves
//   - limits: r = 1 or C = 0 draws the whole swept volume; s = 0 is a sound compressor; at its design point η and l are
//     those of the design; in air as warm as T_2s nothing leaves the shell, and never the whole work
//   - source: clearance volumetric efficiency with a polytropic exponent n of re-expansion (definition); the form of η
//     is ours, its numbers fitted to published ten-coefficient maps; the others in coefficients.json, blocks design
//     and compressor
type compressor struct {
	clearance, eta, shellLoss float64 // efficiency and share lost from the shell at design
	lnBest, fall              float64 // ln r_best and f
	swept                     float64 // sized: m³/s per design kg/s
	atDesign                  float64 // sized: 1 + f ln²(r/r_best) at design
	shell                     float64 // sized: U, W/K per design kg/s
}

// compressorIn is the gas at the suction valve, the pressure it works against, the share leaking back and the air
// around the shell.
type compressorIn struct {
	p, rho, h, s      float64 // Pa, kg/m³, J/kg, J/(kg K)
	pc, leak, ambient float64 // Pa, share, K
}

// compressorOut is the gas at the discharge valve.
type compressorOut struct {
	m    float64 // flow it moves, kg/s per design kg/s
	w    float64 // work per kilogram moved, J/kg
	lost float64 // of that, through the shell, J/kg
	t, h float64 // K, J/kg
}

func (c *compressor) outlet(high *refrigerant.Isobar, in compressorIn) compressorOut {
	lnRatio := math.Log(in.pc / in.p)
	m := c.swept * in.rho * c.volumetric(lnRatio) * (1 - in.leak)
	t2s := high.TS(in.s)
	h2s, _ := high.H(t2s)
	w := (h2s - in.h) / c.efficiency(lnRatio) * (1 - coef.compressor.leakWork*in.leak) / (1 - in.leak)
	lost := 0.0
	if k := c.shell * (t2s - in.ambient); k > 0 {
		lost = w * k / (k + m*w)
	}
	h := in.h + w - lost
	return compressorOut{m, w, lost, high.TH(h), h}
}

// volumetric is the share of the swept volume that is filled with fresh gas, at a pressure ratio.
func (c *compressor) volumetric(lnRatio float64) float64 {
	const least = 0.05 // of the swept volume: beyond, the machine has no state and the solver needs a slope
	return math.Max(least, 1+c.clearance-c.clearance*math.Exp(lnRatio/coef.compressor.polytropic))
}

// efficiency is the isentropic efficiency at a pressure ratio.
func (c *compressor) efficiency(lnRatio float64) float64 { return c.eta * c.atDesign / c.away(lnRatio) }

// away is how far the work is above the least, at a pressure ratio.
func (c *compressor) away(lnRatio float64) float64 {
	d := lnRatio - c.lnBest
	return 1 + c.fall*d*d
}

// size fits the shell and the efficiency for the design point, where the flow is 1: the gas of density rho is lifted by
// the pressure ratio, by work dh isentropically, to t2s in air of ambient. It returns the work.
func (c *compressor) size(rho, ratio, dh, t2s, ambient float64) float64 {
	lnRatio := math.Log(ratio)
	c.swept = 1 / (rho * c.volumetric(lnRatio))
	c.atDesign = c.away(lnRatio)
	w := dh / c.eta
	const least = 5 // K of the shell over its air
	c.shell = c.shellLoss / (1 - c.shellLoss) * w / math.Max(least, t2s-ambient)
	return w
}
