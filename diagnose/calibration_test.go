package diagnose

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// student draws from the t distribution of a residual, standard deviation one.
func student(rng *rand.Rand, t *tails) float64 {
	g := 0.0
	for range int(t.nu) {
		v := rng.NormFloat64()
		g += v * v
	}
	return t.scale * rng.NormFloat64() * math.Sqrt(t.nu/g)
}

// ranks counts where the truth falls in its posterior.
type ranks struct {
	n        int
	severity [4]int                      // below the stated 5 %, to the median, to the 95 %, above
	design   [plant.NumNuisances][10]int // design values and the day's two temperatures, tenths of the posterior by Laplace
}

// replicate draws parameters from the prior and readings from them, exactly as the inference assumes, and ranks the
// parameters in the posterior given the true cause; false when the machine drawn would trip, which the prior excludes
// too.
func replicate(q *problem, row *fault.Fault, rng *rand.Rand, out *ranks) bool {
	h := hypothesis{n: plant.NumNuisances, rate: 1}
	starts := [][maxParams]float64{{}}
	if row != nil {
		h.faults = []*fault.Fault{row}
		h.n++
		var lo, hi [maxParams]float64
		lo[plant.NumNuisances], hi[plant.NumNuisances] = -0.7, 0.9
		starts = [][maxParams]float64{lo, hi}
	}
	var x [maxParams]float64
	for j := range h.n {
		x[j] = rng.NormFloat64()
	}
	truth, ok := q.evaluate(&h, &x, nil)
	if !ok {
		return false
	}
	for i := range q.e.obs {
		o := &q.e.obs[i]
		o.y = truth.pred[i] + o.sigma()*student(rng, o.tails)
		q.predict(&h, &x, truth.in, &truth.r.Out, &truth.pred) // those after it share errors with it
	}
	word := func(p func(int) float64) int {
		u := rng.Float64()
		for a := 1; a < 3; a++ {
			if u -= p(a); u < 0 {
				return a
			}
		}
		return 3
	}
	q.e.seen.Glass = reading.Glass(word(func(a int) float64 { return pGlass(reading.Glass(a), truth.r.Out[plant.GlassQuality]) }))
	q.e.seen.CondenserDirt = reading.Level(word(func(a int) float64 { return pDirt(reading.Level(a), truth.ch.CondenserAir) }))
	q.e.seen.CoilIce = reading.Level(word(func(a int) float64 { return pIce(reading.Level(a), truth.ch.CoilAir) }))
	q.fit(&h, starts, nil)
	if !h.ok {
		return false
	}
	q.refine(&h, refineDraws)
	tenth := func(i int) int {
		z := (x[i] - h.x[i]) / math.Sqrt(h.cov[i*h.n+i])
		return min(9, int(10*0.5*math.Erfc(-z/math.Sqrt2)))
	}
	for i := range plant.NumNuisances {
		out.design[i][tenth(i)]++
	}
	if row != nil {
		i := plant.NumNuisances
		sd := math.Sqrt(h.cov[i*h.n+i])
		at := [3]float64{h.x[i] - z95*sd, h.x[i], h.x[i] + z95*sd}
		if h.refined {
			at = h.sampled[0]
		}
		k := 0
		for k < 3 && x[i] > at[k] {
			k++
		}
		out.severity[k]++
	}
	out.n++
	return true
}

// chi2 is Pearson's statistic of counts against shares.
func chi2(counts []int, shares func(i int) float64) float64 {
	n := 0
	for _, c := range counts {
		n += c
	}
	s := 0.0
	for i, c := range counts {
		e := float64(n) * shares(i)
		s += (float64(c) - e) * (float64(c) - e) / e
	}
	return s
}

