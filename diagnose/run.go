package diagnose

import (
	"context"
	"errors"
	"fmt"
	"math"
	"runtime"
	"slices"
	"sort"
	"sync"
	"sync/atomic"

	"coldwright/fail"
	"coldwright/machine/circuit"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/num"
	"coldwright/refrigerant"
)

// Evidence is what a judgement starts from: the sheet and the fit of its refrigerant.
type Evidence struct {
	Sheet reading.Sheet
	Fit   *refrigerant.Fit
}

// Options tune a run; the zero value is the documented default.
type Options struct {
	NoPairs   bool
	Catalogue *fault.Catalogue // nil: the shipped one
}

const (
	pairSeeds = 4  // pairs are tried with the best singles only
	lookAgain = 5  // singles climbed from every start
	hopeless  = 10 // nats behind the best: below one in twenty thousand, for which approximate evidence will do
)

// tooEarly is how long a machine must have run, minutes, before a judgement is given at all; up to 15 readings count for less. Judgement.
const tooEarly = 3

// Run judges a sheet.
//
//   - in: a sheet with at least two readings; the fit of its refrigerant
//   - out: causes with probabilities, severities and evidence, what a healthy machine would show, the next reading
//   - errors: [*fail.Error]: fewer than two readings, a machine that cannot be built, a sheet that blocks judgement
//   - assumes: steady running; the composition of the refrigerant is the named one
//   - source: doc.go of this package; base rates and priors from package fault
//   - cost: about 35 ms on one core with pairs, 13 ms without; uses all cores; safe for concurrent use
func Run(ctx context.Context, ev Evidence, o Options) (Posterior, error) {
	var out Posterior
	s, f := ev.Sheet, ev.Fit
	if len(s.Readings) < 2 {
		return out, fail.New(
			fail.Required,
			"readings",
			"a judgement needs at least two readings",
			"read box air and suction pressure first",
		)
	}
	m, assumed := s.Machine.Resolve()
	out.Assumed = assumed
	out.Warnings = s.Check()
	out.Analysis = circuit.Analyze(s, f)
	out.Warnings = append(out.Warnings, out.Analysis.Findings...)
	for _, w := range out.Warnings {
		if w.Severity == reading.Block && w.Code == reading.SuctionAbove {
			return out, fail.New(
				fail.BadData,
				"readings",
				"suction pressure is above discharge pressure",
				"are the gauges swapped, or is the machine standing? Use standing_pressure then",
			)
		}
	}
	for _, c := range []struct {
		field string
		min   *float64
		since string
	}{{"running_min", s.RunningMin, "running"}, {"since_defrost_min", s.SinceDefrostMin, "out of its defrost"}} {
		if c.min != nil && *c.min < tooEarly {
			return out, fail.New(
				fail.BadData,
				c.field,
				fmt.Sprintf("the machine is %s for %.3g minutes: no reading means anything yet", c.since, *c.min),
				fmt.Sprintf("read again after %g minutes, better after 15; what was read is kept", float64(tooEarly)),
			)
		}
	}
	cat := o.Catalogue
	if cat == nil {
		c, err := fault.Shipped()
		if err != nil {
			return out, err
		}
		cat = &c
	}
	q, err := setUp(s, m, f, cat)
	if err != nil {
		return out, err
	}
	out.warn(q, f)
	all, err := q.weigh(ctx, o)
	if err != nil {
		return out, err
	}
	healthy := all[0]
	out.PNone, out.PHealthy = q.pNone, healthy.posterior
	for _, h := range all {
		out.Solves += h.solves
	}
	q.report(&out, all, healthy, s)
	return out, nil
}

