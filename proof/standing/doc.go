// Package standing judges a standing-pressure test with nitrogen. Times are handed in; the same readings always give
// the same answer.
//
// The amount of nitrogen Σ V_i ρ(p, T_i) is kept; the pressure it would stand at with the first temperatures is
// followed over time. A line is laid through it by least squares together with the share by which gas and thermometer
// may differ; the noise of one look starts at an assumption and learns from the scatter. Parts that looking again
// does not average away are added: the gauge's zero and scale, and weather where a gauge reads against an unread
// barometer. Leaking: the loss is more than chance brings once in forty. Tight: the loss asked about is excluded 19
// times of 20. Else undecided.
//
// A leak of nitrogen becomes one of refrigerant through the same hole (gasflow.Hole); what friction alone, or molecules
// alone, would make of it is given beside it. A standing test proves that
// there is no leak larger than so much; it finds no place, and it is no leak inspection in the sense of 40 CFR
// 82.152.
//
// # References
//
// Span et al. (2000), J. Phys. Chem. Ref. Data 29:1361-1433 (nitrogen). Chung et al. (1988), Ind. Eng. Chem. Res.
// 27:671-679 (viscosity). UFGS 15182 3.3.3, UFGS 15741N 3.7, ASHRAE Journal Jan. 2021 p. 40, ASHRAE 15-1994 10.1.2
// (tests).
package standing
