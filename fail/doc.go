// Package fail is the error an application gives to the person who can act on it: what, where, what is allowed, what to do.
//
// One table turns a code into an HTTP status and an exit code. Physics packages have their own error types; fail is for the edge.
package fail
