package leak

import (
	"cmp"
	"math"
	"slices"

	"coldwright/units"
)

// WhyCodes lists the codes.
func WhyCodes() []string {
	return []string{WhySignal, WhyBefore, WhyWorked, WhyLikely, WhyQuick, WhyNear}
}

// Step is a look to make.
type Step struct {
	Place   Place
	Method  Method
	Chance  float64 // that it shows the leak
	Minutes float64 // with changing tool and walking there
	Why     string
	// LowPressure: less stands here than the method asks for.
	LowPressure bool
}

// Next says where to look next, best first: every usable method at every place, by chance per minute.
//
// Runs of places that share one walk and one change of tool are weighed together: the change is spread over the best
// run that begins with it.
//
//   - in: conditions; keys of the methods at hand, nil: all but whole-circuit tests; the machine (for the why);
//     places already found, left out
//   - out: one step for each place, its best method; none when nothing can be seen anywhere
//   - source: Blackwell's rule as stated in Chew (1967): the largest ratio of detection chance to cost; runs after
//     Stone (1975): ours for the set-up
//   - cost: about a millisecond for 20 places and 5 methods
func (s *Search) Next(c Conditions, methods []string, m Machine, found []string) []Step {
	area, tool := "", ""
	if n := len(s.looks); n > 0 {
		if p, ok := s.cat.Place(s.looks[n-1].Place); ok {
			area = p.Area
		}
		tool = s.looks[n-1].Method
	}
	type run struct {
		method *Method
		at     []int
		boxes  []box
		setup  float64
	}
	var runs []run
	for k := range s.cat.Methods {
		mt := &s.cat.Methods[k]
		if mt.Whole || !mt.Usable(c) || methods != nil && !slices.Contains(methods, mt.Key) {
			continue
		}
		v := s.view(mt, c)
		for _, a := range areaWords {
			r := run{method: mt}
			if mt.Key != tool {
				r.setup += mt.SetupMin
			}
			if a != area {
				r.setup += s.cat.WalkMin
			}
			for i, p := range s.places {
				if p.Area != a || slices.Contains(found, p.Key) {
					continue
				}
				if ch := s.chance(i, mt, c, v); ch > 0 {
					r.at, r.boxes = append(r.at, i), append(r.boxes, box{ch, p.Minutes * mt.MinutesFactor})
				}
			}
			if len(r.at) > 0 {
				runs = append(runs, r)
			}
		}
	}
	likeliest := s.likeliest(found)
	best := map[int]Step{}
	index := map[int]float64{}
	for _, r := range runs {
		order, ratio := bestRun(r.boxes, r.setup)
		for rank, o := range order {
			i, b := r.at[o], r.boxes[o]
			v := ratio
			if rank > 0 {
				v = math.Min(ratio, b.chance/b.minutes) // not the next of its run: it comes after the better ones
			}
			if old, ok := index[i]; ok && old >= v {
				continue
			}
			step := Step{Place: s.places[i], Method: *r.method, Chance: b.chance, Minutes: b.minutes + r.setup}
			step.Why = s.why(i, likeliest, r.setup == 0, m)
			now := c.High
			if s.places[i].Side == Low {
				now = c.Low
			}
			step.LowPressure = r.method.When == "now" && float64(now.Gauge(c.Ambient)) < r.method.MinGaugePa
			best[i], index[i] = step, v
		}
	}
	var keys []int
	for i := range s.places {
		if _, ok := best[i]; ok {
			keys = append(keys, i)
		}
	}
	slices.SortStableFunc(keys, func(a, b int) int { return cmp.Compare(index[b], index[a]) })
	var out []Step
	for _, i := range keys {
		out = append(out, best[i])
	}
	return out
}

func (s *Search) likeliest(found []string) int {
	best, top := -1, 0.0
	for i, p := range s.places {
		if v := s.p(i); v > top && !slices.Contains(found, p.Key) {
			best, top = i, v
		}
	}
	return best
}

