// Package data holds the published numbers the refrigerant engine starts from: one file per pure fluid with its equation of state and the
// check values printed with it, one per binary pair, departure function and blend, and apart from thermodynamics the safety groups and the
// warming potentials with their editions.
//
// It has no formulas. Files are embedded, read one at a time when asked for, and refused when a field is unknown, a
// source or a validity range is missing. Coefficients were read in the data files of the CoolProp project (MIT
// licence) and of teqp; the paper of each equation is cited in its file. Check values are quoted second-hand with
// table and page; a note marks those the equation does not meet.
package data
