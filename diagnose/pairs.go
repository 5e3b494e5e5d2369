package diagnose

import (
	"context"
	"math"
	"slices"
	"sort"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// pairs tries two faults at once: each contains one of the best singles.
func (q *problem) pairs(ctx context.Context, singles []*hypothesis) ([]*hypothesis, error) {
	order := slices.Clone(singles)
	sort.SliceStable(order, func(i, j int) bool { return score(order[i]) > score(order[j]) })
	var out []*hypothesis
	var from []*hypothesis
	tried := map[[2]fault.Code]bool{}
	if len(order) == 0 {
		return nil, nil
	}
	best := score(order[0])
	for a := 0; a < min(pairSeeds, len(order)); a++ {
		A := order[a]
		if !A.ok || A.load {
			continue
		}
		for _, B := range order {
			ca, cb := A.faults[0].Code, B.faults[0].Code
			key := [2]fault.Code{min(ca, cb), max(ca, cb)}
			if ca == cb || B.load || tried[key] || opposite(ca, cb) {
				continue
			}
			tried[key] = true
			// Both at once: the product of the two rates, as if independent. Judgement; published pairs of charge and drier faults were somewhat
			// more frequent than that in one small survey (8 of 21 against 5.2).
			h := &hypothesis{faults: []*fault.Fault{A.faults[0], B.faults[0]}, n: plant.NumNuisances + 2, rate: q.rateOfBoth(A, B), of: q}
			// A pair whose rate alone puts it below one in a thousand even with a perfect fit is not worth its time.
			if math.Log(h.rate)+bestPossible(q) < best+math.Log(1e-3) {
				continue
			}
			out, from = append(out, h), append(from, A)
		}
	}
	inParallel(ctx, len(out), func(i int) {
		start := from[i].x
		start[plant.NumNuisances+1] = -0.6
		q.fit(out[i], [][maxParams]float64{start}, from[i])
		if score(out[i]) > best-hopeless {
			q.finishClimb(out[i])
		}
	})
	return out, ctx.Err()
}

// bestPossible bounds the log evidence: every reading on the spot, nothing lost to the prior.
func bestPossible(q *problem) float64 {
	s := 0.0
	for i := range q.e.obs {
		if o := &q.e.obs[i]; o.censored == exact {
			s += o.tails.log(0, o.sigma())
		}
	}
	return s
}

// opposite faults cancel and are no pair.
func opposite(a, b fault.Code) bool {
	pair := func(x, y fault.Code) bool { return a == x && b == y || a == y && b == x }
	return pair(fault.LowCharge, fault.OverCharge) || pair(fault.HeadControlLow, fault.HeadControlHigh) ||
		pair(fault.ValveUnderfeeding, fault.ValveOverfeeding) ||
		pair(fault.ValveUnderfeeding, fault.RestrictionAfterGlass) ||
		pair(fault.CompositionShift, fault.WrongRefrigerant)
}

// airDrawnIn is how often a leaking circuit that runs in a vacuum has drawn in air. Judgement, ours: most leaks are on
// joints of either side, and about half of a circuit is on the low one.
const airDrawnIn = 0.3

// rateOfBoth is the base rate of two faults at once: the product, but where one draws in the other. A circuit that leaks
// and runs below the pressure of the air outside has air in it more often than the two would meet by chance.
func (q *problem) rateOfBoth(a, b *hypothesis) float64 {
	rate := a.rate * b.rate / q.weight // each has the machine's own weight in it
	suction, ok := q.sheet.Find(reading.SuctionPressure)
	if !ok || suction.Value > float64(q.m.AmbientPressure) {
		return rate
	}
	for _, x := range [][2]*hypothesis{{a, b}, {b, a}} {
		if x[0].faults[0].Code == fault.LowCharge && x[1].faults[0].Code == fault.Noncondensables {
			return math.Max(rate, airDrawnIn*x[0].rate)
		}
	}
	return rate
}
