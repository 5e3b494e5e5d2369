package diagnose

import (
	"math"
	"sort"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// Codes of the advice.
const (
	AdviseRead  = "take_the_next_reading"
	AdviseAct   = "act_now"              // one more reading cannot change what to do
	AdviseHands = "readings_cannot_tell" // the first two stay apart only by hand and eye
)

// AdviceCodes lists them.
func AdviceCodes() []string { return []string{AdviseRead, AdviseAct, AdviseHands} }

// sureEnough is the probability of the first answer from which acting is worth considering; rarelyChanges the chance
// that a reading puts another cause first below which it is not worth taking; tellsNothing the information, bits,
// below which it tells nothing. Judgement.
const (
	sureEnough    = 0.8
	rarelyChanges = 0.06
	tellsNothing  = 0.04
)

// Certain is the probability from which a cause is acted on: what is shown as 95 in 100. Judgement.
const Certain = 0.945

// besides is the probability from which a second cause is checked for beside a certain one; decides the share of what
// is unknown about it that a reading must be expected to clear to be asked for. Judgement.
const (
	besides = 0.25
	decides = 0.2
)

// also is the second cause to check for when the first is to be acted on. A lying instrument is proved beforehand, see prove.
func also(marginals []Marginal, a Advice, hs []*hypothesis, w []float64, asks []ask) *Also {
	if len(marginals) < 2 || marginals[0].Probability < Certain && a.Code != AdviseAct {
		return nil
	}
	for _, m := range marginals[1:] {
		if m.Probability < besides {
			break
		}
		if m.Fault.Instrument() {
			continue
		}
		out := &Also{Fault: m.Fault, Probability: m.Probability}
		has := make([]bool, len(hs))
		p := 0.0
		for i, h := range hs {
			for _, f := range h.faults {
				has[i] = has[i] || f.Code == m.Fault
			}
			if has[i] {
				p += w[i]
			}
		}
		unknown := 0.0
		for _, x := range []float64{p, 1 - p} {
			if x > 0 {
				unknown -= x * math.Log2(x)
			}
		}
		best := 0.0
		for _, k := range asks {
			if bits := k.tells(has); unknown > 0 && bits >= decides*unknown && bits/k.cost > best {
				best, out.At, out.Bits = bits/k.cost, k.at, bits
			}
		}
		return out
	}
	return nil
}

// doubted is the probability of a lying instrument from which it is proved first. Judgement: it costs a minute.
const doubted = 0.15

// prove is the instrument to prove before acting.
func prove(marginals []Marginal) fault.Code {
	for _, m := range marginals { // most likely first
		if m.Probability >= doubted && m.Fault.Instrument() {
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
	var hs []*hypothesis
	total := 0.0
	for _, h := range ranked {
		if h.ok && h.posterior > 0.004 && len(hs) < 24 {
			hs = append(hs, h)
			total += h.posterior
		}
	}
	if len(hs) == 0 {
		return nil, nil, Advice{Code: AdviseHands}
	}
	if len(hs) < 2 {
		advice = Advice{Code: AdviseAct, Sure: hs[0].posterior}
		advice.Also = also(marginals, advice, hs, []float64{1}, nil)
		return nil, nil, advice
	}
	w := make([]float64, len(hs))
	names := make([]string, len(hs))
	for i, h := range hs {
		w[i], names[i] = h.posterior/total, name(h)
	}
	have := map[reading.Place]bool{}
	gauges := false
	for _, r := range s.Readings {
		have[r.At] = true
		gauges = gauges || r.At.Kind() == reading.KindPressure
	}
	var looks []look
	for _, p := range reading.Places() {
		c, ok := q.channel(p)
		if p == reading.BoxAir { // a probe beside the only thermometer
			c, ok = channel{minutes: startMinutes[p]}, q.e.displayOnly
		}
		if !ok || have[p] || p == reading.Amps && q.m.RatedAmps <= 0 || p == reading.CoilPressure && !have[reading.SuctionPressure] {
			continue
		}
		l := q.look(p, c, hs)
		l.next.Risk = risk(p, gauges)
		l.next.Bits, l.next.Changes, l.next.Answers = outlook(w, l.mu, l.sd, names, l.si)
		for i := range min(4, len(hs)) {
			b := Band{l.mu[i] - z95*l.sd[i], l.mu[i], l.mu[i] + z95*l.sd[i]}
			if p == reading.DrierOut {
				b.Low = math.Max(0, b.Low)
			}
			l.next.Shows = append(l.next.Shows, Show{names[i], hs[i].posterior, Band{l.si(b.Low), l.si(b.Mid), l.si(b.High)}})
		}
		l.next.Why = why(w, l.mu, l.sd)
		looks = append(looks, l)
	}
	out := make([]Next, 0, len(looks)+3)
	var asks []ask
	for _, l := range looks {
		out = append(out, l.next)
		asks = append(asks, ask{l.next.At, l.next.cost(), func(has []bool) float64 { return parted(w, l.mu, l.sd, has) }})
	}
	seen := func(key string, word func(int) string, p func(h *hypothesis, answer int) float64) {
		if s.Seen.Get(key) != "" {
			return
		}
		n := Next{At: key, Minutes: seenMinutes[key], Why: WhyInforms}
		asks = append(asks, ask{key, n.cost(), func(has []bool) float64 {
			bits, prior := 0.0, [2]float64{}
			for a := 1; a <= 3; a++ {
				var side [2]float64
				for i, h := range hs {
					k := 0
					if has[i] {
						k = 1
					}
					side[k] += w[i] * p(h, a)
					if a == 1 {
						prior[k] += w[i]
					}
				}
				for k := range side {
					bits += gained(side[k], prior[k], side[0]+side[1])
				}
			}
			return math.Max(0, bits)
		}})
		for a := 1; a <= 3; a++ {
			mean, first := 0.0, 0
			for i, h := range hs {
				x := w[i] * p(h, a)
				mean += x
				if x > w[first]*p(hs[first], a) {
					first = i
				}
			}
			for i, h := range hs {
				if x := p(h, a); x > 0 && mean > 0 {
					n.Bits += w[i] * x * math.Log2(x/mean)
				}
			}
			if first != 0 {
				n.Changes += mean
			}
			n.Answers = append(
				n.Answers,
				Answer{Word: word(a), Probability: mean, First: names[first], Sure: w[first] * p(hs[first], a) / mean},
			)
		}
		for i := range min(4, len(hs)) {
			b := p(hs[i], 2)
			n.Shows = append(n.Shows, Show{names[i], hs[i].posterior, Band{b, b, b}})
		}
		out = append(out, n)
	}
	level := func(a int) string { return reading.Level(a).String() }
	seen(
		"glass",
		func(a int) string { return reading.Glass(a).String() },
		func(h *hypothesis, a int) float64 { return pGlass(reading.Glass(a), h.out[plant.GlassQuality]) },
	)
	seen("condenser_dirt", level, func(h *hypothesis, a int) float64 { return pDirt(reading.Level(a), h.change.CondenserAir) })
	seen("coil_ice", level, func(h *hypothesis, a int) float64 { return pIce(reading.Level(a), h.change.CoilAir) })
	sort.SliceStable(out, func(i, j int) bool { return out[i].rate() > out[j].rate() })
	advice = Advice{Code: AdviseRead, Sure: hs[0].posterior}
	most := 0.0
	for _, n := range out {
		advice.Changes = math.Max(advice.Changes, n.Changes)
		most = math.Max(most, n.Bits)
	}
	switch {
	case hs[0].posterior >= sureEnough && advice.Changes < rarelyChanges:
		advice.Code = AdviseAct
	case most < tellsNothing && hs[0].posterior < sureEnough:
		advice.Code = AdviseHands
	}
	advice.Also = also(marginals, advice, hs, w, asks)
	pair = q.pairOf(looks, hs, w, gauges)
	if pair != nil && len(out) > 0 && pair.Bits/(nextBase+pair.Minutes) < 1.05*out[0].rate() {
		pair = nil // the better single first: afterwards the second may not be needed
	}
	k := 0
	for k < len(out) && k < 6 && out[k].Bits > 0.01 {
		k++
	}
	return out[:k], pair, advice
}

// pairOf finds the two readings that tell most together, among the five best.
func (q *problem) pairOf(looks []look, hs []*hypothesis, w []float64, gauges bool) *NextPair {
	order := make([]int, len(looks))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return looks[order[a]].next.rate() > looks[order[b]].next.rate() })
	if len(order) > 5 {
		order = order[:5]
	}
	n := min(len(hs), 8)
	var best *NextPair
	for i, a := range order {
		for _, b := range order[i+1:] {
			x, y := &looks[a], &looks[b]
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
			p := NextPair{A: x.next.At, B: y.next.At, Bits: information2(w[:n], x.mu, x.sd, y.mu, y.sd, cov)}
			p.Minutes = x.next.Minutes + y.next.Minutes
			p.Minutes += math.Max(riskMinutes[x.next.Risk], riskMinutes[y.next.Risk])
			if best == nil || p.Bits/(nextBase+p.Minutes) > best.Bits/(nextBase+best.Minutes) {
				best = &p
			}
		}
	}
	return best
}
