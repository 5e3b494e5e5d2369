package verdict

import (
	"coldwright/verdict/threshold"
)

// FitRule names why a judgement fits the readings, or why not.
type FitRule string

// The rules.
const (
	AllWithin   FitRule = "every_reading_within_tolerance"
	ReadingFar  FitRule = "a_reading_far_off"
	NoneIsFirst FitRule = "no_cause_explains_the_readings"
	FitUnknown  FitRule = "too_little_read"
)

// Fit says whether the first answer explains what was read.
type Fit struct {
	Status Status
	Rule   FitRule
	Sigma  float64 // the worst residual of the best explanation, standard deviations
	PNone  float64
}

// fit is the one rule: it does not fit when none of these is the first answer with NoneFits at least, or when the best
// explanation leaves a reading FarOff away.
func fit(f Facts, suspects []Answer) Fit {
	out := Fit{Sigma: f.LackOfFit, PNone: f.PNone}
	first := 0.0
	if len(suspects) > 0 {
		first = suspects[0].Probability
	}
	switch {
	case f.Readings < threshold.EnoughToJudge:
		out.Status, out.Rule = Unknown, FitUnknown
	case threshold.NoneIsFirst(f.PNone, f.PHealthy, first):
		out.Status, out.Rule = No, NoneIsFirst
	case f.LackOfFit > threshold.FarOff:
		out.Status, out.Rule = No, ReadingFar
	default:
		out.Status, out.Rule = Yes, AllWithin
	}
	return out
}
