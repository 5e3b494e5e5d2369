// Package fault is the catalogue of what can be wrong: as data a prior on how bad, a base rate with its range and what it rests on, a check by hand
// and what else it looks like; as code one change of the plant per fault.
//
// Base rates and priors are judgement where the row says so; they are data so that counts from confirmed repairs can replace them. Severity is never at
// a boundary: given the fault is present, its size is log-normal or logit-normal. Severity zero leaves the plant as it was.
//
// It infers nothing and knows no sentences.
package fault
