package plant

import (
	"math"

	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Plant is a sized machine: its components with what the design point fixes of them. It does not change once made.
type Plant struct {
	design Design
	f      *refrigerant.Fit

	condenser           condenser
	liquid              liquidLine
	expansion           expansion
	evaporator          evaporator
	exchanger           exchanger
	evaporatorRegulator evaporatorRegulator
	suction             suctionLine
	crankcaseRegulator  crankcaseRegulator
	compressor          compressor
	receiver            receiver
	headControl         headControl
	nominal             nominal
}

// nominal is the design state, per design kg/s.
type nominal struct {
	work, capacity float64 // W
	liquid         float64 // backed-up share of the condenser
}

// New sizes a machine at its design point in closed form.
//
//   - in: a design; the fit of its refrigerant
//   - out: an immutable plant
//   - errors: the design point lies outside the refrigerant's range or contradicts itself; a [*fail.Error] where the
//     refrigerant would not condense
//   - assumes: flow 1 at the design point; every component as its own comment says
//   - source: each component's relation, solved for its size (definition)
//   - cost: about 3 µs; 15 µs with an exchanger and no receiver
func New(d Design, f *refrigerant.Fit) (Plant, error) {
	p, err := NewWithoutCharge(d, f)
	if err == nil {
		p.receiver.justEmpty = p.designCharge()
	}
	return p, err
}

// NewWithoutCharge is [New], but the design charge is not weighed: each solve that needs it does so for itself, and
// [ChargeShare] is zero where none did. For machines that are solved once.
//
//   - in, out, errors, source: as [New]
//   - cost: two thirds of [New]
func NewWithoutCharge(d Design, f *refrigerant.Fit) (Plant, error) {
	if err := d.check(f); err != nil {
		return Plant{}, err
	}
	var p Plant
	p.f = f
	if l := f.Refrigerant().Limits(); d.Expansion == reading.Orifice {
		p.expansion.tube = shortTube{l.PCrit, l.TCrit}
	}
	p.build(d)
	p.size()
	if !(p.expansion.constant > 0 && p.condenser.air > 0 && p.evaporator.air > 0 && p.compressor.swept > 0) {
		return Plant{}, fail.Of(fail.Range, "machine", "machine.design_point",
			fail.Args{"box": units.Temp(d.BoxT), "ambient": units.Temp(d.AmbientT)})
	}
	return p, nil
}

// Design is what the machine was sized from, or altered to.
func (p *Plant) Design() Design { return p.design }

// Performance is the cold made over the power drawn at the design point.
//
//   - out: W/W
//   - source: definition
func (p *Plant) Performance() float64 { return p.nominal.capacity / p.nominal.work }

// Altered is the same machine, its surfaces, sizes and charge as they were sized, with other values for what has
// none: what wear, a turned setting or another law does to a machine that was built right.
//
//   - in: a design; its temperatures, TD, split and superheat ratio are not used any more
//   - out: a plant of its own
//   - source: definition
func (p *Plant) Altered(d Design) Plant {
	q := *p
	q.build(d)
	return q
}

// build hands each component its design values; what was sized stays.
func (p *Plant) build(d Design) {
	p.design = d
	c := &p.condenser
	thin := thinned(d.AirDensity)
	c.ntu, c.us, c.ud, c.volume, c.thin = d.NTUc, d.US, d.UD, d.VC, thin
	l := &p.liquid
	l.drop, l.lift, l.volume = d.LiquidDrop, d.Lift, d.VL
	x := &p.expansion
	x.kind, x.widest, x.band, x.gamma = d.Expansion, d.ValveMax, d.Band, d.Gamma
	e := &p.evaporator
	e.ntu, e.uv, e.volume, e.thin = d.NTUe, d.UV, d.VE, thin
	p.exchanger.effectiveness = d.Exchanger
	p.evaporatorRegulator.set = d.CoilP
	p.suction.ntu, p.suction.volume = d.SuctionNTU, d.VS
	p.crankcaseRegulator.set = d.CrankcaseP
	k := &p.compressor
	k.clearance, k.eta, k.shellLoss = d.Clearance, d.Eta, d.ShellLoss
	k.lnBest, k.fall = math.Log(d.BestRatio), d.Fall
	r := &p.receiver
	r.fitted, r.reserve, r.volume = d.Receiver, d.Reserve, d.VR
	p.headControl = headControl{d.Head, d.HeadSet}
}

// size solves each component for its size at the design point, where the flow is 1.
func (p *Plant) size() {
	d, f := &p.design, p.f
	td := d.td(f)
	te, tc := d.BoxT-td, d.AmbientT+d.Split
	pe := f.DewT(te)
	superheat := d.SHRatio * td
	low := f.Isobar(pe)
	hOut, cpv := low.H(te + superheat)
	rhoOut := low.Rho(te + superheat)

	// Suction side: pressures.
	slope := f.DewSlope(te)
	p.suction.slope, p.evaporatorRegulator.slope = slope, slope
	drop := d.SuctionDrop * slope
	p.suction.resistance = drop * rhoOut
	end, line := pe-drop, low // ahead of the crankcase regulator; at the start of the suction line
	if p.evaporatorRegulator.fitted() {
		behind := p.evaporatorRegulator.size(pe, rhoOut)
		line = f.Isobar(behind)
		p.suction.resistance = drop * rhoOut * behind / pe
		end = behind - drop
	}
	ps := end
	if p.crankcaseRegulator.fitted() {
		ps = p.crankcaseRegulator.outlet(end)
	}
	suction := f.Isobar(ps)
	before := suction
	if p.crankcaseRegulator.fitted() {
		before = f.Isobar(end)
	}

	var o condenserOut
	o.p = f.DewT(tc)
	o.bubble = f.BubbleP(o.p)
	o.hg = f.DewH(tc)
	o.hf, o.cp = f.LiquidH(o.bubble)
	o.hfg = o.hg - o.hf
	p.liquid.ua = -o.cp * math.Log(1-d.LiquidCool)
	high := f.Isobar(o.p)
	var liquidT, liquidH, exchanged float64
	for pass := range 12 {
		// With an exchanger the suction gas needs the liquid's temperature, which without receiver needs the
		// condenser, which needs the suction gas.
		t := te + superheat
		if p.exchanger.fitted() || p.evaporatorRegulator.fitted() {
			t = line.TH(hOut + exchanged)
		}
		ts := d.AmbientT - (d.AmbientT-t)*math.Exp(-d.SuctionNTU)
		h1, _ := before.H(ts)
		if p.crankcaseRegulator.fitted() {
			ts = suction.TH(h1)
		}
		t2s := high.TS(suction.S(ts))
		h2s, _ := high.H(t2s)
		p.nominal.work = p.compressor.size(suction.Rho(ts), o.p/ps, h2s-h1, t2s, d.AmbientT)
		h2 := h1 + (1-d.ShellLoss)*p.nominal.work
		p.nominal.liquid, liquidT = p.condenser.size(d, &o, tc, high.TH(h2), h2)
		liquidT -= d.LiquidCool * (liquidT - d.AmbientT)
		liquidH, _ = f.LiquidH(liquidT)
		if !p.exchanger.fitted() {
			break
		}
		_, cp := low.H(te + 0.5*td)
		q := d.Exchanger * cp * (liquidT - te - superheat)
		close := pass > 0 && math.Abs(q-exchanged) < 1e-9*math.Abs(q)
		exchanged = q
		if close {
			break
		}
	}
	h4 := liquidH - exchanged
	p.evaporator.size(d, f, te, pe, td, h4, liquidH, cpv)
	p.expansion.size(f, superheat, h4, p.liquid.size(f, liquidT, o.p), pe, o.hfg)
	p.nominal.capacity = hOut - h4
}

// designCharge weighs the circuit in its design state.
func (p *Plant) designCharge() float64 {
	d := &p.design
	var s state
	u := [4]float64{d.BoxT - d.td(p.f), 0, d.AmbientT + d.Split, 0}
	if !d.Receiver {
		u[3] = p.nominal.liquid
	}
	p.flow(p.entering(Inputs{BoxT: d.BoxT, AmbientT: d.AmbientT}), &Change{}, &u, &s)
	return p.inventory(&s, p.flooded(modeFree, &s))
}

// entering is the inputs with the air that enters a coil on which water settles.
func (p *Plant) entering(in Inputs) Inputs {
	d := &p.design
	rh := in.Humidity
	if rh == 0 {
		rh = d.Humidity
	}
	if d.Humidity > 0 && (in.coil.humid != rh || in.coil.at != in.BoxT) {
		p := float64(units.Atm)
		if d.AirDensity > 0 {
			p *= d.AirDensity
		}
		in.coil = moist(in.BoxT, rh, p, in.BoxT-d.TD)
	}
	return in
}

// check refuses what cannot be sized.
func (d *Design) check(f *refrigerant.Fit) error {
	if d.Expansion == reading.Overfeed {
		return fail.Of(fail.NoAnswer, "machine", "machine.overfeed", nil)
	}
	lo, hi := f.TRange()
	te, tc := d.BoxT-d.TD, d.AmbientT+d.Split
	if err := Condenses(*d, f, d.AmbientT); err != nil {
		return err
	}
	switch {
	case !(d.TD > 0 && d.Split > 0):
		return fail.Of(fail.Range, "machine", "machine.td_and_split", fail.Args{"td": units.TempDiff(d.TD), "split": units.TempDiff(d.Split)})
	case te < lo || tc > hi:
		return fail.Of(fail.Range, "machine", "machine.refrigerant_covers", fail.Args{
			"refrigerant": f.Designation(), "min": units.Temp(lo), "max": units.Temp(hi),
			"evaporating": units.Temp(te), "condensing": units.Temp(tc),
		})
	case tc < te+5:
		return fail.Of(fail.Range, "machine", "machine.condensing_below", fail.Args{"condensing": units.Temp(tc), "evaporating": units.Temp(te)})
	case d.CoilP > 0 && d.td(f) < 0.4*d.TD:
		return fail.Of(fail.Range, "machine", "machine.regulator_above_coil", fail.Args{
			"pressure": d.CoilP / units.Kilo, "held": units.Temp(f.DewP(d.CoilP)), "evaporating": units.Temp(te),
		})
	}
	return nil
}

// td is the design TD; where an evaporator regulator is set above that, what it leaves of it with the valve well open.
func (d *Design) td(f *refrigerant.Fit) float64 {
	if d.CoilP > 0 {
		return math.Min(d.TD, d.BoxT-f.DewP(d.CoilP)+coef.evaporatorRegulator.aheadOfShut)
	}
	return d.TD
}

// coldFluid is the critical temperature below which a refrigerant is one that may not condense in outside air, K (45 °C).
const coldFluid = units.ZeroC + 45

// Condenses reports whether the refrigerant can condense at all in a machine that stands in air of this temperature.
//
//   - in: the design (its split), the fit, ambient in K
//   - out: nil, or a [*fail.Error] that says that this machine runs transcritical, which this model does not hold
//   - assumes: refrigerants with a critical temperature above 45 °C trip on high pressure before they get there: a result of [Plant.Solve]
//   - source: definition
func Condenses(d Design, f *refrigerant.Fit, ambient float64) error {
	_, hi := f.TRange()
	tc := ambient + d.Split
	crit := f.Refrigerant().Limits().TCrit
	if tc <= hi || crit > coldFluid {
		return nil
	}
	return fail.Of(fail.NoAnswer, "machine", "machine.transcritical", fail.Args{
		"refrigerant": f.Designation(), "condensing": units.Temp(tc), "critical": units.Temp(crit), "known": units.Temp(hi),
		"ambient": units.Temp(hi - d.Split), "split": units.TempDiff(d.Split),
	})
}
