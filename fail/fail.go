package fail

import "errors"

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

// Error is one failure. Field names the place (a form field, a JSON path, a column); Hint says what to do.
type Error struct {
	Code                 Code
	Field, Message, Hint string
}

// New returns an error; field and hint may be empty.
func New(code Code, field, message, hint string) *Error { return &Error{code, field, message, hint} }

func (e *Error) Error() string {
	if e.Field != "" {
		return e.Field + ": " + e.Message
	}
	return e.Message
}

// At returns the error with its place prefixed.
func (e *Error) At(place string) *Error {
	c := *e
	if c.Field == "" {
		c.Field = place
	} else {
		c.Field = place + "." + c.Field
	}
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

// HintOf returns the hint of err, "" when it has none.
func HintOf(err error) string {
	var e *Error
	if errors.As(err, &e) {
		return e.Hint
	}
	return ""
}
