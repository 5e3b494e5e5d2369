// Package gasflow says what a leak passes: viscosity of gases at low pressure, the flow of one gas through a leak from
// that of another at other pressures, and the units in which leaks are told.
//
// A leak is a molar flow, [Flow]; grams a year, Pa m³/s and standard cm³/s are conversions of it. What one leak passes
// is the sum of viscous flow, which goes with the difference of the squared pressures over the viscosity (Poiseuille),
// and molecular flow, which goes with the difference of the pressures over the root of the molar mass (Knudsen). Large
// leaks are viscous and small ones molecular.
//
// It does not know choked flow, liquid at the leak, or gas whose temperature changes on the way through.
//
// References: Chung, Ajlan, Lee and Starling (1988), Ind. Eng. Chem. Res. 27:671-679 (viscosity); Neufeld, Janzen and
// Aziz (1972), J. Chem. Phys. 57:1100-1102 (collision integral); Dushman and Lafferty (1962), Scientific Foundations
// of Vacuum Technique, ch. 2 (flow). A year has 365.25 days.
package gasflow
