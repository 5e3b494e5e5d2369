package checks

import (
	"math"
	"slices"
)

// Steps is a question of order: causes of which one is there, steps that find and cure some of them, each with its cost,
// what has to be opened once for some steps, somebody who can be called, and a trial of the whole machine.
type Steps struct {
	P      []float64   // probability of each cause; what is missing to 1 no step finds
	Cost   []float64   // of each step, without openings
	Finds  [][]float64 // of each step: the share of cases in which it finds each cause
	Behind [][]int     // of each step: the openings it lies behind; nil for none
	Open   []float64   // cost of each opening, paid once
	Opened []bool      // openings already paid; nil: none
	Call   float64     // cost of somebody who surely ends it; +Inf: nobody
}

// Order returns the steps in a good order, and how many of them to do before calling for help. Each time the step, or the
// opening with the best of what lies behind it, that finds most per cost is next; after it what is left is weighed again.
//
//   - in: any number of steps and causes
//   - out: step numbers; those that can find nothing more are left out; the expected cost of doing the first call of them
//     and then calling, in the unit of the costs
//   - assumes: one cause; a step that does not find a cause leaves its share 1 − Finds
//   - source: probability over cost is optimal for independent steps (Kadane and Simon 1977, as restated by Ottosen and
//     Jensen, arXiv 1203.3502), clusters behind one opening by their common ratio (the same), updating after each step
//     within a factor 4 of the best (min-sum set cover, as restated in arXiv 2004.05954); the call: every place is tried
//   - cost: steps² · causes
func (s *Steps) Order() (order []int, call int, expected float64) {
	w := s.walk()
	done := make([]bool, len(s.Cost))
	cost, best, at := 0.0, s.Call, 0
	for {
		k := s.next(w.left, w.opened, done)
		if k < 0 {
			break
		}
		minutes, taken := w.do(k)
		cost += minutes * taken
		done[k] = true
		order = append(order, k)
		if end := cost + s.rest(w.mass); end < best-1e-12 {
			best, at = end, len(order)
		}
	}
	if math.IsInf(s.Call, 1) { // nobody to call: all of them
		best, at = cost, len(order)
	}
	return order, at, best
}

// walk is a way along an order of steps, each of which has found nothing so far.
type walk struct {
	s      *Steps
	left   []float64 // of each cause, what no step has found
	mass   float64   // probability that none has
	opened []bool
}

func (s *Steps) walk() *walk {
	return &walk{s: s, left: slices.Clone(s.P), mass: 1, opened: s.openings()}
}

// do takes a step that finds nothing, and returns what it costs, openings included, and the probability that the way
// comes to it.
func (w *walk) do(k int) (cost, taken float64) {
	cost, taken = w.s.Cost[k]+w.s.toOpen(k, w.opened), w.mass
	for _, o := range w.s.behind(k) {
		w.opened[o] = true
	}
	w.mass -= w.s.gain(k, w.left)
	for i := range w.left {
		w.left[i] *= 1 - w.s.Finds[k][i]
	}
	return cost, taken
}

// rest is what a call costs for what was not found; nothing where nobody can be called.
func (s *Steps) rest(mass float64) float64 {
	if math.IsInf(s.Call, 1) || mass < 1e-12 {
		return 0
	}
	return mass * s.Call
}

// Plan is as Order, but looks a step ahead: every step is tried as the next one, with the plain order after it.
//
//   - in, out: as Order
//   - source: a rollout of the order by ratio never costs more than that order (Bertsekas, Tsitsiklis and Wu 1997, J.
//     Heuristics 3:245-262, from memory)
//   - cost: steps⁴ · causes
func (s *Steps) Plan() (order []int, call int, expected float64) {
	order, call, expected = s.Order()
	for at := 0; at < call; at++ {
		for k := range s.Cost {
			if slices.Contains(order[:at], k) {
				continue
			}
			begun := append(slices.Clone(order[:at]), k)
			rest, n, _ := s.since(begun).Order()
			o := append(begun, rest[:n]...)
			if c := s.Expected(o); c < expected-1e-12 {
				order, call, expected = o, len(o), c
			}
		}
	}
	return order, call, expected
}

// since is what is left to order once some steps have found nothing.
func (s *Steps) since(done []int) *Steps {
	w := s.walk()
	out := *s
	out.Finds = slices.Clone(s.Finds)
	for _, k := range done {
		w.do(k)
		out.Finds[k] = make([]float64, len(s.P)) // a second time it finds nothing
	}
	out.P, out.Opened = w.left, w.opened
	if w.mass > nothing {
		for i := range out.P {
			out.P[i] /= w.mass
		}
	}
	return &out
}

