package casebook

import (
	"math"
	"slices"
	"sort"

	"coldwright/diagnose"
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
	LikelyN                int     // answers above 0.8
	LikelyRight            float64 // of them, reweighted to base rates
	NoneFirst              float64 // healthy visits of which none of these is said first
	Healthy                int     // healthy visits
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

// ranked lists causes by the probability that they are there, alone or with another; the inseparable joined, healthy
// and none of these among them.
func ranked(p *diagnose.Posterior) (order []fault.Code, probs map[fault.Code]float64) {
	probs = map[fault.Code]float64{fault.Healthy: p.PHealthy, fault.NoneOfThese: p.PNone}
	for _, m := range p.Marginals {
		probs[m.Fault.Inseparable()] += m.Probability
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

// First is the cause an answer says first, inseparable ones joined, and its probability, alone or with another.
//
//   - in: an answer
//   - out: a fault, healthy or none of these; its probability
//   - source: definition
func First(p *diagnose.Posterior) (fault.Code, float64) {
	order, probs := ranked(p)
	return order[0], probs[order[0]]
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
func Rate(k Kind, see View, visits []Visit, answers []diagnose.Posterior, cat *fault.Catalogue) Score {
	sc := Score{View: see, N: len(visits), Confusion: map[fault.Code]map[fault.Code]int{}, Next: map[string]int{}}
	type pair struct {
		stated, weight float64
		hit            bool
	}
	var cal []pair
	var first, two, n, firstAll, twoAll, nAll, alarm, nOK, det, firstLying, nLying float64
	var likely, likelyRight, noneFirst float64
	var sure, sureRight, weightAll, logTruth, cover, nCover float64
	count := map[fault.Code]float64{}
	for i := range visits {
		count[visits[i].Truth()]++
	}
	rate := baseRates(cat, k, count)
	for i := range visits {
		v, p := &visits[i], &answers[i]
		order, probs := ranked(p)
		code := v.Truth()
		truth := code.Inseparable()
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
		weight := rate(code) / count[code]
		switch {
		case code == fault.Healthy:
			nOK++
			alarm += indicator(p.PHealthy < 0.1)
			noneFirst += indicator(order[0] == fault.NoneOfThese)
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
		case code.Instrument() && v.Severe():
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
		if probs[order[0]] > 0.8 {
			sc.LikelyN++
			likely += weight
			likelyRight += weight * indicator(hit1)
		}
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
	sc.LikelyRight, sc.NoneFirst, sc.Healthy = share(likelyRight, likely), share(noneFirst, nOK), int(nOK)
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
