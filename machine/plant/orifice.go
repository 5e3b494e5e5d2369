package plant

import (
	"math"

	"coldwright/refrigerant"
)

// shortTube is an orifice of the kind air conditioners have: some diameters long, sharp edged. Liquid flashes in it and
// chokes, so that its flow goes with what is ahead of it and hardly with the pressure behind.
//
//	choked     m²/(A²K²) = ρ_f p_c π₁² · ρ_m/ρ_f,  ρ_m/ρ_f = (x ρ_f/ρ_v + 1 − x)^−γ
//	           π₁ = (a₁ + a₂π₃ + a₃π₉ + a₄π₆ + a₅ ln π₁₀)/(1 + a₆π₃ + a₇π₉²)
//	           π₃ = (p − p_s)/p_c,  π₉ = (T_b − T)/T_c,  π₆ = ρ_g/ρ_f,  π₁₀ = length over diameter
//	not choked m²/(A²K²) = 2 ρ_m (p − p_e)
//	either     the smaller of the two, with a corner: a (1 + (a/b)⁴)^−¼
//
// T is the liquid's temperature ahead of it, p_s and ρ_f belong to T, T_b is bubble temperature at p, x flash gas ahead.
//
//   - assumes: one length over diameter for all; no chamfer; flash gas thins the flow as it does a homogeneous mixture;
//     above the subcooling that the correlation was fitted to, flow goes with √(p − 0.9 p_s) from there
//   - limits: no pressure difference passes next to nothing; at equal inlet the pressure behind changes the flow by less
//     than a hundredth once it is below about half of p_s
//   - source: Payne and O'Neal (2004), HVAC&R Research 10(1):73-87, the constants as two public simulation codes have
//     them (coefficients.json, block short_tube); flow that is not choked: orifice relation (definition)
type shortTube struct {
	pc, tc float64 // critical, Pa and K
}

// squared is m²/(A²K²), kg/m³·Pa.
func (o *shortTube) squared(f *refrigerant.Fit, h, p, pe, hfg, gamma float64) float64 {
	k := &coef.shortTube
	tb := f.BubbleP(p)
	hf, cp := f.LiquidH(tb)
	if h >= hf {
		rl := f.LiquidRho(tb)
		rv, _, _ := f.DewVapour(f.DewP(p))
		thin := math.Exp(-gamma * math.Log1p((h-hf)/hfg*(rl/rv-1)))
		pi := (k.a1 + k.a4*rv/rl + k.a5*k.lnLength) * (k.a1 + k.a4*rv/rl + k.a5*k.lnLength)
		return smaller(rl*thin*o.pc*pi, 2*rl*thin*(p-pe))
	}
	// Two Newton steps to the temperature of the liquid.
	t := tb + (h-hf)/cp
	hl, c := f.LiquidH(t)
	t += (h - hl) / c
	onward := 1.0
	if sub := tb - t; sub > k.most {
		ps := f.BubbleT(t)
		t = tb - k.most
		onward = (p - k.lateShare*ps) / (p - k.lateShare*f.BubbleT(t))
	}
	ps := f.BubbleT(t)
	rl := f.LiquidRho(t)
	rv, _, _ := f.DewVapour(f.DewP(ps))
	p3, p9 := (p-ps)/o.pc, (tb-t)/o.tc
	pi := (k.a1 + k.a2*p3 + k.a3*p9 + k.a4*rv/rl + k.a5*k.lnLength) / (1 + k.a6*p3 + k.a7*p9*p9)
	return smaller(onward*rl*o.pc*pi*pi, 2*rl*(p-pe))
}

// smaller of a and b, above zero, with a corner; next to nothing where b is not above zero.
func smaller(a, b float64) float64 {
	b = math.Max(b, least)
	q := a / b
	q *= q
	return a / math.Sqrt(math.Sqrt(1+q*q))
}
