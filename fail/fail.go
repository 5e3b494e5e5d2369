package fail

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// Code is the kind of a failure.
type Code string

// The codes.
const (
	BadValue  Code = "bad_value" // a value that cannot be read
	BadUnit   Code = "bad_unit"  // a unit that is missing or unknown
	Range     Code = "range"     // a value outside what is allowed
	Required  Code = "required"  // something is missing
	BadData   Code = "bad_data"  // a file or sheet that cannot be used
	NotFound  Code = "not_found" // no such thing
	Conflict  Code = "conflict"  // it has changed meanwhile
	NoAnswer  Code = "no_answer" // computed, but without result
	Usage     Code = "usage"     // the command is used wrongly
	Forbidden Code = "forbidden" // not allowed
	Internal  Code = "internal"  // our fault
)

type outcome struct{ status, exit int }

var table = map[Code]outcome{
	BadValue: {422, 1}, BadUnit: {422, 1}, Range: {422, 1}, Required: {422, 1}, BadData: {422, 1}, NotFound: {404, 1}, Conflict: {409, 1},
	NoAnswer: {422, 1}, Usage: {400, 2}, Forbidden: {403, 1}, Internal: {500, 1},
}

// HTTPStatus returns the status a page answers with.
func (c Code) HTTPStatus() int {
	if o, ok := table[c]; ok {
		return o.status
	}
	return 500
}

// Exit returns the exit code of a command.
func (c Code) Exit() int {
	if o, ok := table[c]; ok {
		return o.exit
	}
	return 1
}

// Args are what a failure speaks of, by name: text as it was typed, numbers, quantities of package units, days, lists,
// words that stand for a code, a [Setting], or the error behind this one under the name why.
type Args map[string]any

// Setting is the name of something the person chooses, such as the unit of a file. The command line calls it by its
// flag, a page by its field.
type Setting string

// Word is a word of ours that stands for something, such as visit or temperature; the edge says it in its language.
type Word string

// Error is one failure: its kind, where it is, and the key and arguments of its sentence, which the edge says in the
// language of the person. Field names the place (a form field, a JSON path, a line and column).
type Error struct {
	Code       Code
	Field, Key string
	Args       Args
}

// Of returns an error; field and args may be empty.
func Of(code Code, field, key string, args Args) *Error {
	return &Error{Code: code, Field: field, Key: key, Args: args}
}

// Error is a line for logs and tests: place, key and arguments. People read what the edge makes of it.
func (e *Error) Error() string {
	s := e.Key
	for i, k := range slices.Sorted(maps.Keys(e.Args)) {
		s += [2]string{" (", ", "}[min(i, 1)] + k + "=" + short(e.Args[k])
	}
	if len(e.Args) > 0 {
		s += ")"
	}
	if e.Field != "" {
		return e.Field + ": " + s
	}
	return s
}

// short is an argument on one short line.
func short(v any) string {
	r := []rune(strings.Join(strings.Fields(fmt.Sprint(v)), " "))
	if len(r) > 200 {
		return string(r[:200]) + "…"
	}
	return string(r)
}

// Unwrap returns the error behind this one.
func (e *Error) Unwrap() error {
	why, _ := e.Args["why"].(error)
	return why
}

// At returns the error with its place prefixed.
func (e *Error) At(place string) *Error {
	if e.Field != "" {
		place += "." + e.Field
	}
	return e.In(place)
}

// In returns the error with another place.
func (e *Error) In(place string) *Error {
	c := *e
	c.Field = place
	return &c
}

// CodeOf returns the code of err, Internal when it has none.
func CodeOf(err error) Code {
	var e *Error
	if errors.As(err, &e) {
		return e.Code
	}
	return Internal
}
