package diagnose

import (
	"math"
	"slices"
	"sort"

	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/verdict/threshold"
)

// Codes of the advice.
const (
	AdviseRead  = "take_the_next_reading"
	AdviseAct   = "act_now"              // one more reading cannot change what to do
	AdviseHands = "readings_cannot_tell" // the first two stay apart only by hand and eye
)

// AdviceCodes lists them.
func AdviceCodes() []string { return []string{AdviseRead, AdviseAct, AdviseHands} }

// also is the second cause to check for when the first is to be acted on. A lying instrument is proved beforehand, see prove.
func also(marginals []Marginal, a Advice, hs []*hypothesis, w []float64, questions []question) *Also {
	if len(marginals) < 2 || marginals[0].Probability < threshold.Certain && a.Code != AdviseAct {
		return nil
	}
	for _, m := range marginals[1:] {
		if m.Probability < threshold.Beside {
			break
		}
		if m.Fault.Instrument() {
			continue
		}
		out := &Also{Fault: m.Fault, Probability: m.Probability}
		has, unknown := split(m.Fault, hs, w)
		best := 0.0
		for _, k := range questions {
			if bits := k.tells(w, has); unknown > 0 && bits >= threshold.Decides*unknown && bits/k.cost > best {
				best, out.At, out.Bits = bits/k.cost, k.at, bits
			}
		}
		return out
	}
	return nil
}

// prove is the instrument to prove before acting.
func prove(marginals []Marginal) fault.Code {
	for _, m := range marginals { // most likely first
		if m.Probability >= threshold.Doubted && m.Fault.Instrument() {
			return m.Fault
		}
	}
	return fault.Unknown
}

// next ranks what could be read by the information it gives about which hypothesis holds, per minute of work and risk.
//
// For a place: each hypothesis predicts a normal with its posterior spread plus measuring and discrepancy;
// information is the entropy of the mixture minus the mean entropy of the parts, by quadrature. For a thing seen: the
// same with the probability of each answer. For two places at once the parts are two-dimensional, since both readings
// share what is unknown about the machine. Source: Lindley (1956).
func (q *problem) next(ranked []*hypothesis, marginals []Marginal, s reading.Sheet) (best []Next, pair *NextPair, advice Advice) {
	r := rivalsOf(ranked)
	r.known = marginals
	switch len(r.hs) {
	case 0:
		return nil, nil, Advice{Code: AdviseHands}
	case 1:
		advice = Advice{Code: AdviseAct, Sure: r.hs[0].posterior}
		if advice.Sure < threshold.ActFrom { // the rest is none of these: no reading parts them
			advice.Code = AdviseHands
		}
		advice.Also = also(marginals, advice, r.hs, []float64{1}, nil)
		return nil, nil, advice
	}
	gauges := slices.ContainsFunc(s.Readings, func(r reading.Reading) bool { return r.At.Kind() == reading.KindPressure })
	candidates := q.candidates(&r, s, gauges)
	out := make([]Next, 0, len(candidates)+3)
	var questions []question
	for _, c := range candidates {
		out = append(out, c.next)
		questions = append(questions, question{
			c.next.At,
			c.next.cost(),
			func(w []float64, has []bool) float64 { return bitsOnSide(w, c.mu, c.sd, has) },
		})
	}
	for _, l := range looks() {
		if s.Seen.Get(l.key) != "" {
			continue
		}
		n, ask := r.lookAt(l)
		out, questions = append(out, n), append(questions, ask)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].rate() > out[j].rate() })
	advice = Advice{Code: AdviseRead, Sure: r.hs[0].posterior}
	most := 0.0
	for _, n := range out {
		advice.Changes = math.Max(advice.Changes, n.Changes)
		most = math.Max(most, n.Bits)
	}
	switch {
	case r.hs[0].posterior >= threshold.ActFrom && advice.Changes < threshold.RarelyChanges:
		advice.Code = AdviseAct
	case most < threshold.TellsNothing && r.hs[0].posterior < threshold.ActFrom:
		advice.Code = AdviseHands
	}
	advice.Also = also(marginals, advice, r.hs, r.w, questions)
	advice.LookAlike = lookAlike(marginals, &r, questions)
	pair = q.pairOf(candidates, r.hs, r.w)
	if pair != nil && len(out) > 0 && pair.Bits/(nextBase+pair.Minutes) < threshold.Together*out[0].rate() {
		pair = nil // the better single first: afterwards the second may not be needed
	}
	k := 0
	for k < len(out) && k < 6 && out[k].Bits > threshold.ListedFrom {
		k++
	}
	return deciding(out, k, marginals, r.hs, r.w, questions), pair, advice
}

