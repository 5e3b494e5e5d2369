package diagnose

import (
	"math"
	"slices"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

// channel ties a place to the model.
type channel struct {
	out         plant.Output
	discrepancy float64 // K or share, what the model gets wrong even so; judgement, ours: see docs/physics.md, section 7
	minutes     float64 // to take it, for the next reading; common practice, no source
}

// Discrepancies and minutes per place. Editable here; they are to be re-estimated from confirmed repairs. A machine that
// stands is seldom at the one temperature that was read of the air: sun, warm walls, a coil that is still cold; and what a
// drier and its lines lose at design is not known to half. Judgement, ours.
var channels = map[reading.Place]channel{
	reading.SuctionPressure:   {plant.SuctionDew, 0.7, 4},
	reading.CoilPressure:      {plant.CoilDew, 0.7, 8},
	reading.DischargePressure: {plant.DischargeDew, 1.0, 4},
	reading.LiquidPressure:    {plant.LiquidDew, 1.0, 5},
	reading.StandingPressure:  {plant.StandingT, 1.0, 30},
	reading.CoilOutletLine:    {plant.CoilOutletT, 0.8, 4},
	reading.SuctionLine:       {plant.SuctionLineT, 2.0, 2},
	reading.LiquidLine:        {plant.LiquidLineT, 0.7, 2},
	reading.DischargeLine:     {plant.DischargeLineT, 4.0, 2},
	reading.CoilAirOff:        {plant.AirOffT, 0.8, 2},
	reading.CondenserFaceAir:  {plant.CondenserFaceT, 0.3, 1},
	reading.CondenserAirOff:   {plant.CondenserOffT, 1.2, 1},
	reading.DrierOut:          {plant.DrierDrop, 0.4, 2},
	reading.Amps:              {plant.AmpsRatio, 0.05, 3},
}

// MovedGauge is the standard uncertainty of a difference read by one gauge moved from suction to the coil's outlet,
// K: it errs there as it did before. Judgement.
const MovedGauge = 0.5

// MovedClamp is the standard uncertainty of a difference read by one clamp moved over a hand's width, K: the common
// error drops out. Judgement.
const MovedClamp = 0.5

// dropDiscrepancy is what the model gets wrong of that difference, K. Judgement.
const dropDiscrepancy = 0.5

// oneGauge reports whether the coil's pressure was read on the gauge that read suction, as far as anyone said.
func oneGauge(s reading.Sheet, suction reading.Reading) bool {
	coil, ok := s.Find(reading.CoilPressure)
	return ok && coil.Instrument == suction.Instrument
}

// drierAway is what the liquid may gain or lose on its way to the drier, K. Judgement.
const drierAway = 0.7

// caught is by how much an accumulator moves what the suction line shows at the compressor, K: while liquid of the start,
// the defrost or a flooding coil stands in it, the gas leaves saturated. Liquid of some 1 kg is boiled off by the
// superheat of the gas (5 K of 30 g/s, 100 W) within half an hour. Judgement, ours.
func caught(running *float64) float64 {
	const most, often, minutes = 5.0, 1.5, 20.0
	if running == nil {
		return 0.5 * most
	}
	return often + most*math.Exp(-*running/minutes)
}

// coilOutletShare of the TD is added to the discrepancy at the coil outlet: uneven feeding moves that line more than the model knows.
const coilOutletShare = 0.15

// uneven is what the coil outlet's line is less known by than a channel says, K: uneven feeding, and an orifice away from
// its design point.
func (e *evidence) uneven(m reading.Resolved) float64 {
	return math.Hypot(coilOutletShare*float64(m.TD), coilOutletStrays(e, m))
}

// lastingShare is the part of a discrepancy's variance that stays with the machine from visit to visit. Judgement, ours:
// most of what the model gets wrong lies in how this machine is built, the rest in the day.
const lastingShare = 0.7

// bias says which gauge's error moves an observation: the low side's or the head's, which reads liquid and standing pressure too.
type bias int

const (
	biasNone bias = iota
	biasSuction
	biasHead
)

// observation is one reading in the model's terms: y in K (pressures as dew temperature), share of full for current and power.
type observation struct {
	at          reading.Place
	out         plant.Output
	y           float64
	measure     float64 // standard deviation of measuring
	discrepancy float64
	offset      float64 // persistent bias of this reading learned from healthy visits
	lasting     float64 // variance of that bias still unknown
	slope       float64 // Pa/K for pressures, else 0
	full        float64 // of current and power: what a share of one stands for, A or W
	tails       *tails  // of its residual: light where a lying instrument is a hypothesis of its own
	bias        bias
	measured    float64 // SI as read
	toward      float64 // how far a clamp reads toward its surroundings, K: taken off y
	common      common
	fromBox     bool    // box display: predicted by the box itself
	drierLevel  bool    // drier outlet alone: liquid line minus drop
	drop        bool    // coil pressure on the gauge that read suction: what it stands above that, K at the coil
	over        float64 // of a drop: suction as read, Pa
	heater      bool    // on or off, see heaterTerm
	censored    censor  // beyond what the refrigerant is known for: y is the last known value
}

func (o *observation) sigma() float64 { return math.Hypot(o.measure, o.discrepancy) }

// evidence is the sheet in the model's terms.
type evidence struct {
	obs            []observation
	seen           reading.Seen
	boxT, ambT     float64
	boxU, ambU     float64
	humid, humidU  float64 // logit of the humidity at the coil over that of its design, and its uncertainty; 0: not read
	humidApart     float64 // how far two ways to read it are apart, in standard deviations
	displayOnly    bool
	warm           int // +1 box warm after long running, −1 not warm after long running, 0 unknown
	inflate        float64
	boxRead, ambOK bool
	accumulator    bool
	room           *room  // nil: nobody measured the room
	curve          *curve // nil: no pull-down, or it says nothing
	amps, power    drawn
}

func observe(s reading.Sheet, m reading.Resolved, f *refrigerant.Fit, inflate float64) evidence {
	e := evidence{seen: s.Seen, inflate: inflate, accumulator: m.Accumulator}
	e.boxT, e.boxU = float64(m.Box), 3
	if r, ok := s.Find(reading.BoxAir); ok {
		e.boxT, e.boxU, e.boxRead = r.Value, r.Uncertainty(), true
	} else if r, ok := s.Find(reading.BoxDisplay); ok {
		e.boxT, e.boxU, e.boxRead, e.displayOnly = r.Value, r.Uncertainty(), true, true
	}
	// Nobody read the air outside: a day between cold and hot.
	e.ambT, e.ambU = float64(m.Ambient)-6, 6
	if r, ok := s.Find(reading.Ambient); ok {
		e.ambT, e.ambU, e.ambOK = r.Value, r.Uncertainty(), true
	} else if r, ok := s.Find(reading.CondenserFaceAir); ok {
		held := still(s.Seen.CondenserFans)
		e.ambT, e.ambU, e.ambOK = r.Value-1-stillFace*held, math.Hypot(math.Hypot(r.Uncertainty(), 1.5), stillFaceSd*held), true
	}
	e.humid, e.humidU, e.humidApart = humidity(s, m, &e)
	for _, p := range reading.Places() {
		r, ok := s.Find(p)
		c, known := channels[p]
		if !ok || !known || p == reading.Amps { // current: see readDrawn
			continue
		}
		o := observation{
			at:          p,
			out:         c.out,
			y:           r.Value,
			measure:     r.Uncertainty(),
			discrepancy: c.discrepancy * inflate,
			measured:    r.Value,
			tails:       &heavy,
		}
		switch p.Kind() {
		case reading.KindPressure:
			limit, beyond := within(r.Value, f)
			o.y, o.censored = f.DewP(limit), beyond
			o.slope = f.DewSlope(o.y)
			o.measure /= o.slope
			o.bias = biasHead
			if slices.Contains(fault.SuctionGauge.ReadsWrong(), p) {
				o.bias = biasSuction
			}
			o.tails = &light
			if suction, ok := s.Find(reading.SuctionPressure); ok && p == reading.CoilPressure && oneGauge(s, suction) {
				o.drop, o.over, o.bias, o.censored = true, suction.Value, biasNone, exact
				o.y = (r.Value - suction.Value) / o.slope
				o.measure = math.Min(o.measure, MovedGauge)
				o.discrepancy = dropDiscrepancy * inflate
			} else {
				o.onGauge(r)
			}
		case reading.KindTemperature:
			e.lean(&o, r)
			o.beside(s.Seen)
		}
		if p == reading.SuctionLine && m.Accumulator {
			o.discrepancy = math.Hypot(o.discrepancy, caught(s.RunningMin)*inflate)
		}
		switch p {
		case reading.CoilOutletLine:
			o.discrepancy = math.Hypot(o.discrepancy, e.uneven(m))
		case reading.DrierOut:
			if in, ok := s.Find(reading.DrierIn); ok {
				// Two clamps of one kind moved over a hand's width: their common error drops out.
				o.y, o.toward, o.common = in.Value-r.Value, 0, common{}
				o.measure = math.Min(o.measure, MovedClamp)
			} else {
				o.drierLevel = true
				o.discrepancy = math.Hypot(o.discrepancy, 0.7)
			}
		}
		e.obs = append(e.obs, o)
	}
	// The drier's inlet is the liquid line read again further on.
	if r, ok := s.Find(reading.DrierIn); ok {
		d := channels[reading.LiquidLine].discrepancy
		for i := range e.obs {
			if e.obs[i].at == reading.LiquidLine {
				// What the model gets wrong of the liquid's temperature both share: each carries its variance twice,
				// so that the two together weigh it once.
				d *= math.Sqrt2
				e.obs[i].discrepancy = d * inflate
			}
		}
		o := observation{
			at:          reading.DrierIn,
			out:         plant.LiquidLineT,
			y:           r.Value,
			measure:     r.Uncertainty(),
			discrepancy: math.Hypot(d, drierAway) * inflate,
			measured:    r.Value,
			tails:       &heavy,
		}
		e.lean(&o, r)
		e.obs = append(e.obs, o)
	}
	if r, ok := s.Find(reading.BoxDisplay); ok && !e.displayOnly {
		e.obs = append(
			e.obs,
			observation{
				at:          reading.BoxDisplay,
				y:           r.Value,
				measure:     r.Uncertainty(),
				discrepancy: 0.7,
				measured:    r.Value,
				tails:       &light,
				fromBox:     true,
			},
		)
	}
	e.readHeater(s, m, inflate)
	if s.RunningMin != nil && *s.RunningMin >= 120 && e.boxRead {
		e.warm = -1
		if e.boxT-float64(m.Box) > 3 {
			e.warm = 1
		}
	}
	for i := range e.obs {
		d := e.obs[i].discrepancy / inflate
		e.obs[i].lasting = lastingShare * d * d
	}
	e.shareErrors(s)
	return e
}

// si turns a value in the model's terms back into what the instrument shows: Pa, K, A or W.
func (o *observation) si(f *refrigerant.Fit, y float64) float64 {
	switch {
	case o.heater:
		return heaterAmps(y)
	case o.drop:
		return o.over + y*o.slope
	case o.slope > 0:
		return f.DewT(y)
	case o.full > 0:
		return y * o.full
	}
	return y + o.toward
}
