// Package refrigerant computes thermodynamic properties of refrigerants and their blends from published Helmholtz equations of state.
//
// A pure fluid is its residual Helmholtz energy with exact partial derivatives; every property and every equilibrium
// is generic code above it. A blend is the published multi-fluid model: reducing temperature and density of the
// mixture from pair parameters, the pure residual parts at the common reduced state, and departure functions where
// somebody published them.
//
// Conventions: SI throughout, mass based (J/kg, kg/m³) in exported results; p is absolute pressure in Pa, T in K.
// "DewP" is the dew point at a given pressure, "DewT" the dew point at a given temperature. Enthalpy is 200 kJ/kg and
// entropy 1 kJ/(kg K) in saturated liquid of the bulk composition at 0 °C (IIR) unless [Options] says otherwise;
// substances that are supercritical there take the normal boiling point instead.
//
// It does not know oil, air in the circuit, transport properties, units of display or files. Values are immutable and safe for concurrent
// use; of what is global only the tables of safety groups and warming potentials are kept once read.
//
// Three layers: [Refrigerant] is the equation itself (saturation, states from any usual pair of properties, a leak's
// composition shift); [Fit] is a smooth approximation for run time, built on demand in milliseconds and kept by the
// caller, with its error measured by [Fit.MaxError]; [Chart] is the pressure–enthalpy diagram as points. Outside the
// published range there is a [RangeError], never a number, unless [Options] ask for one: then it is marked [Extrapolated].
//
// Between its spinodals an equation has loops with roots that are no states, and in deep cold the model of some
// blends splits the liquid in two. Every solution is checked against the first; Limits().TMin lies above the second.
//
// The gas constant of a blend is the mole-weighted mean of its components' constants, taken as fixed: components
// differ by up to 6·10⁻⁶.
//
// This package is the face: designations, ranges, reference states, errors. The equations and their equilibria are
// internal/eos, the published numbers internal/data.
//
// References: Span (2000), Multiparameter Equations of State; Kunz and Wagner (2012), J. Chem. Eng. Data 57:3032-3091
// (multi-fluid model); Lemmon and Jacobsen (2004), J. Phys. Chem. Ref. Data 33:593-620; Bell and Lemmon (2016), J.
// Chem. Eng. Data 61:3752-3760; Bell (2022, 2023) (pair parameters); Deiters and Bell (2018), AIChE J. 64:2745-2757
// (isochoric derivatives used for equilibria). Each data file cites its own.
package refrigerant