// deciding is the first k of what could be read, and beside them what alone decides a cause that may well be there: a
// drop in the suction line shows at the coil, a gas that does not condense at rest, and neither is quick to read.
func deciding(all []Next, k int, marginals []Marginal, hs []*hypothesis, w []float64, questions []question) []Next {
	out := slices.Clip(all[:k])
	for _, m := range marginals {
		if m.Probability < threshold.Possible {
			break
		}
		has, unknown := split(m.Fault, hs, w)
		best := question{}
		most := threshold.Decides * unknown
		for _, x := range questions {
			if bits := x.tells(w, has); bits > most {
				best, most = x, bits
			}
		}
		at := func(n Next) bool { return n.At == best.at }
		if best.at != "" && !slices.ContainsFunc(out, at) {
			if i := slices.IndexFunc(all, at); i >= 0 && all[i].Bits > threshold.ListedFrom {
				out = append(out, all[i])
			}
		}
	}
	return out
}

// lookAlike are the first two causes where no reading and no look that is left tells them apart: each is expected to clear
// less than threshold.Decides of what is not known of which of the two it is, were it one of them. Only hand and eye do.
func lookAlike(marginals []Marginal, r *rivals, questions []question) *LookAlike {
	var two []Marginal
	for _, m := range marginals {
		if m.Probability >= threshold.Possible && m.Fault.Circuit() && len(two) < 2 {
			two = append(two, m)
		}
	}
	if len(two) < 2 {
		return nil
	}
	a, _ := split(two[0].Fault, r.hs, r.w)
	b, _ := split(two[1].Fault, r.hs, r.w)
	w, total := make([]float64, len(r.w)), 0.0
	for i := range w {
		if a[i] != b[i] {
			w[i] = r.w[i]
			total += w[i]
		}
	}
	if total < threshold.Possible { // both at once, or neither: nothing to tell apart
		return nil
	}
	for i := range w {
		w[i] /= total
	}
	_, unknown := split(two[0].Fault, r.hs, w)
	for _, k := range questions {
		if k.tells(w, a) >= threshold.Decides*unknown {
			return nil
		}
	}
	return &LookAlike{two[0].Fault, two[1].Fault}
}

// split marks the hypotheses that hold a cause, and says how unsure it is that one of them holds, bits.
func split(c fault.Code, hs []*hypothesis, w []float64) (has []bool, unknown float64) {
	has = make([]bool, len(hs))
	p := 0.0
	for i, h := range hs {
		has[i] = slices.ContainsFunc(h.faults, func(f *fault.Fault) bool { return f.Code == c })
		if has[i] {
			p += w[i]
		}
	}
	for _, x := range []float64{p, 1 - p} {
		if x > 0 {
			unknown -= x * math.Log2(x)
		}
	}
	return has, unknown
}

// pairOf finds the two readings that tell most together, among the five best.
func (q *problem) pairOf(candidates []candidate, hs []*hypothesis, w []float64) *NextPair {
	order := make([]int, len(candidates))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return candidates[order[a]].next.rate() > candidates[order[b]].next.rate() })
	if len(order) > 5 {
		order = order[:5]
	}
	n := min(len(hs), 8)
	var best *NextPair
	for i, a := range order {
		for _, b := range order[i+1:] {
			x, y := &candidates[a], &candidates[b]
			if x.alone || y.alone {
				continue
			}
			cov := make([]float64, n)
			for k, h := range hs[:n] {
				for j := range h.n {
					for l := range h.n {
						cov[k] += x.v[k][j] * h.cov[j*h.n+l] * y.v[k][l]
					}
				}
			}
			p := NextPair{A: x.next.At, B: y.next.At, Bits: informationOfTwo(w[:n], x.mu, x.sd, y.mu, y.sd, cov)}
			p.Minutes = x.next.Minutes + y.next.Minutes
			p.Minutes += math.Max(riskMinutes[x.next.Risk], riskMinutes[y.next.Risk])
			if best == nil || p.Bits/(nextBase+p.Minutes) > best.Bits/(nextBase+best.Minutes) {
				best = &p
			}
		}
	}
	return best
}
