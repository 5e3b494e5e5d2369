// Package trial judges tests against the clock: the pull-down, standing pressure with nitrogen, the vacuum rise, and
// a logger's record of temperatures. Times are handed in; nothing is read but what is given, and the same input
// always gives the same answer.
//
// # Pull-down
//
// Box temperature against the stopwatch, doors shut. Model while the compressor runs: two nodes, air and product,
//
//	τ_a dT_a/dt = [(T_f − T_a) + ρ (T_p − T_a)]/(1 + ρ),   τ_p dT_p/dt = T_a − T_p
//
// with T_f the final temperature (capacity equals load) and ρ the coupling of product to air over that of wall,
// leakage and machine. After a few air time constants the air creeps with the product, so early readings cannot tell
// a weak machine from warm product: the forecast for the next hours is good, the final temperature is not, and it is
// never reported.
//
// Inference: weighted draws from fixed priors with a fixed seed, refined twice around the weighted sample.
//
// # Standing pressure
//
// The amount of nitrogen Σ V_i ρ(p, T_i) is kept; the pressure it would stand at with the first temperatures is
// followed over time. A line is laid through it by least squares together with the share by which gas and thermometer
// may differ; the noise of one look starts at an assumption and learns from the scatter. Parts that looking again
// does not average away are added: the gauge's zero and scale, and weather where a gauge reads against an unread
// barometer. Leaking: the loss is more than chance brings once in forty. Tight: the loss asked about is excluded 19
// times of 20. Else undecided.
//
// A leak of nitrogen becomes one of refrigerant through the same hole by Poiseuille's law for viscous flow, the
// regime of every leak that such a test can see; the molecular figure is given beside it. A standing test proves that
// there is no leak larger than so much; it finds no place, and it is no leak inspection in the sense of 40 CFR
// 82.152.
//
// # Vacuum rise
//
// p(t) = p0 + a t + b (1 − exp(−t/τ)): a straight line is air through a leak (choked, hence steady), a part that
// levels off is moisture, which cannot stand above the vapour pressure at the coldest part. Four curves are averaged:
// level, line, levelling, both. What shows no bend within the test may be either, and is left undecided. Ice in a
// coil at −10 °F stands at about 560 micron: a reading that is not surely below the vapour pressure at the coldest
// part never proves it dry.
//
// Without a named criterion the house asks: a quarter of an hour, 500 micron at the end, 200 micron of levelling and
// one micron a minute of straight rise at most. Judgement; published criteria stand in data/evacuation.json with
// source and label.
//
// # Cold record
//
// An excursion is bracketed: its start lies between the last reading within the limit and the first above it. Where
// only air was logged the product follows it with one time constant whose spread is wide. Defrosts are short humps
// that come back at equal times. The record says what evidence is still missing (FDA Food Code 4-204.112 sensor
// place, 3-501.19 marking; Reg. (EC) 37/2005 Art. 2(3) dating). Whether food may be used is never decided here.
//
// # References
//
// Closed form of a linear system (definition); priors are judgement: no published temperature-against-time table of a
// walk-in was found. Cappé et al. (2004), J. Comput. Graph. Stat. 13:907-929 (population Monte Carlo). Span et al.
// (2000), J. Phys. Chem. Ref. Data 29:1361-1433 (nitrogen). IAPWS R14-08(2011) and Wagner and Pruss (1993) (water).
// UFGS 15182 3.3.3, UFGS 15741N 3.7, ASHRAE Journal Jan. 2021 p. 40, ASHRAE 15-1994 10.1.2 (tests). Chung et al.
// (1988), Ind. Eng. Chem. Res. 27:671-679 (viscosity).
package trial
