package checks

import (
	"math"
	"slices"
)

// Belief is what is thought of the causes of one complaint: every cause alone, two of the complaint's own at once, and
// something that is not in the network.
type Belief struct {
	n     *Network
	codes []string // causes, those of the complaint first
	own   int      // how many of them are the complaint's
	index map[string]int
	hyp   []hyp
	p     []float64              // of each hypothesis; they add up to one
	shows map[*Check][][]float64 // by check and answer: its probability under each hypothesis; nil until it is asked for
}

// hyp is one thing that may be so: causes a and b (b < 0: a alone; a < 0: something else).
type hyp struct{ a, b int }

// Odds are what gauges and thermometers say: how many times as likely the readings are under a cause of the circuit as
// under a sound circuit, by the code of package machine/fault. Learned is what confirmed repairs say of a complaint's
// causes: how many times each was the one.
type (
	Odds    map[string]float64
	Learned map[string]float64
)

// Place is what is known of where and how a machine stands; what is zero is not known.
type Place struct {
	Outside float64 // air at the condenser, K
	Phases  int     // of the supply: 1 or 3
}

// Cold and warm air, K. Below 5 °C a condenser without a control condenses too low for its valve, above 15 °C it does not
// (common practice, no source).
const (
	coldAir = 278.15
	warmAir = 288.15
)

// fits is how many times as often a cause is met where a machine stands.
func (n *Network) fits(k Cause, at Place) float64 {
	x := 1.0
	switch {
	case !k.Cold || at.Outside == 0:
	case at.Outside < coldAir:
		x = n.Belief.InCold
	case at.Outside > warmAir:
		x = n.Belief.Unfit
	}
	if k.Phases != 0 && at.Phases != 0 && k.Phases != at.Phases {
		x *= n.Belief.Unfit
	}
	return x
}

// habit is how many confirmed repairs the shipped weights are worth. Judgement, ours: after twenty of one's own, one's own
// count as much as somebody's estimate.
const habit = 20

// Believe returns what is thought before any check.
//
//   - in: the complaint; odds of the circuit, nil without readings; confirmed repairs, nil for none; where it stands
//   - assumes: one cause, or two of the complaint's own, independent given that there are two
//   - source: Bayes; weights of the network, moved by confirmed repairs as by a Dirichlet prior worth 20 of them (judgement,
//     ours)
//   - cost: causes of the complaint squared
func (n *Network) Believe(c *Complaint, odds Odds, learned Learned, at Place) *Belief {
	b := &Belief{n: n, index: map[string]int{}, shows: map[*Check][][]float64{}}
	add := func(code string) int {
		i, ok := b.index[code]
		if !ok {
			i = len(b.codes)
			b.index[code] = i
			b.codes = append(b.codes, code)
		}
		return i
	}
	told := 0.0
	for _, l := range c.Causes {
		told += learned[l.Cause]
	}
	w := make([]float64, 0, len(c.Causes))
	for _, l := range c.Causes {
		add(l.Cause)
		w = append(w, (l.Weight*habit+learned[l.Cause])/(habit+told))
	}
	b.own = len(b.codes)
	for i := range w {
		k, _ := n.Cause(b.codes[i])
		w[i] *= n.fits(k, at)
	}
	normalise(w)
	for _, k := range n.Causes {
		add(k.Code)
	}
	lift := make([]float64, len(b.codes))
	for _, k := range n.Causes {
		lift[b.index[k.Code]] = n.lift(k, odds)
	}
	in := 1 - n.Belief.Other - n.Belief.Elsewhere
	pairs := 0.0
	for i := range b.own {
		for j := range i {
			pairs += w[i] * w[j]
		}
	}
	second := n.Belief.Second
	if pairs == 0 {
		second = 0
	}
	var ln []float64
	put := func(h hyp, x float64) { b.hyp, ln = append(b.hyp, h), append(ln, x) }
	for i := range b.codes {
		p := n.Belief.Elsewhere / float64(len(b.codes)-b.own)
		if i < b.own {
			p = in * (1 - second) * w[i]
		}
		put(hyp{i, -1}, math.Log(p)+lift[i])
	}
	for i := range b.own {
		for j := range i {
			// Of two causes the readings show the one that shows more.
			put(hyp{i, j}, math.Log(in*second*w[i]*w[j]/pairs)+math.Max(lift[i], lift[j]))
		}
	}
	put(hyp{-1, -1}, math.Log(n.Belief.Other))
	most := slices.Max(ln)
	b.p = make([]float64, len(ln))
	for i := range ln {
		b.p[i] = math.Exp(ln[i] - most)
	}
	normalise(b.p)
	return b
}