// weigh fits every hypothesis and gives it its probability; the first is the healthy machine.
func (q *problem) weigh(ctx context.Context, o Options) ([]*hypothesis, error) {
	// What earlier healthy visits taught about this machine.
	for _, h := range q.sheet.HealthyVisits {
		h.HealthyVisits = nil
		q.learn(h)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	healthy := &hypothesis{n: plant.NumNuisances, rate: q.cat.HealthyRate}
	q.fit(healthy, [][maxParams]float64{{}}, nil)
	all := []*hypothesis{healthy}
	glide := q.f.DewP(q.f.BubbleT(280)) - 280
	scale := (1 - q.cat.HealthyRate - q.cat.NoneRate)
	total := 0.0
	for i := range q.cat.Faults {
		total += q.cat.Faults[i].BaseRate
	}
	var singles []*hypothesis
	for i := range q.cat.Faults {
		r := &q.cat.Faults[i]
		if r.Code.Applies(q.m, glide) {
			h := &hypothesis{
				faults: []*fault.Fault{r},
				n:      plant.NumNuisances + 1,
				rate:   scale * r.BaseRate / total,
				load:   r.Code == fault.ExcessLoad,
			}
			singles = append(singles, h)
			all = append(all, h)
		}
	}
	each(ctx, len(singles), func(i int) {
		h := singles[i]
		var mild, middling, bad [maxParams]float64
		mild[plant.NumNuisances], middling[plant.NumNuisances], bad[plant.NumNuisances] = -1, 0, 1
		starts := [][maxParams]float64{mild, middling, bad}
		if h.load {
			starts = [][maxParams]float64{{}} // nothing read depends on its size
		}
		var like *hypothesis
		if healthy.ok {
			like = healthy
		}
		q.fit(h, starts, like)
	})
	best := score(healthy)
	for _, h := range singles {
		best = math.Max(best, score(h))
	}
	// The likely ones deserve a second look from elsewhere: a shortage has one explanation above the just-empty receiver and one below.
	likely := slices.Clone(singles)
	sort.SliceStable(likely, func(i, j int) bool { return score(likely[i]) > score(likely[j]) })
	each(ctx, len(likely), func(i int) {
		h := likely[i]
		if i < lookAgain || score(h) > best-hopeless {
			q.finish(h)
		}
		if i < lookAgain && h.ok {
			q.again(h)
		}
	})
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if !o.NoPairs {
		pairs, err := q.pairs(ctx, singles)
		if err != nil {
			return nil, err
		}
		all = append(all, pairs...)
	}
	none := q.none(healthy, q.cat)
	q.refineBest(ctx, all, none)
	best = math.Inf(-1)
	for _, h := range all {
		if h.ok {
			best = math.Max(best, h.logZ+math.Log(h.rate))
		}
	}
	best = math.Max(best, none)
	sum := math.Exp(none - best)
	for _, h := range all {
		if h.ok {
			h.posterior = math.Exp(h.logZ + math.Log(h.rate) - best)
			sum += h.posterior
		}
	}
	for _, h := range all {
		h.posterior /= sum
	}
	q.pNone = math.Exp(none-best) / sum
	return all, nil
}

func setUp(s reading.Sheet, m reading.Resolved, f *refrigerant.Fit, cat *fault.Catalogue) (*problem, error) {
	// Too early after a start or a defrost nothing is steady: the model is trusted less.
	inflate := 1.0
	if s.RunningMin != nil && *s.RunningMin < 15 {
		inflate += (15 - *s.RunningMin) / 5
	}
	if s.SinceDefrostMin != nil && *s.SinceDefrostMin < 20 {
		inflate = math.Max(inflate, 1+(20-*s.SinceDefrostMin)/8)
	}
	// So does a door: the box is not in balance with its coil. Judgement.
	switch s.Seen.Door {
	case reading.DoorUsed:
		inflate = math.Max(inflate, 1.3)
	case reading.DoorOpen:
		inflate = math.Max(inflate, 2)
	}
	q := &problem{sheet: s, f: f, m: m, design: plant.FromMachine(m), cat: cat}
	q.e = observe(s, m, f, inflate)
	if len(q.e.obs) > maxObs {
		q.e.obs = q.e.obs[:maxObs]
	}
	if x, ok := cat.Find(fault.ExcessLoad); ok && s.RoomLoad != nil {
		total := 0.0
		for i := range cat.Faults {
			total += cat.Faults[i].BaseRate
		}
		q.e.room = weighRoom(*s.RoomLoad, x, (1-cat.HealthyRate-cat.NoneRate)*x.BaseRate/total)
	}
	q.p = basePrior(m, &q.e)
	if err := plant.Condenses(q.design, f, q.e.ambT); err != nil {
		return nil, err
	}
	if _, err := plant.New(q.design, f); err != nil {
		var said *fail.Error
		if errors.As(err, &said) {
			return nil, said // it keeps its hint
		}
		return nil, fail.New(fail.Range, "machine", err.Error(), "check design box, ambient, TD and split, and the refrigerant")
	}
	return q, nil
}

func (out *Posterior) warn(q *problem, f *refrigerant.Fit) {
	add := func(code string, sev reading.Severity, args map[string]float64) {
		out.Warnings = append(out.Warnings, reading.Finding{Code: code, Severity: sev, Args: args})
	}
	if !q.e.boxRead {
		add(NoBox, reading.Warn, nil)
	}
	if !q.e.ambOK {
		add(NoAmbient, reading.Warn, nil)
	}
	if len(q.e.obs) < 2 {
		add(FewReadings, reading.Warn, map[string]float64{"readings": float64(len(q.e.obs))})
	}
	if g, _ := f.Refrigerant().Grade(); g > "B" {
		add(GradeLow, reading.Warn, nil)
	}
}

// learn turns a healthy visit into a narrower prior of the design nuisances and into the reading habits of this
// machine. Drift of 0.2 standard deviations is added; box and ambient errors are of that day. Source: design paper
// 7.4.
func (q *problem) learn(h reading.Sheet) {
	v := *q
	v.e = observe(h, q.m, q.f, 1)
	// What earlier visits taught about a reading is known at this one: nothing is learned twice.
	for i := range v.e.obs {
		o := &v.e.obs[i]
		for k := range q.e.obs {
			if w := &q.e.obs[k]; w.at == o.at && w.drop == o.drop && !w.fromBox {
				o.discrepancy = math.Sqrt(math.Max(0, o.discrepancy*o.discrepancy-(o.lasting-w.lasting)))
				o.offset, o.lasting = w.offset, w.lasting
			}
		}
	}
	v.p = q.p
	const N = plant.NumNuisances
	own := basePrior(q.m, &v.e)
	for _, i := range []int{plant.NBox, plant.NAmbient} {
		v.p.mean[i] = 0
		for j := range N {
			v.p.l[i*N+j] = 0
		}
		v.p.l[i*N+i] = own.l[i*N+i]
	}
	hyp := hypothesis{n: N, rate: 1}
	v.fit(&hyp, [][maxParams]float64{{}}, nil)
	if !hyp.ok {
		return
	}
	// z = mean + L x: new mean and covariance in z, plus drift.
	var mean [N]float64
	var c [N * N]float64
	for i := range N {
		mean[i] = v.p.mean[i]
		for j := 0; j <= i; j++ {
			mean[i] += v.p.l[i*N+j] * hyp.x[j]
		}
	}
	var lc [N * N]float64
	for i := range N {
		for j := range N {
			for k := 0; k <= i; k++ {
				lc[i*N+j] += v.p.l[i*N+k] * hyp.cov[k*N+j]
			}
		}
	}
	for i := range N {
		for j := range N {
			for k := 0; k <= j; k++ {
				c[i*N+j] += lc[i*N+k] * v.p.l[j*N+k]
			}
		}
	}
	now := basePrior(q.m, &q.e)
	for i, n := range plant.Nuisances() {
		if i == plant.NBox || i == plant.NAmbient {
			for j := range N {
				c[i*N+j], c[j*N+i] = 0, 0
			}
			mean[i] = 0
			c[i*N+i] = now.l[i*N+i] * now.l[i*N+i]
			continue
		}
		c[i*N+i] += 0.04 * n.Sd * n.Sd
	}
	l := c
	if !num.Cholesky(N, l[:]) {
		return
	}
	for i := range N {
		for j := i + 1; j < N; j++ {
			l[i*N+j] = 0
		}
	}
	q.p.mean, q.p.l = mean, l
	// Of what the visit left unexplained, the lasting bias takes its share.
	for i := range v.e.obs {
		o := &v.e.obs[i]
		for k := range q.e.obs {
			w := &q.e.obs[k]
			if w.at != o.at || w.drop != o.drop || w.fromBox {
				continue
			}
			all := o.sigma() * o.sigma()
			w.offset += w.lasting / all * (o.y - hyp.pred[i])
			// Variance of the reading before this visit's fit, from what the fit leaves of it.
			before := all / (1 - math.Min(0.95, hyp.variance(&hyp.jac[i])/all))
			learned := w.lasting * w.lasting / before
			w.lasting -= learned
			w.discrepancy = math.Sqrt(math.Max(0, w.discrepancy*w.discrepancy-learned))
		}
	}
}

// pairs tries two faults at once: each contains one of the best singles.
func (q *problem) pairs(ctx context.Context, singles []*hypothesis) ([]*hypothesis, error) {
	order := slices.Clone(singles)
	sort.SliceStable(order, func(i, j int) bool { return score(order[i]) > score(order[j]) })
	var out []*hypothesis
	var from []*hypothesis
	tried := map[[2]fault.Code]bool{}
	if len(order) == 0 {
		return nil, nil
	}
	best := score(order[0])
	for a := 0; a < min(pairSeeds, len(order)); a++ {
		A := order[a]
		if !A.ok || A.load {
			continue
		}
		for _, B := range order {
			ca, cb := A.faults[0].Code, B.faults[0].Code
			key := [2]fault.Code{min(ca, cb), max(ca, cb)}
			if ca == cb || B.load || tried[key] || opposite(ca, cb) {
				continue
			}
			tried[key] = true
			// Both at once: the product of the two rates, as if independent. Judgement; published pairs of charge and drier faults were somewhat
			// more frequent than that in one small survey (8 of 21 against 5.2).
			h := &hypothesis{faults: []*fault.Fault{A.faults[0], B.faults[0]}, n: plant.NumNuisances + 2, rate: A.rate * B.rate}
			// A pair whose rate alone puts it below one in a thousand even with a perfect fit is not worth its time.
			if math.Log(h.rate)+bestPossible(q) < best+math.Log(1e-3) {
				continue
			}
			out, from = append(out, h), append(from, A)
		}
	}
	each(ctx, len(out), func(i int) {
		start := from[i].x
		start[plant.NumNuisances+1] = -0.6
		q.fit(out[i], [][maxParams]float64{start}, from[i])
		if score(out[i]) > best-hopeless {
			q.finish(out[i])
		}
	})
	return out, ctx.Err()
}

// each calls f for 0 … n−1 on all cores, in no order; nothing depends on it.
func each(ctx context.Context, n int, f func(int)) {
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(n, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for {
				i := int(next.Add(1)) - 1
				if i >= n || ctx.Err() != nil {
					return
				}
				f(i)
			}
		})
	}
	wg.Wait()
}

