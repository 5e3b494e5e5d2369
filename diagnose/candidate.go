package diagnose

import (
	"math"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// look is a reading under consideration: what each hypothesis predicts for it, in the model's terms.
type look struct {
	next   Next
	place  reading.Place
	mu, sd []float64
	v      [][maxParams]float64  // slopes of mu
	alone  bool                  // not offered in twos
	si     func(float64) float64 // the model's terms to what an instrument shows
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
	case reading.KindCurrent, reading.KindPower:
		l.si = func(y float64) float64 { return y * q.full(p) }
	}
	suction := q.beside(p)
	if suction != nil {
		l.si = func(y float64) float64 { return suction.measured + y*suction.slope }
	}
	measure := reading.InstrumentUnknown.U(p)
	if p == reading.DrierOut {
		measure = MovedClamp
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

// ask is a reading or a look that could be taken: what it costs, minutes, and what it tells, bits, of whether one of
// the marked hypotheses holds.
type ask struct {
	at    string
	cost  float64
	tells func(has []bool) float64
}
