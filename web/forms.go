package web

import (
	"errors"
	"maps"
	"net/http"
	"slices"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
)

// field is one input with its label, unit and what is wrong with it.
type field struct {
	ID, Name, Label, Hint, Unit, Value, Bad string
	Number, Signed, Below, Focus            bool
	Was                                     *string // what the page came with, where another tab may change it meanwhile
}

type option struct{ Value, Label string }

// picks is a question with two to four answers, or a longer list.
type picks struct {
	ID, Name, Label, Hint, Value, Bad string
	Options                           []option
	Was                               *string
}

// item is one row of a form: exactly one of them is set.
type item struct {
	Field  *field
	Picks  *picks
	Select *picks
	Area   *field
}

type group struct {
	Title string
	Items []item
}

type formBody struct {
	Head, Text, Action, Key, Form string
	Groups                        []group
	Errors                        []string
}

func textField(name, label, hint, value string) field {
	return field{ID: "f-" + name, Name: name, Label: label, Hint: hint, Value: value}
}

func numberField(name, label, hint, unit, value string) field {
	return field{ID: "f-" + name, Name: name, Label: label, Hint: hint, Unit: unit, Value: value, Number: true}
}

// mistakes are failures by field, as they come back from the application or from reading the form here.
type mistakes map[string]*fail.Error

func (m mistakes) take(err error) bool {
	var wrong app.Wrong
	var f *fail.Error
	switch {
	case errors.As(err, &wrong):
		for k, e := range wrong {
			if slices.Contains(reading.SeenKeys(), k) {
				k = "s_" + k // the name of its field
			}
			m[k] = e
		}
		return true
	case errors.As(err, &f) && f.Code.HTTPStatus() == http.StatusUnprocessableEntity:
		m[f.Field] = f
		return true
	}
	return false
}

// say puts a mistake beside its field and forgets it, so that what is left can be said above the form. The first one gets the focus.
func (m mistakes) say(f *field) {
	if e, ok := m[f.Name]; ok {
		f.Bad, f.Focus = message(e, unitsOf(f.Unit)), true
		delete(m, f.Name)
	}
}

// message is a failure for beside its field: what is wrong, then what to do, in the units asked for.
func message(err error, d ...units.Display) string {
	v := text.Voice{}
	if len(d) > 0 {
		v.Display = d[0]
	}
	return v.Mistake(err).Beside()
}

// unitsOf are the units of a person whose form has this unit beside a field.
func unitsOf(unit string) units.Display {
	switch unit {
	case "°C", "K", "bar(g)", "kPa(a)", "kg":
		return units.Metric()
	}
	return units.US()
}

func (m mistakes) pick(p *picks) {
	if e, ok := m[p.Name]; ok {
		p.Bad = message(e)
		delete(m, p.Name)
	}
}

func (m mistakes) rest() []string {
	var out []string
	for _, k := range slices.Sorted(maps.Keys(m)) {
		said := text.Voice{}.Mistake(m[k])
		out = append(out, strings.TrimSpace(said.Sentence()+" "+said.Advice()))
	}
	return out
}

// signed reads a value with its above-or-below choice: below makes a bare or positive number negative.
func signed(r *http.Request, name string) string {
	v := strings.TrimSpace(r.PostForm.Get(name))
	if v == "" || r.PostForm.Get(name+"_sign") != "minus" {
		return v
	}
	if strings.HasPrefix(v, "-") || strings.HasPrefix(v, "−") || strings.HasPrefix(v, "+") {
		return v
	}
	return "-" + v
}

// untouched reports whether a field comes back as its page had it. It then says nothing: another tab may have saved
// something there meanwhile.
func untouched(r *http.Request, name, typed string) bool {
	if !r.PostForm.Has("was_" + name) {
		return !r.PostForm.Has(name)
	}
	plain := func(s string) string {
		return strings.TrimSpace(strings.NewReplacer("−", "-", "\r\n", "\n").Replace(s))
	}
	return plain(r.PostForm.Get("was_"+name)) == plain(typed)
}

// came is what a page came with: as its form says when it is sent, else what is put into it now.
func came(r *http.Request, name, now string) *string {
	if r.Method == http.MethodPost && r.PostForm.Has("was_"+name) {
		now = r.PostForm.Get("was_" + name)
	}
	return &now
}

// optionalTemp reads a temperature that may be left empty.
func (m mistakes) optionalTemp(name, value, unit string) *float64 {
	if strings.TrimSpace(value) == "" {
		return nil
	}
	t, err := units.ParseTemp(value, unit)
	if err != nil {
		m.field(name, err)
		return nil
	}
	v := float64(t)
	return &v
}

func (m mistakes) optionalDiff(name, value, unit string) *float64 {
	if strings.TrimSpace(value) == "" {
		return nil
	}
	t, err := units.ParseTempDiff(value, unit)
	if err != nil {
		m.field(name, err)
		return nil
	}
	v := float64(t)
	return &v
}

func (m mistakes) optional(name, value, unit string, parse func(text, fallback string) (float64, error)) *float64 {
	if strings.TrimSpace(value) == "" {
		return nil
	}
	v, err := parse(value, unit)
	if err != nil {
		m.field(name, err)
		return nil
	}
	return &v
}

// field files a failure under the name of a form's field.
func (m mistakes) field(name string, err error) {
	var f *fail.Error
	if !errors.As(err, &f) {
		f = fail.New(fail.BadValue, name, err.Error(), "")
	}
	m[name] = f
}

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
	Field                                   field
	Judged                                  *verdict.Judgement // nil: Text is not about one
}

type key struct {
	Href, Label string
	Second      bool
}
