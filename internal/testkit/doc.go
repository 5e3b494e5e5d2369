// Package testkit holds what tests of several packages need: a comparison that names the source of what it wants, and
// refrigerants that are there. Tests only.
package testkit
