// Package app holds the use cases of the working tool and the store interface they need.
//
// A use case turns what a person did into events and appends them, all or none. A view is read from the log once and
// complete: who asks says what of it is needed ([Parts], [MachineParts]), that is computed then, each part with its
// own failure beside it, and nothing while a page or a document is laid out. Clock, randomness and store are handed
// in; the same code runs over SQL on a server and over a log in a browser. The fits of refrigerants are kept per App
// value, never globally.
//
// It knows no HTTP and no SQL.
package app
