package page

import (
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/refrigerant"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

type refrigerantsBody struct {
	Query, Head string
	Rows        []row
}

// Refrigerants lists what is on file, or what of it a few letters name.
func (s *Pages) Refrigerants(w http.ResponseWriter, r *http.Request) error {
	b := refrigerantsBody{Query: strings.TrimSpace(r.URL.Query().Get("q"))}
	want := designationLetters(b.Query)
	for _, name := range refrigerant.InOrder() {
		called := strings.Contains(strings.ToLower(text.RefrigerantName(name)), strings.ToLower(b.Query))
		if !called && !strings.Contains(designationLetters(name), want) {
			continue
		}
		one, err := refrigerant.Load(name)
		if err != nil {
			return err
		}
		b.Rows = append(b.Rows, row{Href: refrigerantPath(name), Main: text.Refrigerant(name), Small: text.Composition(one)})
	}
	b.Head = text.RefrigerantsFound(len(b.Rows), b.Query)
	s.show(w, r, http.StatusOK, "refrigerants", &Page{Title: "Refrigerants", Tab: "machines", Body: b})
	return nil
}

func refrigerantPath(designation string) string { return "/refrigerants/" + designation }

// designationLetters is what counts of a designation as it is typed: "r 404a" and "R-404A" are the same.
func designationLetters(s string) string {
	return strings.TrimPrefix(strings.NewReplacer("-", "", " ", "").Replace(strings.ToUpper(s)), "R")
}

type refrigerantBody struct {
	Action, Name string
	Facts        []nameValue
	Value        form.Field
	Answer       []string
	Units        []string // heads of the card
	Card         [][]string
}

// Refrigerant is the card of one refrigerant: what a pressure means, what is on file, saturation by temperature.
func (s *Pages) Refrigerant(w http.ResponseWriter, r *http.Request) error {
	d := form.Units(r)
	card, err := s.app.RefrigerantCard(r.PathValue("designation"), cardTemps(d))
	if err != nil {
		return err
	}
	name := card.Refrigerant.Designation()
	b := refrigerantBody{Action: refrigerantPath(name), Name: name}
	for _, f := range text.RefrigerantFacts(card.Refrigerant, d) {
		b.Facts = append(b.Facts, nameValue{f[0], f[1]})
	}
	typed := strings.TrimSpace(r.URL.Query().Get("p"))
	const hint = "Gauge at sea level; another unit may stand behind it"
	b.Value = form.NumberField("p", "What does this pressure mean?", hint, d.PressureUnit(), typed)
	status := http.StatusOK
	if typed != "" {
		sat, err := s.saturatedAt(name, typed, d)
		if err != nil {
			wrong := form.Mistakes{}
			if !wrong.Take(err) {
				return err
			}
			b.Value.Bad, status = form.Message(r, err), http.StatusUnprocessableEntity
		} else {
			b.Answer = text.PressureMeans(sat.Pressure, sat.Bubble, sat.Dew, card.Glides, d)
		}
	}
	b.Units = text.CardHeads(card.Glides, d)
	for _, at := range card.Rows {
		line := []string{d.TempNumber(at.T, 0), d.PressureNumber(at.Dew, units.Atm)}
		if card.Glides {
			line = []string{d.TempNumber(at.T, 0), d.PressureNumber(at.Bubble, units.Atm), d.PressureNumber(at.Dew, units.Atm)}
		}
		b.Card = append(b.Card, line)
	}
	s.show(w, r, status, "refrigerant", &Page{Title: name, Tab: "machines", Class: "wide-left", Body: b})
	return nil
}

func (s *Pages) saturatedAt(name, typed string, d units.Display) (app.Saturated, error) {
	p, err := units.ParsePressure(typed, d.PressureUnit())
	if err != nil {
		return app.Saturated{}, err
	}
	return s.app.SaturatedAt(name, p.Absolute(units.Atm))
}

// cardTemps are the temperatures of a card: whole steps of the units shown, over what commercial machines see.
func cardTemps(d units.Display) (out []units.Temp) {
	if d.Temp == "°C" {
		for c := -50.0; c <= 66; c += 2 {
			out = append(out, units.Celsius(c))
		}
		return out
	}
	for f := -60.0; f <= 150; f += 5 {
		out = append(out, units.Fahrenheit(f))
	}
	return out
}
