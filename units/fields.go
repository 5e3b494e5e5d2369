package units

import (
	"errors"
	"slices"
	"strings"

	"coldwright/fail"
)

// Fields reads the text values of one part of a document and keeps the first failure with its place. The zero value stands at the top.
type Fields struct {
	At  string // the part, such as doors[0]
	Err error
}

// Under stands at a part further in.
func (f *Fields) Under(part string) *Fields {
	return &Fields{At: strings.TrimPrefix(f.At+"."+part, ".")}
}

// Take keeps the failure of a part.
func (f *Fields) Take(part *Fields) {
	if f.Err == nil {
		f.Err = part.Err
	}
}

// Fail keeps a failure of a field, unless there is one already.
func (f *Fields) Fail(field string, err error) {
	if f.Err != nil {
		return
	}
	var e *fail.Error
	if !errors.As(err, &e) {
		e = fail.Of(fail.BadValue, "", "why.alone", fail.Args{"why": err})
	}
	c := *e
	c.Field = strings.TrimPrefix(f.At+"."+field, ".")
	f.Err = &c
}

// Opt reads a value that may be missing: empty is zero.
func (f *Fields) Opt(field, text string, read func(text, fallback string) (float64, error)) float64 {
	if text == "" || f.Err != nil {
		return 0
	}
	v, err := read(text, "")
	if err != nil {
		f.Fail(field, err)
	}
	return v
}

// Must reads a value that may not be missing; missing is the failure that says what it is.
func (f *Fields) Must(field, text string, missing *fail.Error, read func(text, fallback string) (float64, error)) float64 {
	if text == "" {
		f.Fail(field, missing)
		return 0
	}
	return f.Opt(field, text, read)
}

// Within refuses a number outside its range.
func (f *Fields) Within(field string, v, lo, hi float64, unit string) {
	if !(v >= lo && v <= hi) {
		f.Fail(field, fail.Of(fail.Range, "", "units.within", fail.Args{"value": v, "min": lo, "max": hi, "unit": unit}))
	}
}

// Word reads one of the words, of which the first is none; empty is that.
func Word[T ~int](f *Fields, field, text string, words []string) T {
	if text == "" {
		return 0
	}
	i := slices.Index(words, text)
	if i < 1 {
		f.Fail(
			field,
			fail.Of(fail.BadValue, "", "word.unknown", fail.Args{"text": text, "words": words[1:]}),
		)
		return 0
	}
	return T(i)
}

// TempValue, DiffValue, MassValue and FractionValue read plain SI numbers, for [Fields].
func TempValue(text, fallback string) (float64, error) {
	t, err := ParseTemp(text, fallback)
	return float64(t), err
}

// DiffValue reads a difference in K.
func DiffValue(text, fallback string) (float64, error) {
	d, err := ParseTempDiff(text, fallback)
	return float64(d), err
}

// MassValue reads kg.
func MassValue(text, fallback string) (float64, error) {
	m, err := ParseMass(text, fallback)
	return float64(m), err
}

// FractionValue reads a share from 0 to 1.
func FractionValue(text, _ string) (float64, error) { return ParseFraction(text) }
