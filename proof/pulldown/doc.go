// Package pulldown judges the box temperature against the stopwatch, doors shut. Times are handed in; the same
// readings always give the same answer.
//
// Model while the compressor runs: two nodes, air and product,
//
//	τ_a dT_a/dt = [(T_f − T_a) + ρ (T_p − T_a)]/(1 + ρ),   τ_p dT_p/dt = T_a − T_p
//
// with T_f the final temperature (capacity equals load) and ρ the coupling of product to air over that of wall,
// leakage and machine. After a few air time constants the air creeps with the product, so early readings cannot tell
// a weak machine from warm product: the forecast for the next hours is good, the final temperature is not, and it is
// never reported.
//
// Inference: weighted draws from fixed priors with a fixed seed, refined up to three times around the weighted sample.
//
// # References
//
// Closed form of a linear system (definition); priors are judgement: no published temperature-against-time table of a
// walk-in was found. Cappé et al. (2004), J. Comput. Graph. Stat. 13:907-929 (population Monte Carlo).
package pulldown
