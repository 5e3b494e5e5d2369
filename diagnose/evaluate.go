package diagnose

import (
	"context"
	"math"
	"math/rand/v2"
	"runtime"
	"sort"
	"sync"

	"coldwright/fault"
	"coldwright/plant"
	"coldwright/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Sets are the reading sets of the evaluation: a suction, discharge and glass with box and ambient; b adds coil outlet and liquid line; c adds
// discharge line and air off the coil; d adds condenser air off, drier drop, suction line, amps, dirt and ice seen.
var setPlaces = map[byte][]reading.Place{
	'a': {reading.SuctionPressure, reading.DischargePressure},
	'b': {reading.CoilOutletLine, reading.LiquidLine},
	'c': {reading.DischargeLine, reading.CoilAirOff},
	'd': {reading.CondenserAirOff, reading.DrierIn, reading.DrierOut, reading.SuctionLine, reading.Amps},
}

// Visit is a simulated visit with its truth.
type Visit struct {
	Truth    fault.Code
	Z        float64 // severity of the truth in standard normals
	Severity float64
	full     reading.Sheet
}

// Sheet returns the readings of a set.
func (v *Visit) Sheet(set byte) reading.Sheet {
	keep := map[reading.Place]bool{reading.BoxAir: true, reading.BoxDisplay: true, reading.Ambient: true}
	for s := byte('a'); s <= set; s++ {
		for _, p := range setPlaces[s] {
			keep[p] = true
		}
	}
	s := v.full
	s.Readings = nil
	for _, r := range v.full.Readings {
		if keep[r.At] {
			s.Readings = append(s.Readings, r)
		}
	}
	if set < 'd' {
		s.Seen.CondenserDirt, s.Seen.CoilIce = 0, 0
	}
	return s
}

// Simulate draws one visit with a fault (or healthy): a walk-in freezer with R-404A (60 %) or a cooler with R-134a, receiver, valve, no head control; box and
// ambient at random; design values and severity from their priors, so that half the cases are mild; structural spread the inference does not know (valve
// band 30 %, line loss 40 %, lift 60 %, NTU 10 %, clearance, shell loss); measuring noise and discrepancy as assumed.
//
//   - in: a seeded generator; the fits of R-404A and R-134a; the truth
//   - out: the visit; false when this machine would trip
//   - source: design paper section 7; our own model with a different structure, not field data
func Simulate(rng *rand.Rand, f404, f134 *refrigerant.Fit, truth *fault.Fault) (Visit, bool) {
	v := Visit{Truth: fault.Healthy}
	yes, one := true, 1.0
	mc := reading.Machine{Refrigerant: "R-134a", Application: reading.WalkInCooler, Expansion: reading.Valve, Receiver: &yes, RatedAmps: &one}
	f, boxF := f134, 36.0
	if rng.Float64() < 0.6 {
		mc.Refrigerant, mc.Application = "R-404A", reading.WalkInFreezer
		f, boxF = f404, -5
	}
	m, _ := mc.Resolve()
	d := plant.FromMachine(m)
	in := plant.Inputs{BoxT: float64(units.Fahrenheit(boxF + 10*rng.Float64())), AmbientT: float64(units.Fahrenheit(60 + 40*rng.Float64()))}
	measured := in
	for i, n := range plant.Nuisances() {
		plant.Shift(&d, &in, i, n.Sd*rng.NormFloat64())
	}
	spread := func(x *float64, sd float64) { *x *= math.Exp(sd * rng.NormFloat64()) }
	spread(&d.Band, 0.3)
	spread(&d.LiquidDrop, 0.4)
	spread(&d.Lift, 0.6)
	spread(&d.NTUe, 0.1)
	spread(&d.NTUc, 0.1)
	spread(&d.Clearance, 0.2)
	spread(&d.ShellLoss, 0.3)
	var ch plant.Change
	var suction, head, box float64
	if truth != nil {
		v.Truth, v.Z = truth.Code, rng.NormFloat64()
		v.Severity = truth.Severity(v.Z)
		ch = fault.Apply(ch, truth.Code, v.Severity)
		switch truth.Code {
		case fault.SuctionGauge:
			suction = v.Severity
		case fault.DischargeGauge:
			head = v.Severity
		case fault.BoxThermometer:
			box = v.Severity
		}
	}
	p, err := plant.New(d, f)
	if err != nil {
		return v, false
	}
	r := p.Solve(in, ch, plant.Options{})
	if !r.Status.OK() || r.Trip != plant.TripNone {
		return v, false
	}
	s := reading.Sheet{Machine: mc}
	s.Readings = append(s.Readings, reading.Reading{At: reading.BoxAir, Value: measured.BoxT + box}, reading.Reading{At: reading.Ambient, Value: measured.AmbientT})
	if v.Truth == fault.BoxThermometer {
		s.Readings[0].At = reading.BoxDisplay // the lying thermometer is the box's own, and the only one read
	}
	put := func(at reading.Place, y, disc float64) {
		u := reading.InstrumentUnknown.U(at)
		switch at.Kind() {
		case reading.KindPressure:
			pr := f.DewT(y + disc*rng.NormFloat64())
			s.Readings = append(s.Readings, reading.Reading{At: at, Value: pr + u*rng.NormFloat64()})
		case reading.KindCurrent:
			s.Readings = append(s.Readings, reading.Reading{At: at, Value: math.Max(0.1, y+disc*rng.NormFloat64()+u*y*rng.NormFloat64())})
		default:
			s.Readings = append(s.Readings, reading.Reading{At: at, Value: y + disc*rng.NormFloat64() + u*rng.NormFloat64()})
		}
	}
	for _, set := range []byte("abcd") {
		for _, at := range setPlaces[set] {
			c := channels[at]
			switch at {
			case reading.DrierIn:
				liquid := r.Out[plant.LiquidLineT] + 0.7*rng.NormFloat64()
				s.Readings = append(s.Readings, reading.Reading{At: at, Value: liquid},
					reading.Reading{At: reading.DrierOut, Value: liquid - r.Out[plant.DrierDrop] - math.Hypot(0.5, c.discrepancy)*rng.NormFloat64()})
			case reading.DrierOut:
			default:
				put(at, r.Out[c.out], c.discrepancy)
			}
		}
	}
	for i := range s.Readings {
		switch s.Readings[i].At {
		case reading.SuctionPressure:
			s.Readings[i].Value += suction
		case reading.DischargePressure:
			s.Readings[i].Value += head
		}
		if s.Readings[i].At.Kind() == reading.KindPressure && s.Readings[i].Value < 10e3 {
			return v, false
		}
	}
	draw := func(p ...float64) int {
		x := rng.Float64()
		for i, q := range p {
			if x -= q; x < 0 {
				return i + 1
			}
		}
		return len(p)
	}
	g := r.Out[plant.GlassQuality]
	s.Seen.Glass = reading.Glass(draw(pGlass(1, g), pGlass(2, g), pGlass(3, g)))
	s.Seen.CondenserDirt = reading.Level(draw(pDirt(1, ch.CondenserAir), pDirt(2, ch.CondenserAir), pDirt(3, ch.CondenserAir)))
	s.Seen.CoilIce = reading.Level(draw(pIce(1, ch.CoilAir), pIce(2, ch.CoilAir), pIce(3, ch.CoilAir)))
	v.full = s
	return v, true
}

// Score is the result of one reading set.
type Score struct {
	Set                   byte
	N, Physical           int
	First, FirstTwo       float64 // physical faults of above-median severity
	FirstAll, FirstTwoAll float64 // physical faults of any severity
	FalseAlarm            float64 // healthy visits with P(healthy) < 0.1
	Detected              float64 // above-median physical faults with P(healthy) < 0.1
	Confusion             map[fault.Code]map[fault.Code]int
	Bins                  []Bin
	CalibrationError      float64
	SureShare, SureRight  float64 // answers above 0.9, reweighted to base rates
	Coverage              float64 // 90 % severity intervals that hold the truth, given the true cause
	Next                  map[string]int
}

// Bin is one bin of the calibration.
type Bin struct {
	Stated, Observed float64
	N                int
}

// instrumentFault is not a fault of the circuit.
func instrumentFault(c fault.Code) bool {
	return c == fault.BoxThermometer || c == fault.SuctionGauge || c == fault.DischargeGauge
}

// merged joins what no circuit reading can tell apart: a restriction after the glass and an underfeeding valve.
func merged(c fault.Code) fault.Code {
	if c == fault.RestrictionAfterGlass {
		return fault.ValveUnderfeeding
	}
	return c
}

// Truths lists the faults the evaluation simulates.
func Truths() []fault.Code {
	return []fault.Code{
		fault.LowCharge, fault.OverCharge, fault.CondenserAir, fault.CondenserRecirculation, fault.CoilAir, fault.RestrictionBeforeGlass, fault.ValveUnderfeeding,
		fault.ValveOverfeeding, fault.CompressorValves, fault.Noncondensables, fault.SuctionRestriction, fault.BoxThermometer, fault.SuctionGauge, fault.DischargeGauge,
	}
}

// Visits simulates perFault visits of each fault of Truths after three times as many healthy ones.
//
//   - in: seed; visits per fault; the catalogue the severities come from
//   - out: the visits, always the same for a seed; the fits of R-404A and R-134a
//   - errors: a refrigerant cannot be loaded
//   - source: Simulate
//   - cost: 0.1 ms a visit
func Visits(seed uint64, perFault int, cat fault.Catalogue) (visits []Visit, f404, f134 *refrigerant.Fit, err error) {
	get := func(name string) (*refrigerant.Fit, error) {
		r, err := refrigerant.Load(name)
		if err != nil {
			return nil, err
		}
		return r.Fit()
	}
	if f404, err = get("R-404A"); err != nil {
		return nil, nil, nil, err
	}
	if f134, err = get("R-134a"); err != nil {
		return nil, nil, nil, err
	}
	rng := rand.New(rand.NewPCG(seed, 1))
	draw := func(n int, row *fault.Fault) {
		for k := 0; k < n; {
			if v, ok := Simulate(rng, f404, f134, row); ok {
				visits = append(visits, v)
				k++
			}
		}
	}
	draw(3*perFault, nil)
	for _, c := range Truths() {
		row, _ := cat.Find(c)
		draw(perFault, row)
	}
	return visits, f404, f134, nil
}

// Evaluate simulates seeded visits (perFault of each fault, three times as many healthy) and scores every reading set.
//
//   - in: seed; visits per fault; options of the diagnosis
//   - out: a score per set
//   - errors: the catalogue or a refrigerant cannot be loaded
//   - source: design paper section 7
//   - cost: about 40 ms per visit and set without pairs, on all cores
func Evaluate(ctx context.Context, seed uint64, perFault int, sets string, o Options) ([]Score, error) {
	cat, err := fault.Shipped()
	if err != nil {
		return nil, err
	}
	if o.Catalogue != nil {
		cat = *o.Catalogue
	}
	visits, f404, f134, err := Visits(seed, perFault, cat)
	if err != nil {
		return nil, err
	}
	var out []Score
	for i := range len(sets) {
		sc, err := evaluateSet(ctx, sets[i], visits, perFault, &cat, f404, f134, o)
		if err != nil {
			return nil, err
		}
		out = append(out, sc)
	}
	return out, nil
}

func evaluateSet(ctx context.Context, set byte, visits []Visit, perFault int, cat *fault.Catalogue, f404, f134 *refrigerant.Fit, o Options) (Score, error) {
	sc := Score{Set: set, N: len(visits), Confusion: map[fault.Code]map[fault.Code]int{}, Next: map[string]int{}}
	answers := make([]Posterior, len(visits))
	errs := make([]error, len(visits))
	jobs := make(chan int)
	var wg sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range jobs {
				v := &visits[i]
				f := f134
				if v.full.Machine.Refrigerant == "R-404A" {
					f = f404
				}
				answers[i], errs[i] = Run(ctx, Evidence{v.Sheet(set), f}, o)
			}
		})
	}
	for i := range visits {
		jobs <- i
	}
	close(jobs)
	wg.Wait()
	type pair struct {
		stated, weight float64
		hit            bool
	}
	var cal []pair
	var first, two, n, firstAll, twoAll, nAll, alarm, nOK, det float64
	var sure, sureRight, weightAll, cover, nCover float64
	rateSum := 0.0
	for _, c := range Truths() {
		r, _ := cat.Find(c)
		rateSum += r.BaseRate
	}
	for i := range visits {
		if errs[i] != nil {
			return sc, errs[i]
		}
		v, p := &visits[i], &answers[i]
		// Probability per cause, the inseparable joined; ranked.
		probs := map[fault.Code]float64{}
		for _, h := range p.Ranked {
			if len(h.Faults) == 1 {
				probs[merged(h.Faults[0])] += h.Probability
			}
		}
		var order []fault.Code
		for c := range probs {
			order = append(order, c)
		}
		sort.Slice(order, func(a, b int) bool {
			if probs[order[a]] != probs[order[b]] {
				return probs[order[a]] > probs[order[b]]
			}
			return order[a] < order[b]
		})
		truth := merged(v.Truth)
		if sc.Confusion[truth] == nil {
			sc.Confusion[truth] = map[fault.Code]int{}
		}
		sc.Confusion[truth][order[0]]++
		if len(p.Next) > 0 {
			sc.Next[p.Next[0].At]++
		}
		hit1 := order[0] == truth
		hit2 := hit1 || len(order) > 1 && order[1] == truth
		one := func(b bool) float64 {
			if b {
				return 1
			}
			return 0
		}
		weight := cat.HealthyRate / float64(3*perFault)
		if v.Truth != fault.Healthy {
			row, _ := cat.Find(v.Truth)
			weight = (1 - cat.HealthyRate) * row.BaseRate / rateSum / float64(perFault)
		}
		switch {
		case v.Truth == fault.Healthy:
			nOK++
			alarm += one(p.PHealthy < 0.1)
		case !instrumentFault(v.Truth):
			nAll++
			firstAll += one(hit1)
			twoAll += one(hit2)
			if v.Z > 0 {
				n++
				first += one(hit1)
				two += one(hit2)
				det += one(p.PHealthy < 0.1)
			}
		}
		for c, q := range probs {
			if c != fault.NoneOfThese && c != fault.ExcessLoad && c != fault.CompositionShift && c != fault.WrongRefrigerant {
				cal = append(cal, pair{q, weight, c == truth})
			}
		}
		weightAll += weight
		if probs[order[0]] > 0.9 {
			sure += weight
			sureRight += weight * one(hit1)
		}
		for _, h := range p.Ranked {
			if len(h.Faults) == 1 && h.Faults[0] == v.Truth && len(h.Severity) == 1 {
				nCover++
				cover += one(v.Severity >= h.Severity[0].Low && v.Severity <= h.Severity[0].High)
			}
		}
	}
	sc.Physical = int(n)
	sc.First, sc.FirstTwo, sc.FirstAll, sc.FirstTwoAll = first/n, two/n, firstAll/nAll, twoAll/nAll
	sc.FalseAlarm, sc.Detected = alarm/nOK, det/n
	sc.SureShare = sure / weightAll
	if sure > 0 {
		sc.SureRight = sureRight / sure
	}
	if nCover > 0 {
		sc.Coverage = cover / nCover
	}
	edges := []float64{0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0000001}
	mass := 0.0
	for b := range len(edges) - 1 {
		var s, hit, w float64
		k := 0
		for _, c := range cal {
			if c.stated >= edges[b] && c.stated < edges[b+1] {
				s += c.stated * c.weight
				w += c.weight
				k++
				if c.hit {
					hit += c.weight
				}
			}
		}
		if k > 0 {
			sc.Bins = append(sc.Bins, Bin{s / w, hit / w, k})
			if edges[b] >= 0.1 { // the many near zero would flatter
				sc.CalibrationError += w * math.Abs(s/w-hit/w)
				mass += w
			}
		}
	}
	if mass > 0 {
		sc.CalibrationError /= mass
	}
	return sc, nil
}
