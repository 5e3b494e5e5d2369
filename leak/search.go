package leak

import (
	"cmp"
	"math"
	"slices"

	"coldwright/gasflow"
	"coldwright/units"
)

// Machine is what decides which places a machine has and how likely each is before anything is seen.
type Machine struct {
	SelfContained, Receiver, OpenDrive, Accumulator, Solenoid bool

	AgeYears float64
	Only     []string // keys; nil: what the machine has
	// Earlier counts leaks found before at a place. WorkedOn are places opened lately.
	Earlier  map[string]int
	WorkedOn []string
	// Weighed says that refrigerant is known to be lost, by weight.
	Weighed bool
}

// Conditions are what stands in the machine now. Pressures are absolute.
type Conditions struct {
	RunHigh, RunLow units.Pressure // while it runs
	High, Low       units.Pressure // now
	Ambient         units.Pressure // of the air
	Charge          Charge         // empty: refrigerant
	Draught         bool
}

// Saw is what a look showed.
type Saw string

// The outcomes. A signal is an oil mark, a call of the probe, a bubble.
const (
	Nothing Saw = "nothing"
	Signal  Saw = "signal"
)

// Look is one place looked at in one way.
type Look struct {
	Place, Method string
	Saw           Saw
	Conditions    Conditions
}

// Search is what is known of where the leak is. It is a value: After returns a new one.
type Search struct {
	cat    *Catalogue
	gas    gasflow.Gas
	places []Place
	prior  []float64
	size   Size
	// hidden and reached hold the chance of each place and size, by whether the spot can be reached; rest is the
	// chance of places not listed, by size.
	reached, hidden [][gridSizes]float64
	rest            [gridSizes]float64
	none            float64
	looks           []Look
}

// New starts a search.
//
//   - in: the machine; its refrigerant's gas; how large the leak may be
//   - out: the search before the first look; shares add up to one
//   - source: weights and factors of the catalogue, each with its basis there; earlier leaks as multinomial counts on a Dirichlet prior
//   - cost: some microseconds; safe for concurrent use
func New(c *Catalogue, m Machine, gas gasflow.Gas, size Size) *Search {
	s := &Search{cat: c, gas: gas, size: size}
	has := map[string]bool{
		"":            true,
		"open_drive":  m.OpenDrive,
		"receiver":    m.Receiver,
		"accumulator": m.Accumulator,
		"solenoid":    m.Solenoid,
	}
	sum := 0.0
	for _, p := range c.Places {
		w := p.Weight * math.Pow(p.Ageing, math.Min(math.Max(m.AgeYears, 0), 40)/10)
		if m.SelfContained && p.SelfContained != nil {
			w *= *p.SelfContained
		}
		if !has[p.Needs] || w == 0 || m.Only != nil && !slices.Contains(m.Only, p.Key) {
			continue
		}
		s.places, s.prior = append(s.places, p), append(s.prior, w)
		sum += w
	}
	// Earlier leaks of this machine: shares as Dirichlet counts, to which each leak adds one.
	before := sum
	sum = 0
	for i, p := range s.places {
		s.prior[i] = c.Evidence.Habit*s.prior[i]/before + float64(max(m.Earlier[p.Key], 0))
		if slices.Contains(m.WorkedOn, p.Key) {
			s.prior[i] *= c.Evidence.WorkedOn
		}
		sum += s.prior[i]
	}
	s.none = c.NoLeak.Unweighed
	if m.Weighed {
		s.none = c.NoLeak.Weighed
	}
	listed := (1 - s.none) * (1 - c.NotListed.Weight)
	if sum == 0 {
		listed = 0
	}
	s.reached, s.hidden = make([][gridSizes]float64, len(s.places)), make([][gridSizes]float64, len(s.places))
	for j, q := range size.P {
		s.rest[j] = (1 - s.none - listed) * q
		for i, p := range s.places {
			w := listed * s.prior[i] / sum * q
			s.reached[i][j], s.hidden[i][j] = w*p.Exposed, w*(1-p.Exposed)
		}
	}
	for i := range s.prior {
		s.prior[i] *= listed / sum
	}
	return s
}

// rate is what a leak of a size on a side passes now: throughput in Pa m³/s, and mass of refrigerant in g/year.
func (s *Search) rate(grams float64, side Side, c Conditions) (q, mass float64) {
	run, now := c.RunHigh, c.High
	if side == Low {
		run, now = c.RunLow, c.Low
	}
	gas := s.gas
	if c.Charge == Nitrogen || c.Charge == Trace {
		gas = gasflow.Nitrogen(gasflow.Room)
	}
	q = throughput(grams, s.gas.MolarMass)
	q *= Through(q, float64(run), float64(now), float64(c.Ambient), s.gas, gas, s.cat.Transition)
	return q, gasflow.FromThroughput(q, gasflow.Room).GramsPerYear(gas.MolarMass)
}

