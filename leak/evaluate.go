package leak

import (
	"math"
	"math/rand/v2"
	"slices"

	"coldwright/gasflow"
	"coldwright/units"
)

// Plan is a way of going about a simulated search.
type Plan string

// The plans: place after place in the catalogue's order, a round with the probe and a round with bubbles in turn; the
// same in the order of the weights; the next place and tool by chance per minute; the same with the machine's earlier
// leaks known.
const (
	FixedOrder  Plan = "fixed_order"
	WeightOrder Plan = "weight_order"
	BestNext    Plan = "best_next"
	WithHistory Plan = "best_next_with_history"
)

// Plans lists them.
func Plans() []Plan { return []Plan{FixedOrder, WeightOrder, BestNext, WithHistory} }

// Score is how a plan did.
type Score struct {
	Plan        Plan
	N           int
	MeanMinutes float64 // to the find, those not found counted with the limit
	Median      float64
	Within60    float64 // shares
	Within      float64 // the limit
	FalseAlarms float64 // a search, each checked with bubbles
}

// searchLimit ends a simulated search, minutes.
const searchLimit = 240

// Evaluate simulates searches of machines with one leak and scores the plans on the same machines.
//
// A simulated machine has its own habit of leaking: the catalogue's weights times a factor drawn from the exponential
// distribution, so that most leaks of one machine are at few places. Its four earlier leaks and the present one are
// drawn from that habit; the searcher knows the weights, and with history the earlier places, never the habit. The
// leak's size is drawn from the catalogue's prior for a 4 kg charge. Probe and bubbles are at hand, the machine runs,
// in half of the cases in a draught. A false alarm costs a check with bubbles; a find too, and counts once confirmed.
//
//   - in: seed; number of machines; the refrigerant's gas
//   - out: one score for each plan
//   - assumes: looks behave as the catalogue says: this measures the order of the search, not the catalogue
//   - source: simulation
//   - cost: about 10 ms a machine
func (c *Catalogue) Evaluate(seed uint64, n int, gas gasflow.Gas) []Score {
	rng := rand.New(rand.NewPCG(seed, 77))
	times := map[Plan][]float64{}
	alarms := map[Plan]float64{}
	for range n {
		m := Machine{Receiver: true, Solenoid: rng.IntN(2) == 0, AgeYears: 20 * rng.Float64()}
		size := c.SizeFrom(4000, nil)
		start := New(c, m, gas, size)
		habit := make([]float64, len(start.places))
		for i := range habit {
			habit[i] = start.prior[i] * rng.ExpFloat64()
		}
		earlier := map[string]int{}
		for range 4 {
			earlier[start.places[pickOne(rng, habit)].Key]++
		}
		at := pickOne(rng, habit)
		grams := size.Grams[pickOne(rng, size.P[:])]
		reached := rng.Float64() < start.places[at].Exposed
		cond := Conditions{
			RunHigh: 17 * units.Bar,
			RunLow:  2.5 * units.Bar,
			High:    17 * units.Bar,
			Low:     2.5 * units.Bar,
			Ambient: units.Atm,
			Draught: rng.IntN(2) == 0,
		}
		seeds := [2]uint64{rng.Uint64(), rng.Uint64()}
		for _, plan := range Plans() {
			know := m
			if plan == WithHistory {
				know.Earlier = earlier
			}
			t, a := start.simulate(plan, know, size, at, grams, reached, cond, rand.New(rand.NewPCG(seeds[0], seeds[1])))
			times[plan] = append(times[plan], t)
			alarms[plan] += a
		}
	}
	var out []Score
	for _, p := range Plans() {
		t := times[p]
		slices.Sort(t)
		s := Score{Plan: p, N: n, Median: t[n/2], FalseAlarms: alarms[p] / float64(n)}
		for _, v := range t {
			s.MeanMinutes += v / float64(n)
			if v <= 60 {
				s.Within60 += 1 / float64(n)
			}
			if v < searchLimit {
				s.Within += 1 / float64(n)
			}
		}
		out = append(out, s)
	}
	return out
}

func pickOne(rng *rand.Rand, weights []float64) int {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	r := rng.Float64() * sum
	for i, w := range weights {
		if r -= w; r < 0 {
			return i
		}
	}
	return len(weights) - 1
}

// simulate runs one search and returns the minutes to the confirmed find and the false alarms on the way.
func (s *Search) simulate(
	plan Plan,
	m Machine,
	size Size,
	at int,
	grams float64,
	reached bool,
	c Conditions,
	rng *rand.Rand,
) (minutes, alarms float64) {
	probe, _ := s.cat.Method("detector")
	bubbles, _ := s.cat.Method("bubbles")
	if plan == WithHistory {
		s = New(s.cat, m, s.gas, size)
	}
	order := make([]int, len(s.places))
	for i := range order {
		order[i] = i
	}
	if plan == WeightOrder {
		slices.SortStableFunc(order, func(a, b int) int { return cmpDesc(s.prior[a], s.prior[b]) })
	}
	// What can be seen at a place with a tool at all is drawn once, as the catalogue's steady share has it.
	type spot struct {
		place, method string
		leak          bool
	}
	visible := map[spot]bool{}
	shows := func(place string, m *Method, isLeak bool, d float64) bool {
		steady := math.Max(m.Steady, d)
		key := spot{place, m.Key, isLeak}
		v, ok := visible[key]
		if !ok {
			v = rng.Float64() < d/steady
			visible[key] = v
		}
		return v && rng.Float64() < steady
	}
	area, tool := "", ""
	for k := 0; minutes < searchLimit; k++ {
		i, method := order[k%len(order)], probe
		if k/len(order)%2 == 1 {
			method = bubbles
		}
		if plan == BestNext || plan == WithHistory {
			next := s.Next(c, []string{"detector", "bubbles"}, m, nil)
			if len(next) == 0 {
				break
			}
			i = slices.IndexFunc(s.places, func(p Place) bool { return p.Key == next[0].Place.Key })
			method, _ = s.cat.Method(next[0].Method.Key)
		}
		p := s.places[i]
		if p.Area != area {
			minutes += s.cat.WalkMin
		}
		if method.Key != tool {
			minutes += method.SetupMin
		}
		area, tool = p.Area, method.Key
		minutes += p.Minutes * method.MinutesFactor
		d := s.detect(method, grams, p.Side, c)
		if !reached {
			d *= method.Hidden
		}
		there := i == at && shows(p.Key, method, true, d)
		fooled := shows(p.Key, method, false, method.FalseAlarm)
		l := Look{p.Key, method.Key, Nothing, c}
		if there || fooled {
			l.Saw = Signal
			// Whatever showed is checked with bubbles before it counts. Bubbles settle a true find: the probe has led to the very spot.
			minutes += bubbles.SetupMin + p.Minutes*bubbles.MinutesFactor
			if there {
				return math.Min(minutes, searchLimit), alarms
			}
			alarms++
			s = s.After(Look{p.Key, "bubbles", Nothing, c})
		}
		s = s.After(l)
	}
	return searchLimit, alarms
}

func cmpDesc(a, b float64) int {
	switch {
	case a > b:
		return -1
	case a < b:
		return 1
	}
	return 0
}
