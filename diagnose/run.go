package diagnose

import (
	"context"
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
	"coldwright/proof/pulldown"
	"coldwright/refrigerant"
	"coldwright/verdict/threshold"
)

// Evidence is what a judgement starts from: the sheet and the fit of its refrigerant.
type Evidence struct {
	Sheet reading.Sheet
	Fit   *refrigerant.Fit
}

// Options tune a run; the zero value is the documented default.
type Options struct {
	NoPairs   bool
	Misfit    bool             // where nothing fits, say which reading cannot belong: up to a few dozen runs more
	Catalogue *fault.Catalogue // nil: the shipped one
	// What the pull-down of the same end of the visit says; nil: none, or it says nothing.
	Pull *pulldown.Message
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
	if len(s.Readings) < threshold.EnoughToJudge {
		return out, fail.Of(fail.Required, "readings", "judge.few", nil)
	}
	m, assumed := s.Machine.Resolve()
	out.Assumed = assumed
	out.Warnings = s.Check()
	out.Analysis = circuit.Analyze(s, f)
	out.Warnings = append(out.Warnings, out.Analysis.Findings...)
	for _, w := range out.Warnings {
		if w.Severity == reading.Block && w.Code == reading.SuctionAbove {
			return out, fail.Of(fail.BadData, "readings", "judge.swapped", nil)
		}
	}
	if v := s.RunningMin; v != nil && *v < tooEarly {
		return out, fail.Of(fail.BadData, "running_min", "judge.too_early", fail.Args{"minutes": *v, "least": float64(tooEarly)})
	}
	if v := s.SinceDefrostMin; v != nil && *v < tooEarly {
		return out, fail.Of(fail.BadData, "since_defrost_min", "judge.after_defrost", fail.Args{"minutes": *v, "least": float64(tooEarly)})
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
	q.e.curve = q.curveOf(o.Pull)
	all, err := q.weigh(ctx, o)
	if err != nil {
		return out, err
	}
	if q.unsaid != "" {
		out.Assumed = q.assumed()
	}
	out.warn(q, f)
	out.Used = q.used()
	out.Machines, out.Pull = q.now, o.Pull
	healthy := all[0]
	out.PNone, out.PHealthy = q.pNone, healthy.posterior
	for _, h := range all {
		out.Solves += h.solves
	}
	q.report(&out, all, healthy, s)
	if o.Misfit && out.nothingFits() {
		if out.Misfit, err = misfit(ctx, s, f, cat, out.Used); err != nil {
			return out, err
		}
	}
	return out, nil
}

// nothingFits reports whether none of these is the first answer, so that no cause is named.
func (p *Posterior) nothingFits() bool {
	first := 0.0
	if len(p.Marginals) > 0 {
		first = p.Marginals[0].Probability
	}
	return threshold.NoneIsFirst(p.PNone, p.PHealthy, first)
}

// singles are the faults of the catalogue that this machine can have, one at a time.
func (q *problem) singles() []*hypothesis {
	glide := q.f.DewP(q.f.BubbleT(280)) - 280
	scale := (1 - q.healthyRate() - q.cat.NoneRate)
	total := 0.0
	for i := range q.cat.Faults {
		total += q.cat.Faults[i].BaseRate
	}
	var out []*hypothesis
	for i := range q.cat.Faults {
		r := &q.cat.Faults[i]
		if r.Code.Applies(q.m, glide) {
			out = append(out, &hypothesis{
				faults: []*fault.Fault{r},
				n:      plant.NumNuisances + 1,
				rate:   scale * r.BaseRate / total * q.weight,
				of:     q,
				load:   r.Code == fault.ExcessLoad,
			})
		}
	}
	return out
}

// fitSingles finds the best fit of each single fault, and looks again from elsewhere at the likely ones: a shortage has
// one explanation above the just-empty receiver and one below.
func (q *problem) fitSingles(ctx context.Context, singles []*hypothesis, healthy *hypothesis) error {
	inParallel(ctx, len(singles), func(i int) {
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
	byScore := slices.Clone(singles)
	sort.SliceStable(byScore, func(i, j int) bool { return score(byScore[i]) > score(byScore[j]) })
	inParallel(ctx, len(byScore), func(i int) {
		h := byScore[i]
		if i < lookAgain || score(h) > best-hopeless {
			q.finishClimb(h)
		}
		if i < lookAgain && h.ok {
			q.tryOtherStarts(h)
		}
	})
	return ctx.Err()
}

// share gives every hypothesis its part of one, by evidence and base rate; none is the log weight of none of these.
func (q *problem) share(all []*hypothesis, none float64) {
	best := none
	for _, h := range all {
		best = math.Max(best, score(h))
	}
	sum := math.Exp(none - best)
	for _, h := range all {
		if h.ok {
			h.posterior = math.Exp(score(h) - best)
			sum += h.posterior
		}
	}
	for _, h := range all {
		h.posterior /= sum
	}
	q.pNone = math.Exp(none-best) / sum
}

func (out *Posterior) warn(q *problem, f *refrigerant.Fit) {
	add := func(code string, sev reading.Severity, args map[string]float64) {
		out.Warnings = append(out.Warnings, reading.Finding{Code: code, Severity: sev, Args: args})
	}
	out.Warnings = append(q.sights(), out.Warnings...)
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
	for _, u := range q.unsure {
		if u.decides <= hangsOn {
			continue
		}
		switch u.field {
		case fieldHeadControl:
			add(HeadControlNotSaid, reading.Warn, map[string]float64{"p": u.p})
		case fieldReceiver:
			add(ReceiverNotSaid, reading.Warn, map[string]float64{"p": u.p})
		case fieldExpansion:
			add(ExpansionNotSaid, reading.Warn, map[string]float64{"p": u.p})
		}
	}
	for _, at := range []reading.Place{reading.BoxWetBulb, reading.BoxHumidity} {
		if r, read := q.sheet.Find(at); read {
			_, says := q.e.moist(r, float64(q.m.AmbientPressure))
			if !q.wets() || !says {
				x := reading.Finding{Code: NotCompared, Severity: reading.Info, At: []string{at.String()}}
				switch { // which of them it is, for the sentence
				case !q.e.boxRead:
					x.Args = map[string]float64{"box_missing": 1}
				case q.design.Humidity <= 0:
					x.Args = map[string]float64{"coil_dry": 1}
				}
				out.Warnings = append(out.Warnings, x)
			}
		}
	}
	if q.e.humidApart > threshold.FarOff {
		out.Warnings = append(out.Warnings, reading.Finding{
			Code: HumidityDisagrees, Severity: reading.Warn, At: []string{reading.BoxWetBulb.String(), reading.BoxHumidity.String()},
		})
	}
	for _, at := range []reading.Place{reading.Amps, reading.Power, reading.HeaterAmps} {
		_, known := q.channel(at)
		if _, read := q.sheet.Find(at); read && (!known || at != reading.HeaterAmps && q.full(at) <= 0) {
			out.Warnings = append(out.Warnings, reading.Finding{Code: NotCompared, Severity: reading.Info, At: []string{at.String()}})
		}
	}
}

// inParallel calls f for 0 … n−1 on all cores, in no order; nothing depends on it.
func inParallel(ctx context.Context, n int, f func(int)) {
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

const z95 = num.Normal90 // 5 to 95 %

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
		if p := q.excessBeside(h); p > 0 {
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
				switch {
				case h.load && h.loadZ != nil:
					lo, mid, hi = h.loadZ[0], h.loadZ[1], h.loadZ[2]
				case h.load && q.e.room != nil:
					lo, mid, hi = q.e.room.z[0], q.e.room.z[1], q.e.room.z[2]
				}
				r.Severity = append(r.Severity, Severity{f.Code, f.Severity(lo), f.Severity(mid), f.Severity(hi), f.Unit})
			}
			against := runner
			if h == runner {
				against = ranked[0]
			}
			r.Evidence = q.evidenceFor(h, healthy, against, bands)
			for i := range q.e.obs {
				o := &q.e.obs[i]
				r.WorstSigma = math.Max(r.WorstSigma, math.Abs(o.residual(h.pred[i]))/o.sigma())
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
			out.LackOfFit = math.Max(out.LackOfFit, math.Abs(o.residual(ranked[0].pred[i]))/o.sigma())
		}
	}
	if out.LackOfFit > threshold.FarOff || out.nothingFits() {
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
