// Package fault is the catalogue of what can be wrong: as data a prior on how bad, a base rate with its range and
// what it rests on, a check by hand and what else it looks like; as code one change of the plant per fault.
//
// Base rates and priors are judgement where the row says so; they are data so that counts from confirmed repairs can
// replace them. Severity is never at a boundary: given the fault is present, its size is log-normal or logit-normal.
// Severity zero leaves the plant as it was.
//
// A regulator or a control that is set wrong has no code of its own: it acts like the fault whose row lists it under
// covers. A crankcase regulator set low or an evaporator regulator set high takes pressure between coil and
// compressor, which is a suction restriction; one set the other way does nothing a steady reading shows at the design
// box temperature, or leaves the coil colder than the healthy machine's, for which there is no code. An electronic
// valve that has lost its steps feeds too little or too much; a capillary partly blocked feeds too little.
//
// It infers nothing and knows no sentences.
package fault