// TestCalibration_Ranks: parameters drawn from the prior, readings drawn from the model, and the rank of the
// parameters in their posterior: uniform when the inference is right (Talts et al. 2018, arXiv:1804.06788; here the
// rank among infinitely many draws, in the bins of the stated quantiles and in tenths). Bounds: chance exceeds them
// once in a million (χ² with 3 and 9 degrees of freedom), so that what remains of Laplace's error must be smaller
// than what this many draws can see.
func TestCalibration_Ranks(t *testing.T) {
	const most3, most9 = 30.66, 44.81 // 1 − 1e-6 of χ², 3 and 9 degrees of freedom
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	reps := 120
	if testing.Short() {
		reps = 30
	}
	f, mc := testkit.Fit(t, "R-404A"), machineOf("R-404A", reading.WalkInFreezer)
	s, _ := clean(t, mc, f)
	m, _ := mc.Resolve()
	codes := []fault.Code{fault.Healthy}
	for i := range cat.Faults {
		if c := cat.Faults[i].Code; c.Applies(m, 0) && c != fault.ExcessLoad { // nothing read depends on its size
			codes = append(codes, c)
		}
	}
	results := make([]ranks, len(codes))
	inParallel(context.Background(), len(codes), func(i int) {
		row, _ := cat.Find(codes[i])
		sheet := s
		if codes[i] == fault.BoxThermometer { // it lies unseen only where it is the only one
			sheet.Readings = slices.Clone(s.Readings)
			sheet.Readings[0].At = reading.BoxDisplay
		}
		q, err := setUp(sheet, m, f, &cat)
		if err != nil {
			t.Error(err)
			return
		}
		rng := rand.New(rand.NewPCG(uint64(codes[i]), 9))
		for try := 0; results[i].n < reps && try < 5*reps; try++ {
			replicate(q, row, rng, &results[i])
		}
		if results[i].n < reps {
			t.Errorf("%s: only %d of %d replicates have a steady state and a fit", codes[i], results[i].n, 5*reps)
		}
	})
	quantiles := func(i int) float64 { return [4]float64{0.05, 0.45, 0.45, 0.05}[i] }
	tenths := func(int) float64 { return 0.1 }
	var all ranks
	for i, r := range results {
		if i > 0 {
			if x := chi2(r.severity[:], quantiles); x > most3 {
				t.Errorf("severity of %s: %v in the quarters of 5, 45, 45, 5 %%: χ² %.1f, at most %.1f", codes[i], r.severity, x, most3)
			}
		}
		for k := range 4 {
			all.severity[k] += r.severity[k]
		}
		for j := range all.design {
			for k := range 10 {
				all.design[j][k] += r.design[j][k]
			}
		}
		all.n += r.n
	}
	if x := chi2(all.severity[:], quantiles); x > most3 {
		t.Errorf("all severities: %v: χ² %.1f, at most %.1f", all.severity, x, most3)
	}
	for i, n := range plant.Nuisances() {
		x, most := chi2(all.design[i][:], tenths), most9
		// Readings that show no cooling, or no loss in the suction line, at all leave its logarithm open downwards:
		// skewed, and Laplace is symmetric. So does a TD of which only the low side's kelvins tell, with an sd of a third of its
		// logarithm, and a little a split, of which only the head's tell and the wider the gauge's error. This
		// share moved from one tenth to another is allowed on top.
		moved := map[int]float64{
			plant.NLiquidCool: 0.06, plant.NSuctionDrop: 0.02, plant.NTD: 0.06, plant.NSplit: 0.02,
		}[i]
		most += 2 * moved * moved / 0.1 * float64(all.n)
		if x > most {
			t.Errorf("%s: %v: χ² %.1f, at most %.1f", n.Key, all.design[i], x, most)
		}
	}
}

// TestCalibration_FloodingValve: with few readings a valve that feeds too much shows no more once liquid leaves the
// coil, however far it stands open, and the severity is open upwards. Drawn as above, the truth falls above the
// stated 95 % not much more often than in one of 20, nor much less: 1 to 10 %, which chance leaves once in 10,000 with so
// many draws (binomial).
func TestCalibration_FloodingValve(t *testing.T) {
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	row, _ := cat.Find(fault.ValveOverfeeding)
	f, mc := testkit.Fit(t, "R-404A"), machineOf("R-404A", reading.WalkInFreezer)
	s, _ := clean(t, mc, f)
	m, _ := mc.Resolve()
	var few []reading.Reading
	for _, r := range s.Readings {
		switch r.At {
		case reading.BoxAir,
			reading.Ambient,
			reading.SuctionPressure,
			reading.DischargePressure,
			reading.CoilOutletLine,
			reading.LiquidLine:
			few = append(few, r)
		}
	}
	s.Readings = few
	const parts, draws = 8, 50
	results := make([]ranks, parts)
	inParallel(context.Background(), parts, func(i int) {
		q, err := setUp(s, m, f, &cat)
		if err != nil {
			t.Error(err)
			return
		}
		rng := rand.New(rand.NewPCG(uint64(i), 11))
		for try := 0; results[i].n < draws && try < 5*draws; try++ {
			replicate(q, row, rng, &results[i])
		}
	})
	var all [4]int
	n := 0
	for _, r := range results {
		for k := range all {
			all[k] += r.severity[k]
		}
		n += r.n
	}
	for _, tail := range []int{all[0], all[3]} {
		if share := float64(tail) / float64(n); n < parts*draws || share > 0.10 || share < 0.01 {
			t.Errorf("%v of %d in the quarters of 5, 45, 45, 5 %%: the outer ones should hold 1 to 10 %%", all, n)
		}
	}
	t.Logf("%v of %d", all, n)
}
