// Package keep moves the whole log of a store: export and import of everything that is kept, and the invented example.
//
// An export is one JSON line or one row of CSV for each picture, file and event; nothing is lost on the way there and
// back. An import is planned first, so that a person sees what it would do before anything is changed.
package keep
