// Package wire is the JSON and CSV that go in and out, one file per document. What a document means stands in the
// package whose values it carries; here stand its keys, its columns and its units.
//
// The keys and columns are a contract: docs/formats.md lists them.
package wire
