package pulldown

import (
	"math"
	"slices"
)

// What a machine gives and a room needs, judgement, ours. A room's load is 16 to 18 hours a day of a sound machine
// (common practice, no source), one in ten rooms needs more. Of machines somebody times, most are sound; the others
// lost anything up to two thirds.
const (
	capacitySlope = 0.028 // per K of box temperature: suction density at a fixed TD
	loadSlope     = 0.014 // per K: walls and doors, the air outside 45 K above a freezer and 30 K above a cooler
	soundShare    = 0.6
	soundAfter    = 0.85 // after work that was meant to cure it
	soundOutrun   = 0.1  // where it fell faster after the work, the machine before it was not sound
	roomShare     = 0.75
	roomSd        = 0.13
	overloaded    = 0.1
)

// A box found warm by a running machine stands about where that machine leaves it, and the door let the rest in: 2 to 6
// K. Judgement, ours: one in three of the boxes somebody times, fewer the farther from the set point, hardly any after a
// repair, most where the same box fell faster afterwards.
const (
	standsShare   = 0.25
	standsAfter   = 0.05
	standsOutrun  = 0.7
	standsUnder   = 3.0 // K under the first reading
	standsSd      = 2.5
	standsNoFarer = 12.0 // K above the set point
)

type weighted struct{ value, weight float64 }

// normalNodes divides a normal into equal parts.
func normalNodes(mean, sd, weight float64, out []weighted) []weighted {
	for _, z := range []float64{-1.645, -0.935, -0.524, -0.164, 0.164, 0.524, 0.935, 1.645} {
		out = append(out, weighted{mean + 1.02*sd*z, weight / 8})
	}
	return out
}

// ends is where the box would end, running all the time: where capacity r (1 + g x) equals load q (1 − u x), x above
// the set point.
//
//   - source: balance, linear in the box temperature; slopes are judgement, ours (section 9 of docs/physics.md)
func (o *Options) ends(start float64) []ends {
	var r, q []weighted
	sound, stands := soundShare, standsShare
	switch {
	case o.outrun:
		sound, stands = soundOutrun, standsOutrun
	case len(o.Earlier) > 0:
		sound, stands = soundAfter, standsAfter
	}
	r = normalNodes(1, 0.08, sound, r)
	for _, v := range []float64{0.35, 0.45, 0.55, 0.65, 0.75, 0.85, 0.95} {
		r = append(r, weighted{v, (1 - sound) / 7})
	}
	q = normalNodes(roomShare, roomSd, 1-overloaded, q)
	q = normalNodes(1.15, 0.12, overloaded, q)
	var x []weighted
	for _, a := range r {
		for _, b := range q {
			load, gives := math.Max(b.value, 0.2), math.Max(a.value, 0.05)
			x = append(x, weighted{math.Max(-20, math.Min(30, (load-gives)/(gives*capacitySlope+load*loadSlope))), a.weight * b.weight})
		}
	}
	slices.SortFunc(x, func(a, b weighted) int {
		if a.value < b.value {
			return -1
		}
		return 1
	})
	// In parts of equal weight, each a normal.
	const parts = 4
	out := make([]ends, 0, parts)
	var sum, w, m, v float64
	for i, n := range x {
		sum += n.weight
		w += n.weight
		m += n.weight * n.value
		v += n.weight * n.value * n.value
		if sum >= float64(len(out)+1)/parts-1e-9 || i == len(x)-1 {
			if w > 0 {
				m /= w
				out = append(out, ends{w, float64(o.SetPoint) + m, math.Sqrt(math.Max(v/w-m*m, 0) + 1.5*1.5)})
			}
			w, m, v = 0, 0, 0
		}
	}
	far := (start - float64(o.SetPoint)) / standsNoFarer
	stands *= math.Exp(-0.5 * far * far)
	for i := range out {
		out[i].weight *= 1 - stands
	}
	return append(out, ends{stands, start - standsUnder, standsSd})
}
