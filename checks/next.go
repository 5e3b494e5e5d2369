package checks

import (
	"cmp"
	"math"
	"slices"

	"coldwright/verdict/threshold"
)

// candidates are the checks that may be done now and could find something, and those that open the way to others.
func (s *state) candidates() []*Check {
	each, _ := s.b.marginals()
	var out []*Check
	gates := map[string]bool{}
	for i := range s.n.Checks {
		c := &s.n.Checks[i]
		if _, ok := s.done[c.Code]; ok || !s.about(c, each) {
			continue
		}
		if u := s.until(c); u != nil {
			gates[u.Check] = true
			continue
		}
		out = append(out, c)
	}
	if u := s.noTrial(); u != nil && len(s.repaired) > 0 {
		gates[u.Check] = true
	}
	for _, b := range []Before{air, ground} {
		// One that was answered otherwise is done again once something was put right; air that burns at any time.
		c := s.n.check(b.Check)
		if !gates[b.Check] || s.until(c) != nil || slices.Contains(out, c) {
			continue
		}
		if got := s.done[b.Check]; b == air || got == "" || c.shows(got, s.repaired) {
			out = append(out, c)
		}
	}
	return out
}

// shown are the causes that a check has shown and that are not yet proven or tried: they can be put right, and the machine
// tried. To change parts that nothing has spoken for is no way to find a cause.
func (s *state) shown(each []float64) []int {
	var out []int
	for code, a := range s.done {
		c := s.n.check(code)
		for _, f := range c.Finds {
			i := s.b.index[f.Cause]
			if f.Answer == a && each[i] >= threshold.Possible && !slices.Contains(s.repaired, f.Cause) && !slices.Contains(out, i) {
				out = append(out, i)
			}
		}
	}
	slices.Sort(out)
	return out
}

// repairMinutes is what putting a cause right takes, before the machine is tried. Judgement, ours: a part that is on the
// van, a quarter of an hour.
const repairMinutes = 15

// steps is what is left to do as a question of order: causes with their probabilities, checks with what they prove, and
// after them the repairs that could be tried.
func (s *state) steps(list []*Check) (q Steps, repairs []int) {
	each, other := s.b.marginals()
	sum := other
	for _, p := range each {
		sum += p
	}
	q = Steps{Call: s.n.Call.Minutes, Opened: s.opened, Open: make([]float64, len(s.n.Openings))}
	for i, o := range s.n.Openings {
		q.Open[i] = o.Minutes
	}
	at := make([]int, len(each)) // place among the causes that matter
	for i, p := range each {
		at[i] = -1
		if p >= worth {
			at[i] = len(q.P)
			q.P = append(q.P, p/sum)
		}
	}
	step := func(minutes float64, opens []int) []float64 {
		finds := make([]float64, len(q.P))
		q.Cost, q.Finds, q.Behind = append(q.Cost, minutes), append(q.Finds, finds), append(q.Behind, opens)
		return finds
	}
	for _, c := range list {
		finds := step(c.Minutes, s.opens(c))
		for _, f := range c.Finds {
			if i := at[s.b.index[f.Cause]]; i >= 0 {
				finds[i] = f.Hit
			}
		}
	}
	for _, i := range s.shown(each) {
		if at[i] >= 0 && s.noTrial() == nil {
			step(repairMinutes+s.of.Trial, nil)[at[i]] = 1 - inVain
			repairs = append(repairs, i)
		}
	}
	return q, repairs
}

// toProof is the expected time to a proven cause by the plain order, or by calling for help where that is less.
func (s *state) toProof() float64 {
	each, _ := s.b.marginals()
	if slices.Max(each) >= threshold.Certain {
		return 0
	}
	q, _ := s.steps(s.candidates())
	_, _, cost := q.Order()
	return cost
}

// first is the expected time to a proven cause when a check is done first; deep: with the best check after each answer.
func (s *state) first(c *Check, deep bool) float64 {
	cost := s.minutes(c)
	for k, a := range c.Answers {
		p := s.b.chance(c, k)
		if p < 1e-6 {
			continue
		}
		t := s.after(c, a)
		cost += p * t.onward(deep)
	}
	return cost
}

// onward is the expected time from here: by the plain order, or with the best next step.
func (s *state) onward(deep bool) float64 {
	rest := s.toProof()
	if !deep || rest == 0 {
		return rest
	}
	checks, repairs := s.best(twoDeep)
	for _, k := range checks {
		rest = math.Min(rest, s.first(k, false))
	}
	for _, i := range repairs {
		rest = math.Min(rest, s.tried(i, false))
	}
	return rest
}

// tried is the expected time to a proven cause when one is put right and the machine tried first.
func (s *state) tried(i int, deep bool) float64 {
	each, _ := s.b.marginals()
	t := s.notCured(i)
	return repairMinutes + s.of.Trial + (1-each[i]*(1-inVain))*t.onward(deep)
}

func (s *state) notCured(i int) state {
	t := *s
	t.b = s.b.NotCured(s.b.codes[i])
	t.repaired = append(slices.Clone(s.repaired), s.b.codes[i])
	return t
}

// minutes is what a check takes now, with what has to be opened for it.
func (s *state) minutes(c *Check) float64 {
	m := c.Minutes
	for _, o := range s.opens(c) {
		if !s.opened[o] {
			m += s.n.Openings[o].Minutes
		}
	}
	return m
}

