package diagnose

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sort"
	"sync"

	"coldwright/machine/fault"
)

// Score is what a set of simulated visits says about the answers to them.
type Score struct {
	View                   View
	N, Physical            int
	First, FirstTwo        float64 // physical faults of above-median severity
	FirstAll, FirstTwoAll  float64 // physical faults of any severity
	FirstLying             float64 // large instrument errors
	FalseAlarm             float64 // healthy visits with P(healthy) < 0.1
	Detected               float64 // above-median physical faults with P(healthy) < 0.1
	Confusion              map[fault.Code]map[fault.Code]int
	Bins                   []Bin
	CalibrationError       float64 // mean distance of stated and observed over the bins from 0.1 up, by weight
	CalibrationErrorAll    float64 // the same with the many probabilities below 0.1
	SureN                  int     // answers above 0.9
	SureShare, SureRight   float64 // reweighted to base rates
	Coverage               float64 // 90 % severity intervals that hold the truth, given the true cause
	LogTruth               float64 // mean log of the probability given to the truth, reweighted to base rates, nats
	SolvesMean, SolvesMost float64 // steady states computed for one answer
	Next                   map[string]int
}

// Bin is one bin of the calibration.
type Bin struct {
	Stated, Observed float64
	N                int
}

// merged joins what no circuit reading can tell apart: a restriction after the glass and an underfeeding valve.
func merged(c fault.Code) fault.Code {
	if c == fault.RestrictionAfterGlass {
		return fault.ValveUnderfeeding
	}
	return c
}

// Truths lists the faults simulated on a kind of machine. Of causes no circuit reading can tell apart one stands for both.
func Truths(k Kind) []fault.Code {
	out := []fault.Code{
		fault.LowCharge,
		fault.OverCharge,
		fault.CondenserAir,
		fault.CondenserRecirculation,
		fault.CoilAir,
		fault.RestrictionBeforeGlass,
		fault.ValveUnderfeeding,
		fault.ValveOverfeeding,
		fault.CompressorValves,
		fault.Noncondensables,
		fault.SuctionRestriction,
		fault.BoxThermometer,
		fault.SuctionGauge,
		fault.DischargeGauge,
		fault.ExcessLoad,
		fault.WrongRefrigerant,
	}
	switch k {
	case FloodedHead, CycledFan:
		out = append(out, fault.HeadControlLow, fault.HeadControlHigh)
	case GlidingBlend:
		out = append(out, fault.CompositionShift)
	}
	return out
}

// BaseRate is the share of all visits that have a cause, by the catalogue, among the causes simulated; inseparable ones together.
//
//   - in: catalogue; kind of machine; a cause of Truths, or healthy
//   - out: share of visits, 0 for a cause the catalogue lacks
//   - source: definition
func BaseRate(cat *fault.Catalogue, k Kind, c fault.Code) float64 {
	of := func(c fault.Code) float64 {
		if row, ok := cat.Find(c); ok {
			return row.BaseRate
		}
		return 0
	}
	if c == fault.Healthy {
		return cat.HealthyRate
	}
	sum := of(fault.RestrictionAfterGlass)
	for _, t := range Truths(k) {
		sum += of(t)
	}
	r := of(c)
	if c == fault.ValveUnderfeeding {
		r += of(fault.RestrictionAfterGlass)
	}
	return (1 - cat.HealthyRate) * r / sum
}

