package circuit

import (
	"math"

	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

// Corner is a state of the refrigerant on its way round.
type Corner int

// The corners, in the order of flow.
const (
	CornerUnknown Corner = iota
	CoilIn               // behind the expansion device
	CoilOut
	CompressorIn
	CompressorOut
	LiquidOut // liquid line, leaving the unit
)

func (c Corner) String() string {
	return [...]string{"unknown", "coil_in", "coil_out", "compressor_in", "compressor_out", "liquid_out"}[c]
}

// Corners lists them.
func Corners() []Corner { return []Corner{CoilIn, CoilOut, CompressorIn, CompressorOut, LiquidOut} }

// State is the refrigerant at a corner. Saturated says that the line was read on the wrong side of saturation by no
// more than its tolerance and the state stands on the line: some of it may be in the other phase.
type State struct {
	At         Corner
	P, T, H    float64 // Pa, K, J/kg
	VapourMass float64 // kg/kg, behind the expansion device only
	Saturated  bool
}

// Level is a pressure that was read, with both ends of its saturation.
type Level struct {
	At            reading.Place
	P, U          float64 // Pa; standard uncertainty of P
	Bubble, Dew   float64 // K
	HBubble, HDew float64 // J/kg
}

// Gap is a corner that cannot be drawn.
type Gap struct {
	At   Corner
	Why  GapReason
	Need reading.Place // what was not read, or does not fit
}

// GapReason says why a corner is missing.
type GapReason int

// The reasons.
const (
	GapUnknown  GapReason = iota
	NotRead               // a reading is missing
	OutsideData           // the pressure is outside what is known of the refrigerant
	WrongSide             // liquid hotter than its bubble point, or vapour colder than its dew point, by more than the tolerance
)

func (g GapReason) String() string {
	return [...]string{"unknown", "not_read", "outside_data", "wrong_side"}[g]
}

// Cycle is the way of the refrigerant as states: what is known of it, and what is missing.
type Cycle struct {
	Coil, Suction, Head *Level // Coil is the suction gauge where the coil has none; nil: not read
	States              []State
	Gaps                []Gap
}

// Find returns the state at a corner.
func (c *Cycle) Find(at Corner) (State, bool) {
	for _, s := range c.States {
		if s.At == at {
			return s, true
		}
	}
	return State{}, false
}

// Read gives the value of a place and its standard uncertainty, SI; false when it was not read.
type Read func(reading.Place) (value, u float64, ok bool)

// ReadSheet reads from a sheet.
func ReadSheet(s reading.Sheet) Read {
	return func(p reading.Place) (float64, float64, bool) {
		r, ok := s.Find(p)
		if !ok {
			return 0, 0, false
		}
		return r.Value, r.Uncertainty(), true
	}
}

// CycleOf turns readings into states of the refrigerant.
//
//   - in: readings; the fit of the refrigerant; the machine they were read at
//   - out: the states that follow from them, in the order of flow; for every other corner what it lacks
//   - errors: none; what cannot be known is a gap
//   - assumes: bulk composition everywhere; expansion at constant enthalpy, behind an exchanger at what its
//     effectiveness leaves; no pressure lost between the gauge and the line read beside it
//   - source: definition; dew for vapour lines, bubble for the liquid line; two standard uncertainties are the tolerance (GUM, 6.3)
//   - cost: about 2 ms for a blend
func CycleOf(read Read, f *refrigerant.Fit, m reading.Resolved) Cycle {
	var c Cycle
	outside := map[reading.Place]bool{}
	level := func(at reading.Place) *Level {
		p, u, ok := read(at)
		if !ok {
			return nil
		}
		if !f.InRange(p) {
			outside[at] = true
			return nil
		}
		l := Level{At: at, P: p, Bubble: f.BubbleP(p), Dew: f.DewP(p), U: u}
		_, l.HBubble, _ = f.Liquid(l.Bubble)
		l.HDew = f.DewH(l.Dew)
		return &l
	}
	c.Suction, c.Coil, c.Head = level(reading.SuctionPressure), level(reading.CoilPressure), level(reading.DischargePressure)
	coilGauge, headGauge := reading.CoilPressure, reading.DischargePressure
	if p, _, _ := read(reading.SuctionPressure); c.Coil == nil && !throttled(m, p) {
		c.Coil, coilGauge = c.Suction, reading.SuctionPressure
	}
	// The pressure after the drier stands in when the head was not read, as for subcooling.
	liquid := c.Head
	if liquid == nil && !outside[headGauge] {
		if liquid = level(reading.LiquidPressure); liquid != nil || outside[reading.LiquidPressure] {
			headGauge = reading.LiquidPressure
		}
	}
	gap := func(at Corner, why GapReason, need reading.Place) { c.Gaps = append(c.Gaps, Gap{at, why, need}) }
	// known reports the pressure of a corner, or notes why it is missing.
	known := func(at Corner, l *Level, gauge reading.Place) bool {
		if l == nil {
			why := NotRead
			if outside[gauge] {
				why = OutsideData
			}
			gap(at, why, gauge)
		}
		return l != nil
	}
	vapour := func(at Corner, l *Level, gauge, line reading.Place) {
		if !known(at, l, gauge) {
			return
		}
		T, u, ok := read(line)
		if !ok {
			gap(at, NotRead, line)
			return
		}
		s := State{At: at, P: l.P, T: T}
		if T <= l.Dew {
			if l.Dew-T > 2*math.Hypot(u, l.U/f.DewSlope(l.Dew)) {
				gap(at, WrongSide, line)
				return
			}
			s.T, s.H, s.Saturated = l.Dew, l.HDew, true
		} else {
			_, s.H, _ = f.Vapour(l.P, T)
		}
		c.States = append(c.States, s)
	}

	var in, out *State
	if known(LiquidOut, liquid, headGauge) {
		T, u, ok := read(reading.LiquidLine)
		switch {
		case !ok:
			gap(LiquidOut, NotRead, reading.LiquidLine)
		case T < liquid.Bubble:
			out = &State{At: LiquidOut, P: liquid.P, T: T, H: liquidH(f, liquid.P, T)}
		case T-liquid.Bubble > 2*math.Hypot(u, liquid.U/f.BubbleSlope(liquid.Bubble)):
			gap(LiquidOut, WrongSide, reading.LiquidLine)
		default:
			out = &State{At: LiquidOut, P: liquid.P, T: liquid.Bubble, H: liquid.HBubble, Saturated: true}
		}
	}
	if known(CoilIn, c.Coil, coilGauge) {
		if out == nil {
			// What the liquid lacks is the last thing noted.
			why := c.Gaps[len(c.Gaps)-1]
			gap(CoilIn, why.Why, why.Need)
		} else {
			h, ok := out.H, true
			if m.Exchanger > 0 {
				// The liquid gives heat to the suction gas on its way: what the gas takes up is lost to it.
				var T float64
				if T, _, ok = read(reading.CoilOutletLine); ok {
					gas := f.Isobar(c.Coil.P)
					_, cp := gas.H(math.Max(0.5*(T+out.T), gas.Dew))
					h -= m.Exchanger * cp * math.Max(0, out.T-T)
				} else {
					gap(CoilIn, NotRead, reading.CoilOutletLine)
				}
			}
			if ok {
				in = expand(f, c.Coil, h)
			}
		}
	}
	if in != nil {
		c.States = append(c.States, *in)
	}
	vapour(CoilOut, c.Coil, coilGauge, reading.CoilOutletLine)
	vapour(CompressorIn, c.Suction, reading.SuctionPressure, reading.SuctionLine)
	vapour(CompressorOut, c.Head, reading.DischargePressure, reading.DischargeLine)
	if out != nil {
		c.States = append(c.States, *out)
	}
	return c
}

// liquidH is the enthalpy of subcooled liquid: the equation's, or that of saturated liquid at the same temperature where it finds none.
func liquidH(f *refrigerant.Fit, p, T float64) float64 {
	if s, err := f.Refrigerant().StatePT(p, T, refrigerant.Options{}); err == nil {
		return s.H
	}
	h, _ := f.LiquidH(T)
	return h
}

// expand is the state at the pressure of the coil with the enthalpy of the liquid.
func expand(f *refrigerant.Fit, l *Level, h float64) *State {
	s := State{At: CoilIn, P: l.P, H: h}
	q, err := f.Refrigerant().StatePH(l.P, h, refrigerant.Options{})
	if err != nil {
		// By the lever rule along the isobar, which is exact for a pure fluid.
		x := (h - l.HBubble) / (l.HDew - l.HBubble)
		q.VapourMass, q.T = math.Max(0, math.Min(1, x)), l.Bubble+x*(l.Dew-l.Bubble)
	}
	s.T, s.VapourMass = q.T, q.VapourMass
	return &s
}