// Expected is the cost of an order of steps, each until its cause is found, and of the call after the last for what they
// do not find.
func (s *Steps) Expected(order []int) float64 {
	w := s.walk()
	cost := 0.0
	for _, k := range order {
		minutes, taken := w.do(k)
		cost += minutes * taken
	}
	return cost + s.rest(w.mass)
}

// Trials says after which of the steps of an order to try the machine, where a trial costs something and a step does not
// tell by itself whether it has cured: the places with the least expected cost, and that cost.
//
//   - in: the order; what one trial costs
//   - out: of each step, whether a trial follows it; one follows the last
//   - source: a dear trial is put off until several steps are done (Ottosen and Jensen 2010, abstract); here by dynamic
//     programming over the places, exact for the order given
//   - cost: steps²
func (s *Steps) Trials(order []int, trial float64) (after []bool, expected float64) {
	n := len(order)
	after = make([]bool, n)
	if n == 0 {
		return after, 0
	}
	w := s.walk()
	cost, mass := make([]float64, n), make([]float64, n) // of each step, and the probability that nothing before it has cured
	for i, k := range order {
		cost[i], mass[i] = w.do(k)
	}
	best := make([]float64, n+1) // of the steps from i on, per call; a batch begins at i
	end := make([]int, n)
	for i := n - 1; i >= 0; i-- {
		best[i] = math.Inf(1)
		batch := trial
		for j := i; j < n; j++ {
			batch += cost[j]
			if c := batch*mass[i] + best[j+1]; c < best[i]-1e-12 {
				best[i], end[i] = c, j
			}
		}
	}
	for i := 0; i < n; i = end[i] + 1 {
		after[end[i]] = true
	}
	return after, best[0]
}

func (s *Steps) openings() []bool {
	if s.Opened != nil {
		return slices.Clone(s.Opened)
	}
	return make([]bool, len(s.Open))
}

func (s *Steps) behind(k int) []int {
	if s.Behind == nil {
		return nil
	}
	return s.Behind[k]
}

// toOpen is what has still to be opened for a step.
func (s *Steps) toOpen(k int, opened []bool) float64 {
	sum := 0.0
	for _, o := range s.behind(k) {
		if !opened[o] {
			sum += s.Open[o]
		}
	}
	return sum
}

// gain is the probability that a step finds the cause now.
func (s *Steps) gain(k int, left []float64) float64 {
	sum := 0.0
	for i, p := range left {
		sum += p * s.Finds[k][i]
	}
	return sum
}

// nothing is the probability below which a step finds nothing more.
const nothing = 1e-9

// next is the step to do now, or −1: the best ratio of what it finds to what it costs, where an opening is judged with
// the best steps behind it.
func (s *Steps) next(left []float64, opened, done []bool) int {
	best, at := 0.0, -1
	for k := range s.Cost {
		if done[k] {
			continue
		}
		g := s.gain(k, left)
		if g < nothing {
			continue
		}
		open := s.toOpen(k, opened)
		r := g / (s.Cost[k] + open)
		if open > 0 {
			r = math.Max(r, s.bundle(k, left, opened, done))
		}
		// Of equal ones the likelier first, so that an order does not hang on how the list is written.
		if r > best*(1+1e-12) || at >= 0 && r > best*(1-1e-12) && g > s.gain(at, left) {
			best, at = r, k
		}
	}
	return at
}

// bundle is the common ratio of the steps that lie behind what step k opens, k first, as many as pay.
func (s *Steps) bundle(k int, left []float64, opened, done []bool) float64 {
	open := slices.Clone(opened)
	cost := s.Cost[k] + s.toOpen(k, opened)
	for _, o := range s.behind(k) {
		open[o] = true
	}
	var inside []int
	for j := range s.Cost {
		if j != k && !done[j] && s.toOpen(j, opened) > 0 && s.toOpen(j, open) == 0 {
			inside = append(inside, j)
		}
	}
	rest := slices.Clone(left)
	take := func(j int) float64 {
		g := s.gain(j, rest)
		for i := range rest {
			rest[i] *= 1 - s.Finds[j][i]
		}
		return g
	}
	// Step k is judged as the first of the bundle only if no other inside is better than it; else that one is first.
	sum := take(k)
	ratio := sum / cost
	first := s.gain(k, left) / s.Cost[k]
	for _, j := range inside {
		if s.gain(j, left)/s.Cost[j] > first*(1+1e-12) {
			return ratio
		}
	}
	for len(inside) > 0 {
		b, br := -1, 0.0
		for i, j := range inside {
			if r := s.gain(j, rest) / s.Cost[j]; r > br {
				b, br = i, r
			}
		}
		if b < 0 || br <= ratio {
			break
		}
		j := inside[b]
		sum += take(j)
		cost += s.Cost[j]
		ratio = sum / cost
		inside = slices.Delete(inside, b, b+1)
	}
	return ratio
}