func (s *Search) why(i, likeliest int, near bool, m Machine) string {
	key := s.places[i].Key
	for _, l := range slices.Backward(s.looks) {
		if l.Place == key {
			if l.Saw == Signal {
				return WhySignal
			}
			break
		}
	}
	switch {
	case m.Earlier[key] > 0:
		return WhyBefore
	case slices.Contains(m.WorkedOn, key):
		return WhyWorked
	case i == likeliest:
		return WhyLikely
	case near:
		return WhyNear
	}
	return WhyQuick
}

// box is a place in the plain problem: the chance that a look shows it, and what a look costs.
type box struct{ chance, minutes float64 }

// bestRun orders boxes by chance per minute and returns the largest ratio of chance to cost over the runs that begin with the set-up.
func bestRun(boxes []box, setup float64) (order []int, ratio float64) {
	order = make([]int, len(boxes))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Compare(boxes[b].chance/boxes[b].minutes, boxes[a].chance/boxes[a].minutes)
	})
	chance, cost := 0.0, setup
	for _, i := range order {
		chance += boxes[i].chance
		cost += boxes[i].minutes
		ratio = math.Max(ratio, chance/cost)
	}
	return order, ratio
}

// Verdict of a search as a whole.
type Verdict string

// The verdicts.
const (
	Go          Verdict = "go"           // look
	Pressurise  Verdict = "pressurise"   // too little pressure to find a leak this small: recover and pressurise with dry nitrogen
	TooSmall    Verdict = "too_small"    // a leak this small would not show with nitrogen either: weigh, wait, compare
	SearchedOut Verdict = "searched_out" // one more round would hardly show it: hidden, elsewhere, or none
)

// Verdicts lists them.
func Verdicts() []Verdict { return []Verdict{Go, Pressurise, TooSmall, SearchedOut} }

// Judge says whether looking is worth it.
//
//   - in: conditions; methods at hand as for Next; test pressures of the two sides, absolute (0: the running pressure
//     of the high side, and half of it)
//   - out: verdict, and the best chance at any place that a first look there shows a leak that is there
//   - source: the bounds stand in the catalogue, judgement
func (s *Search) Judge(c Conditions, methods []string, testHigh, testLow units.Pressure) (Verdict, float64) {
	now := s.bestGiven(c, methods)
	if now >= s.cat.Bound {
		if s.round(c, methods) < s.cat.RoundBound {
			return SearchedOut, now
		}
		return Go, now
	}
	with := c
	if testHigh == 0 {
		testHigh = c.RunHigh
	}
	if testLow == 0 { // a US guide specification tests at 300 psi high, 150 psi low
		testLow = c.Ambient + (testHigh-c.Ambient)/2
	}
	with.High, with.Low, with.Charge = testHigh, testLow, Nitrogen
	then := s.bestGiven(with, nil)
	with.Charge = Trace
	if math.Max(then, s.bestGiven(with, nil)) >= s.cat.Bound {
		return Pressurise, now
	}
	return TooSmall, now
}

// round is the chance that one more look at every place, each with its best method, shows the leak.
func (s *Search) round(c Conditions, methods []string) float64 {
	best := make([]float64, len(s.places))
	for k := range s.cat.Methods {
		m := &s.cat.Methods[k]
		if m.Whole || !m.Usable(c) || methods != nil && !slices.Contains(methods, m.Key) {
			continue
		}
		v := s.view(m, c)
		for i := range s.places {
			best[i] = math.Max(best[i], s.chance(i, m, c, v))
		}
	}
	sum := 0.0
	for _, b := range best {
		sum += b
	}
	return sum
}

// bestGiven is the best chance, over places and methods that look at what comes out now, that a first look shows the
// leak given that it is there.
func (s *Search) bestGiven(c Conditions, methods []string) float64 {
	best := 0.0
	for k := range s.cat.Methods {
		m := &s.cat.Methods[k]
		if m.Whole || m.When != "now" || !m.Usable(c) || methods != nil && !slices.Contains(methods, m.Key) {
			continue
		}
		v := s.view(m, c)
		for i := range s.places {
			if p := s.p(i); p > 1e-9 {
				sum := 0.0
				for j, d := range v[sideIndex(s.places[i].Side)] {
					sum += s.reached[i][j]*d[0] + s.hidden[i][j]*d[1]
				}
				best = math.Max(best, sum/p)
			}
		}
	}
	return best
}
