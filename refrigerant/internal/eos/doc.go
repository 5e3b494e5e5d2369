// Package eos evaluates published Helmholtz equations of state, of one fluid and of mixtures, and finds their equilibria.
//
// A fluid is its residual Helmholtz energy with exact partial derivatives. A mixture is the multi-fluid model: reducing
// temperature and density from pair parameters, the pure residual parts at the common reduced state, and departure
// functions where somebody published them. Everything above that is generic: a [Point] of one phase, saturation, splits in
// two phases, the critical point, stability.
//
// Units are molar (mol/m³, J/mol), pressures absolute, in SI; a composition is an argument of mole fractions. Nothing
// here knows a range of validity, a reference state of enthalpy, or an error: a solve that finds nothing says so by false,
// and what is asked outside the range of an equation is answered as the equation has it. Package refrigerant is the face
// that checks, shifts and names. Solves work on the stack for up to [MaxN] components.
//
// References: Span (2000), Multiparameter Equations of State; Kunz and Wagner (2012), J. Chem. Eng. Data 57:3032-3091;
// Deiters and Bell (2018), AIChE J. 64:2745-2757; Heidemann and Khalil (1980), AIChE J. 26:769-779; Michelsen (1982),
// Fluid Phase Equilib. 9:1-19.
package eos
