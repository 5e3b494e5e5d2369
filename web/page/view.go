package page

import (
	"coldwright/verdict"
	"coldwright/web/form"
)

// tag is a word with a shape: in, under, over, unknown.
type tag struct{ Kind, Words string }

// row is a line of a list.
type row struct {
	Href, Main, Small string
	Tag               *tag
	Lines             []string
}

// slab is the one next thing of a page.
type slab struct {
	Over, Head, Text, Href, Key, Post, Form string
	Field                                   form.Field
	Judged                                  *verdict.Judgement // nil: Text is not about one
}

type key struct {
	Href, Label string
	Second      bool
}

type formBody struct {
	Head, Text, Action, Key, Form string
	Groups                        []form.Group
	Errors                        []string
}

// typedText is what somebody typed into a field of a form that comes back; false: the form did not have the field.
type typedText func(field string) (string, bool)

// untyped is that of a page asked for: nobody typed anything.
func untyped(string) (string, bool) { return "", false }
