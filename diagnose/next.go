package diagnose

import (
	"math"
	"sort"

	"coldwright/plant"
	"coldwright/reading"
)

// nextBase is the overhead of any further reading, minutes: walking there and back. Common practice, no source.
const nextBase = 3.0

// next ranks what could be read by the information it gives about which hypothesis holds, per minute of work.
//
// For a place: each hypothesis predicts a normal with its posterior spread plus measuring and discrepancy; information is the entropy of the mixture
// minus the mean entropy of the parts, by quadrature. For a thing seen: the same with the probability of each answer.
// Source: Lindley (1956).
func (q *problem) next(ranked []*hypothesis, s reading.Sheet) []Next {
	var hs []*hypothesis
	total := 0.0
	for _, h := range ranked {
		if h.ok && h.posterior > 0.004 && len(hs) < 24 {
			hs = append(hs, h)
			total += h.posterior
		}
	}
	if len(hs) < 2 {
		return nil
	}
	w := make([]float64, len(hs))
	for i, h := range hs {
		w[i] = h.posterior / total
	}
	have := map[reading.Place]bool{}
	for _, r := range s.Readings {
		have[r.At] = true
	}
	var out []Next
	mu, sd := make([]float64, len(hs)), make([]float64, len(hs))
	for _, p := range reading.Places() {
		c, ok := channels[p]
		if !ok || have[p] || p == reading.Amps && q.m.RatedAmps <= 0 || p == reading.CoilPressure && !have[reading.SuctionPressure] {
			continue
		}
		measure := reading.InstrumentUnknown.U(p)
		if p == reading.DrierOut {
			measure = 0.5
		}
		for i, h := range hs {
			mu[i] = h.out[c.out]
			var v [maxParams]float64
			for j := range h.n {
				v[j] = h.outJ[j][c.out]
			}
			m := measure
			if p.Kind() == reading.KindPressure {
				m /= q.f.DewSlope(mu[i])
			}
			d := c.discrepancy
			if p == reading.CoilOutletLine {
				d = math.Hypot(d, coilOutletShare*float64(q.m.TD))
			}
			sd[i] = math.Sqrt(h.variance(&v) + m*m + d*d)
		}
		n := Next{At: p.String(), Bits: information(w, mu, sd), Minutes: c.minutes}
		for i := range min(4, len(hs)) {
			b := Band{mu[i] - z95*sd[i], mu[i], mu[i] + z95*sd[i]}
			if p == reading.DrierOut {
				b.Low = math.Max(0, b.Low)
			}
			if p.Kind() == reading.KindPressure {
				b = Band{q.f.DewT(b.Low), q.f.DewT(b.Mid), q.f.DewT(b.High)}
			}
			n.Shows = append(n.Shows, Show{name(hs[i]), hs[i].posterior, b})
		}
		n.Why = why(w, mu, sd)
		out = append(out, n)
	}
	seen := func(key string, answers int, p func(h *hypothesis, answer int) float64) {
		if s.Seen.Get(key) != "" {
			return
		}
		bits := 0.0
		for a := 1; a <= answers; a++ {
			mean := 0.0
			for i, h := range hs {
				mean += w[i] * p(h, a)
			}
			for i, h := range hs {
				if x := p(h, a); x > 0 && mean > 0 {
					bits += w[i] * x * math.Log2(x/mean)
				}
			}
		}
		n := Next{At: key, Bits: bits, Minutes: seenMinutes[key], Why: WhyInforms}
		for i := range min(4, len(hs)) {
			b := p(hs[i], 2)
			n.Shows = append(n.Shows, Show{name(hs[i]), hs[i].posterior, Band{b, b, b}})
		}
		out = append(out, n)
	}
	seen("glass", 3, func(h *hypothesis, a int) float64 { return pGlass(reading.Glass(a), h.out[plant.GlassQuality]) })
	seen("condenser_dirt", 3, func(h *hypothesis, a int) float64 { return pDirt(reading.Level(a), h.change.CondenserAir) })
	seen("coil_ice", 3, func(h *hypothesis, a int) float64 { return pIce(reading.Level(a), h.change.CoilAir) })
	sort.SliceStable(out, func(i, j int) bool {
		return out[i].Bits/(nextBase+out[i].Minutes) > out[j].Bits/(nextBase+out[j].Minutes)
	})
	k := 0
	for k < len(out) && k < 6 && out[k].Bits > 0.01 {
		k++
	}
	return out[:k]
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

// information is the mutual information, bits, between hypothesis and a normally predicted reading.
func information(w, mu, sd []float64) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range w {
		lo, hi = math.Min(lo, mu[i]-6*sd[i]), math.Max(hi, mu[i]+6*sd[i])
	}
	const n = 400
	dx := (hi - lo) / n
	H := 0.0
	for k := range n {
		x := lo + (float64(k)+0.5)*dx
		p := 0.0
		for i := range w {
			z := (x - mu[i]) / sd[i]
			if z*z < 80 {
				p += w[i] * math.Exp(-0.5*z*z) / (sd[i] * math.Sqrt(2*math.Pi))
			}
		}
		if p > 1e-300 {
			H -= p * math.Log2(p) * dx
		}
	}
	for i := range w {
		H -= w[i] * 0.5 * math.Log2(2*math.Pi*math.E*sd[i]*sd[i])
	}
	return math.Max(0, H)
}
