package templog

import (
	"math"
	"slices"
	"time"

	"coldwright/num"
	"coldwright/units"
)

// judge takes readings in order of time and keeps no more than what the answer holds.
type judge struct {
	m        Mapping
	o        Options
	out      Record
	notes    map[string]int
	limit    float64
	tol      float64
	first    []row // readings held back until the usual step is known
	started  bool
	held     row
	haveHeld bool
	step     float64 // usual step, s
	gap      float64 // longer than this is a gap, s
	n        int
	sum      float64
	lo, hi   float64
	prev     row
	at       float64 // value of prev in the channel

	open       *Excursion
	lastWithin int64 // last reading at or under the limit; -1: none
	sureWithin int64 // last reading under the limit by the tolerance
	lastAbove  int64
	pending    []int // excursions whose sure end has not come

	nodes []lagNode

	base, spread float64
	inHump       bool
	h            hump
	quiet, cold  int64 // last reading near the base, and not far below it
	humps        []hump
}

const none = math.MinInt64

func newJudge(m Mapping, o Options) *judge {
	j := &judge{m: m, o: o, notes: map[string]int{}, lo: math.Inf(1), hi: math.Inf(-1), lastWithin: none, sureWithin: none}
	j.out.Mapping, j.out.Channel = m, "air"
	if m.Air == nil {
		j.out.Channel = "product"
	}
	j.out.ProductLogged = m.Product != nil
	if o.Limit <= 0 {
		l, err := FindFoodLimit("cold_holding")
		if err == nil {
			o.Limit, j.out.Rule = l.Limit(), &l
		}
	}
	if o.Tolerance <= 0 {
		o.Tolerance = RequiredTolerance(j.out.Channel)
	}
	j.limit, j.tol = float64(o.Limit), float64(o.Tolerance)
	j.out.Limit, j.out.Tolerance = o.Limit, o.Tolerance
	tau := o.Tau
	if !(tau > 0) {
		tau = tauMedian
	}
	if m.Product != nil {
		j.nodes = []lagNode{{w: 1, peak: math.Inf(-1)}}
		return j
	}
	// Nine equal shares of the time constant, each by its middle.
	for k := range 9 {
		z := num.NormalQuantile((float64(k) + 0.5) / 9)
		j.nodes = append(j.nodes, lagNode{tau: 60 * tau * math.Exp(tauSd*z), w: 1.0 / 9, peak: math.Inf(-1)})
	}
	return j
}

func (j *judge) value(r row) float64 {
	if j.m.Air == nil {
		return r.product
	}
	return r.air
}

// add takes a reading; the ones of one moment are joined, the warmer counts.
func (j *judge) add(r row) {
	if j.haveHeld && r.t == j.held.t {
		same := func(a, b float64) bool { return a == b || math.IsNaN(a) && math.IsNaN(b) }
		if same(r.air, j.held.air) && same(r.product, j.held.product) {
			j.notes[NoteDuplicates]++
			return
		}
		warmer := func(a, b float64) float64 {
			if math.IsNaN(a) || b > a {
				return b
			}
			return a
		}
		if !math.IsNaN(j.value(r)) && !math.IsNaN(j.value(j.held)) {
			j.notes[NoteDuplicateDiffer]++
		}
		j.held.air, j.held.product = warmer(j.held.air, r.air), warmer(j.held.product, r.product)
		return
	}
	if j.haveHeld {
		j.pass(j.held)
	}
	j.held, j.haveHeld = r, true
}

// pass holds the first readings back until the usual step is known.
func (j *judge) pass(r row) {
	if j.started {
		j.take(r)
		return
	}
	if j.first = append(j.first, r); len(j.first) > 64 {
		j.start()
	}
}

func (j *judge) start() {
	j.started = true
	var steps, values []float64
	for i, r := range j.first {
		if i > 0 {
			steps = append(steps, float64(r.t-j.first[i-1].t))
		}
		if v := j.value(r); !math.IsNaN(v) {
			values = append(values, v)
		}
	}
	slices.Sort(steps)
	slices.Sort(values)
	j.step, j.gap = 0, math.Inf(1)
	if len(steps) > 0 {
		j.step = steps[(len(steps)-1)/2]
		j.gap = 3 * j.step
	}
	if len(values) > 0 {
		j.base = values[len(values)/2]
		j.spread = 0.3
	}
	for i := range j.nodes {
		j.nodes[i].x = j.base
	}
	for _, r := range j.first {
		j.take(r)
	}
	j.first = nil
}

func moment(t int64) time.Time {
	if t == none {
		return time.Time{}
	}
	return time.Unix(t, 0).UTC()
}

// trace keeps a reading for the figure; when there are too many, neighbours are joined two by two.
func (j *judge) trace(r row, v float64, gap bool) {
	t := &j.out.Trace
	*t = append(*t, Trace{moment(r.t), units.Temp(v), units.Temp(v), gap})
	if len(*t) <= 2*maxTrace {
		return
	}
	kept := (*t)[:0]
	for i := 0; i < len(*t); i++ {
		x := (*t)[i]
		if i++; i < len(*t) {
			y := (*t)[i]
			x.Low, x.High, x.Gap = min(x.Low, y.Low), max(x.High, y.High), x.Gap || y.Gap
		}
		kept = append(kept, x)
	}
	*t = kept
}

