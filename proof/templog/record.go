package templog

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"coldwright/fail"
	"coldwright/num"
	"coldwright/units"
)

// Bracket holds a moment between two readings: it lies after After and not after Before. Zero: the record does not reach it.
type Bracket struct{ After, Before time.Time }

// Excursion is a stretch of readings above the limit.
type Excursion struct {
	Start, End Bracket // by the readings as they stand
	// The same with the logger's tolerance: after the last reading that was surely within, before the first that was
	// surely above; the end likewise. Zero where no reading was sure.
	WideStart, WideEnd Bracket
	Low, High          float64 // minutes: between the first and the last reading above; between the readings within on both sides
	Gap                float64 // minutes of it without readings
	Peak               units.Temp
	PeakAt             time.Time
	Sure               bool // a reading stands above the limit by more than the tolerance
	Defrost            bool // it is a recognised defrost
	FromStart, ToEnd   bool // the record begins or ends inside it
}

// Defrosts are humps that come back at equal times.
type Defrosts struct {
	Count     int
	Every     float64 // minutes from one to the next
	Minutes   float64 // mean length
	Rise      units.TempDiff
	Humps     int // short humps in all, defrosts included
	FirstSeen time.Time
	LastSeen  time.Time
}

// FoodDecision is who decides about the food. It is the same in every answer.
const FoodDecision = "operator_and_authority"

// Evidence that a record of temperatures must bring and that no logger's file holds by itself; the codes have words in package text.
const (
	NeedDevice       = "device_identity"
	NeedAccuracy     = "device_accuracy"
	NeedVerification = "device_last_verification"
	NeedPlace        = "sensor_place"
	NeedOffset       = "time_offset"
	NeedFood         = "food_disposition"
	NeedRepair       = "repair_and_pull_down"
	NeedSigned       = "who_signed"
)

// Record is the answer.
type Record struct {
	Mapping     Mapping
	Channel     string // air or product: what the excursions were read from
	Rows        int
	First, Last time.Time
	Zone        *time.Location // of the times as written; nil: UTC
	Floating    bool           // the file's times have no offset and no zone was named: they are as its clock showed them
	Every       float64        // minutes, the usual step
	Min, Max    units.Temp
	Mean        units.Temp
	GapMinutes  float64

	Limit      units.Temp
	Rule       *FoodLimit // nil where the limit was only a number
	Tolerance  units.TempDiff
	Excursions []Excursion // in order of time; at most maxExcursions
	Count      int         // all of them
	Longest    *Excursion
	AboveLow   float64 // minutes above the limit in all, over all excursions
	AboveHigh  float64

	ProductLogged  bool
	ProductMinutes Interval // 5, 50, 95 %: product above the limit
	ProductPeak    Interval // K
	Defrosts       Defrosts
	Notes          []Note
	Needs          []string
	Trace          []Trace // the readings, thinned for a figure: at most 600 stretches
}

// Interval is 5, 50, 95 %.
type Interval struct{ Low, Mid, High float64 }

// Trace is a stretch of readings: when it begins, the coldest and the warmest of them.
type Trace struct {
	At        time.Time
	Low, High units.Temp
	Gap       bool // readings are missing before it or within it
}

const (
	maxExcursions = 2000
	maxTrace      = 300
	maxUnsorted   = 20_000_000 // rows that may stand out of order all over the file
	maxHumps      = 20000
	window        = 512 // rows that may stand out of order and still be read in one pass
)

var errDisorder = errors.New("rows too far out of order for one pass")

// Judge reads and judges a logger's record.
//
//   - in: the file; options
//   - out: excursions above the limit with the readings around their start and end, the longest, time of the product
//     above the limit, defrosts
//   - errors: [*fail.Error] naming line and column
//   - assumes: one place; air between readings on a straight line; where only air is logged, product follows it with
//     one time constant between 40 minutes and 6 hours, and starts at the middle of the air's first readings
//   - source: brackets: definition; product: first-order lag, its spread is judgement; what evidence must hold: FDA
//     Food Code 3-501.19, 4-204.112 and Reg. (EC) 37/2005 Art. 2(3), see doc.go
//   - cost: about 1 s for a million rows in a few megabytes; a file out of order by more than 512 rows is read again
//     and sorted, 24 bytes a row
func Judge(open Source, o Options) (Record, error) {
	var m Mapping
	var notes []Note
	if o.Mapping != nil {
		m = *o.Mapping
		if err := m.check(); err != nil {
			return Record{}, err
		}
	} else {
		var err error
		if m, notes, err = Propose(open, o); err != nil {
			return Record{}, err
		}
	}
	out, err := recordOnce(open, m, o, false)
	if errors.Is(err, errDisorder) {
		out, err = recordOnce(open, m, o, true)
	}
	if err != nil {
		return Record{}, err
	}
	out.Notes = append(notes, out.Notes...)
	return out, nil
}

