package pulldown

import (
	"math"
	"slices"

	"coldwright/units"
)

// Reasons of a verdict that stands on another pull-down of the same box.
const (
	FellFasterAfter = "fell_faster_after_the_work"
	FallsFasterNow  = "falls_faster_than_before_the_work"
)

// Comparison is how fast a box falls after the work against before it, at the same box temperatures.
type Comparison struct {
	Faster    Interval   // how many times as fast
	From, To  units.Temp // between these, warmer first
	PFaster   float64    // probability that it is faster at all
	BeforeFor float64    // minutes from the one to the other before the work, and after it; middle values
	AfterFor  float64
}

// compare holds a pull-down after the work against one before it, both in order; nil where they share less than 1 °F.
// Speeds are those of the air between the same two temperatures, doors shut, with about the same in the box.
//
// The shared range ends at the colder end of the one that got less far. Its warmest third is left out where there
// is enough: there the air falls alone, from wherever the door left it.
func compare(before, after []Point, o *Options) *Comparison {
	if len(before) < 3 || len(after) < 3 {
		return nil
	}
	plain := Options{SetPoint: o.SetPoint, Noise: o.Noise}
	spans := [2]float64{before[len(before)-1].Minute, after[len(after)-1].Minute}
	fits := [2]*forecast{foretell(before, &plain), foretell(after, &plain)}
	warm := math.Min(highest(before), highest(after))
	cold := math.Max(lowest(before), lowest(after))
	if warm-cold < units.Fahr {
		return nil
	}
	warm = math.Max(cold+2*(warm-cold)/3, cold+units.Fahr)
	var minutes [2][]float64
	for k, f := range fits {
		for i := range f.courses {
			c := &f.courses[i]
			minutes[k] = append(minutes[k], c.between(warm, cold, spans[k]))
		}
	}
	out := &Comparison{From: units.Temp(warm), To: units.Temp(cold)}
	ratios := make([]float64, futures)
	for i := range ratios {
		// Courses stand in the order of their curves: pair them across, so that no curve meets its like.
		ratios[i] = minutes[0][i] / minutes[1][(i*pairStep+pairStart)%futures]
		if ratios[i] > 1 {
			out.PFaster += 1.0 / futures
		}
	}
	q := func(v []float64, p float64) float64 { return v[int(p*float64(len(v)-1)+0.5)] }
	for _, v := range [][]float64{ratios, minutes[0], minutes[1]} {
		slices.Sort(v)
	}
	out.Faster = Interval{q(ratios, 0.05), q(ratios, 0.5), q(ratios, 0.95)}
	out.BeforeFor, out.AfterFor = q(minutes[0], 0.5), q(minutes[1], 0.5)
	return out
}

// pairStep has no factor in common with futures.
const pairStep, pairStart = 997, 501

func highest(p []Point) float64 {
	return float64(slices.MaxFunc(p, func(a, b Point) int { return compareTemp(a.Box, b.Box) }).Box)
}

func lowest(p []Point) float64 {
	return float64(slices.MinFunc(p, func(a, b Point) int { return compareTemp(a.Box, b.Box) }).Box)
}

func compareTemp(a, b units.Temp) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// between is the minutes a course needs from one temperature to a colder one: times of the first passage. The readings
// passed both, so a course that does not by a quarter of the test after its end is counted there.
func (c *course) between(warm, cold, span float64) float64 {
	const steps = 60
	end := 0.25 * span
	pass := func(level float64) float64 {
		prev := c.running(-span)
		if prev <= level {
			return -span
		}
		for k := 1; k <= steps; k++ {
			m := -span + (end+span)*float64(k)/steps
			t := c.running(m)
			if t <= level {
				return m - (end+span)/steps*(level-t)/(prev-t)
			}
			prev = t
		}
		return end
	}
	return math.Max(span/steps, pass(cold)-pass(warm))
}