// take judges one reading.
func (j *judge) take(r row) {
	v := j.value(r)
	if math.IsNaN(v) { // the other channel alone
		if j.m.Product != nil && !math.IsNaN(r.product) {
			j.product(r)
			j.prev.t = r.t
		}
		return
	}
	dt := 0.0
	if j.n > 0 {
		dt = float64(r.t - j.prev.t)
		if dt > j.gap {
			j.notes[NoteGaps]++
			j.out.GapMinutes += dt / 60
			if j.open != nil {
				j.open.Gap += dt / 60
			}
		}
	} else {
		j.out.First = moment(r.t)
	}
	j.trace(r, v, dt > j.gap)
	j.n++
	j.sum += v
	j.lo, j.hi = math.Min(j.lo, v), math.Max(j.hi, v)
	j.excursion(r.t, v)
	j.product(r)
	j.defrost(r.t, v, dt)
	j.prev, j.at = r, v
}

// finish closes what is open and gives the answer.
func (j *judge) finish(noOffset bool) Record {
	if j.haveHeld {
		j.haveHeld = false
		j.pass(j.held)
	}
	if !j.started {
		j.start()
	}
	if j.open != nil {
		j.close(none)
	}
	out := &j.out
	out.Rows, out.Last = j.n, moment(j.prev.t)
	out.Every = j.step / 60
	if j.n > 0 {
		out.Min, out.Max, out.Mean = units.Temp(j.lo), units.Temp(j.hi), units.Temp(j.sum/float64(j.n))
	}
	type part struct{ v, w float64 }
	quantile := func(ps []part, q float64) float64 {
		slices.SortFunc(ps, func(a, b part) int {
			switch {
			case a.v < b.v:
				return -1
			case a.v > b.v:
				return 1
			}
			return 0
		})
		s := 0.0
		for _, p := range ps {
			if s += p.w; s >= q {
				return p.v
			}
		}
		return ps[len(ps)-1].v
	}
	var minutes, peaks []part
	unknown := 0.0
	for _, n := range j.nodes {
		for k, w := range toleranceWeights {
			minutes = append(minutes, part{n.above[k] / 60, w * n.w})
			if !math.IsInf(n.peak, 0) {
				peaks = append(peaks, part{n.peak + toleranceNodes[k]*j.tol, w * n.w})
			}
		}
		unknown = math.Max(unknown, n.unknown/60)
	}
	out.ProductMinutes = Interval{quantile(minutes, 0.05), quantile(minutes, 0.5), quantile(minutes, 0.95) + unknown}
	if len(peaks) > 0 {
		out.ProductPeak = Interval{quantile(peaks, 0.05), quantile(peaks, 0.5), quantile(peaks, 0.95)}
	}
	every, member := period(j.humps, j.step)
	out.Defrosts.Humps = len(j.humps)
	if every > 0 {
		d := &out.Defrosts
		d.Every = every / 60
		for i, ok := range member {
			if !ok {
				continue
			}
			h := &j.humps[i]
			h.defrost = true
			if d.Count == 0 {
				d.FirstSeen = moment(h.start)
			}
			d.Count++
			d.LastSeen = moment(h.start)
			d.Minutes += float64(h.end-h.start) / 60
			d.Rise += units.TempDiff(h.rise)
		}
		d.Minutes /= float64(d.Count)
		d.Rise /= units.TempDiff(d.Count)
		i := 0
		mark := func(e *Excursion) {
			if e.High > 150 || e.FromStart || e.ToEnd {
				return
			}
			for k := i; k < len(j.humps) && j.humps[k].start <= e.End.Before.Unix(); k++ {
				if j.humps[k].defrost && j.humps[k].end >= e.Start.After.Unix() {
					e.Defrost = true
					return
				}
			}
		}
		for k := range out.Excursions {
			e := &out.Excursions[k]
			for i < len(j.humps) && !e.Start.After.IsZero() && j.humps[i].end < e.Start.After.Unix() {
				i++
			}
			mark(e)
		}
		if out.Longest != nil {
			i = 0
			mark(out.Longest)
		}
	}
	if out.Longest != nil { // with what came to be known after it ended
		for _, e := range out.Excursions {
			if e.Start == out.Longest.Start {
				c := e
				out.Longest = &c
			}
		}
	}
	var codes []string
	for c := range j.notes {
		codes = append(codes, c)
	}
	slices.Sort(codes)
	for _, c := range codes {
		out.Notes = append(out.Notes, Note{c, j.notes[c]})
	}
	out.Needs = []string{NeedDevice, NeedAccuracy, NeedVerification, NeedPlace}
	out.Floating = noOffset
	if noOffset {
		out.Needs = append(out.Needs, NeedOffset)
	}
	if out.Count > 0 {
		out.Needs = append(out.Needs, NeedFood, NeedRepair)
	}
	out.Needs = append(out.Needs, NeedSigned)
	return *out
}
