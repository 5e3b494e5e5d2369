// Package threshold holds every limit at which a number becomes a statement: from which probability a cause is acted
// on, when two causes count as about even, what a reading must tell to be worth taking. Each stands once, with its
// reason. It imports nothing, so that whoever computes and whoever judges use the same.
package threshold
