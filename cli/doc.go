// Package cli is the command line: results on stdout, everything else on stderr behind "coldwright:", exit 0 done, 1 failed, 2 wrong usage.
//
// It parses, calls and prints; it computes nothing. The store is handed in by cmd.
package cli
