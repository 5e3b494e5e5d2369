// Package diagnose compares what was read with what each cause would show, and weighs.
//
// A hypothesis is a set of faults (none, one, or a pair). Its parameters are the standard-normal nuisances of the
// plant (box, ambient, TD, split, superheat setting and so on, all of which float) and the severities in log or logit
// space. For each hypothesis the most probable parameters are found by Gauss–Newton with the plant's implicit
// derivatives, the evidence by Laplace's method, and the posterior is evidence times base rate. Residuals are
// Student-t with 5 degrees of freedom, so that one reading the model gets wrong does not decide alone. Readings enter
// raw (pressures as dew temperature), never as derived superheat or subcooling, which share the gauge's error. Things
// seen enter as probabilities.
//
// Current and power are judged as shares of what the same machine draws at its design point: a plate tells that to about
// a fifth, a healthy visit on file at which they were read tells it well. Without either they do not count, and the answer
// says so.
//
// The room's load, where it was measured, is evidence of its own: [reading.Sheet] says what share of a sound
// machine's day it takes. Beside a fault of the circuit it may be too much as well; the marginal of excess_load
// counts that.
//
// "None of these" is a broad hypothesis: the healthy prediction with residual scales an order of magnitude wider. It
// wins when nothing in the catalogue explains the readings.
//
// Two restrictions after the glass and an underfeeding valve, or a dirty condenser and recirculation, are one
// hypothesis in most circuit readings; the answer then says so by its probabilities and by the next reading. Base
// rates, nuisance widths and discrepancies are judgement; they are data.
//
// The same sheet always gives the same answer; nothing is random.
//
// References: MacKay (2003), Information Theory, Inference and Learning Algorithms, ch. 27 (Laplace's method) and 28
// (model comparison); Lindley (1956), Ann. Math. Stat. 27:986-1005 (information of an experiment); Lange, Little and
// Taylor (1989), J. Am. Stat. Assoc. 84:881-896 (t residuals).
package diagnose
