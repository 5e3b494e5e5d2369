package diagnose

import (
	"math"
	"sort"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// nextBase is the overhead of any further reading, minutes: walking there and back. Common practice, no source.
const nextBase = 3.0

// Risks of taking a reading, and what each counts for in minutes beyond the work itself. Judgement.
const (
	RiskOpens = "hoses_lose_refrigerant" // the first pressure: gauges go on
	RiskStops = "machine_must_stand"
	RiskLive  = "live_parts"
)

var riskMinutes = map[string]float64{RiskOpens: 6, RiskStops: 20, RiskLive: 3}

// RiskCodes lists them.
func RiskCodes() []string { return []string{RiskOpens, RiskStops, RiskLive} }

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
		if lying(m.Fault) {
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

// ask is a reading or a look that could be taken: what it costs, minutes, and what it tells, bits, of whether one of
// the marked hypotheses holds.
type ask struct {
	at    string
	cost  float64
	tells func(has []bool) float64
}

// parted is the information, bits, that a normally predicted reading gives about which side of the hypotheses holds, by quadrature.
func parted(w, mu, sd []float64, has []bool) float64 {
	lo, hi, with := math.Inf(1), math.Inf(-1), 0.0
	for i := range w {
		lo, hi = math.Min(lo, mu[i]-6*sd[i]), math.Max(hi, mu[i]+6*sd[i])
		if has[i] {
			with += w[i]
		}
	}
	const n = 400
	dx := (hi - lo) / n
	bits := 0.0
	for k := range n {
		x := lo + (float64(k)+0.5)*dx
		yes, no := 0.0, 0.0
		for i := range w {
			z := (x - mu[i]) / sd[i]
			if z*z > 80 {
				continue
			}
			if v := w[i] * math.Exp(-0.5*z*z) / (sd[i] * math.Sqrt(2*math.Pi)); has[i] {
				yes += v
			} else {
				no += v
			}
		}
		bits += dx * (gained(yes, with, yes+no) + gained(no, 1-with, yes+no))
	}
	return math.Max(0, bits)
}

// gained is one term of a mutual information: joint·log2(joint/(prior·all)).
func gained(joint, prior, all float64) float64 {
	if joint <= 0 || prior <= 0 || all <= 0 {
		return 0
	}
	return joint * math.Log2(joint/(prior*all))
}

// doubted is the probability of a lying instrument from which it is proved first. Judgement: it costs a minute.
const doubted = 0.15

// prove is the instrument to prove before acting.
func prove(marginals []Marginal) fault.Code {
	for _, m := range marginals { // most likely first
		if m.Probability >= doubted && lying(m.Fault) {
			return m.Fault
		}
	}
	return fault.Unknown
}

// look is a reading under consideration: what each hypothesis predicts for it, in the model's terms.
type look struct {
	next   Next
	place  reading.Place
	mu, sd []float64
	v      [][maxParams]float64  // slopes of mu
	alone  bool                  // not offered in twos
	si     func(float64) float64 // the model's terms to what an instrument shows
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
		c, ok := channels[p]
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

// cost is the minutes of work and risk.
func (n *Next) cost() float64 { return nextBase + n.Minutes + riskMinutes[n.Risk] }

// rate is bits per minute of work and risk.
func (n *Next) rate() float64 { return n.Bits / n.cost() }

func risk(p reading.Place, gauges bool) string {
	switch {
	case p == reading.StandingPressure:
		return RiskStops
	case p.Kind() == reading.KindPressure && !gauges:
		return RiskOpens
	case p.Kind() == reading.KindCurrent:
		return RiskLive
	}
	return ""
}

// look predicts a place under every hypothesis.
func (q *problem) look(p reading.Place, c channel, hs []*hypothesis) look {
	l := look{
		next:  Next{At: p.String(), Minutes: c.minutes},
		place: p,
		mu:    make([]float64, len(hs)),
		sd:    make([]float64, len(hs)),
		v:     make([][maxParams]float64, len(hs)),
	}
	l.alone = p == reading.DrierOut || p == reading.BoxAir
	l.si = func(y float64) float64 { return y }
	switch p.Kind() {
	case reading.KindPressure:
		l.si = q.f.DewT
	case reading.KindCurrent:
		l.si = func(y float64) float64 { return y * q.m.RatedAmps }
	}
	suction := q.beside(p)
	if suction != nil {
		l.si = func(y float64) float64 { return suction.measured + y*suction.slope }
	}
	measure := reading.InstrumentUnknown.U(p)
	if p == reading.DrierOut {
		measure = 0.5
	}
	const step = 1e-3
	for i, h := range hs {
		l.mu[i] = q.shown(p, c, h, &h.x, &h.out)
		for j := range h.n {
			x, out := h.x, h.out
			x[j] += step
			for o := range out {
				out[o] += step * h.outJ[j][o]
			}
			l.v[i][j] = (q.shown(p, c, h, &x, &out) - l.mu[i]) / step
		}
		m := measure
		d := c.discrepancy
		switch {
		case suction != nil:
			m, d = MovedGauge, dropDiscrepancy
		case p.Kind() == reading.KindPressure:
			m /= q.f.DewSlope(l.mu[i])
		}
		if p == reading.CoilOutletLine {
			d = math.Hypot(d, coilOutletShare*float64(q.m.TD))
		}
		l.sd[i] = math.Sqrt(h.variance(&l.v[i]) + m*m + d*d)
	}
	return l
}

// beside is the suction reading whose gauge would read the coil's pressure next; nil for other places.
func (q *problem) beside(p reading.Place) *observation {
	for i := range q.e.obs {
		if o := &q.e.obs[i]; p == reading.CoilPressure && o.at == reading.SuctionPressure {
			return o
		}
	}
	return nil
}

// shown is what a place would show in the model's terms.
func (q *problem) shown(p reading.Place, c channel, h *hypothesis, x *[maxParams]float64, out *plant.Outputs) float64 {
	if p == reading.BoxAir {
		_, in, _ := q.place(h, x)
		return in.BoxT
	}
	if o := q.beside(p); o != nil {
		return (q.f.DewT(out[plant.CoilDew]) - q.f.DewT(out[plant.SuctionDew])) / o.slope
	}
	return out[c.out]
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

// information2 is the mutual information, bits, between hypothesis and two readings predicted as correlated normals,
// by a fixed lattice of points in every part.
func information2(w, mx, sx, my, sy, cov []float64) float64 {
	n := len(w)
	const points = 96
	type part struct{ rho, norm float64 }
	parts := make([]part, n)
	sum := 0.0
	for i := range n {
		r := math.Max(-0.98, math.Min(0.98, cov[i]/(sx[i]*sy[i])))
		parts[i] = part{r, -math.Log(2*math.Pi*sx[i]*sy[i]) - 0.5*math.Log(1-r*r)}
		sum += w[i]
	}
	logp := func(i int, x, y float64) float64 {
		a, b, r := (x-mx[i])/sx[i], (y-my[i])/sy[i], parts[i].rho
		return parts[i].norm - (a*a-2*r*a*b+b*b)/(2*(1-r*r))
	}
	bits := 0.0
	for i := range n {
		for k := range points {
			// Radius by equal shares of probability, angle by the golden ratio.
			u := (float64(k) + 0.5) / points
			rad, ang := math.Sqrt(-2*math.Log(1-u)), 2*math.Pi*math.Mod(float64(k)*0.6180339887498949, 1)
			a, c := rad*math.Cos(ang), rad*math.Sin(ang)
			r := parts[i].rho
			x, y := mx[i]+sx[i]*a, my[i]+sy[i]*(r*a+math.Sqrt(1-r*r)*c)
			own := logp(i, x, y)
			mix := 0.0
			for j := range n {
				mix += w[j] / sum * math.Exp(logp(j, x, y)-own)
			}
			bits -= w[i] / sum / points * math.Log2(mix)
		}
	}
	return math.Max(0, bits)
}

func name(h *hypothesis) string {
	if len(h.faults) == 0 {
		return "healthy"
	}
	r := Hypothesis{}
	for _, f := range h.faults {
		r.Faults = append(r.Faults, f.Code)
	}
	if len(r.Faults) == 2 && r.Faults[1].String() < r.Faults[0].String() {
		r.Faults[0], r.Faults[1] = r.Faults[1], r.Faults[0]
	}
	return r.Name()
}

// why: the reading separates the first two when their predictions lie apart by more than their spreads.
func why(w, mu, sd []float64) string {
	if math.Abs(mu[0]-mu[1]) > math.Hypot(sd[0], sd[1]) {
		return WhySeparates
	}
	rest, n := 0.0, 0.0
	for i := 1; i < len(w); i++ {
		rest += w[i] * mu[i]
		n += w[i]
	}
	if n > 0 && math.Abs(mu[0]-rest/n) > sd[0] {
		return WhyConfirms
	}
	return WhyInforms
}

// outlook says what a normally predicted reading would do: information about the hypothesis, bits, by quadrature; the
// chance that it puts another one first; and what each range of its answers would mean.
func outlook(w, mu, sd []float64, names []string, si func(float64) float64) (bits, changes float64, answers []Answer) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range w {
		lo, hi = math.Min(lo, mu[i]-6*sd[i]), math.Max(hi, mu[i]+6*sd[i])
	}
	const n = 400
	dx := (hi - lo) / n
	H := 0.0
	last := -1
	for k := range n {
		x := lo + (float64(k)+0.5)*dx
		p, top, first := 0.0, 0.0, 0
		for i := range w {
			z := (x - mu[i]) / sd[i]
			if z*z < 80 {
				v := w[i] * math.Exp(-0.5*z*z) / (sd[i] * math.Sqrt(2*math.Pi))
				p += v
				if v > top {
					top, first = v, i
				}
			}
		}
		if p < 1e-300 {
			continue
		}
		H -= p * math.Log2(p) * dx
		if first != 0 {
			changes += p * dx
		}
		if first != last {
			answers = append(answers, Answer{Low: x - 0.5*dx, First: names[first]})
			last = first
		}
		a := &answers[len(answers)-1]
		a.High = x + 0.5*dx
		a.Probability += p * dx
		a.Sure += top * dx
	}
	for i := range w {
		H -= w[i] * 0.5 * math.Log2(2*math.Pi*math.E*sd[i]*sd[i])
	}
	// Ranges of little chance say little; what is left is given from the most likely.
	keep := answers[:0]
	for _, a := range answers {
		if a.Probability > 0.02 {
			a.Sure /= a.Probability
			a.Low, a.High = si(a.Low), si(a.High)
			keep = append(keep, a)
		}
	}
	return math.Max(0, H), changes, keep
}
