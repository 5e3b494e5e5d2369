package diagnose

import (
	"cmp"
	"math"
	"slices"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// candidate is a reading under consideration: what each hypothesis predicts for it, in the model's terms.
type candidate struct {
	next   Next
	place  reading.Place
	mu, sd []float64
	v      [][maxParams]float64  // slopes of mu
	alone  bool                  // not offered in twos
	si     func(float64) float64 // the model's terms to what an instrument shows
}

// predictReading predicts a place under every hypothesis.
func (q *problem) predictReading(p reading.Place, c channel, hs []*hypothesis) candidate {
	l := candidate{
		next:  Next{At: p.String(), Minutes: c.minutes},
		place: p,
		mu:    make([]float64, len(hs)),
		sd:    make([]float64, len(hs)),
		v:     make([][maxParams]float64, len(hs)),
	}
	l.alone = p == reading.DrierOut || p == reading.BoxAir || p == reading.BoxWetBulb
	l.si = func(y float64) float64 { return y }
	switch p.Kind() {
	case reading.KindPressure:
		l.si = q.f.DewT
	case reading.KindCurrent, reading.KindPower:
		l.si = func(y float64) float64 { return y * q.full(p) }
	}
	switch p {
	case reading.HeaterAmps:
		l.si = heaterAmps
	case reading.BoxWetBulb:
		l.si = q.wetBulb
	case reading.BoxHumidity:
		l.si = relative
	}
	suction := q.suctionOnSameGauge(p)
	if suction != nil {
		l.si = func(y float64) float64 { return suction.measured + y*suction.slope }
	}
	measure := reading.InstrumentUnknown.U(p)
	if p == reading.DrierOut {
		measure = MovedClamp
	}
	const step = 1e-3
	for i, h := range hs {
		l.mu[i] = q.modelShows(p, c, h, &h.x, &h.out)
		for j := range h.n {
			x, out := h.x, h.out
			x[j] += step
			for o := range out {
				out[o] += step * h.outJ[j][o]
			}
			l.v[i][j] = (q.modelShows(p, c, h, &x, &out) - l.mu[i]) / step
		}
		m := measure
		d := c.discrepancy
		switch {
		case suction != nil:
			m, d = MovedGauge, dropDiscrepancy
		case p == reading.BoxWetBulb || p == reading.BoxHumidity:
			m = q.moistureError(p, l.si(l.mu[i]))
		case p.Kind() == reading.KindPressure:
			m /= q.f.DewSlope(l.mu[i])
		}
		if p == reading.CoilOutletLine {
			d = math.Hypot(d, q.e.uneven(q.m))
		}
		l.sd[i] = math.Sqrt(h.variance(&l.v[i]) + m*m + d*d)
	}
	return l
}

// suctionOnSameGauge is the suction reading whose gauge would read the coil's pressure next; nil for other places.
func (q *problem) suctionOnSameGauge(p reading.Place) *observation {
	for i := range q.e.obs {
		if o := &q.e.obs[i]; p == reading.CoilPressure && o.at == reading.SuctionPressure {
			return o
		}
	}
	return nil
}

// modelShows is what a place would show in the model's terms.
func (q *problem) modelShows(p reading.Place, c channel, h *hypothesis, x *[maxParams]float64, out *plant.Outputs) float64 {
	if p == reading.HeaterAmps {
		return heaterShows(h)
	}
	switch p {
	case reading.BoxAir:
		_, in, _ := q.machineAt(h, x)
		return in.BoxT
	case reading.BoxWetBulb, reading.BoxHumidity:
		return q.humidityOf(h, x)
	}
	if o := q.suctionOnSameGauge(p); o != nil {
		return (q.f.DewT(out[plant.CoilDew]) - q.f.DewT(out[plant.SuctionDew])) / o.slope
	}
	return out[c.out]
}

// rivals are the hypotheses that a further reading could tell apart, with their shares of what they hold together.
type rivals struct {
	hs        []*hypothesis
	w         []float64
	causes    causes
	known     []Marginal // of causes, all hypotheses counted
	likeliest []int      // see order
}

// causes are what people are told: of two faults that may be there at once each counts alone, so that an answer's share
// is that of its marginal. of holds, for each hypothesis, its causes by their place in names.
type causes struct {
	names []string
	of    [][]int
}

// add notes what one more hypothesis consists of.
func (c *causes) add(names ...string) {
	var of []int
	for _, n := range names {
		k := slices.Index(c.names, n)
		if k < 0 {
			k, c.names = len(c.names), append(c.names, n)
		}
		of = append(of, k)
	}
	c.of = append(c.of, of)
}

// first is the cause that holds most of the weights of the hypotheses, with its weight; share is room to work in.
func (c *causes) first(w, share []float64) (cause int, weight float64) {
	clear(share)
	for i, v := range w {
		for _, k := range c.of[i] {
			share[k] += v
		}
	}
	for k, v := range share {
		if v > weight {
			cause, weight = k, v
		}
	}
	return cause, weight
}

func rivalsOf(ranked []*hypothesis) (r rivals) {
	total := 0.0
	for _, h := range ranked {
		if h.ok && h.posterior > 0.004 && len(r.hs) < 24 {
			r.hs = append(r.hs, h)
			total += h.posterior
		}
	}
	for _, h := range r.hs {
		r.w = append(r.w, h.posterior/total)
		var names []string
		for _, f := range h.faults {
			names = append(names, f.Code.String())
		}
		if names == nil {
			names = []string{fault.Healthy.String()}
		}
		r.causes.add(names...)
	}
	return r
}

// marginal is the probability of a cause, alone or with another.
func (r *rivals) marginal(cause int) float64 {
	for _, m := range r.known {
		if m.Fault.String() == r.causes.names[cause] {
			return m.Probability
		}
	}
	p := 0.0
	for j, h := range r.hs {
		if slices.Contains(r.causes.of[j], cause) {
			p += h.posterior
		}
	}
	return p
}

// shows is what the likeliest causes would show, in the order in which people see the suspects: each once, by the
// likeliest hypothesis it is part of. A suspect that is there mostly beside another one is not left out for it.
func (r *rivals) shows(band func(i int) Band) (out []Show) {
	for _, k := range r.order() {
		if len(out) == shown {
			break
		}
		i := slices.IndexFunc(r.causes.of, func(of []int) bool { return slices.Contains(of, k) })
		out = append(out, Show{r.causes.names[k], r.marginal(k), band(i)})
	}
	return out
}

// shown is how many causes a next reading is shown for.
const shown = 4

// order lists the causes by their marginal, the likeliest first.
func (r *rivals) order() []int {
	if r.likeliest == nil {
		p := make([]float64, len(r.causes.names))
		for k := range p {
			r.likeliest, p[k] = append(r.likeliest, k), r.marginal(k)
		}
		slices.SortStableFunc(r.likeliest, func(a, b int) int { return cmp.Compare(p[b], p[a]) })
	}
	return r.likeliest
}

// candidates are the places that could be read today and were not, with what each would tell.
func (q *problem) candidates(r *rivals, s reading.Sheet, gauges bool) []candidate {
	have := map[reading.Place]bool{}
	for _, x := range s.Readings {
		have[x.At] = true
	}
	var out []candidate
	for _, p := range reading.Places() {
		c, ok := q.channel(p)
		switch p {
		case reading.BoxAir: // a probe beside the only thermometer
			c, ok = channel{minutes: startMinutes[p]}, q.e.displayOnly
		case reading.BoxWetBulb: // a hygrometer says the same
			c, ok = channel{minutes: wetBulbMinutes}, q.wets() && !have[reading.BoxHumidity]
		}
		if !ok || have[p] || p == reading.CoilPressure && !have[reading.SuctionPressure] {
			continue
		}
		l := q.predictReading(p, c, r.hs)
		l.next.Risk = risk(p, gauges)
		l.next.Bits, l.next.Changes, l.next.Answers = outcomes(r.w, l.mu, l.sd, &r.causes, l.si)
		l.next.Shows = r.shows(func(i int) Band {
			b := Band{l.mu[i] - z95*l.sd[i], l.mu[i], l.mu[i] + z95*l.sd[i]}
			if p == reading.DrierOut {
				b.Low = math.Max(0, b.Low)
			}
			return Band{l.si(b.Low), l.si(b.Mid), l.si(b.High)}
		})
		l.next.Why = reasonFor(r.w, l.mu, l.sd)
		out = append(out, l)
	}
	return out
}

// look is something that can be seen, with the chance of each of its three answers under a hypothesis.
type look struct {
	key    string
	word   func(answer int) string
	chance func(h *hypothesis, answer int) float64
}

func looks() []look {
	level := func(a int) string { return reading.Level(a).String() }
	return []look{
		{"glass", func(a int) string { return reading.Glass(a).String() }, func(h *hypothesis, a int) float64 {
			return pGlass(reading.Glass(a), h.out[plant.GlassQuality])
		}},
		{"condenser_dirt", level, func(h *hypothesis, a int) float64 { return pDirt(reading.Level(a), h.change.CondenserAir) }},
		{"coil_ice", level, func(h *hypothesis, a int) float64 { return pIce(reading.Level(a), h.change.CoilAir) }},
	}
}

// lookAt says what looking would tell.
func (r *rivals) lookAt(l look) (Next, question) {
	n := Next{At: l.key, Minutes: seenMinutes[l.key], Why: WhyInforms}
	share, then := make([]float64, len(r.causes.names)), make([]float64, len(r.hs))
	now, _ := r.causes.first(r.w, share)
	for a := 1; a <= 3; a++ {
		mean := 0.0
		for i, h := range r.hs {
			then[i] = r.w[i] * l.chance(h, a)
			mean += then[i]
		}
		first, sure := r.causes.first(then, share)
		for i, h := range r.hs {
			if x := l.chance(h, a); x > 0 && mean > 0 {
				n.Bits += r.w[i] * x * math.Log2(x/mean)
			}
		}
		if first != now {
			n.Changes += mean
		}
		n.Answers = append(n.Answers, Answer{
			Word:        l.word(a),
			Probability: mean,
			First:       r.causes.names[first],
			Sure:        sure / mean,
		})
	}
	n.Shows = r.shows(func(i int) Band {
		p := l.chance(r.hs[i], 2)
		return Band{p, p, p}
	})
	return n, question{l.key, n.cost(), func(w []float64, has []bool) float64 { return r.bitsOfLook(l, w, has) }}
}

// bitsOfLook is the information, bits, that looking gives about which side of the hypotheses holds.
func (r *rivals) bitsOfLook(l look, w []float64, has []bool) float64 {
	bits, prior := 0.0, [2]float64{}
	for a := 1; a <= 3; a++ {
		var side [2]float64
		for i, h := range r.hs {
			k := 0
			if has[i] {
				k = 1
			}
			side[k] += w[i] * l.chance(h, a)
			if a == 1 {
				prior[k] += w[i]
			}
		}
		for k := range side {
			bits += informationTerm(side[k], prior[k], side[0]+side[1])
		}
	}
	return math.Max(0, bits)
}

// question is a reading or a look that could be taken: what it costs, minutes, and what it tells, bits, of whether one of
// the marked hypotheses holds.
type question struct {
	at    string
	cost  float64
	tells func(w []float64, has []bool) float64 // w: weights of the hypotheses, adding up to one
}
