package form

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
)

// Mistakes are failures by field, as they come back from the application or from reading the form here.
type Mistakes map[string]*fail.Error

// Take files what the application found wrong with what was typed; false: err is something else, and not a person's mistake.
func (m Mistakes) Take(err error) bool {
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

// voice says mistakes to the person who asks: in the units of the page that was sent, in the language of the pages.
func voice(r *http.Request) text.Voice {
	return text.Voice{Language: text.English, Display: Units(r)}
}

// Place puts a mistake beside its field and forgets it, so that what is left can be said above the form. The first one gets the focus.
func (m Mistakes) Place(r *http.Request, f *Field) {
	if e, ok := m[f.Name]; ok {
		f.Bad, f.Focus = Message(r, e), true
		if e.Key == app.Jumped {
			f.Sure = Mistakes{}.Signed(r, f.Name)
		}
		delete(m, f.Name)
	}
}

// Message is a failure for beside its field: what is wrong, then what to do, in the units asked for.
func Message(r *http.Request, err error) string { return voice(r).Mistake(err).Beside() }

// PlaceChoice puts a mistake beside a question with answers, as Place does.
func (m Mistakes) PlaceChoice(r *http.Request, p *Choice) {
	if e, ok := m[p.Name]; ok {
		p.Bad = Message(r, e)
		delete(m, p.Name)
	}
}

// Rest is what no field of the form took, to be said above it.
func (m Mistakes) Rest(r *http.Request) []string {
	var out []string
	for _, k := range slices.Sorted(maps.Keys(m)) {
		said := voice(r).Mistake(m[k])
		out = append(out, strings.TrimSpace(said.Sentence()+" "+said.Advice()))
	}
	return out
}

// Add files a failure under the name of a form's field.
func (m Mistakes) Add(name string, err error) {
	var f *fail.Error
	if !errors.As(err, &f) {
		f = fail.Of(fail.BadValue, name, "why.alone", fail.Args{"why": err})
	}
	m[name] = f
}
