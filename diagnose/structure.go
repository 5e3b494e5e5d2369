package diagnose

import (
	"context"
	"math"
	"slices"
	"sort"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// notSaid is how often the machines of an application have something that nobody said of this one. A share that depends
// on the weather has a row for each limit of the air outside: machines that run in the cold were built for it.
type notSaid struct {
	field, answer string
	below         float64 // K of air outside; 0: in any weather
	share         float64
}

// The machine's fields that may be not said, as in the sheet.
const (
	fieldHeadControl = "head_control"
	fieldReceiver    = "receiver"
	fieldExpansion   = "expansion"
)

// with gives the machine the answer; false where somebody said it, or where the machine cannot have it.
func (n *notSaid) with(mc reading.Machine, m reading.Resolved) (reading.Machine, bool) {
	switch n.field {
	case fieldHeadControl:
		h, err := reading.ParseHeadControl(n.answer)
		if h == reading.Flooding && !m.Receiver { // nothing to flood it from
			h = reading.FanCycling
		}
		said := mc.HeadControl != reading.HeadUnknown
		mc.HeadControl = h
		return mc, err == nil && !said
	case fieldReceiver:
		has := n.answer == "true"
		said := mc.Receiver != nil
		mc.Receiver = &has
		return mc, !said && has != m.Receiver
	case fieldExpansion:
		x, err := reading.ParseExpansion(n.answer)
		said := mc.Expansion != reading.ExpansionUnknown
		mc.Expansion = x
		return mc, err == nil && !said && x != m.Expansion
	}
	return mc, false
}

// acts reports whether a head control would have something to do today: the middle machine of the application, without
// one, would condense below what it is set to.
func (q *problem) acts() bool {
	d := plant.FromMachine(q.m)
	split := d.Split * math.Exp(q.p.mean[plant.NSplit])
	return q.e.ambOK && q.e.ambT+split < float64(units.Fahrenheit(90))+2
}

// structures are the machines this one may be: as resolved, and for each thing nobody said and that could matter today
// with the other answer. Their weights add up to one.
func (q *problem) structures(f *refrigerant.Fit) []*problem {
	out := []*problem{q}
	rest := 1.0
	done := map[string]bool{}
	for i := range alternatives[q.m.Application] {
		n := &alternatives[q.m.Application][i]
		if done[n.field] || n.below > 0 && !(q.e.ambOK && q.e.ambT < n.below) || n.field == fieldHeadControl && !q.acts() {
			continue
		}
		mc, ok := n.with(q.sheet.Machine, q.m)
		if !ok {
			continue
		}
		done[n.field] = true
		s := q.sheet
		s.Machine = mc
		m, _ := mc.Resolve()
		v, err := setUp(s, m, f, q.cat)
		if err != nil {
			continue
		}
		v.weight, v.unsaid, v.e.curve = n.share, n.field, q.e.curve
		rest *= 1 - n.share
		out = append(out, v)
	}
	// One thing at a time: both at once would have the product of their shares.
	sum := rest
	for _, v := range out[1:] {
		sum += v.weight
	}
	q.weight = rest / sum
	for _, v := range out[1:] {
		v.weight /= sum
	}
	return out
}

const (
	otherMachine     = 5 // nats that another machine, healthy, may be behind and still be tried with faults
	otherMachineBest = 8 // and with how many of the likeliest faults
)

// weigh fits every hypothesis and gives it its probability; the first is the healthy machine. What nobody said of the
// machine is summed over: a hypothesis has the evidence of each machine this may be, by its share. Afterwards q is the
// machine that explains the readings best.
func (q *problem) weigh(ctx context.Context, o Options) ([]*hypothesis, error) {
	machines := q.structures(q.f)
	var all []*hypothesis
	var singles [][]*hypothesis
	kept := machines[:0:0]
	var first, before float64
	for k, v := range machines {
		seen := v.learnVisits()
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		if k == 0 {
			before = seen
		}
		v.weight *= math.Exp(math.Max(-20, math.Min(20, seen-before))) // earlier visits tell what machine this is
		healthy := &hypothesis{n: plant.NumNuisances, rate: q.healthyRate() * v.weight, of: v}
		v.fit(healthy, [][maxParams]float64{{}}, nil)
		if k == 0 {
			first = score(healthy)
		} else if !healthy.ok || score(healthy) < first-otherMachine {
			continue
		}
		tried := v.singles()
		if k > 0 && score(healthy) < bestOf(all)-2 {
			tried = likeliest(tried, singles[0])
		}
		if err := v.fitSingles(ctx, tried, healthy); err != nil {
			return nil, err
		}
		kept, singles = append(kept, v), append(singles, tried)
		all = append(append(all, healthy), tried...)
	}
	best := 0
	if len(kept) > 1 {
		at := slices.MaxFunc(all, byScore)
		best = slices.Index(kept, at.of)
	}
	if !o.NoPairs {
		pairs, err := kept[best].pairs(ctx, singles[best])
		if err != nil {
			return nil, err
		}
		all = append(all, pairs...)
	}
	kept[best].weighCurve(all)
	i := slices.IndexFunc(all, func(h *hypothesis) bool { return len(h.faults) == 0 && h.of == kept[best] })
	none := kept[best].noneOfThese(all[i], q.cat)
	kept[best].refineBest(ctx, all, none)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	kept[best].share(all, none)
	said := kept[best]
	said.now = said.machines(all)
	said.unsure = unsure(kept, all)
	out := together(all, said)
	*q = *said
	return out, nil
}

func byScore(a, b *hypothesis) int {
	switch x, y := score(a), score(b); {
	case x < y:
		return -1
	case x > y:
		return 1
	}
	return 0
}

func bestOf(hs []*hypothesis) float64 {
	best := math.Inf(-1)
	for _, h := range hs {
		best = math.Max(best, score(h))
	}
	return best
}

// likeliest keeps of the faults of another machine those that were likeliest on the first, and those only it can have.
func likeliest(hs, first []*hypothesis) []*hypothesis {
	order := slices.Clone(first)
	sort.SliceStable(order, func(i, j int) bool { return score(order[i]) > score(order[j]) })
	rank := map[fault.Code]int{}
	for i, h := range order {
		rank[h.faults[0].Code] = i
	}
	return slices.DeleteFunc(hs, func(h *hypothesis) bool {
		r, known := rank[h.faults[0].Code]
		return known && r >= otherMachineBest
	})
}

// learnVisits takes what earlier healthy visits taught about this machine, and gives their log evidence.
func (q *problem) learnVisits() float64 {
	seen := 0.0
	for _, h := range q.sheet.HealthyVisits {
		h.HealthyVisits = nil
		seen += q.learn(h)
	}
	q.readDrawn()
	return seen
}

// unknown is one thing nobody said of the machine: the probability that it is as another machine has it, and how far
// the probability of the first answer hangs on it.
type unknown struct {
	field   string
	p       float64
	decides float64
}

// unsure says of what nobody said how likely the other answer is and by how much a healthy machine is likelier with the
// one than with the other.
func unsure(kept []*problem, all []*hypothesis) (out []unknown) {
	for _, v := range kept[1:] {
		var has, healthy, rest, restHealthy float64
		for _, h := range all {
			switch {
			case h.of == v && len(h.faults) == 0:
				healthy += h.posterior
				has += h.posterior
			case h.of == v:
				has += h.posterior
			case len(h.faults) == 0:
				restHealthy += h.posterior
				rest += h.posterior
			default:
				rest += h.posterior
			}
		}
		if has > 0 && rest > 0 {
			out = append(out, unknown{v.unsaid, has / (has + rest), math.Abs(healthy/has - restHealthy/rest)})
		}
	}
	return out
}

// together adds up what the hypotheses hold on each machine; the fit shown is that of the likeliest, but a healthy
// machine is shown as the one that explains the readings best.
func together(all []*hypothesis, said *problem) []*hypothesis {
	at := map[string]int{}
	var out []*hypothesis
	for _, h := range all {
		k, ok := at[name(h)]
		if !ok {
			at[name(h)] = len(out)
			out = append(out, h)
			continue
		}
		sum, solves := out[k].posterior+h.posterior, out[k].solves+h.solves
		if len(h.faults) == 0 && h.of == said || len(h.faults) > 0 && h.posterior > out[k].posterior {
			out[k] = h
		}
		out[k].posterior, out[k].solves = sum, solves
	}
	return out
}

// hangsOn is how much likelier a healthy machine must be with one answer than with the other before somebody is asked
// what the machine has. Judgement, ours: less changes nothing one would do.
const hangsOn = 0.2

// assumed lists what was taken for granted, with what fits the readings best where nobody said it.
func (q *problem) assumed() []reading.Assumed {
	_, out := q.sheet.Machine.Resolve()
	x := reading.Assumed{Field: q.unsaid, Why: "not said; explains the readings best"}
	switch q.unsaid {
	case fieldHeadControl:
		x.Value = q.m.HeadControl.String()
	case fieldReceiver:
		x.Value = q.m.Receiver
	case fieldExpansion:
		x.Value = q.m.Expansion.String()
	}
	return append(out, x)
}
