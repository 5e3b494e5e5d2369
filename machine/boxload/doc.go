// Package boxload reckons the heat that enters a cold room, item by item with an uncertainty each, and holds it
// against what the machine can carry.
//
// Every item is a mean over 24 h in W, positive into the room, with a standard uncertainty. The published form of
// each item stands beside its function. Water that comes in with the air freezes on a coil below 0 °C and is melted
// again by the defrost: both appear, so that the balance of the room closes.
//
// It does not know peaks within the day, the sun's course, product that cools slower than it is loaded, or the
// machine itself: capacity comes from a compressor map, from the plant model, from the plate or from a measurement,
// with its own uncertainty.
//
// Uncertainties nobody states are judgement (see [DefaultU]); errors of items are taken as independent and normal.
//
// Units: SI, W, kg, K; heat per mass in J/kg. Values are immutable; all functions are deterministic and safe for concurrent use.
//
// References: Gosney and Olama (1975), Proc. Inst. Refrig. 72:31-41 (doorways), as documented in the EnergyPlus
// Engineering Reference; ISO 13370 (2007) (slab on ground); Siebel (1892) (specific heats); Schwartzberg (1976), J.
// Food Sci. 41:152-156 (ice); AHRI 540 form of compressor maps, coefficients from the EnergyPlus data sets; FAO
// Fisheries V3630E and USDA Agriculture Handbook 66 for worked examples.
package boxload
