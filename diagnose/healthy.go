package diagnose

import (
	"math"

	"coldwright/machine/circuit"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// expect is the prior predictive of the healthy machine at the box and ambient temperature read: what it would show
// today at every place, and as the quantities derived from them.
func (q *problem) expect(s reading.Sheet, a *circuit.Analysis) ([]Expectation, []DerivedBand) {
	h := hypothesis{n: plant.NumNuisances}
	var zero [maxParams]float64
	t, ok := q.evaluate(&h, &zero, nil)
	if !ok || !q.linearise(&h, &t, 0) {
		return nil, nil
	}
	basis := "application"
	if q.m.TDKnown || q.m.SplitKnown {
		basis = "plate"
	}
	if len(s.HealthyVisits) > 0 {
		basis = "history"
	}
	var out []Expectation
	at := map[reading.Place]prediction{}
	for _, p := range reading.Places() {
		c, ok := q.channel(p)
		if !ok || p == reading.DrierOut {
			continue
		}
		mid := t.r.Out[c.out]
		if p == reading.HeaterAmps {
			mid = 0
		}
		disc, measure := c.discrepancy, 0.0
		if p.Kind() == reading.KindPressure {
			slope := q.f.DewSlope(mid)
			measure = reading.InstrumentUnknown.U(p) / slope
		} else if p.Kind() == reading.KindTemperature {
			measure = reading.InstrumentUnknown.U(p)
		} else {
			measure = 0.03
		}
		if p == reading.CoilOutletLine {
			disc = math.Hypot(disc, q.e.uneven(q.m))
		}
		var read *observation
		for i := range q.e.obs {
			if q.e.obs[i].at == p {
				read = &q.e.obs[i]
				if read.drop {
					continue // its level is no more than what it shows
				}
				mid += read.offset
				disc, measure = read.discrepancy/q.e.inflate, read.alone()
			}
		}
		y := 0.0
		if read != nil {
			y = read.y
		}
		if p == reading.CoilPressure {
			if r, ok := s.Find(p); ok {
				y = q.f.DewP(r.Value)
			}
		}
		one := prediction{mid: mid, scatter: math.Hypot(disc*q.e.inflate, measure)}
		for j := range h.n {
			if p != reading.HeaterAmps {
				one.slope[j] = h.outJ[j][c.out]
			}
		}
		sd := one.sd()
		x := Expectation{At: p, Basis: basis}
		band := Band{mid - z95*sd, mid, mid + z95*sd}
		switch {
		case p.Kind() == reading.KindPressure:
			x.Dew = band
			x.Band = Band{q.f.DewT(band.Low), q.f.DewT(band.Mid), q.f.DewT(band.High)}
		case p == reading.HeaterAmps:
			x.Band = Band{heaterAmps(band.Low), 0, heaterAmps(band.High)}
		case p.Kind() == reading.KindCurrent || p.Kind() == reading.KindPower:
			full := q.full(p)
			if full <= 0 {
				continue
			}
			x.Band = Band{band.Low * full, band.Mid * full, band.High * full}
		case read != nil:
			x.Band = Band{band.Low + read.toward, band.Mid + read.toward, band.High + read.toward}
		default:
			x.Band = band
		}
		if read != nil {
			x.Read = true
			x.Off = y - mid
			x.In = y >= band.Low && y <= band.High
			x.AtLeast = read.censored != exact && !read.drop
			one.mid += read.toward // as it reads
		}
		out, at[p] = append(out, x), one
	}
	return out, q.derived(s, a, at)
}

// derived turns what the places would show into the quantities that were derived, each from the very places it was derived from.
func (q *problem) derived(s reading.Sheet, a *circuit.Analysis, at map[reading.Place]prediction) []DerivedBand {
	var out []DerivedBand
	for _, key := range []string{circuit.Superheat, circuit.Subcooling, circuit.TD, circuit.Split, circuit.CompressionRatio} {
		d, ok := a.Find(key)
		if !ok {
			continue
		}
		var line, gauge prediction
		var given float64 // box and outside air are as read
		known := true
		var gauges []prediction
		for _, p := range d.From {
			switch x, ok := at[p]; {
			case p == reading.BoxAir || p == reading.Ambient:
				r, _ := s.Find(p)
				given = r.Value
			case !ok:
				known = false
			case p.Kind() == reading.KindPressure:
				gauge, gauges = x, append(gauges, x)
			default:
				line = x
			}
		}
		if !known {
			continue
		}
		var x prediction
		switch key {
		case circuit.Superheat:
			x = line.minus(1, gauge, 1)
		case circuit.Subcooling:
			// The gauge's channel is dew; along saturation the bubble moves with it.
			const step = 0.5
			bubble := func(dew float64) float64 { return q.f.BubbleP(q.f.DewT(dew)) }
			k := (bubble(gauge.mid+step) - bubble(gauge.mid-step)) / (2 * step)
			x = gauge.minus(k, line, 1)
			x.mid = bubble(gauge.mid) - line.mid
		case circuit.TD:
			x = prediction{mid: given}.minus(1, gauge, 1)
		case circuit.Split:
			x = gauge.minus(1, prediction{mid: given}, 1)
		case circuit.CompressionRatio:
			low, high := gauges[0], gauges[1]
			if low.mid > high.mid {
				low, high = high, low
			}
			// In logarithms: a ratio is never below one.
			k := func(dew float64) float64 { return q.f.DewSlope(dew) / q.f.DewT(dew) }
			x = high.minus(k(high.mid), low, k(low.mid))
			sd := x.sd()
			r := q.f.DewT(high.mid) / q.f.DewT(low.mid)
			out = append(out, DerivedBand{key, Band{r * math.Exp(-z95*sd), r, r * math.Exp(z95*sd)}})
			continue
		}
		sd := x.sd()
		out = append(out, DerivedBand{key, Band{x.mid - z95*sd, x.mid, x.mid + z95*sd}})
	}
	return out
}

// prediction is what a place of the healthy machine would show, in the unit of its channel: the middle, its slope along
// each nuisance of one standard deviation, and what scatters by itself.
type prediction struct {
	mid, scatter float64
	slope        [maxParams]float64
}

func (x *prediction) sd() float64 {
	v := x.scatter * x.scatter
	for _, g := range x.slope {
		v += g * g
	}
	return math.Sqrt(v)
}

// minus is a·x − b·y; what both share of the nuisances falls away.
func (x prediction) minus(a float64, y prediction, b float64) prediction {
	out := prediction{mid: a*x.mid - b*y.mid, scatter: math.Hypot(a*x.scatter, b*y.scatter)}
	for j := range out.slope {
		out.slope[j] = a*x.slope[j] - b*y.slope[j]
	}
	return out
}
