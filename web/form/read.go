package form

import (
	"net/http"
	"strings"

	"coldwright/units"
)

// Signed reads a value with its above-or-below choice: below makes a bare or positive number negative.
func Signed(r *http.Request, name string) string {
	v := strings.TrimSpace(r.PostForm.Get(name))
	if v == "" || r.PostForm.Get(name+"_sign") != "minus" {
		return v
	}
	if strings.HasPrefix(v, "-") || strings.HasPrefix(v, "−") || strings.HasPrefix(v, "+") {
		return v
	}
	return "-" + v
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
