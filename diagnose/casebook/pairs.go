package casebook

import (
	"slices"

	"coldwright/diagnose"
	"coldwright/machine/fault"
)

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
//   - source: definition
func RatePairs(visits []Visit, answers []diagnose.Posterior) PairScore {
	a, b := visits[0].Causes[0].Code.Inseparable(), visits[0].Causes[1].Code.Inseparable()
	sc := PairScore{A: a, B: b, N: len(visits)}
	each := 1 / float64(len(visits))
	for i := range answers {
		at := slices.IndexFunc(answers[i].Ranked, func(h diagnose.Hypothesis) bool {
			return len(h.Faults) == 2 &&
				(h.Faults[0].Inseparable() == a && h.Faults[1].Inseparable() == b || h.Faults[0].Inseparable() == b && h.Faults[1].Inseparable() == a)
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
