package diagnose

import (
	"math"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// logSeenAt is the log probability of things seen that depends on the state.
func (q *problem) logSeenAt(ch *plant.Change, out *plant.Outputs) float64 {
	s := 0.0
	if g := q.e.seen.Glass; g != reading.GlassUnknown {
		s += math.Log(pGlass(g, out[plant.GlassQuality]))
	}
	s += math.Log(pDirt(q.e.seen.CondenserDirt, ch.CondenserAir)) + math.Log(pIce(q.e.seen.CoilIce, ch.CoilAir))
	s += math.Log(math.Max(1e-12, pFans(q.e.seen.CondenserFans, ch.CondenserAir))) +
		math.Log(math.Max(1e-12, pFans(q.e.seen.CoilFans, ch.CoilAir)))
	return s
}

// logMarks is the log probability of everything seen but fixed by the hypothesis alone (marks, receiver, warm box).
func logMarks(e *evidence, ch *plant.Change, wet bool, receiver, load, circuitFault bool) float64 {
	pick := func(seen bool, p float64) float64 {
		if seen {
			return math.Log(p)
		}
		return math.Log(1 - p)
	}
	s := 0.0
	short := ch.LowCharge > 0
	if e.seen.OilMarks != reading.MarkUnknown {
		s += pick(e.seen.OilMarks == reading.SeenMark, pOil(short))
	}
	if e.seen.FrostOnCompressor != reading.MarkUnknown {
		s += pick(e.seen.FrostOnCompressor == reading.SeenMark, pFrost(wet))
	}
	if e.seen.BypassFrost != reading.MarkUnknown {
		p := 0.05
		if short || ch.HeadShift < 0 {
			p = 0.25
		}
		s += pick(e.seen.BypassFrost == reading.SeenMark, p)
	}
	if e.seen.ReceiverLevel != nil && receiver {
		l := *e.seen.ReceiverLevel
		switch {
		case short:
			s += pick(l <= 0.08, 0.85)
		case ch.OverCharge > 0:
			s += pick(l >= 0.85, 0.8)
		default:
			s += pick(l > 0.08 && l < 0.85, 0.85)
		}
	}
	if e.warm != 0 {
		p := 0.12
		switch {
		case load:
			p = 0.85
		case circuitFault:
			p = 0.6
		}
		s += pick(e.warm > 0, p)
	}
	return s
}

// Things seen, as probabilities given the state. Judgement, ours: a glass shows bubbles as soon as some thousandths of
// the mass are vapour, dirt and ice are seen from a quarter to a third of the air lost on, and people see what is not
// there or miss what is in some visits of a hundred.
func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

// glassBubbles is the probability of bubbles at a signed glass quality.
func glassBubbles(x float64) float64 { return 0.04 + 0.92*logistic(x/0.006) }

func glassEmpty(x float64) float64 { return 0.02 + 0.9*logistic((x-0.15)/0.05) }

func pGlass(g reading.Glass, x float64) float64 {
	b := glassBubbles(x)
	switch g {
	case reading.Clear:
		return 1 - b
	case reading.Bubbling:
		return b * (1 - glassEmpty(x))
	case reading.Empty:
		return b * glassEmpty(x)
	}
	return 1
}

func pLevel(l reading.Level, base, gain, lost, centre, width float64) float64 {
	any := base + gain*logistic((lost-centre)/width)
	heavy := 0.1 + 0.8*logistic((lost-0.5)/0.1)
	switch l {
	case reading.None:
		return 1 - any
	case reading.Some:
		return any * (1 - heavy)
	case reading.Heavy:
		return any * heavy
	}
	return 1
}

func pDirt(l reading.Level, lost float64) float64 { return pLevel(l, 0.12, 0.80, lost, 0.25, 0.08) }

func pIce(l reading.Level, lost float64) float64 { return pLevel(l, 0.06, 0.80, lost, 0.35, 0.10) }

// pFans: a stopped fan is seen where air is lost; a share below one counts as stopped.
func pFans(share *float64, lost float64) float64 {
	if share == nil {
		return 1
	}
	p := 0.03 + 0.45*logistic((lost-0.3)/0.08)
	if *share < 0.99 {
		// How much is stopped should match how much is lost.
		d := (lost - (1 - *share)) / 0.25
		return p * math.Exp(-0.5*d*d)
	}
	return 1 - p
}

// pOil is the probability of oil marks, pFrost that of frost on the compressor.
func pOil(short bool) float64 {
	if short {
		return 0.40
	}
	return 0.10
}

func pFrost(wet bool) float64 {
	if wet {
		return 0.6
	}
	return 0.05
}

// wetSuction: the suction line is so near the dew temperature that liquid comes back.
func wetSuction(out *plant.Outputs) bool { return out[plant.SuctionLineT]-out[plant.SuctionDew] < 2 }
