// Package pulldown judges the box temperature against the stopwatch, doors shut. Times are handed in; the same
// readings always give the same answer.
//
// Model while the compressor runs: a network of up to three bodies (air, lining and shelves, product), whose air is a sum
// of as many exponentials,
//
//	T(t) = T_end + a_1 exp(−t/τ_1) + a_2 exp(−t/τ_2) + a_3 exp(−t/τ_3)
//
// with T_end where capacity equals load. Capacity and load are linear in the box temperature, which changes the
// constants and not the form. A box of one body and one of two are among the models. What the curve does not know is a
// correlated residual of unknown scale and time (Ornstein-Uhlenbeck) beside the thermometer's noise, so that ten
// thousand readings of a logger say hardly more than forty.
//
// Inference: structures, time constants, ends and residuals are summed over a grid; for each the four coefficients are
// integrated in closed form. The forecast follows a fixed number of courses drawn from that sum with a fixed seed, each
// with a control that holds the set point, and a door or a defrost that may stand above it.
//
// What else is known of the machine comes in as what it gives against what load ([Machine]); what the curve says of that goes
// out as a likelihood by the end ([Says]), with nothing of it inside, so that neither is counted twice.
//
// # References
//
// Sum of exponentials: definition (a thermal network's matrix is similar to a symmetric one). O'Hagan and Kingman
// (1978), J. R. Stat. Soc. B 40:1-42 (linear model with correlated residuals); Kalman (1960), J. Basic Eng. 82:35-45
// (its whitening). Priors are judgement, each beside its constant: no published temperature-against-time table of a
// walk-in was found.
package pulldown
