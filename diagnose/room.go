package diagnose

import (
	"math"

	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// RoomLoad is the key of the room's load among the evidence of a cause.
const RoomLoad = "room_load"

// The load of a room its machine was chosen for, as a share of what a sound machine carries around the clock: 16 to
// 18 hours a day of running at design. Common practice, no source.
const chosenShare, chosenSd, chosenMost = 0.75, 0.12, 1.05

// room is what the measured load of the room says: log likelihoods of the room its machine was chosen for and of one
// that is too much, where the share would be read under each, and how far it is then too much, in standard normals of
// the severity (5, 50, 95 %).
type room struct {
	share          float64
	chosen, excess float64
	ifChosen, ifEx Band
	z              [3]float64
	both           float64 // prior probability of too much load beside another fault
}

// weighRoom integrates over the load each would have. The measured share counts with the heavy tails of any other
// reading: a room measured wrongly does not decide alone.
func weighRoom(l reading.RoomLoad, excess *fault.Fault, both float64) *room {
	const n = 240
	out := room{share: l.Share, both: both}
	sweep := func(lo, hi float64, prior, share func(x float64) float64) (log float64, shown Band, x [3]float64) {
		var weight, level, posterior [n]float64
		all, like := 0.0, 0.0
		at := func(i int) float64 { return lo + (hi-lo)*(float64(i)+0.5)/n }
		for i := range n {
			weight[i], level[i] = prior(at(i)), share(at(i))
			posterior[i] = weight[i] * math.Exp(heavy.log(l.Share-level[i], l.U))
			all += weight[i]
			like += posterior[i]
		}
		var band [3]float64
		s, p, j, k := 0.0, 0.0, 0, 0
		cut := [3]float64{0.05, 0.5, 0.95}
		for i := range n {
			s += weight[i] / all
			p += posterior[i] / like
			for ; j < 3 && s >= cut[j]; j++ {
				band[j] = level[i]
			}
			for ; k < 3 && p >= cut[k]; k++ {
				x[k] = at(i)
			}
		}
		shown = Band{math.Max(0, band[1]-math.Hypot(band[1]-band[0], z95*l.U)), band[1], band[1] + math.Hypot(band[2]-band[1], z95*l.U)}
		return math.Log(like / all), shown, x
	}
	normal := func(x float64) float64 { return math.Exp(-0.5 * x * x) }
	out.chosen, out.ifChosen, _ = sweep(
		chosenShare-5*chosenSd,
		chosenMost,
		func(r float64) float64 { return normal((r - chosenShare) / chosenSd) },
		func(r float64) float64 { return r },
	)
	out.excess, out.ifEx, out.z = sweep(-5, 5, normal, func(z float64) float64 { return 1 + excess.Severity(z) })
	return &out
}

// log is the log probability of the room's load under a hypothesis. Beside a fault of the circuit the load may be too
// much as well: the two are independent, and no pair of hypotheses says so.
func (r *room) log(h *hypothesis) float64 {
	switch {
	case r == nil:
		return 0
	case h.load:
		return r.excess
	case len(h.faults) == 0:
		return r.chosen
	}
	return r.unknown()
}

// unknown is the log probability of the room's load where nothing says whether it is too much.
func (r *room) unknown() float64 {
	if r == nil {
		return 0
	}
	most := math.Max(r.chosen, r.excess)
	return most + math.Log((1-r.both)*math.Exp(r.chosen-most)+r.both*math.Exp(r.excess-most))
}

// excessBeside is the probability that the load is too much as well, given a fault that is not of the load.
func (r *room) excessBeside(h *hypothesis) float64 {
	if r == nil || h.load || len(h.faults) == 0 {
		return 0
	}
	return r.both * math.Exp(r.excess-r.unknown())
}