// How many hypotheses are refined by sampling, and with how many draws: what keeps a full sheet within its time.
const (
	refineMost  = 5
	refineDraws = 100
)

// refineBest samples the hypotheses that hold more than one in a hundred.
func (q *problem) refineBest(ctx context.Context, all []*hypothesis, none float64) {
	order := slices.Clone(all)
	sort.SliceStable(order, func(i, j int) bool { return score(order[i]) > score(order[j]) })
	best := math.Max(none, score(order[0]))
	k := 0
	for k < min(refineMost, len(order)) && order[k].ok && score(order[k]) > best-4.6 {
		k++
	}
	each(ctx, k, func(i int) { q.refine(order[i], refineDraws) })
}

func score(h *hypothesis) float64 {
	if !h.ok {
		return math.Inf(-1)
	}
	return h.logZ + math.Log(h.rate)
}

// bestPossible bounds the log evidence: every reading on the spot, nothing lost to the prior.
func bestPossible(q *problem) float64 {
	s := 0.0
	for i := range q.e.obs {
		s += q.e.obs[i].tails.log(0, q.e.obs[i].sigma())
	}
	return s
}

// opposite faults cancel and are no pair.
func opposite(a, b fault.Code) bool {
	pair := func(x, y fault.Code) bool { return a == x && b == y || a == y && b == x }
	return pair(fault.LowCharge, fault.OverCharge) || pair(fault.HeadControlLow, fault.HeadControlHigh) ||
		pair(fault.ValveUnderfeeding, fault.ValveOverfeeding) ||
		pair(fault.ValveUnderfeeding, fault.RestrictionAfterGlass) ||
		pair(fault.CompositionShift, fault.WrongRefrigerant)
}