// named says the charge by its name.
func (c Conditions) named() Conditions {
	if c.Charge == "" {
		c.Charge = Refrigerant
	}
	return c
}

// Usable reports whether a method works with what stands in the machine.
func (m *Method) Usable(c Conditions) bool {
	return slices.Contains(m.Charge, c.named().Charge)
}

// Detect is the chance that a look of this method shows a leak that passes now.
//
//		best · x^slope / (1 + x^slope),  x = leak/threshold
//
//	  - in: leak in the method's unit
//	  - out: 0 to best
//	  - source: logistic in ln x; threshold, slope and best stand in the catalogue
func (m *Method) Detect(leak float64) float64 {
	if !(leak > 0) {
		return 0
	}
	return m.Best / (1 + math.Pow(leak/m.Threshold, -m.Slope))
}

// detect is the chance of a signal at a place with a leak of a size there.
func (s *Search) detect(m *Method, grams float64, side Side, reached bool, c Conditions) float64 {
	if !m.Usable(c) {
		return 0
	}
	leak := grams
	if m.When == "past" {
		if m.Unit == "pa_m3_s" {
			leak = throughput(grams, s.gas.MolarMass)
		}
	} else {
		q, mass := s.rate(grams, side, c)
		if leak = mass; m.Unit == "pa_m3_s" {
			leak = q
		}
	}
	d := m.Detect(leak)
	if c.Draught {
		d *= m.Draught
	}
	if !reached {
		d *= m.Hidden
	}
	return d
}

// view is the chance of a signal by side (high first), size, and whether the spot can be reached.
type view [2][gridSizes][2]float64

func sideIndex(side Side) int {
	if side == Low {
		return 1
	}
	return 0
}

func (s *Search) view(m *Method, c Conditions) *view {
	var v view
	for k, side := range []Side{High, Low} {
		for j, g := range s.size.Grams {
			v[k][j] = [2]float64{s.detect(m, g, side, true, c), s.detect(m, g, side, false, c)}
		}
	}
	return &v
}

