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
	Without  []string // keys of places that such a machine does not have
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
		if !has[p.Needs] || w == 0 || m.Only != nil && !slices.Contains(m.Only, p.Key) ||
			slices.Contains(m.Without, p.Key) {
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
	q *= Through(q, float64(run), float64(now), float64(c.Ambient), s.gas, gas)
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

// detect is the chance of a signal at a place with a leak of a size there that can be reached.
func (s *Search) detect(m *Method, grams float64, side Side, c Conditions) float64 {
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
			d := s.detect(m, g, side, c)
			v[k][j] = [2]float64{d, d * m.Hidden}
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
		return s.detect(m, math.Exp(ln), side, Conditions{c.RunHigh, c.RunLow, c.High, c.Low, c.Ambient, c.Charge, false})
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
