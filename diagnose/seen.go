package diagnose

import (
	"math"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// Things seen, as probabilities given the state: every row adds up to one over the answers a thing can have, that of the
// broad hypothesis too, so that no explanation gains by a thing being looked at. Judgement, ours: a glass shows bubbles
// as soon as some thousandths of the mass are vapour, dirt and ice are seen from a quarter to a third of the air lost
// on, and people see what is not there or miss what is in some visits of a hundred.

// levelRow is how a thing is seen: none, some, heavy.
type levelRow [3]float64

// fanRow is how fans are seen: all running, or a quarter, half, three quarters or all of them stopped.
type fanRow [5]float64

// fullRow is how full a receiver is seen: empty, in between, full.
type fullRow [3]float64

// broad is how often things are seen so where nothing is known of the cause: about the mean over visits to machines of
// all causes. Judgement, ours.
var broad = struct {
	glass                    [3]float64 // clear, bubbling, empty
	dirt, ice                levelRow
	condenserFans, coilFans  fanRow
	receiver                 fullRow
	oil, frost, bypass, warm float64
}{
	glass:         [3]float64{0.60, 0.28, 0.12},
	dirt:          levelRow{0.60, 0.28, 0.12},
	ice:           levelRow{0.65, 0.22, 0.13},
	condenserFans: fanRow{0.90, 0.02, 0.03, 0.01, 0.04},
	coilFans:      fanRow{0.92, 0.02, 0.03, 0.01, 0.02},
	receiver:      fullRow{0.25, 0.65, 0.10},
	oil:           0.18,
	frost:         0.12,
	bypass:        0.10,
	warm:          0.50,
}

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

func (r levelRow) of(l reading.Level) float64 {
	if l == reading.LevelUnknown {
		return 1
	}
	return r[l-reading.None]
}

func level(base, gain, lost, centre, width float64) levelRow {
	any := base + gain*logistic((lost-centre)/width)
	heavy := 0.1 + 0.8*logistic((lost-0.5)/0.1)
	return levelRow{1 - any, any * (1 - heavy), any * heavy}
}

func pDirt(l reading.Level, lost float64) float64 { return level(0.12, 0.80, lost, 0.25, 0.08).of(l) }

func pIce(l reading.Level, lost float64) float64 { return level(0.06, 0.80, lost, 0.35, 0.10).of(l) }

// quarters is how many quarters of the fans stand still, at least one where any does.
func quarters(share float64) int {
	if share >= 0.99 {
		return 0
	}
	return max(1, min(4, int(math.Round(4*(1-share)))))
}

func (r fanRow) of(share *float64) float64 {
	if share == nil {
		return 1
	}
	return r[quarters(*share)]
}

// fansMatch is how far the air lost may stand from the share of fans that stand still: what is left draws more, wind and
// warmth draw some, and head is still climbing when it is read. Judgement, ours.
const fansMatch = 0.35

// fans is how fans are seen where a share of the air is lost; idle is how often some stand still though none is lost.
func fans(lost, idle float64) fanRow {
	stopped := idle + 0.45*logistic((lost-0.3)/0.08)
	r, sum := fanRow{}, 0.0
	for k := 1; k <= 4; k++ {
		d := (lost - 0.25*float64(k)) / fansMatch
		r[k] = math.Exp(-0.5 * d * d)
		sum += r[k]
	}
	for k := 1; k <= 4; k++ {
		r[k] *= stopped / sum
	}
	r[0] = 1 - stopped
	return r
}

// How often fans are seen to stand still on a machine that loses no air: nobody takes a running fan for a stopped one
// more than once in two hundred visits, but fans that hold the head rest as they should. Judgement, ours.
const idleByMistake, idleByControl = 0.005, 0.3

// byFans reports whether the head control stops fans, or slows them, as part of its work.
func byFans(h reading.HeadControl) bool { return h == reading.FanCycling || h == reading.VariableFan }

func (q *problem) pCondenserFans(share *float64, lost float64) float64 {
	idle := idleByMistake
	if byFans(q.m.HeadControl) {
		idle = idleByControl
	}
	return fans(lost, idle).of(share)
}

func pCoilFans(share *float64, lost float64) float64 { return fans(lost, idleByMistake).of(share) }

// logSeenAt is the log probability of things seen that depends on the state.
func (q *problem) logSeenAt(ch *plant.Change, out *plant.Outputs) float64 {
	s := 0.0
	if g := q.e.seen.Glass; g != reading.GlassUnknown {
		s += math.Log(pGlass(g, out[plant.GlassQuality]))
	}
	return s + math.Log(pDirt(q.e.seen.CondenserDirt, ch.CondenserAir)) + math.Log(pIce(q.e.seen.CoilIce, ch.CoilAir)) +
		math.Log(q.pCondenserFans(q.e.seen.CondenserFans, ch.CondenserAir)) + math.Log(pCoilFans(q.e.seen.CoilFans, ch.CoilAir))
}

func (r fullRow) of(level float64) float64 {
	switch {
	case level <= 0.08:
		return r[0]
	case level < 0.85:
		return r[1]
	}
	return r[2]
}

// markIs is the log probability of a mark that is there with probability p; nothing where nobody looked.
func markIs(m reading.Mark, p float64) float64 {
	switch m {
	case reading.SeenMark:
		return math.Log(p)
	case reading.NotSeen:
		return math.Log(1 - p)
	}
	return 0
}

// logMarks is the log probability of everything seen but fixed by the hypothesis alone (marks, receiver, warm box).
func logMarks(e *evidence, ch *plant.Change, wet bool, receiver, load, circuitFault bool) float64 {
	short := ch.LowCharge > 0
	bypass := 0.05
	if short || ch.HeadShift < 0 {
		bypass = 0.25
	}
	s := markIs(e.seen.OilMarks, pOil(short)) +
		markIs(e.seen.FrostOnCompressor, pFrost(wet, e.seen.CoilIce, e.accumulator)) +
		markIs(e.seen.BypassFrost, bypass)
	if e.seen.ReceiverLevel != nil && receiver {
		s += math.Log(fullness(ch).of(*e.seen.ReceiverLevel))
	}
	warm := 0.12
	switch {
	case load:
		warm = 0.85
	case circuitFault:
		warm = 0.6
	}
	return s + boxIsWarm(e.warm, warm)
}

// boxIsWarm is the log probability of a box warm (+1) or not warm (−1) after long running, given that of warm.
func boxIsWarm(seen int, p float64) float64 {
	switch {
	case seen > 0:
		return math.Log(p)
	case seen < 0:
		return math.Log(1 - p)
	}
	return 0
}

// fullness is how a receiver's level is seen. Judgement, ours.
func fullness(ch *plant.Change) fullRow {
	switch {
	case ch.LowCharge > 0:
		return fullRow{0.85, 0.13, 0.02}
	case ch.OverCharge > 0:
		return fullRow{0.02, 0.18, 0.80}
	}
	return fullRow{0.05, 0.85, 0.10}
}

// logBroad is the log probability of everything seen where nothing is known of the cause.
func (e *evidence) logBroad(receiver bool) float64 {
	s := 0.0
	if g := e.seen.Glass; g != reading.GlassUnknown {
		s += math.Log(broad.glass[g-reading.Clear])
	}
	s += math.Log(broad.dirt.of(e.seen.CondenserDirt)) + math.Log(broad.ice.of(e.seen.CoilIce)) +
		math.Log(broad.condenserFans.of(e.seen.CondenserFans)) + math.Log(broad.coilFans.of(e.seen.CoilFans)) +
		markIs(e.seen.OilMarks, broad.oil) + markIs(e.seen.FrostOnCompressor, broad.frost) + markIs(e.seen.BypassFrost, broad.bypass)
	if l := e.seen.ReceiverLevel; l != nil && receiver {
		s += math.Log(broad.receiver.of(*l))
	}
	return s + boxIsWarm(e.warm, broad.warm)
}

// pOil is the probability of oil marks, pFrost that of frost on the compressor.
func pOil(short bool) float64 {
	if short {
		return 0.40
	}
	return 0.10
}

// pFrost: an iced coil cannot boil what the valve feeds it, whatever iced it, so that liquid comes back with the ice: the
// two are seen together and count once. Judgement, ours.
//
// An accumulator catches most of it before the compressor.
func pFrost(wet bool, ice reading.Level, accumulator bool) float64 {
	switch {
	case wet && accumulator:
		return 0.25
	case wet:
		return 0.6
	case ice == reading.Heavy:
		return 0.4
	}
	return 0.05
}

// wetSuction: the suction line is so near the dew temperature that liquid comes back.
func wetSuction(out *plant.Outputs) bool { return out[plant.SuctionLineT]-out[plant.SuctionDew] < 2 }

// What stands still warms: air hangs before a condenser whose fan does not move it on. Of a stopped fan's share of the
// face, K it stands above the air outside and how far that may be off; and how far what leaves either coil may be off,
// because no fan mixes it. Judgement, ours.
const (
	stillFace, stillFaceSd = 6.0, 6.0
	stillOff               = 8.0
)

// still is the share of the fans that were seen to stand still, 0 where nobody looked.
func still(share *float64) float64 {
	if share == nil || quarters(*share) == 0 {
		return 0
	}
	return 1 - *share
}

// beside takes what was seen beside a reading into it: a reading that follows from a sight is not held against the
// cause of the sight a second time.
func (o *observation) beside(seen reading.Seen) {
	switch o.at {
	case reading.CondenserFaceAir:
		s := still(seen.CondenserFans)
		o.y -= stillFace * s
		o.toward += stillFace * s
		o.discrepancy = math.Hypot(o.discrepancy, stillFaceSd*s)
	case reading.CondenserAirOff:
		o.discrepancy = math.Hypot(o.discrepancy, stillOff*still(seen.CondenserFans))
	case reading.CoilAirOff:
		o.discrepancy = math.Hypot(o.discrepancy, stillOff*still(seen.CoilFans))
	}
}