// none is the log weight of the broad hypothesis: the healthy prediction with residual scales wider by 8 K (0.3 in amps).
func (q *problem) none(healthy *hypothesis, cat *fault.Catalogue) float64 {
	base := hypothesis{n: plant.NumNuisances}
	var zero [maxParams]float64
	t, ok := q.at(&base, &zero, nil)
	if !ok {
		if !healthy.ok {
			// No healthy state at all: a flat density over 60 K.
			return math.Log(cat.NoneRate) - float64(len(q.e.obs))*math.Log(60)
		}
		t.pred = healthy.pred
	}
	s := math.Log(cat.NoneRate)
	for i := range q.e.obs {
		o := &q.e.obs[i]
		wide := 8.0
		if o.at == reading.Amps {
			wide = 0.3
		}
		if o.out == plant.DrierDrop || o.drop {
			wide = 4
		}
		if o.fromBox { // nothing in a machine sets two thermometers in one air apart
			s += o.tails.log(o.y-t.pred[i], o.sigma())
			continue
		}
		s += logT(o.y-t.pred[i], math.Hypot(o.sigma(), wide))
	}
	if q.e.seen.Glass != reading.GlassUnknown {
		s += math.Log(0.45)
	}
	if q.e.seen.CondenserDirt != 0 {
		s += math.Log(0.33)
	}
	if q.e.seen.CoilIce != 0 {
		s += math.Log(0.33)
	}
	if q.e.seen.CoilFans != nil {
		s += math.Log(0.5)
	}
	if q.e.seen.CondenserFans != nil {
		s += math.Log(0.5)
	}
	var ch plant.Change
	return s + logMarks(&q.e, &ch, false, q.m.Receiver, false, true) + q.e.room.unknown()
}