// Smallest is the smallest leak a method sees at one side with what stands there now: of leaks of this size at
// running pressure it shows half of those it can show at all.
//
//   - in: method; side; conditions
//   - out: g of refrigerant a year at running pressure; false when it sees none at all
//   - source: [Through] turned round by bisection
func (s *Search) Smallest(m *Method, side Side, c Conditions) (gramsPerYear float64, ok bool) {
	at := func(ln float64) float64 {
		return s.detect(m, math.Exp(ln), side, true, Conditions{c.RunHigh, c.RunLow, c.High, c.Low, c.Ambient, c.Charge, false})
	}
	lo, hi := math.Log(1e-4), math.Log(1e9)
	if at(hi) < m.Best/2 {
		return 0, false
	}
	for range 60 {
		mid := (lo + hi) / 2
		if at(mid) < m.Best/2 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Exp((lo + hi) / 2), true
}

// again is the chance of so many signals and misses of one method at one place in one condition, when a single look
// shows something with chance d.
//
// What can be seen there at all is seen at each look with chance steady; the rest never shows. A single look then has
// chance d, and a second one after a miss much less: q = d/steady; P = q steady^seen (1−steady)^missed +
// (1−q)·[nothing seen].
func again(d, steady float64, seen, missed int) float64 {
	steady = math.Max(steady, d)
	q := d / steady
	p := q * math.Pow(steady, float64(seen)) * math.Pow(1-steady, float64(missed))
	if seen == 0 {
		p += 1 - q
	}
	return p
}

// fooled adds false alarms to the chance that a leak shows.
func (m *Method) fooled(d float64) float64 { return 1 - (1-d)*(1-m.FalseAlarm) }

// counts are the looks so far at a place in one way: in the same conditions for what comes out now, in any for what came out before.
func (s *Search) counts(place string, m *Method, c Conditions) (seen, missed int) {
	for _, l := range s.looks {
		if l.Place != place || l.Method != m.Key || !m.Usable(l.Conditions) || m.When == "now" && l.Conditions.named() != c.named() {
			continue
		}
		if l.Saw == Signal {
			seen++
		} else {
			missed++
		}
	}
	return seen, missed
}

// After is what is known once a look is over. Looks at places or with methods that the search does not hold change nothing.
//
//   - in: a look
//   - out: a new search
//   - source: Bayes' rule; a signal elsewhere than at the leak is a false alarm of the catalogue; a look repeated in
//     the same conditions mostly shows the same again
func (s *Search) After(l Look) *Search {
	m, ok := s.cat.Method(l.Method)
	at := slices.IndexFunc(s.places, func(p Place) bool { return p.Key == l.Place })
	if !ok || at < 0 && !m.Whole || !m.Usable(l.Conditions) {
		return s
	}
	seen, missed := s.counts(l.Place, m, l.Conditions)
	// The looks at one place in one way and one condition weigh together; this one changes their weight by a factor.
	factor := func(d float64) float64 {
		if l.Saw == Signal {
			return again(d, m.Steady, seen+1, missed) / again(d, m.Steady, seen, missed)
		}
		return again(d, m.Steady, seen, missed+1) / again(d, m.Steady, seen, missed)
	}
	n := *s
	n.reached, n.hidden, n.looks = slices.Clone(s.reached), slices.Clone(s.hidden), append(slices.Clone(s.looks), l)
	total, quiet := 0.0, factor(m.FalseAlarm)
	// Where the leak is, a look shows it or is fooled like anywhere else.
	there := func(d float64) float64 { return factor(m.fooled(d)) }
	sees := s.view(m, l.Conditions)
	for i, p := range n.places {
		for j, d := range sees[sideIndex(p.Side)] {
			r, h := quiet, quiet
			if i == at || m.Whole {
				r, h = there(d[0]), there(d[1])
			}
			n.reached[i][j] *= r
			n.hidden[i][j] *= h
			total += n.reached[i][j] + n.hidden[i][j]
		}
	}
	for j, d := range sees[sideIndex(Low)] {
		f := quiet
		if m.Whole {
			f = there(d[0])
		}
		n.rest[j] *= f
		total += n.rest[j]
	}
	n.none *= quiet
	total += n.none
	for i := range n.places {
		for j := range n.size.Grams {
			n.reached[i][j] /= total
			n.hidden[i][j] /= total
		}
	}
	for j := range n.rest {
		n.rest[j] /= total
	}
	n.none /= total
	return &n
}

// Share is a place with its chance.
type Share struct {
	Place  Place
	P      float64 // that the leak is there
	Looks  int
	Signal bool // the last look there showed something
}

// Shares lists the places, the likeliest first.
func (s *Search) Shares() []Share {
	out := make([]Share, len(s.places))
	for i, p := range s.places {
		out[i] = Share{Place: p, P: s.p(i)}
		for _, l := range s.looks {
			if l.Place == p.Key {
				out[i].Looks++
				out[i].Signal = l.Saw == Signal
			}
		}
	}
	slices.SortStableFunc(out, func(a, b Share) int { return cmp.Compare(b.P, a.P) })
	return out
}

func (s *Search) p(i int) float64 {
	sum := 0.0
	for j := range s.size.Grams {
		sum += s.reached[i][j] + s.hidden[i][j]
	}
	return sum
}

// NotListed is the chance that the leak is at none of the places, None that there is no leak.
func (s *Search) NotListed() float64 {
	sum := 0.0
	for _, v := range s.rest {
		sum += v
	}
	return sum
}

// None is the chance that there is no leak.
func (s *Search) None() float64 { return s.none }

// Size is how large the leak may be after the looks so far, given that there is one.
func (s *Search) Size() Size {
	out := Size{Grams: s.size.Grams}
	total := 1 - s.none
	for j := range out.P {
		v := s.rest[j]
		for i := range s.places {
			v += s.reached[i][j] + s.hidden[i][j]
		}
		out.P[j] = v / total
	}
	return out
}

// chance is the chance that the next look at place i shows the leak there. What showed something already would only
// show it again: that is for another way of looking to settle.
func (s *Search) chance(i int, m *Method, c Conditions, v *view) float64 {
	seen, missed := s.counts(s.places[i].Key, m, c)
	if seen > 0 {
		return 0
	}
	next := func(d float64) float64 {
		if missed == 0 || d == 0 {
			return d
		}
		f := m.fooled(d)
		return d / f * again(f, m.Steady, 1, missed) / again(f, m.Steady, 0, missed)
	}
	sum := 0.0
	for j, d := range v[sideIndex(s.places[i].Side)] {
		if w := s.reached[i][j]; w > 0 {
			sum += w * next(d[0])
		}
		if w := s.hidden[i][j]; w > 0 {
			sum += w * next(d[1])
		}
	}
	return sum
}

// Why a place is next.
const (
	WhySignal = "signal_here"      // something showed here: make sure
	WhyBefore = "leaked_before"    // this machine has leaked here
	WhyWorked = "worked_on_lately" // opened lately
	WhyLikely = "likeliest"        // the likeliest place of all
	WhyQuick  = "quick"            // little time for its chance
	WhyNear   = "on_the_way"       // same walk, same tool
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