// best are the candidates that find most for their cost, opening included, the best first, and the repairs that could be
// tried.
func (s *state) best(m int) (checks []*Check, repairs []int) {
	list := s.candidates()
	q, repairs := s.steps(list)
	ratio := map[*Check]float64{}
	for k, c := range list {
		open := q.toOpen(k, s.opened)
		ratio[c] = q.gain(k, q.P) / (c.Minutes + open)
		if open > 0 {
			ratio[c] = math.Max(ratio[c], q.bundle(k, q.P, s.opened, make([]bool, len(q.Cost))))
		}
		if c.Code == air.Check || c.Code == ground.Check && s.noTrial() != nil && len(s.repaired) > 0 {
			ratio[c] = math.Inf(1) // it opens the way
		}
	}
	slices.SortStableFunc(list, func(x, y *Check) int { return cmp.Compare(ratio[y], ratio[x]) })
	return list[:min(m, len(list))], repairs
}

// aheadBy is how many expected minutes another step must save for it to be named before the one that finds most for its
// time. Judgement, ours: what follows is reckoned roughly, and a mechanic expects the obvious look first.
const aheadBy = 2

// plan fills in what to do next.
func (s *state) plan(out *Answer) {
	checks, repairs := s.best(tried)
	for _, c := range checks {
		if x := s.describe(c, s.first(c, false)); s.tells(&x) {
			out.Next = append(out.Next, x)
		}
	}
	for _, i := range repairs {
		out.Next = append(out.Next, Next{Repair: s.b.codes[i], Minutes: repairMinutes + s.of.Trial, ToProof: s.tried(i, false)})
	}
	var usual *Check // the one that finds most for its time
	if len(out.Next) > 0 {
		usual = out.Next[0].Check
	}
	sortNext(out.Next)
	ahead := out.Next[:min(twoDeep, len(out.Next))]
	for i := range ahead {
		deep := 0.0
		if x := &ahead[i]; x.Check != nil {
			deep = s.first(x.Check, true)
		} else {
			deep = s.tried(s.b.index[x.Repair], true)
		}
		ahead[i].ToProof = math.Min(ahead[i].ToProof, deep)
	}
	sortNext(ahead)
	if i := slices.IndexFunc(out.Next, func(x Next) bool { return x.Check != nil && x.Check == usual }); i > 0 {
		if x := out.Next[i]; x.ToProof < out.Next[0].ToProof+aheadBy || gate(usual) {
			out.Next = slices.Insert(slices.Delete(out.Next, i, i+1), 0, x)
		}
	}
	out.Next = out.Next[:min(listed, len(out.Next))]
	out.ToProof = s.n.Call.Minutes
	for _, x := range out.Next {
		out.ToProof = math.Min(out.ToProof, x.ToProof)
	}
	out.Call = len(out.Next) == 0 || out.ToProof >= s.n.Call.Minutes
	s.order(out)
}

// gate reports whether a check opens the way to others.
func gate(c *Check) bool { return c != nil && (c.Code == air.Check || c.Code == ground.Check) }

// tells reports whether an answer of a check would move what is thought, or open the way.
func (s *state) tells(x *Next) bool {
	each, _ := s.b.marginals()
	if gate(x.Check) {
		return true
	}
	for _, m := range x.Answers {
		if math.Abs(m.Leads.Probability-each[s.b.index[m.Leads.Cause]]) >= threshold.Unlikely {
			return true
		}
	}
	return false
}

// order fills in the plan: what to look at if every check comes out sound, beginning with the one named first.
func (s *state) order(out *Answer) {
	list := s.candidates()
	q, _ := s.steps(list)
	n := len(list) // a repair follows from what is found
	q.Cost, q.Finds, q.Behind = q.Cost[:n], q.Finds[:n], q.Behind[:n]
	var begun []int
	if len(out.Next) > 0 && out.Next[0].Check != nil {
		if k := slices.Index(list, out.Next[0].Check); k >= 0 {
			begun = append(begun, k)
		}
	}
	rest, call, _ := q.since(begun).Plan()
	plan := append(begun, rest[:call]...)
	try, _ := q.Trials(plan, s.of.Trial)
	for i, k := range plan {
		out.Plan = append(out.Plan, Planned{Check: list[k].Code, Try: try[i] && s.noTrial() == nil})
	}
}

func sortNext(list []Next) {
	slices.SortStableFunc(list, func(x, y Next) int { return cmp.Compare(x.ToProof, y.ToProof) })
}

// describe says what a check costs now and what each of its answers would mean.
func (s *state) describe(c *Check, toProof float64) Next {
	x := Next{Check: c, Minutes: s.minutes(c), ToProof: toProof}
	for _, o := range s.opens(c) {
		if !s.opened[o] {
			x.Opens = append(x.Opens, s.n.Openings[o].Code)
		}
	}
	for k, a := range c.Answers {
		t := s.after(c, a)
		each, _ := t.b.marginals()
		lead := 0
		for i := range each {
			if each[i] > each[lead] {
				lead = i
			}
		}
		x.Answers = append(x.Answers, Meaning{Answer: a, Probability: s.b.chance(c, k), Leads: t.suspect(lead, each[lead])})
	}
	return x
}
