package form

import (
	"net/http"
	"slices"
	"strings"

	"coldwright/fail"
	"coldwright/units"
)

// What is chosen beside a number where below zero is usual.
const (
	Plus  = "plus"
	Minus = "minus"
)

// Signed reads a value with its above-or-below choice. A bare number is taken as it stands, unless its field asks for a
// sign: then nobody is given one, and a bare number that is not zero is a mistake, as is a minus above zero.
func (m Mistakes) Signed(r *http.Request, name string) string {
	v, sign := strings.TrimSpace(r.PostForm.Get(name)), r.PostForm.Get(name+"_sign")
	if v == "" || Untouched(r, name, v) && sign == "" {
		return v
	}
	var says string
	switch {
	case strings.HasPrefix(v, "-"), strings.HasPrefix(v, "−"), strings.HasPrefix(v, "–"):
		says = Minus
	case strings.HasPrefix(v, "+"):
		says = Plus
	}
	switch {
	case says == "" && sign == Minus:
		return "-" + v
	case says == "" && sign == "" && slices.Contains(r.PostForm["asks_sign"], name) && strings.ContainsAny(v, "123456789"):
		m[name] = fail.Of(fail.BadValue, name, "reading.sign_missing", fail.Args{"text": v})
	case says != "" && sign != "" && says != sign:
		m[name] = fail.Of(fail.BadValue, name, "reading.sign_twice", fail.Args{"text": v})
	}
	return strings.TrimPrefix(v, "+")
}

// Sure reports whether somebody who was asked about a value said that it is so.
func Sure(r *http.Request, name, value string) bool {
	return value != "" && r.PostForm.Get("sure_"+name) == value
}

// Untouched reports whether a field comes back as its page had it. It then says nothing: another tab may have saved
// something there meanwhile.
func Untouched(r *http.Request, name, typed string) bool {
	if !r.PostForm.Has("was_" + name) {
		return !r.PostForm.Has(name)
	}
	plain := func(s string) string {
		return strings.TrimSpace(strings.NewReplacer("−", "-", "\r\n", "\n").Replace(s))
	}
	return plain(r.PostForm.Get("was_"+name)) == plain(typed)
}

// CameWith is what a page came with: as its form says when it is sent, else what is put into it now.
func CameWith(r *http.Request, name, now string) *string {
	if r.Method == http.MethodPost && r.PostForm.Has("was_"+name) {
		now = r.PostForm.Get("was_" + name)
	}
	return &now
}

// OptionalTemp reads a temperature that may be left empty.
func (m Mistakes) OptionalTemp(name, value, unit string) *float64 {
	if strings.TrimSpace(value) == "" {
		return nil
	}
	t, err := units.ParseTemp(value, unit)
	if err != nil {
		m.Add(name, err)
		return nil
	}
	v := float64(t)
	return &v
}

// OptionalDiff reads a temperature difference that may be left empty.
func (m Mistakes) OptionalDiff(name, value, unit string) *float64 {
	if strings.TrimSpace(value) == "" {
		return nil
	}
	t, err := units.ParseTempDiff(value, unit)
	if err != nil {
		m.Add(name, err)
		return nil
	}
	v := float64(t)
	return &v
}

// Optional reads a value that may be left empty, by the parser of its unit.
func (m Mistakes) Optional(name, value, unit string, parse func(text, fallback string) (float64, error)) *float64 {
	if strings.TrimSpace(value) == "" {
		return nil
	}
	v, err := parse(value, unit)
	if err != nil {
		m.Add(name, err)
		return nil
	}
	return &v
}