// check refuses a remembered layout that cannot be.
func (m *Mapping) check() error {
	bad := !slices.Contains([]string{",", ";", "\t", "|"}, m.Separator) || m.Decimal != "." && m.Decimal != "," || len(m.Time) < 1 ||
		len(m.Time) > 2 ||
		m.Air == nil && m.Product == nil ||
		m.Dates == OrderUnknown
	for _, c := range []*Column{m.Air, m.Product} {
		bad = bad || c != nil && (c.Index < 1 || !slices.Contains([]string{"C", "F", "K"}, c.Unit))
	}
	for _, c := range m.Time {
		bad = bad || c < 1
	}
	if bad {
		return fail.Of(fail.BadData, "mapping", "layout.incomplete", nil)
	}
	return nil
}

func recordOnce(open Source, m Mapping, o Options, sorted bool) (out Record, err error) {
	f, err := open()
	if err != nil {
		return out, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	l := &logReader{m: m, o: o, notes: map[string]int{}}
	j := newJudge(m, o)
	if sorted {
		var all []row
		if err := l.read(f, func(r row) error {
			if len(all) >= maxUnsorted {
				return fail.Of(fail.BadData, "table", "coldrecord.out_of_order", nil)
			}
			all = append(all, r)
			return nil
		}); err != nil {
			return out, err
		}
		slices.SortStableFunc(all, func(a, b row) int {
			switch {
			case a.t < b.t:
				return -1
			case a.t > b.t:
				return 1
			}
			return 0
		})
		for _, r := range all {
			j.add(r)
		}
	} else {
		q := queue{}
		fed, last := false, int64(0)
		feed := func() error {
			r := q.pop()
			if fed && r.t < last {
				return errDisorder
			}
			fed, last = true, r.t
			j.add(r)
			return nil
		}
		if err := l.read(f, func(r row) error {
			q.push(r)
			if len(q.rows) > window {
				return feed()
			}
			return nil
		}); err != nil {
			return out, err
		}
		for len(q.rows) > 0 {
			if err := feed(); err != nil {
				return out, err
			}
		}
	}
	if j.n == 0 && len(j.first) == 0 && !j.haveHeld {
		return out, fail.Of(fail.BadData, "table", "coldrecord.empty", nil)
	}
	if l.down {
		j.notes[NoteNewestFirst]++
	}
	if m.Minutes {
		j.notes[NoteRelative]++
	}
	for k, n := range l.notes {
		j.notes[k] += n
	}
	out = j.finish(l.noOffset && o.Zone == nil || m.Minutes)
	out.Zone = o.Zone
	return out, nil
}

// queue is a heap of rows by time; rows of the same time keep their order.
type queue struct {
	rows []row
	seq  []int
	n    int
}

func (q *queue) less(a, b int) bool {
	return q.rows[a].t < q.rows[b].t || q.rows[a].t == q.rows[b].t && q.seq[a] < q.seq[b]
}

func (q *queue) swap(a, b int) {
	q.rows[a], q.rows[b] = q.rows[b], q.rows[a]
	q.seq[a], q.seq[b] = q.seq[b], q.seq[a]
}

func (q *queue) push(r row) {
	q.rows, q.seq = append(q.rows, r), append(q.seq, q.n)
	q.n++
	for i := len(q.rows) - 1; i > 0; {
		up := (i - 1) / 2
		if !q.less(i, up) {
			return
		}
		q.swap(i, up)
		i = up
	}
}

func (q *queue) pop() row {
	top, n := q.rows[0], len(q.rows)-1
	q.swap(0, n)
	q.rows, q.seq = q.rows[:n], q.seq[:n]
	for i := 0; ; {
		c := 2*i + 1
		if c >= n {
			return top
		}
		if c+1 < n && q.less(c+1, c) {
			c++
		}
		if !q.less(c, i) {
			return top
		}
		q.swap(c, i)
		i = c
	}
}

// lagNode is one time constant of the product with its weight.
type lagNode struct {
	tau, w    float64 // seconds
	x         float64
	peak      float64
	dt, decay float64
	above     [3]float64 // seconds above limit less, at, plus a part of the tolerance
	unknown   float64
}

// Five, fifty and ninety-five parts of a hundred lie under 41, 120 and 350 minutes: judgement, from a wrapped portion to a full crate.
const (
	tauMedian = 120.0
	tauSd     = 0.65
)

// Nodes and weights of three-point Gauss–Legendre for a tolerance taken as a rectangle.
var toleranceNodes, toleranceWeights = [3]float64{-0.7745966692414834, 0, 0.7745966692414834}, [3]float64{5.0 / 18, 8.0 / 18, 5.0 / 18}

type hump struct {
	start, end int64
	rise       float64
	defrost    bool
}

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

func (j *judge) excursion(t int64, v float64) {
	sure := v > j.limit+j.tol
	switch {
	case v > j.limit && j.open == nil:
		j.open = &Excursion{
			Start: Bracket{
				moment(j.lastWithin),
				moment(t),
			},
			WideStart: Bracket{After: moment(j.sureWithin)},
			Peak:      units.Temp(v),
			PeakAt:    moment(t),
			FromStart: j.lastWithin == none,
		}
	case v <= j.limit && j.open != nil:
		j.close(t)
	}
	if e := j.open; e != nil {
		j.lastAbove = t
		if units.Temp(v) > e.Peak {
			e.Peak, e.PeakAt = units.Temp(v), moment(t)
		}
		if sure {
			if !e.Sure {
				e.Sure, e.WideStart.Before = true, moment(t)
			}
			e.WideEnd.After = moment(t)
		}
	}
	if v <= j.limit {
		j.lastWithin = t
	}
	if v <= j.limit-j.tol {
		j.sureWithin = t
		for _, i := range j.pending {
			j.out.Excursions[i].WideEnd.Before = moment(t)
		}
		j.pending = j.pending[:0]
	}
}

// close ends the open excursion at a reading within the limit; none where the record ends first.
func (j *judge) close(t int64) {
	e := j.open
	j.open = nil
	e.End = Bracket{moment(j.lastAbove), moment(t)}
	e.Low = math.Max(0, float64(j.lastAbove-e.Start.Before.Unix())/60-e.Gap)
	from := e.Start.After
	if from.IsZero() {
		from = e.Start.Before
	}
	to := t
	if t == none {
		to, e.ToEnd = j.lastAbove, true
	}
	e.High = float64(to-from.Unix()) / 60
	j.out.AboveLow += e.Low
	j.out.AboveHigh += e.High
	j.out.Count++
	if j.out.Longest == nil || e.High > j.out.Longest.High {
		c := *e
		j.out.Longest = &c
	}
	if len(j.out.Excursions) < maxExcursions {
		if t != none {
			j.pending = append(j.pending, len(j.out.Excursions))
		}
		j.out.Excursions = append(j.out.Excursions, *e)
	}
}

// share of a straight line from a to b that lies above c.
func share(a, b, c float64) float64 {
	switch {
	case a > c && b > c:
		return 1
	case a <= c && b <= c:
		return 0
	case a > b:
		return (a - c) / (a - b)
	}
	return (b - c) / (b - a)
}

// product moves the product on: by its own column, or behind the air.
func (j *judge) product(r row) {
	if j.m.Product != nil {
		if math.IsNaN(r.product) {
			return
		}
		n := &j.nodes[0]
		if n.decay != 0 { // there was a reading before; decay holds its time
			dt := float64(r.t) - n.dt
			n.count(j, n.x, r.product, dt)
		}
		n.x, n.dt, n.decay, n.peak = r.product, float64(r.t), 1, math.Max(n.peak, r.product)
		return
	}
	if j.n <= 1 {
		return
	}
	dt := float64(r.t - j.prev.t)
	if dt <= 0 {
		return
	}
	slope := (r.air - j.at) / dt
	for i := range j.nodes {
		n := &j.nodes[i]
		if n.dt != dt {
			n.dt, n.decay = dt, math.Exp(-dt/n.tau)
		}
		next := r.air - slope*n.tau + (n.x-j.at+slope*n.tau)*n.decay
		n.count(j, n.x, next, dt)
		n.x = next
		n.peak = math.Max(n.peak, next)
	}
}

func (n *lagNode) count(j *judge, a, b, dt float64) {
	if dt > j.gap {
		n.unknown += dt
		return
	}
	for k, z := range toleranceNodes {
		n.above[k] += dt * share(a, b, j.limit-z*j.tol)
	}
}

// defrost follows the usual temperature and marks short humps above it.
func (j *judge) defrost(t int64, v, dt float64) {
	const memory, longest = 4 * 3600.0, 2 * 3600
	dev := v - j.base
	high := math.Max(1, 4*j.spread)
	if dt > j.gap {
		j.inHump = false
	}
	if !j.inHump && dev > high {
		j.inHump = true
		start := j.quiet
		if start == 0 || float64(t-start) > math.Max(1800, 2*j.step) {
			start = t
		}
		j.h = hump{start: start}
	}
	if j.inHump {
		j.h.rise = math.Max(j.h.rise, dev)
		j.h.end = t
		long := t-j.h.start > longest
		if dev < 0.5*math.Min(high, j.h.rise) || long {
			j.inHump = false
			if !long && t-j.h.start >= 180 && len(j.humps) < maxHumps {
				j.humps = append(j.humps, j.h)
			}
			if long { // no hump: the place has become warmer
				j.base = v
			}
			dev = v - j.base
		}
	}
	switch {
	case dev > -high:
		j.cold = t
	case t-j.cold > 3600: // and colder again
		j.base = v
	}
	if !j.inHump {
		if math.Abs(dev) < 0.5*high {
			j.quiet = t
		}
		a := 1 - math.Exp(-math.Min(dt, memory)/memory)
		d := v - j.base
		j.base += a * math.Max(-high, math.Min(high, d))
		j.spread += a * (math.Min(math.Abs(d), high) - j.spread)
	}
}

// period finds the time from one defrost to the next: humps that fall into one narrow window of a period and fill at
// least half of its turns.
func period(humps []hump, step float64) (every float64, member []bool) {
	if len(humps) < 3 {
		return 0, nil
	}
	span := float64(humps[len(humps)-1].start - humps[0].start)
	var gaps []float64
	for i := 1; i < len(humps); i++ {
		gaps = append(gaps, float64(humps[i].start-humps[i-1].start))
	}
	sorted := slices.Clone(gaps)
	slices.Sort(sorted)
	median := sorted[len(sorted)/2]
	best := 0
	try := func(p float64) {
		if p < 3600 || p > span {
			return
		}
		w := math.Max(2*step, math.Min(1200, 0.1*p))
		phase := make([]float64, len(humps))
		for i, h := range humps {
			phase[i] = math.Mod(float64(h.start-humps[0].start), p)
		}
		order := slices.Clone(phase)
		slices.Sort(order)
		count, from := 0, 0.0
		for i, a := range order {
			n := 0
			for k := range order {
				if x := order[(i+k)%len(order)] - a; x >= 0 && x <= w || x < 0 && x+p <= w {
					n++
				} else {
					break
				}
			}
			if n > count {
				count, from = n, a
			}
		}
		turns := math.Floor(span/p+0.5) + 1
		// Half of the turns at least, and many more than chance would put there.
		if chance := float64(len(humps)) * w / p; count < 3 || float64(count) < 0.5*turns || float64(count) < 2*chance+2 || count <= best {
			return
		}
		best, every = count, p
		member = make([]bool, len(humps))
		for i := range phase {
			x := math.Mod(phase[i]-from+p, p)
			member[i] = x <= w
		}
	}
	for _, k := range []float64{1, 2, 3, 4, 6, 8, 12} {
		try(86400 / k)
	}
	try(median)
	if best == 0 && len(humps) >= 4 { // no clock, but equal times apart: a timer that counts running hours
		near := 0
		for _, g := range gaps {
			if math.Abs(g/median-1) < 0.15 {
				near++
			}
		}
		if 10*near >= 7*len(gaps) && median >= 3600 {
			every, member = median, make([]bool, len(humps))
			for i := range member {
				member[i] = true
			}
		}
	}
	return every, member
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

// Stamp writes a moment of the record: RFC 3339, without an offset where none is known.
func (c *Record) Stamp(t time.Time) string {
	switch {
	case c.Floating:
		return t.UTC().Format("2006-01-02T15:04:05")
	case c.Zone != nil:
		return t.In(c.Zone).Format(time.RFC3339)
	}
	return t.UTC().Format(time.RFC3339)
}

// Describe is a layout in one line, for a person to confirm.
func (m Mapping) Describe() string {
	s := fmt.Sprintf("separator %q, decimal %q, time in column %d", m.Separator, m.Decimal, m.Time[0])
	if len(m.Time) > 1 {
		s += fmt.Sprintf(" and %d", m.Time[1])
	}
	for _, c := range []struct {
		what string
		c    *Column
	}{{"air", m.Air}, {"product", m.Product}} {
		if c.c != nil {
			s += fmt.Sprintf(", %s in column %d %q in °%s", c.what, c.c.Index, c.c.Name, c.c.Unit)
		}
	}
	return s
}