const z95 = 1.6448536269514722 // 5 to 95 %

// report fills the answer.
func (q *problem) report(out *Posterior, all []*hypothesis, healthy *hypothesis, s reading.Sheet) {
	ranked := slices.Clone(all)
	sort.SliceStable(ranked, func(i, j int) bool { return ranked[i].posterior > ranked[j].posterior })
	// Marginals.
	marg := map[fault.Code]float64{}
	for _, h := range all {
		for _, f := range h.faults {
			marg[f.Code] += h.posterior
		}
		if p := q.e.room.beside(h); p > 0 {
			marg[fault.ExcessLoad] += h.posterior * p
		}
	}
	for _, c := range fault.Singles() {
		if p, ok := marg[c]; ok {
			out.Marginals = append(out.Marginals, Marginal{c, p})
		}
	}
	sort.SliceStable(out.Marginals, func(i, j int) bool { return out.Marginals[i].Probability > out.Marginals[j].Probability })
	var runner *hypothesis
	if len(ranked) > 1 {
		runner = ranked[1]
	}
	bands, derived := q.expect(s, &out.Analysis)
	out.Expected, out.Derived = bands, derived
	for k, h := range ranked {
		if h.posterior < 1e-4 && k > 5 && h != healthy {
			continue
		}
		r := Hypothesis{Probability: h.posterior, Marginal: h.posterior}
		for _, f := range h.faults {
			r.Faults = append(r.Faults, f.Code)
		}
		if h == healthy {
			r.Faults = []fault.Code{fault.Healthy}
		}
		if len(h.faults) == 1 {
			r.Marginal = marg[h.faults[0].Code]
		}
		slices.SortFunc(r.Faults, func(a, b fault.Code) int {
			if a.String() < b.String() {
				return -1
			}
			return 1
		})
		if h.ok {
			for j, f := range h.faults {
				i := plant.NumNuisances + j
				sd := math.Sqrt(math.Max(h.cov[i*h.n+i], 0))
				lo, mid, hi := h.x[i]-z95*sd, h.x[i], h.x[i]+z95*sd
				if h.refined {
					lo, mid, hi = h.sampled[j][0], h.sampled[j][1], h.sampled[j][2]
				}
				if h.load && q.e.room != nil {
					lo, mid, hi = q.e.room.z[0], q.e.room.z[1], q.e.room.z[2]
				}
				r.Severity = append(r.Severity, Severity{f.Code, f.Severity(lo), f.Severity(mid), f.Severity(hi), f.Unit})
			}
			against := runner
			if h == runner {
				against = ranked[0]
			}
			r.Evidence = q.items(h, healthy, against, bands)
			for i := range q.e.obs {
				o := &q.e.obs[i]
				r.WorstSigma = math.Max(r.WorstSigma, math.Abs(o.y-h.pred[i])/o.sigma())
			}
		}
		out.Ranked = append(out.Ranked, r)
	}
	none := Hypothesis{Faults: []fault.Code{fault.NoneOfThese}, Probability: out.PNone, Marginal: out.PNone}
	at := sort.Search(len(out.Ranked), func(i int) bool { return out.Ranked[i].Probability < out.PNone })
	out.Ranked = slices.Insert(out.Ranked, at, none)
	if ranked[0].ok {
		for i := range q.e.obs {
			o := &q.e.obs[i]
			out.LackOfFit = math.Max(out.LackOfFit, math.Abs(o.y-ranked[0].pred[i])/o.sigma())
		}
	}
	if out.LackOfFit > 3.5 || out.PNone > 0.5 {
		out.Warnings = append(
			out.Warnings,
			reading.Finding{Code: NoneFits, Severity: reading.Warn, Args: map[string]float64{"sigma": out.LackOfFit, "p_none": out.PNone}},
		)
	}
	if !healthy.ok {
		out.Warnings = append(out.Warnings, reading.Finding{Code: WouldTrip, Severity: reading.Info})
	}
	out.Next, out.Together, out.Advice = q.next(ranked, out.Marginals, s)
	out.Advice.Prove = prove(out.Marginals)
	out.Missing = q.missing(ranked, marg[fault.LowCharge])
}

