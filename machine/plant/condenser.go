package plant

import (
	"math"

	"coldwright/refrigerant"
)

// airSide is the air that passes a coil, as far as it still moves.
//
//		C = C₀(1−s),  NTU = NTU₀ (1−s)^−n (1 − b·s),  ε = 1 − exp(−NTU)
//
//	  - assumes: the refrigerant side keeps one temperature; conductance falls with the air by 1−n, and dirt or ice
//	    that took the air also covers surface (b)
//	  - limits: s = 0 gives the design values; s towards 1 leaves no air and no capacity
//	  - source: Kays and London, Compact Heat Exchangers, effectiveness at a capacity ratio of zero (definition); n and b
//	    stand in coefficients.json, block air_side
type airSide struct {
	capacity float64 // W/K per design kg/s
	ntu      float64
	eff      float64 // effectiveness
}

func blow(capacity, ntu, lost float64) airSide {
	left := 1 - lost
	n := ntu * math.Pow(left, -coef.airSide.exponent) * (1 - coef.airSide.covered*lost)
	return airSide{capacity * left, n, 1 - math.Exp(-n)}
}

// thinAir is what the site's air does to a coil whose plate speaks of another: a fan moves its volume, so that capacity
// goes with density and transfer units as for lost air.
//
//		C = C₀ s,  NTU = NTU₀ s^−n
//
//	  - in: density over the plate's, 0: as there
//	  - limits: 1, and the zero value, change nothing
//	  - source: fan law at one speed (definition); n as for lost air
type thinAir struct{ capacity, ntu float64 }

func thinned(density float64) thinAir {
	if density == 1 || density == 0 {
		return thinAir{}
	}
	return thinAir{density, math.Pow(density, -coef.airSide.exponent)}
}

func (t thinAir) blow(capacity, ntu, lost float64) airSide {
	if t.capacity == 0 {
		return blow(capacity, ntu, lost)
	}
	return blow(capacity*t.capacity, ntu*t.ntu, lost)
}

// condenser takes heat from the refrigerant into an air stream. Three zones share its surface: vapour cooled to the
// dew point, vapour condensing, and, where liquid is backed up, liquid cooled.
//
//		condensing       f₂ = m (h_g − max(h_out, h_f)) / (C ε (½(T_dew + T_bub) − T_a))
//		desuperheating   f_d = m c̄ ln((T_2 − T_a)/(T_dew − T_a)) / (u_d NTU C),  c̄ = (h_2 − h_g)/(T_2 − T_dew)
//		backed-up liquid T_out = T_a + (T_bub − T_a) exp(−u_s NTU C φ/(m c_l))
//		residual         ln((f₂ + f_d)/(1 − φ)) = 0
//
//	  - assumes: the whole air passes each zone at its entering temperature; one conductance per zone; no pressure drop
//	  - limits: φ = 0 leaves saturated liquid; x > 0 is vapour leaving; less air needs more surface
//	  - source: effectiveness of a condensing stream (definition); logarithmic mean for the vapour zone (definition);
//	    conductance ratios in coefficients.json, block design
type condenser struct {
	ntu, us, ud float64 // air side at design; conductance of subcool and desuperheat zone over the two-phase zone
	volume      float64 // m³ per design kg/s
	air         float64 // sized: capacity rate of the air, W/K per design kg/s
	thin        thinAir
}

// condenserIn is what enters: the flow, its condensing dew temperature, how it leaves, and the air.
type condenserIn struct {
	m, dew         float64 // kg/s per design kg/s; K
	liquid, vapour float64 // backed-up share of the surface; share of the flow that leaves as vapour
	airT, lost     float64 // air entering, K; share of it lost
}

// condenserOut is what leaves, with the saturation it left.
type condenserOut struct {
	p, bubble   float64 // saturation pressure, Pa; bubble temperature, K
	hf, hg, hfg float64 // J/kg
	cp          float64 // of the liquid, J/(kg K)
	t, h        float64 // temperature of the liquid leaving, K; enthalpy leaving, J/kg
	air         airSide
}

func (c *condenser) outlet(f *refrigerant.Fit, in condenserIn, o *condenserOut) {
	o.p = f.DewT(in.dew)
	o.bubble = f.BubbleP(o.p)
	o.hg = f.DewH(in.dew)
	o.hf, o.cp = f.LiquidH(o.bubble)
	o.hfg = o.hg - o.hf
	o.air = c.thin.blow(c.air, c.ntu, in.lost)
	o.t = o.bubble
	o.h = o.hf + in.vapour*o.hfg
	if in.liquid > 0 {
		o.t = in.airT + (o.bubble-in.airT)*math.Exp(-c.us*(o.air.ntu*o.air.capacity)*in.liquid/(in.m*o.cp))
		o.h, _ = f.LiquidH(o.t)
	}
}

// zones are the shares of the surface that the flow needs.
type zones struct{ condensing, desuperheating float64 }

func (z zones) sum() float64 { return z.condensing + z.desuperheating }

// surface is what the flow needs of the surface when it arrives as discharge gas of t2 and h2.
func (c *condenser) surface(in condenserIn, o *condenserOut, t2, h2 float64) zones {
	const least = 0.05 // K of difference to the air, so that a trial step across the air temperature stays a number
	dT := math.Max(0.5*(in.dew+o.bubble)-in.airT, least)
	var z zones
	if in.liquid > 0 {
		z.condensing = in.m * o.hfg / (o.air.capacity * o.air.eff * dT)
	} else {
		z.condensing = in.m * (o.hg - math.Max(o.h, o.hf)) / (o.air.capacity * o.air.eff * dT)
	}
	if t2 > in.dew+0.01 {
		z.desuperheating = in.m * (h2 - o.hg) / (t2 - in.dew) * math.Log((t2-in.airT)/math.Max(in.dew-in.airT, least)) /
			(c.ud * (o.air.ntu * o.air.capacity))
	}
	return z
}

// size builds the condenser for its design point: how much is backed up, the air it needs, and the temperature of the
// liquid that leaves it. Subcooling is the one asked for where the machine has no receiver, of the liquid leaving the
// unit; what the unit does not do on the liquid's way belongs to the backed-up share.
func (c *condenser) size(d *Design, o *condenserOut, tc, t2, h2 float64) (liquid, t float64) {
	eps := 1 - math.Exp(-d.NTUc)
	dT := 0.5*(tc+o.bubble) - d.AmbientT
	l := (h2 - o.hg) / (t2 - tc) * math.Log((t2-d.AmbientT)/(tc-d.AmbientT))
	need := (o.hg-o.hf)/(eps*dT) + l/(d.UD*d.NTUc) // of the part that condenses
	t = o.bubble
	if !d.Receiver {
		liquid = d.BackedUp
		if d.Subcool > 0 {
			share := math.Max(0.02, 1-d.Subcool/(o.bubble-d.AmbientT)) / (1 - d.LiquidCool)
			n := math.Max(0, -math.Log(math.Min(1, share)))
			liquid = math.Max(0.005, n/(d.US*d.NTUc*need/o.cp+n))
		}
		t = d.AmbientT + (o.bubble-d.AmbientT)*math.Exp(-d.US*d.NTUc*need/(1-liquid)*liquid/o.cp)
	}
	c.air = need / (1 - liquid)
	return liquid, t
}