// Visits simulates perFault visits of each cause of Truths after three times as many healthy ones. Each visit has its
// own generator, so that worlds of the same kind share machines, weather and noise, and a larger count begins with
// the smaller one's visits of each cause.
//
//   - in: seed; visits per cause; the catalogue the severities come from
//   - out: the visits, always the same for a seed; causes the catalogue lacks are left out
//   - errors: a refrigerant cannot be loaded
//   - source: Simulate
//   - cost: 0.2 ms a visit
func (w World) Visits(seed uint64, perFault int, cat *fault.Catalogue, fits *Fits) ([]Visit, error) {
	var out []Visit
	draw := func(n int, code fault.Code, row *fault.Fault) error {
		for k := range n {
			for try := uint64(0); ; try++ {
				rng := rand.New(rand.NewPCG(seed, uint64(code)<<40|uint64(k)<<8|try))
				var causes []Cause
				if row != nil {
					causes = []Cause{Draw(rng, row)}
				}
				v, ok, err := w.Simulate(rng, fits, causes...)
				if err != nil {
					return err
				}
				if ok {
					out = append(out, v)
					break
				}
			}
		}
		return nil
	}
	if err := draw(3*perFault, fault.Healthy, nil); err != nil {
		return nil, err
	}
	for _, c := range Truths(w.Kind) {
		if row, ok := cat.Find(c); ok {
			if err := draw(perFault, c, row); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// Judge answers simulated visits as seen in a view.
//
//   - in: visits; what is seen of them; options of the diagnosis
//   - out: an answer per visit
//   - errors: those of Run
//   - source: Run
//   - cost: as Run, on all cores
func Judge(ctx context.Context, visits []Visit, see View, o Options) ([]Posterior, error) {
	answers := make([]Posterior, len(visits))
	errs := make([]error, len(visits))
	jobs := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range jobs {
				v := &visits[i]
				answers[i], errs[i] = Run(ctx, Evidence{v.Sheet(see), v.Fit}, o)
			}
		})
	}
	for i := range visits {
		jobs <- i
	}
	close(jobs)
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return answers, nil
}

// ranked lists causes by the probability that they are there, alone or with another; the inseparable joined, healthy
// and none of these among them.
func ranked(p *Posterior) (order []fault.Code, probs map[fault.Code]float64) {
	probs = map[fault.Code]float64{fault.Healthy: p.PHealthy, fault.NoneOfThese: p.PNone}
	for _, m := range p.Marginals {
		probs[merged(m.Fault)] += m.Probability
	}
	for c := range probs {
		order = append(order, c)
	}
	sort.Slice(order, func(a, b int) bool {
		if probs[order[a]] != probs[order[b]] {
			return probs[order[a]] > probs[order[b]]
		}
		return order[a] < order[b]
	})
	return order, probs
}