// reserveSd is how well the receiver's reserve is known without a plate. Judgement; design paper 7.5.
const reserveSd = 0.10

// missing turns the deficit below the just-empty receiver into a share of the full charge: reserve + (1 −
// reserve)·deficit, with the reserve uncertain. Source: definition; design paper 7.5.
func (q *problem) missing(ranked []*hypothesis, p float64) *Missing {
	for _, h := range ranked {
		for j, f := range h.faults {
			if f.Code != fault.LowCharge || !h.ok {
				continue
			}
			i := plant.NumNuisances + j
			sd := math.Sqrt(math.Max(h.cov[i*h.n+i], 0))
			lo, mid, hi := h.x[i]-z95*sd, h.x[i], h.x[i]+z95*sd
			if h.refined {
				lo, mid, hi = h.sampled[j][0], h.sampled[j][1], h.sampled[j][2]
			}
			lo, mid, hi = f.Severity(lo), f.Severity(mid), f.Severity(hi)
			R := q.design.Reserve
			m := &Missing{Mid: R + (1-R)*mid, Reserve: R, Probability: p}
			wide := 0.0
			if R > 0 {
				wide = z95 * reserveSd * (1 - mid)
			}
			m.Low = math.Max(0, m.Mid-math.Hypot((1-R)*(mid-lo), wide))
			m.High = math.Min(1, m.Mid+math.Hypot((1-R)*(hi-mid), wide))
			return m
		}
	}
	return nil
}

// leaveOut is the log predictive density of reading i from the others under h, linearised at its best fit.
func (q *problem) leaveOut(h *hypothesis, i int) float64 {
	o := &q.e.obs[i]
	s2 := o.sigma() * o.sigma()
	lev := math.Min(0.95, h.variance(&h.jac[i])/s2)
	r := (o.y - h.pred[i]) / (1 - lev)
	return o.tails.log(r, math.Sqrt(s2/(1-lev)))
}

