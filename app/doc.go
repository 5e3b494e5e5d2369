// Package app holds the use cases of the working tool and the store interface they need.
//
// A use case turns what a person did into events and appends them, all or none. Views are computed when asked:
// projections of events, and on them circuit, diagnose and the proofs, each with its own failure beside it. Clock,
// randomness and store are handed in; the same code runs over SQL on a server and over a log in a browser. The fits
// of refrigerants are kept per App value, never globally.
//
// It knows no HTTP and no SQL.
package app