// lift is the logarithm of how much likelier the readings are under a cause than in a sound circuit.
func (n *Network) lift(k Cause, odds Odds) float64 {
	if len(odds) == 0 || len(k.Circuit) == 0 {
		return 0
	}
	sum, m := 0.0, 0.0
	for _, c := range k.Circuit {
		if o, ok := odds[c]; ok && o > 0 {
			sum += o
			m++
		}
	}
	if m == 0 {
		return 0
	}
	return math.Log(sum / m)
}

// likelihood is the probability of an answer under a hypothesis.
func (b *Belief) likelihood(c *Check, h hyp, answer string) float64 {
	one := b.row(c, h.a)
	if h.b < 0 {
		return one(answer)
	}
	other := b.row(c, h.b)
	// Two causes hide a sound answer independently (noisy or); what is not sound is shared as the two show it.
	none := 1 - b.n.Belief.FalseAlarm
	sound := math.Min(1, one(c.sound())*other(c.sound())/none)
	if answer == c.sound() {
		return sound
	}
	sum := 0.0
	for _, a := range c.Answers[:len(c.Answers)-1] {
		sum += math.Max(one(a), other(a))
	}
	return (1 - sound) * math.Max(one(answer), other(answer)) / sum
}

// row is what a check shows under one cause; i < 0: under something that is not in the network.
func (b *Belief) row(c *Check, i int) func(answer string) float64 {
	fa := b.n.Belief.FalseAlarm
	k := float64(len(c.Answers) - 1)
	base := func(answer string) float64 {
		if answer == c.sound() {
			return 1 - fa
		}
		return fa / k
	}
	if i < 0 {
		return base
	}
	for _, f := range c.Finds {
		if f.Cause != b.codes[i] {
			continue
		}
		return func(answer string) float64 {
			if answer == f.Answer {
				return f.Hit
			}
			return (1 - f.Hit) * base(answer) / (1 - base(f.Answer))
		}
	}
	return base
}

// under are the probabilities of a check's answers under each hypothesis.
func (b *Belief) under(c *Check) [][]float64 {
	if t, ok := b.shows[c]; ok {
		return t
	}
	t := make([][]float64, len(c.Answers))
	for k, a := range c.Answers {
		t[k] = make([]float64, len(b.hyp))
		for i, h := range b.hyp {
			t[k][i] = b.likelihood(c, h, a)
		}
	}
	b.shows[c] = t
	return t
}

// Found returns what is thought after a check gave an answer; what was before stays as it was.
func (b *Belief) Found(c *Check, answer string) *Belief {
	return b.times(b.under(c)[slices.Index(c.Answers, answer)])
}

// inVain is the share of right repairs after which the machine is tried and still does not do what it should, for another
// reason than a second cause. Judgement, ours: a repair can be done badly.
const inVain = 0.05

// NotCured returns what is thought after a cause was put right, the machine was tried and it was no cure: the cause is not
// taken for absent but for one that is not alone.
func (b *Belief) NotCured(cause string) *Belief {
	i, ok := b.index[cause]
	like := make([]float64, len(b.hyp))
	for k, h := range b.hyp {
		like[k] = 1
		if ok && h.a == i && h.b < 0 {
			like[k] = inVain
		}
	}
	return b.times(like)
}

func (b *Belief) times(like []float64) *Belief {
	out := *b
	out.p = make([]float64, len(b.p))
	for i, p := range b.p {
		out.p[i] = p * like[i]
	}
	normalise(out.p)
	return &out
}

func normalise(p []float64) {
	sum := 0.0
	for _, x := range p {
		sum += x
	}
	for i := range p {
		p[i] /= sum
	}
}

// chance is the probability of an answer, by its number.
func (b *Belief) chance(c *Check, answer int) float64 {
	sum := 0.0
	for i, like := range b.under(c)[answer] {
		sum += b.p[i] * like
	}
	return sum
}

// marginals are the probability of each cause, alone or with another, and of something else.
func (b *Belief) marginals() (each []float64, other float64) {
	each = make([]float64, len(b.codes))
	for i, p := range b.p {
		switch h := b.hyp[i]; {
		case h.a < 0:
			other += p
		case h.b >= 0:
			each[h.b] += p
			each[h.a] += p
		default:
			each[h.a] += p
		}
	}
	return each, other
}