func (q *problem) items(h, healthy, against *hypothesis, bands []Expectation) []Item {
	var items []Item
	for i := range q.e.obs {
		o := &q.e.obs[i]
		it := Item{At: o.at.String(), Measured: o.measured}
		own := q.leaveOut(h, i)
		if healthy.ok && h != healthy {
			it.NatsAgainstHealthy = own - q.leaveOut(healthy, i)
		}
		if against != nil && against.ok && against != h {
			it.NatsAgainstRunner = own - q.leaveOut(against, i)
		}
		sd := math.Sqrt(h.variance(&h.jac[i]) + o.sigma()*o.sigma())
		base := 0.0
		if o.out == plant.DrierDrop && !o.drierLevel && o.at == reading.DrierOut {
			base = math.NaN()
		}
		conv := func(y float64) float64 { return o.si(q.f, q.m.AmbientPressure, q.m.RatedAmps, y) }
		if math.IsNaN(base) { // shown as the outlet temperature it would be
			inlet := o.measured + o.y
			it.IfThis = Band{inlet - (h.pred[i] + z95*sd), inlet - h.pred[i], inlet - math.Max(0, h.pred[i]-z95*sd)}
		} else {
			it.IfThis = Band{conv(h.pred[i] - z95*sd), conv(h.pred[i]), conv(h.pred[i] + z95*sd)}
		}
		for _, b := range bands {
			if b.At == o.at {
				it.IfHealthy = b.Band
			}
		}
		items = append(items, it)
	}
	word := func(key, w string, p func(h *hypothesis) float64) {
		if w == "" {
			return
		}
		it := Item{At: key, Word: w}
		own := p(h)
		it.IfThis.Mid = own
		if healthy.ok {
			it.IfHealthy.Mid = p(healthy)
			if h != healthy {
				it.NatsAgainstHealthy = math.Log(own / it.IfHealthy.Mid)
			}
		}
		if against != nil && against.ok && against != h {
			it.NatsAgainstRunner = math.Log(own / p(against))
		}
		items = append(items, it)
	}
	sn := q.e.seen
	word("glass", sn.Glass.String(), func(h *hypothesis) float64 { return pGlass(sn.Glass, h.out[plant.GlassQuality]) })
	word("condenser_dirt", sn.CondenserDirt.String(), func(h *hypothesis) float64 { return pDirt(sn.CondenserDirt, h.change.CondenserAir) })
	word("coil_ice", sn.CoilIce.String(), func(h *hypothesis) float64 { return pIce(sn.CoilIce, h.change.CoilAir) })
	if r := q.e.room; r != nil {
		it := Item{At: RoomLoad, Measured: r.share, IfHealthy: r.ifChosen, IfThis: r.ifChosen}
		if h.load {
			it.IfThis = r.ifEx
		}
		if healthy.ok && h != healthy {
			it.NatsAgainstHealthy = r.log(h) - r.log(healthy)
		}
		if against != nil && against.ok && against != h {
			it.NatsAgainstRunner = r.log(h) - r.log(against)
		}
		items = append(items, it)
	}
	sort.SliceStable(items, func(i, j int) bool {
		return math.Abs(
			items[i].NatsAgainstHealthy,
		)+math.Abs(
			items[i].NatsAgainstRunner,
		) > math.Abs(
			items[j].NatsAgainstHealthy,
		)+math.Abs(
			items[j].NatsAgainstRunner,
		)
	})
	return items
}

