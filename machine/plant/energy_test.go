package plant

import (
	"math"
	"math/rand/v2"
	"testing"

	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

// ledger collects what goes into and out of one component, W per design kg/s.
type ledger struct {
	name    string
	in, out float64
	scale   float64 // what the difference is measured against
}

func (l ledger) off() float64 { return math.Abs(l.in-l.out) / l.scale }

// vapourH is the enthalpy of vapour by another way than the isobars of the model.
func vapourH(f *refrigerant.Fit, p, T float64) float64 {
	_, h, _ := f.Vapour(p, T)
	return h
}

// airShareOf is the share of the condenser's air that moves, by bisection.
func airShareOf(kind reading.HeadControl, area, ntu float64) float64 {
	switch {
	case area >= 1:
		return 1
	case kind == reading.FanCycling:
		return area
	case kind != reading.VariableFan:
		return 1
	}
	lo, hi := 0.0, 1.0
	for range 200 {
		s := 0.5 * (lo + hi)
		if s*(1-math.Exp(-ntu*math.Pow(s, -coef.airSide.exponent))) < area*(1-math.Exp(-ntu)) {
			lo = s
		} else {
			hi = s
		}
	}
	return 0.5 * (lo + hi)
}

// energy is the ledgers of a solved machine: temperatures and ratios are read from its outputs, enthalpies looked up
// at the ports' pressures and temperatures, heats taken from the air or from the law of heat transfer.
func energy(p *Plant, in Inputs, ch *Change, r *Result) []ledger {
	var s state
	in = p.entering(in)
	p.eval(in, ch, r.Mode, &r.U, &s)
	f, o, d := p.f, &r.Out, p.Design()
	m := math.Exp(r.U[1])
	pe, psat := f.DewT(r.U[0]), f.DewT(r.U[2])
	pc := psat + ch.Noncondensables
	bubble := f.BubbleP(psat)
	hf, cl := f.LiquidH(bubble)
	hg := f.DewH(r.U[2])
	w := o[PowerRatio] * p.nominal.work // W

	// Enthalpies at the ports.
	h2 := s.compressor.h // its temperature is found by inverting the table: see below
	h1 := s.suction.h
	if h1 >= f.DewH(s.suction.dew) { // dry
		h1 = vapourH(f, s.suction.p, o[SuctionLineT])
	}
	backed, vapour := math.Max(0, r.U[3]), math.Max(0, -r.U[3])
	liquidT := bubble
	hOut := hf + vapour*(hg-hf)
	airT := in.AmbientT + ch.Recirculation
	full := p.condenser.air * (1 - ch.CondenserAir)
	ntu := d.NTUc * math.Pow(1-ch.CondenserAir, -coef.airSide.exponent) * (1 - coef.airSide.covered*ch.CondenserAir)
	if backed > 0 {
		liquidT = airT + (bubble-airT)*math.Exp(-d.US*ntu*full*backed/(m*cl))
		hOut, _ = f.LiquidH(liquidT)
	}
	unit := m * cl * (liquidT - in.AmbientT) * (1 - math.Exp(-p.liquid.ua/(m*cl)))
	h3 := hOut - unit/m
	// From the glass: the share of vapour there is counted with the heat of evaporation at the condenser.
	hGlass, _ := f.LiquidH(f.BubbleP(s.liquid.glassP))
	hGlass += o[GlassQuality] * (hg - hf)

	// Coil.
	coilAir := p.evaporator.air * (1 - ch.CoilAir) * (in.BoxT - o[AirOffT])
	if e := &s.evaporator; e.wet > 1 { // what water gives besides
		taken := math.Min(1, e.wetted) * e.air.capacity * e.air.eff * e.wet * e.mean
		coilAir += taken * latent(&in.coil, e.air, in.BoxT-e.mean, e.mean, e.wet)
	}
	hgE := f.DewH(r.U[0])
	hfE, _ := f.LiquidH(f.BubbleP(pe))
	h5 := hfE + s.evaporator.vapour*(hgE-hfE)
	if s.evaporator.vapour == 1 {
		h5 = vapourH(f, pe, o[CoilOutletT])
	}
	exchanged := 0.0
	if d.Exchanger > 0 {
		cp := f.VapourH(pe, r.U[0]+0.5*(in.BoxT-r.U[0])).T
		superheat := 0.0
		if s.evaporator.wetted < 1 {
			superheat = o[CoilOutletT] - r.U[0]
		}
		exchanged = d.Exchanger * cp * (math.Min(o[LiquidLineT], f.BubbleP(s.liquid.glassP)) - r.U[0] - superheat)
	}
	h4 := h3 - exchanged

	// Condenser: heat by the laws of its zones and by its air.
	share := 1.0
	if held(r.Mode) {
		share = airShareOf(d.Head, s.zones.sum()/(1-backed), ntu)
	}
	condenserAir := full * share * (o[CondenserOffT] - airT)
	eff := 1 - math.Exp(-ntu)
	zones := full * eff * s.zones.condensing * (0.5*(r.U[2]+bubble) - airT)
	if t2 := o[DischargeLineT]; t2 > r.U[2]+0.01 {
		lmtd := (t2 - r.U[2]) / math.Log((t2-airT)/(r.U[2]-airT))
		zones += d.UD * ntu * full * s.zones.desuperheating * lmtd
	}
	zones += m * math.Max(0, hf-hOut) // liquid backed up

	line := m * (h1 - (h5 + exchanged)) // what the suction line takes up
	shell := s.compressor.lost * m
	heat := math.Max(m*math.Abs(h2-h3), w)
	l := []ledger{
		{"compressor", m*h1 + w, m*h2 + shell, heat},
		{"condenser, by its air", m * (h2 - hOut), condenserAir, heat},
		{"condenser, by its zones", m * (math.Max(h2, hg) - hOut), zones, heat},
		{"liquid line", m * h3, m * hGlass, heat},
		{"exchanger and expansion", m * (h3 - exchanged), m * s.evaporator.hIn, heat},
		{"evaporator, by its air", m * (h5 - h4), coilAir, heat},
		{"suction side", m*(h5+exchanged) + line, m * s.suction.h, heat},
		{"whole machine", coilAir + line + w, condenserAir + unit + shell, heat},
	}
	if o[DischargeLineT] > s.dischargeDew { // else it is wet, and the zone takes what dry gas would bring
		l = append(l, ledger{"temperature of the discharge gas", m * vapourH(f, pc, o[DischargeLineT]), m * h2, 1e2 * heat})
	}
	return l
}

// TestEnergy_ClosesOverEveryComponent: in random machines of every kind, in random states, what flows into each
// component flows out of it, and so for the whole machine: heat from the box, from the suction line and power go in;
// heat to the condenser's air, to the unit's and from the shell come out. Bound: what the solver leaves, and the
// rounding of enthalpies looked up again; the discharge temperature, which inverts a table, answers to a hundred times
// that. Three relations of the model are not balances and are bounded apart: the
// temperature of the liquid leaving the unit, which takes one heat capacity for its way; what the suction line takes
// up, which is a law of temperatures: the heat it is charged with here is what the enthalpies at its ends say; and the
// surface of a condenser that is fed wet gas, which is counted as if the gas were dry.
func TestEnergy_ClosesOverEveryComponent(t *testing.T) {
	const bound = 1e-9
	solved := 0
	worst := map[string]float64{}
	for _, o := range options(t) {
		rng := rand.New(rand.NewPCG(21, 34))
		for range 75 {
			d, in, ch := random(rng, o.p.design)
			p, err := New(d, o.p.f)
			if err != nil {
				continue
			}
			if d.Head != reading.HeadNone {
				in.AmbientT -= 20 * rng.Float64()
			}
			r := p.Solve(in, ch, Options{Tolerance: 1e-12})
			if !r.Status.OK() || r.Trip != TripNone {
				continue
			}
			solved++
			for _, l := range energy(&p, in, &ch, &r) {
				worst[l.name] = math.Max(worst[l.name], l.off())
				if !(l.off() < bound) {
					t.Errorf("%s, mode %d: %s takes %.9g W and gives %.9g for %+v", o.name, r.Mode, l.name, l.in, l.out, ch)
				}
			}
		}
	}
	for name, off := range worst {
		t.Logf("%s: %.1e", name, off)
	}
	if solved < 1000 {
		t.Errorf("%d machines solved, want 1000", solved)
	}
}
