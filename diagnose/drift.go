package diagnose

import (
	"math"
	"sort"

	"coldwright/machine/reading"
	"coldwright/num"
)

// DriftPoint is what one visit says about the charge, as a share of the full charge that is missing when the mechanic arrives.
type DriftPoint struct {
	Day     float64 // days since any fixed date
	Missing float64
	Sd      float64 // 0: this visit says nothing about the charge
	AtMost  bool    // Missing is a ceiling: a receiver hides what it has lost of its reserve
	Added   float64 // share put in at the visit, less what was taken out
	Full    bool    // left with its full charge: judged healthy at the end
}

// Drift is what the visits say together.
type Drift struct {
	Leaking float64 // probability of a slow leak
	Rate    Band    // share of the full charge a year, given a leak
	Since   Band    // day on which it began, given a leak; Low is the first visit where it may be older
	Missing Band    // share missing on the day asked about, leak or not
	Visits  int     // that say something
}

// Prior of a slow leak between visits: how likely one is at all, and how fast. Judgement; field surveys of
// supermarkets give 5 to 25 % of the charge a year (reference: base rates).
const (
	leakPrior      = 0.3
	leakMedian     = 0.15 // of the charge a year
	leakSpread     = 1.0  // standard deviation of ln
	daysAYear      = 365.25
	unknownMissing = 0.12 // sd of what is missing at the first visit when nobody vouched for it
)

// Charge turns a judgement into a point: with a receiver and no shortage in sight the reserve is a ceiling, and a
// level that was seen tells how much of it is left; otherwise the mean over short and not short.
//
//   - in: the sheet judged and its posterior
//   - out: Missing, Sd and AtMost of a point; Sd 0 when shortage was no candidate
//   - source: definition; the level's 20 % of the reserve is judgement
func Charge(s reading.Sheet, p *Posterior) (out DriftPoint) {
	m := p.Missing
	if m == nil {
		return out
	}
	sd := (m.High - m.Low) / (2 * z95)
	if l := s.Seen.ReceiverLevel; l != nil && m.Reserve > 0 && m.Probability < 0.5 {
		return DriftPoint{Missing: m.Reserve * (1 - math.Min(1, math.Max(0, *l))), Sd: math.Hypot(0.2*m.Reserve, 0.02)}
	}
	if m.Reserve > 0 && m.Probability < 0.5 {
		return DriftPoint{Missing: m.Reserve, Sd: reserveSd, AtMost: true}
	}
	mean := m.Probability * m.Mid
	if m.Reserve > 0 {
		mean += (1 - m.Probability) * 0.5 * m.Reserve
	}
	between := m.Probability * (1 - m.Probability) * m.Mid * m.Mid
	return DriftPoint{Missing: mean, Sd: math.Sqrt(sd*sd+between) + 0.01}
}

// DriftOf asks whether a machine has been losing refrigerant between visits, how fast and since when: no leak against
// a leak that began on some day and has run at one rate since, weighed by every visit and by what was put in.
//
//   - in: visits in order of their day, at least two that say something; today, the day asked about
//   - out: probability, rate and beginning with 5 and 95 % limits; false with fewer than two visits
//   - assumes: one leak, a constant rate; a visit left full was full
//   - source: Bayes' rule on a grid
//   - cost: about 1 ms for ten visits
func DriftOf(points []DriftPoint, today float64) (Drift, bool) {
	var out Drift
	for _, p := range points {
		if p.Sd > 0 {
			out.Visits++
		}
	}
	if out.Visits < 2 {
		return out, false
	}
	first := points[0].Day
	today = math.Max(today, points[len(points)-1].Day)
	span := math.Max(today-first, 1)
	starts := []float64{0}
	startW := []float64{1}
	if !points[0].Full {
		starts, startW = nil, nil
		for k := range 7 {
			c := 0.06 * float64(k)
			starts = append(starts, c)
			startW = append(startW, math.Exp(-0.5*c*c/(unknownMissing*unknownMissing)))
		}
	}
	// Log likelihood of a history; also what is missing today.
	run := func(c0, begin, rate float64) (ll, now float64) {
		c, last := c0, first
		grow := func(to float64) {
			if t := to - math.Max(last, begin); t > 0 {
				c += rate * t / daysAYear
			}
			c = math.Min(c, 1)
			last = to
		}
		for _, p := range points {
			grow(p.Day)
			switch {
			case p.Sd <= 0:
			case p.AtMost:
				ll += math.Log(math.Max(1e-12, num.NormalCDF((p.Missing-c)/p.Sd)))
			default:
				ll += logT(p.Missing-c, p.Sd)
			}
			c = math.Max(0, c-p.Added)
			if p.Full {
				c = 0
			}
		}
		grow(today)
		return ll, c
	}
	type cell struct{ w, rate, begin, now float64 }
	var cells []cell
	best := math.Inf(-1)
	add := func(lnW, c0, begin, rate float64) {
		ll, now := run(c0, begin, rate)
		cells = append(cells, cell{lnW + ll, rate, begin, now})
		best = math.Max(best, lnW+ll)
	}
	const days, rates = 40, 25
	for i, c0 := range starts {
		lw := math.Log(startW[i])
		add(lw+math.Log(1-leakPrior), c0, today, 0)
		for a := range days {
			// The first day stands for a leak older than the first visit.
			begin := first + span*float64(a)/days
			for b := range rates {
				z := 3 * (2*(float64(b)+0.5)/rates - 1)
				w := math.Exp(-0.5*z*z) * 6 / rates / math.Sqrt(2*math.Pi)
				add(lw+math.Log(leakPrior*w/days), c0, begin, leakMedian*math.Exp(leakSpread*z))
			}
		}
	}
	total, leaking := 0.0, 0.0
	for i := range cells {
		cells[i].w = math.Exp(cells[i].w - best)
		total += cells[i].w
		if cells[i].rate > 0 {
			leaking += cells[i].w
		}
	}
	out.Leaking = leaking / total
	quantiles := func(of func(*cell) float64, leakOnly bool) Band {
		var xs []weighted
		for i := range cells {
			if !leakOnly || cells[i].rate > 0 {
				xs = append(xs, weighted{of(&cells[i]), cells[i].w})
			}
		}
		return bandOf(xs)
	}
	out.Rate = quantiles(func(c *cell) float64 { return c.rate }, true)
	out.Since = quantiles(func(c *cell) float64 { return c.begin }, true)
	out.Missing = quantiles(func(c *cell) float64 { return c.now }, false)
	return out, true
}

type weighted struct{ x, w float64 }

// bandOf returns the 5, 50 and 95 % quantiles of weighted values.
func bandOf(xs []weighted) Band {
	sort.Slice(xs, func(i, j int) bool { return xs[i].x < xs[j].x })
	total := 0.0
	for _, x := range xs {
		total += x.w
	}
	at := func(q float64) float64 {
		sum := 0.0
		for _, x := range xs {
			if sum += x.w; sum >= q*total {
				return x.x
			}
		}
		return xs[len(xs)-1].x
	}
	return Band{at(0.05), at(0.5), at(0.95)}
}
