package plant

import (
	"math"

	"coldwright/refrigerant"
)

// receiver holds what the circuit does not need: with one, charge above the just-empty state changes nothing.
//
//   - assumes: vapour over liquid at the condenser's outlet; the liquid in it is not counted as circulating
//   - limits: without one, all the charge is in the circuit
//   - source: definition; reserve and volume in coefficients.json, block design
type receiver struct {
	fitted    bool
	reserve   float64 // share of the full charge
	volume    float64 // of its vapour, m³ per design kg/s
	justEmpty float64 // sized: charge of the design state with it empty, kg per design kg/s; 0: not asked for yet
}

// charge is what is in the circuit under a change: with a receiver the just-empty charge less the deficit, else the design charge changed.
func (r *receiver) charge(ch *Change) float64 {
	if r.fitted {
		return r.justEmpty * (1 - ch.LowCharge)
	}
	return r.justEmpty * (1 - ch.LowCharge) * (1 + ch.OverCharge)
}

// full includes the reserve.
func (r *receiver) full() float64 { return r.justEmpty / (1 - r.reserve) }

// inventory is the charge in the parts of the circuit, by volume and mean density.
//
//   - assumes: equilibrium in each part; void fraction by Zivi; vapour share linear along the two-phase zones
//   - source: Zivi (1964), J. Heat Transfer 86:247-252, integrated; volumes in coefficients.json, block design
func (p *Plant) inventory(s *state, flooded float64) float64 {
	f, c, l, e := p.f, &s.condenser, &s.liquid, &s.evaporator
	area := s.zones.sum()
	rv, rl := l.vapourRho, l.rho
	rlC := f.LiquidRho(c.bubble)
	slip := twoThirds(rv / rlC)
	share := (1 - flooded) / math.Max(area, 1e-9)
	void := voidMean(slip, s.vapour, 1)
	M := p.condenser.volume * (s.zones.desuperheating*share*rv + s.zones.condensing*share*(void*rv+(1-void)*rlC) + flooded*rlC)
	x := math.Min(0.999, math.Max(0, l.glassVapour))
	void = x / (slip + (1-slip)*x)
	M += p.liquid.volume * (void*rv + (1-void)*rl)
	rgE, _, _ := f.DewVapour(s.te)
	rlE := f.LiquidRho(e.bubble)
	void = voidMean(twoThirds(rgE/rlE), math.Min(0.98, math.Max(0, e.vapourIn)), math.Max(e.vapour, 0.01))
	M += p.evaporator.volume * (math.Min(e.wetted, 1)*(void*rgE+(1-void)*rlE) + math.Max(0, 1-e.wetted)*e.rho)
	M += p.suction.volume*s.suction.rho + p.receiver.volume*rv
	return M
}

// MeanVoid returns the mean share of the volume that vapour takes between two vapour shares by mass.
//
//		α(x) = x/(σ + (1−σ) x),  σ = (ρ_v/ρ_l)^⅔
//
//	  - in: vapour and liquid density, kg/m³; vapour shares a ≤ b, 0 to 1
//	  - out: 0 to 1
//	  - source: Zivi (1964), J. Heat Transfer 86:247-252, integrated
func MeanVoid(rhoV, rhoL, a, b float64) float64 { return voidMean(math.Pow(rhoV/rhoL, 2.0/3), a, b) }

// voidMean is the mean of Zivi's void fraction over qualities a to b.
func voidMean(slip, a, b float64) float64 {
	k := 1 - slip
	if b-a < 1e-6 {
		return a / (slip + k*a)
	}
	g := func(x float64) float64 { return x/k - slip/(k*k)*math.Log(slip+k*x) }
	return (g(b) - g(a)) / (b - a)
}

func twoThirds(x float64) float64 { return math.Exp(math.Log(x) * (2.0 / 3)) }

// standing is the saturation temperature at the pressure of a machine stopped and equalised at a temperature.
//
//   - assumes: liquid and vapour of the bulk composition together, with a fixed share of vapour; of gas that does not
//     condense a share of its partial pressure while running
//   - source: definition of the saturation line; shares are judgement, ours (coefficients.json, block standing)
func standing(f *refrigerant.Fit, T, glide, gas float64) float64 {
	k := &coef.standing
	p := f.DewT(T)
	if glide > 1e-3 {
		// Liquid and vapour stand together, so a blend stands between its bubble and its dew pressure.
		p += (1 - k.vapour) * (f.BubbleT(T) - p)
	}
	return f.DewP(p + k.gas*gas)
}
