package diagnose

import (
	"math"

	"coldwright/machine/reading"
)

// Readings of one visit share errors: whatever a gauge is off, it is off in every pressure read on it, and whoever lets
// one clamp read the air around a line lets the others. An observation's density is that given the observations before
// it: what these say of the shared error moves what it should show and narrows what it may be off.

// shared says which error of the visit an observation has part in.
type shared int

const (
	sharesNone shared = iota
	lowGauge
	headGauge
	clamps
	numShared
)

// common is an observation's part in a shared error: one standard deviation of that moves it by load; gain is what its
// residual says of the error, in standard deviations per unit.
type common struct {
	of         shared
	own        float64 // standard deviation of what is measured wrong besides
	load, gain float64
}

// zeroShare is the part of a gauge's variance that is one offset of the whole gauge, its zero and its scale; the rest is
// the needle and the eye. Judgement, ours: grades of gauges (ASME B40.100, from memory) count both, and two readings on
// one gauge minutes apart repeat to a third of what it may be off.
const zeroShare = 0.9

// A bare clamp reads this share of the way from the line to the air around it, and that share is only roughly known: 1 to
// 3 K on a suction line some 50 K colder than the air. From memory, judgement; no published measurement was found.
const bareShare, bareShareSd = 0.05, 0.03

// awayFromAir is how far lines usually are from the air around them at most, K: one that reads farther off is no measure of how
// its clamp leans. Common practice, no source.
var awayFromAir = map[reading.Place]float64{
	reading.CoilOutletLine: 8, reading.SuctionLine: 50, reading.DischargeLine: 70,
	reading.LiquidLine: 12, reading.DrierIn: 12, reading.DrierOut: 12,
}

// lean takes off what a bare clamp reads toward the air around the line; what is unknown of it, it shares with the others.
// A reading whose uncertainty was stated is taken as it is.
func (e *evidence) lean(o *observation, r reading.Reading) {
	around := e.ambT
	most, known := awayFromAir[o.at]
	switch {
	case !known:
		return // air
	case o.at == reading.CoilOutletLine:
		around = e.boxT
	}
	if r.Instrument != reading.BareClamp || r.U > 0 {
		return
	}
	line := (o.y - bareShare*around) / (1 - bareShare)
	o.toward = o.y - line
	o.y = line
	far := math.Max(-most, math.Min(most, around-line))
	o.common = common{of: clamps, load: bareShareSd * far}
	o.measure = reading.Clamp.U(o.at)
}

// onGauge gives a pressure its gauge's error, in the unit it already has. A reading whose uncertainty was stated is taken as it is.
func (o *observation) onGauge(r reading.Reading) {
	if r.U > 0 {
		return
	}
	o.common = common{of: headGauge, load: math.Sqrt(zeroShare) * o.measure}
	if o.bias == biasSuction {
		o.common.of = lowGauge
	}
	o.measure *= math.Sqrt(1 - zeroShare)
}

// farthest is how many of its standard deviations a residual counts at most toward a shared error: what is further out is
// one reading gone wrong, or a gauge that lies, which is a hypothesis of its own and not counted twice.
const farthest = 2.0

// says is what an observation's residual says of the shared error, in standard deviations of that.
func (o *observation) says(pred float64) float64 {
	most := farthest * o.sigma()
	return o.common.gain * math.Max(-most, math.Min(most, o.residual(pred)))
}

// shareErrors works out how much of a shared error is left to each observation after those before it, and what each says
// of it. Two pressures read on gauges of two kinds share nothing.
//
//   - assumes: normal errors; a lying gauge is a hypothesis of its own
//   - source: sequential conditioning of a normal with covariance of rank one (Sherman and Morrison 1950, Ann. Math. Stat. 21:124-127)
func (e *evidence) shareErrors(s reading.Sheet) {
	var precision [numShared]float64
	var by [numShared]reading.Instrument
	for i := range e.obs {
		o := &e.obs[i]
		c := &o.common
		if c.of == sharesNone {
			continue
		}
		if c.own == 0 {
			c.own = o.measure
		}
		r, _ := s.Find(o.at)
		if precision[c.of] == 0 {
			precision[c.of], by[c.of] = 1, r.Instrument
		}
		before := precision[c.of]
		if c.of != clamps && r.Instrument != by[c.of] {
			c.own, c.of = math.Hypot(c.own, c.load), sharesNone
			o.measure = c.own
			continue
		}
		rest := c.own*c.own + o.discrepancy*o.discrepancy
		after := before + c.load*c.load/rest
		o.measure = math.Hypot(c.own, c.load/math.Sqrt(before))
		c.gain = c.load / rest / after
		precision[c.of] = after
	}
}

// alone is the standard deviation of measuring when nothing else was read.
func (o *observation) alone() float64 {
	if o.common.of == sharesNone {
		return o.measure
	}
	return math.Hypot(o.common.own, o.common.load)
}