func indicator(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

// share divides, zero of nothing being zero.
func share(part, whole float64) float64 {
	if whole == 0 {
		return 0
	}
	return part / whole
}

// Rate scores the answers to visits with at most one cause each. Shares over many causes count every cause equally;
// calibration, sure answers and the log score weight visits so that causes have their base rates.
//
//   - in: the kind of machine; what was seen; visits and their answers; the catalogue of the base rates
//   - out: the score
//   - source: definitions; calibration error over ten equal bins
func Rate(k Kind, see View, visits []Visit, answers []Posterior, cat *fault.Catalogue) Score {
	sc := Score{View: see, N: len(visits), Confusion: map[fault.Code]map[fault.Code]int{}, Next: map[string]int{}}
	type pair struct {
		stated, weight float64
		hit            bool
	}
	var cal []pair
	var first, two, n, firstAll, twoAll, nAll, alarm, nOK, det, firstLying, nLying float64
	var sure, sureRight, weightAll, logTruth, cover, nCover float64
	count := map[fault.Code]float64{}
	for i := range visits {
		count[visits[i].Truth()]++
	}
	for i := range visits {
		v, p := &visits[i], &answers[i]
		order, probs := ranked(p)
		code := v.Truth()
		truth := merged(code)
		if sc.Confusion[truth] == nil {
			sc.Confusion[truth] = map[fault.Code]int{}
		}
		sc.Confusion[truth][order[0]]++
		if len(p.Next) > 0 {
			sc.Next[p.Next[0].At]++
		}
		sc.SolvesMean += float64(p.Solves) / float64(len(visits))
		sc.SolvesMost = math.Max(sc.SolvesMost, float64(p.Solves))
		hit1, hit2 := order[0] == truth, slices.Contains(order[:2], truth)
		weight := BaseRate(cat, k, code) / count[code]
		switch {
		case code == fault.Healthy:
			nOK++
			alarm += indicator(p.PHealthy < 0.1)
		case code.Circuit():
			nAll++
			firstAll += indicator(hit1)
			twoAll += indicator(hit2)
			if v.Severe() {
				n++
				first += indicator(hit1)
				two += indicator(hit2)
				det += indicator(p.PHealthy < 0.1)
			}
		case lying(code) && v.Severe():
			nLying++
			firstLying += indicator(hit1)
		}
		for c, q := range probs {
			if c != fault.NoneOfThese {
				cal = append(cal, pair{q, weight, c == truth})
			}
		}
		weightAll += weight
		logTruth += weight * math.Log(math.Max(probs[truth], 1e-6))
		if probs[order[0]] > 0.9 {
			sc.SureN++
			sure += weight
			sureRight += weight * indicator(hit1)
		}
		for _, h := range p.Ranked {
			if len(h.Faults) == 1 && h.Faults[0] == code && len(h.Severity) == 1 && code != fault.ExcessLoad {
				nCover++
				s := v.Causes[0].Severity
				cover += indicator(s >= h.Severity[0].Low && s <= h.Severity[0].High)
			}
		}
	}
	sc.Physical = int(n)
	sc.First, sc.FirstTwo, sc.FirstAll, sc.FirstTwoAll = share(first, n), share(two, n), share(firstAll, nAll), share(twoAll, nAll)
	sc.FirstLying = share(firstLying, nLying)
	sc.FalseAlarm, sc.Detected = share(alarm, nOK), share(det, n)
	sc.SureShare, sc.SureRight = share(sure, weightAll), share(sureRight, sure)
	sc.Coverage, sc.LogTruth = share(cover, nCover), share(logTruth, weightAll)
	// Ordered, so that sums do not depend on the order of maps.
	sort.SliceStable(cal, func(a, b int) bool {
		x, y := cal[a], cal[b]
		return x.stated < y.stated || x.stated == y.stated && (x.weight < y.weight || x.weight == y.weight && !x.hit && y.hit)
	})
	var mass, massAll float64
	k0 := 0
	for b := 1; b <= 10; b++ {
		var s, hit, w float64
		k1 := k0
		for ; k1 < len(cal) && (cal[k1].stated < float64(b)/10 || b == 10); k1++ {
			s += cal[k1].stated * cal[k1].weight
			w += cal[k1].weight
			hit += cal[k1].weight * indicator(cal[k1].hit)
		}
		if k1 > k0 {
			sc.Bins = append(sc.Bins, Bin{s / w, hit / w, k1 - k0})
			off := math.Abs(s - hit)
			sc.CalibrationErrorAll += off
			massAll += w
			if b > 1 { // the many near zero would flatter
				sc.CalibrationError += off
				mass += w
			}
		}
		k0 = k1
	}
	sc.CalibrationError, sc.CalibrationErrorAll = share(sc.CalibrationError, mass), share(sc.CalibrationErrorAll, massAll)
	return sc
}

// Evaluate simulates seeded visits to walk-ins with structural spread and scores reading sets on them, without a visit on file.
//
//   - in: seed; visits per fault; the sets as letters; options of the diagnosis
//   - out: a score per set
//   - errors: the catalogue or a refrigerant cannot be loaded
//   - source: design paper section 7
//   - cost: about 60 ms per visit and set on two cores without pairs
func Evaluate(ctx context.Context, seed uint64, perFault int, sets string, o Options) ([]Score, error) {
	if o.Catalogue == nil {
		cat, err := fault.Shipped()
		if err != nil {
			return nil, err
		}
		o.Catalogue = &cat
	}
	w := World{WalkIn, Spread}
	var fits Fits
	visits, err := w.Visits(seed, perFault, o.Catalogue, &fits)
	if err != nil {
		return nil, err
	}
	var out []Score
	for i := range len(sets) {
		see := View{Set: sets[i]}
		answers, err := Judge(ctx, visits, see, o)
		if err != nil {
			return nil, err
		}
		out = append(out, Rate(w.Kind, see, visits, answers, o.Catalogue))
	}
	return out, nil
}

// PairScore is how two faults at once are found.
type PairScore struct {
	A, B      fault.Code
	N         int
	Exact     float64 // this very pair first of everything tried
	TopThree  float64 // this pair among the first three
	Both      float64 // the two highest marginals are these two
	Either    float64 // the highest marginal is one of them
	Marginals [2]float64
}

// RatePairs scores answers to visits that all have the same two causes.
//
//   - in: visits and their answers
//   - out: the score
//   - source: design paper 7.2
func RatePairs(visits []Visit, answers []Posterior) PairScore {
	a, b := merged(visits[0].Causes[0].Code), merged(visits[0].Causes[1].Code)
	sc := PairScore{A: a, B: b, N: len(visits)}
	each := 1 / float64(len(visits))
	for i := range answers {
		at := slices.IndexFunc(answers[i].Ranked, func(h Hypothesis) bool {
			return len(h.Faults) == 2 &&
				(merged(h.Faults[0]) == a && merged(h.Faults[1]) == b || merged(h.Faults[0]) == b && merged(h.Faults[1]) == a)
		})
		order, probs := ranked(&answers[i])
		order = slices.DeleteFunc(order, func(c fault.Code) bool { return c == fault.Healthy })
		sc.Exact += each * indicator(at == 0)
		sc.TopThree += each * indicator(at >= 0 && at < 3)
		sc.Both += each * indicator(slices.Contains(order[:2], a) && slices.Contains(order[:2], b))
		sc.Either += each * indicator(order[0] == a || order[0] == b)
		sc.Marginals[0] += each * probs[a]
		sc.Marginals[1] += each * probs[b]
	}
	return sc
}

// VisitsOf simulates n visits with all of these causes at once, each severity at least least standard normals (in
// either direction for instruments).
//
//   - in: seed; number; rows of the catalogue; least
//   - out: the visits, always the same for a seed
//   - errors: a refrigerant cannot be loaded
//   - source: Simulate
//   - cost: 0.2 ms a visit
func (w World) VisitsOf(seed uint64, n int, fits *Fits, least float64, rows ...*fault.Fault) ([]Visit, error) {
	var out []Visit
	stream := uint64(1) << 60
	for _, r := range rows {
		stream += uint64(r.Code) << 40
		stream = stream<<1 | stream>>63
	}
	for try := uint64(0); len(out) < n; try++ {
		rng := rand.New(rand.NewPCG(seed, stream+try))
		var causes []Cause
		for _, r := range rows {
			c := Draw(rng, r)
			for c.Z < least && !(lying(r.Code) && -c.Z >= least) {
				c = Draw(rng, r)
			}
			causes = append(causes, c)
		}
		v, ok, err := w.Simulate(rng, fits, causes...)
		if err != nil {
			return nil, err
		}
		if ok {
			out = append(out, v)
		}
	}
	return out, nil
}

// InstrumentScore is how a lying instrument is found, alone or beside a fault of the circuit.
type InstrumentScore struct {
	N               int
	First, FirstTwo float64
	CircuitFirst    float64 // the true fault of the circuit has the highest probability of all faults of the circuit
	Misled          float64 // a fault of the circuit that is not there has more than one half
	Probability     float64 // mean, of the instrument
}

// RateInstrument scores answers to visits whose first cause is a lying instrument and whose second, if any, is a fault of the circuit.
//
//   - in: visits and their answers
//   - out: the score
//   - source: definition
func RateInstrument(visits []Visit, answers []Posterior) InstrumentScore {
	sc := InstrumentScore{N: len(visits)}
	each := 1 / float64(len(visits))
	for i := range visits {
		order, probs := ranked(&answers[i])
		causes := visits[i].Causes
		instrument, circuit := causes[0].Code, fault.Unknown
		if len(causes) > 1 {
			circuit = merged(causes[1].Code)
		}
		top := slices.IndexFunc(order, func(c fault.Code) bool { return c.Circuit() })
		misled := slices.ContainsFunc(order, func(c fault.Code) bool { return c.Circuit() && c != circuit && probs[c] > 0.5 })
		sc.First += each * indicator(order[0] == instrument)
		sc.FirstTwo += each * indicator(slices.Contains(order[:2], instrument))
		sc.CircuitFirst += each * indicator(top >= 0 && order[top] == circuit)
		sc.Misled += each * indicator(misled)
		sc.Probability += each * probs[instrument]
	}
	return sc
}
