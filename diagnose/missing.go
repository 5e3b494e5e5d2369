package diagnose

import (
	"math"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
)

// reserveSd is how well the receiver's reserve is known without a plate. Judgement, ours: receivers are
// chosen from a catalogue, not made for the machine.
const reserveSd = 0.10

// missing turns the deficit below the just-empty receiver into a share of the full charge: reserve + (1 −
// reserve)·deficit, with the reserve uncertain. Source: definition.
func (q *problem) missing(ranked []*hypothesis, p float64) *Missing {
	for _, h := range ranked {
		for j, f := range h.faults {
			if f.Code != fault.LowCharge || !h.ok {
				continue
			}
			i := plant.NumNuisances + j
			sd := math.Sqrt(math.Max(h.cov[i*h.n+i], 0))
			lo, mid, hi := h.x[i]-z95*sd, h.x[i], h.x[i]+z95*sd
			if h.refined {
				lo, mid, hi = h.sampled[j][0], h.sampled[j][1], h.sampled[j][2]
			}
			lo, mid, hi = f.Severity(lo), f.Severity(mid), f.Severity(hi)
			R := q.design.Reserve
			m := &Missing{Mid: R + (1-R)*mid, Reserve: R, Probability: p}
			wide := 0.0
			if R > 0 {
				wide = z95 * reserveSd * (1 - mid)
			}
			m.Low = math.Max(0, m.Mid-math.Hypot((1-R)*(mid-lo), wide))
			m.High = math.Min(1, m.Mid+math.Hypot((1-R)*(hi-mid), wide))
			return m
		}
	}
	return nil
}