// expect is the prior predictive of the healthy machine at the box and ambient temperature read: what it would show
// today at every place, and as the quantities derived from them.
func (q *problem) expect(s reading.Sheet, a *circuit.Analysis) ([]Expectation, []DerivedBand) {
	h := hypothesis{n: plant.NumNuisances}
	var zero [maxParams]float64
	t, ok := q.at(&h, &zero, nil)
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
	at := map[reading.Place]ahead{}
	for _, p := range reading.Places() {
		c, ok := channels[p]
		if !ok || p == reading.DrierOut {
			continue
		}
		mid := t.r.Out[c.out]
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
			disc = math.Hypot(disc, coilOutletShare*float64(q.m.TD))
		}
		var read *observation
		for i := range q.e.obs {
			if q.e.obs[i].at == p {
				read = &q.e.obs[i]
				if read.drop {
					continue // its level is no more than what it shows
				}
				mid += read.offset
				disc, measure = read.discrepancy/q.e.inflate, read.measure
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
		one := ahead{mid: mid, own: math.Hypot(disc*q.e.inflate, measure)}
		for j := range h.n {
			one.slope[j] = h.outJ[j][c.out]
		}
		sd := one.sd()
		x := Expectation{At: p, Basis: basis}
		band := Band{mid - z95*sd, mid, mid + z95*sd}
		switch {
		case p.Kind() == reading.KindPressure:
			x.Dew = band
			x.Band = Band{q.f.DewT(band.Low), q.f.DewT(band.Mid), q.f.DewT(band.High)}
		case p == reading.Amps:
			if q.m.RatedAmps <= 0 {
				continue
			}
			x.Band = Band{band.Low * q.m.RatedAmps, band.Mid * q.m.RatedAmps, band.High * q.m.RatedAmps}
		case read != nil:
			x.Band = Band{band.Low + read.toward, band.Mid + read.toward, band.High + read.toward}
		default:
			x.Band = band
		}
		if read != nil {
			x.Read = true
			x.Off = y - mid
			x.In = y >= band.Low && y <= band.High
			one.mid += read.toward // as it reads
		}
		out, at[p] = append(out, x), one
	}
	return out, q.derived(s, a, at)
}

// ahead is what a place of the healthy machine would show, in the unit of its channel: the middle, its slope along
// each nuisance of one standard deviation, and what scatters by itself.
type ahead struct {
	mid, own float64
	slope    [maxParams]float64
}

func (x *ahead) sd() float64 {
	v := x.own * x.own
	for _, g := range x.slope {
		v += g * g
	}
	return math.Sqrt(v)
}

// less is a·x − b·y; what both share of the nuisances falls away.
func (x ahead) less(a float64, y ahead, b float64) ahead {
	out := ahead{mid: a*x.mid - b*y.mid, own: math.Hypot(a*x.own, b*y.own)}
	for j := range out.slope {
		out.slope[j] = a*x.slope[j] - b*y.slope[j]
	}
	return out
}

// derived turns what the places would show into the quantities that were derived, each from the very places it was derived from.
func (q *problem) derived(s reading.Sheet, a *circuit.Analysis, at map[reading.Place]ahead) []DerivedBand {
	var out []DerivedBand
	for _, key := range []string{circuit.Superheat, circuit.Subcooling, circuit.TD, circuit.Split, circuit.CompressionRatio} {
		d, ok := a.Find(key)
		if !ok {
			continue
		}
		var line, gauge ahead
		var given float64 // box and outside air are as read
		known := true
		var gauges []ahead
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
		var x ahead
		switch key {
		case circuit.Superheat:
			x = line.less(1, gauge, 1)
		case circuit.Subcooling:
			// The gauge's channel is dew; along saturation the bubble moves with it.
			const step = 0.5
			bubble := func(dew float64) float64 { return q.f.BubbleP(q.f.DewT(dew)) }
			k := (bubble(gauge.mid+step) - bubble(gauge.mid-step)) / (2 * step)
			x = gauge.less(k, line, 1)
			x.mid = bubble(gauge.mid) - line.mid
		case circuit.TD:
			x = ahead{mid: given}.less(1, gauge, 1)
		case circuit.Split:
			x = gauge.less(1, ahead{mid: given}, 1)
		case circuit.CompressionRatio:
			low, high := gauges[0], gauges[1]
			if low.mid > high.mid {
				low, high = high, low
			}
			// In logarithms: a ratio is never below one.
			k := func(dew float64) float64 { return q.f.DewSlope(dew) / q.f.DewT(dew) }
			x = high.less(k(high.mid), low, k(low.mid))
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
