package page

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"coldwright/app"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/say/figure"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

type cylindersBody struct {
	Rows   []row
	Totals *figure.Table
	Form   string
	Items  []form.Item
	Errors []string
}

const cylindersPath = "/cylinders"

func cylinderPath(name string) string {
	return cylindersPath + "/one?" + url.Values{"number": {name}}.Encode()
}

// gasPick asks for a refrigerant; the first options are those likely here.
func gasPick(value string, first []form.Option) form.Choice {
	p := form.Choice{
		ID:      "f-refrigerant",
		Name:    "refrigerant",
		Label:   "Refrigerant",
		Hint:    "As the cylinder's label says",
		Value:   value,
		Options: first,
	}
	for _, g := range refrigerant.InOrder() {
		p.Options = append(p.Options, form.Option{Value: g, Label: text.Refrigerant(g)})
	}
	return p
}

func (s *Pages) Cylinders(w http.ResponseWriter, r *http.Request) error {
	return s.showCylinders(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showCylinders(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	book, err := s.app.Cylinders(r.Context())
	if err != nil {
		return err
	}
	d := form.Units(r)
	b := cylindersBody{Form: s.formID()}
	for _, c := range book.Cylinders {
		line := row{Href: cylinderPath(c.Name), Main: c.Name, Lines: []string{content(c, d)}}
		for _, f := range c.Findings {
			line.Lines = append(line.Lines, text.LedgerFinding(f.Code, text.English))
		}
		if len(c.Findings) > 0 {
			line.Tag = &tag{"unknown", "please check"}
		}
		b.Rows = append(b.Rows, line)
	}
	if len(book.Totals) > 0 {
		// One refrigerant a column: there are few, and a phone is narrow.
		t := figure.Table{
			Head: []string{"Where"},
			Rows: [][]string{{"Got"}, {"In cylinders"}, {"In machines"}, {"Reclaimed, destroyed"}, {"Lost"}, {"Missing at weighing"}},
		}
		for _, x := range book.Totals {
			t.Head = append(t.Head, x.Refrigerant)
			for i, g := range []int64{x.Bought, x.InCylinders, x.InMachines, x.Reclaimed + x.Destroyed, x.Lost, x.Missing} {
				t.Rows[i] = append(t.Rows[i], mass(g, d))
			}
		}
		b.Totals = &t
	}
	get := func(name, proposed string) string {
		if status != http.StatusOK {
			return r.PostForm.Get(name)
		}
		return proposed
	}
	say := func(f form.Field) form.Item { wrong.Place(r, &f); return form.Item{Field: &f} }
	gas := gasPick(get("refrigerant", ""), []form.Option{{Value: "", Label: "Choose"}})
	wrong.PlaceChoice(r, &gas)
	how := form.Choice{
		Name:    "how",
		Label:   "Where it came from",
		Value:   get("how", "bought"),
		Options: []form.Option{{Value: "bought", Label: "Bought"}, {Value: "had", Label: "Here before this book"}},
	}
	wrong.PlaceChoice(r, &how)
	b.Items = []form.Item{
		say(form.TextField("cylinder", "Cylinder", "The number on it, or one you give it", get("cylinder", ""))),
		{Select: &gas},
		{Picks: &how},
		say(form.NumberField("mass", "Refrigerant in it", "Net: 24 lb, or 10.9 kg", massUnit(d), get("mass", ""))),
		say(form.TextField("with", "Supplier", "", get("with", ""))),
		say(form.TextField("receipt", "Invoice or receipt", "Its number", get("receipt", ""))),
		say(onField(get("on", ""))),
	}
	if status != http.StatusOK {
		b.Form = r.PostForm.Get("form")
	}
	b.Errors = wrong.Rest(r)
	s.show(w, r, status, "cylinders", &Page{Title: "Cylinders", Tab: "machines", Class: "two", Body: b})
	return nil
}

func onField(value string) form.Field {
	return form.TextField("on", "Day", "Empty: now. Otherwise year-month-day, such as 2026-11-25", value)
}

// mass is a weight of the book; below zero it keeps its sign.
func mass(g int64, d units.Display) string {
	s := d.FormatMass(grams(max(g, -g)))
	switch {
	case nothing(g, d):
		return "0"
	case g < 0:
		return "−" + s
	}
	return s
}

// nothing reports that a weight is none to the eye: pounds and ounces come to whole grams one by one, so a gram may be left over.
func nothing(g int64, d units.Display) bool {
	return strings.TrimLeft(d.FormatMass(grams(max(g, -g))), "0.,") == strings.TrimLeft(d.FormatMass(0), "0.,")
}

// content is what a cylinder holds by the book.
func content(c app.Cylinder, d units.Display) string {
	var parts []string
	for _, h := range c.Holds {
		switch {
		case nothing(h.Grams, d) && len(c.Holds) > 1:
		case nothing(h.Grams, d):
			parts = append(parts, "Empty, last "+h.Refrigerant)
		default:
			parts = append(parts, mass(h.Grams, d)+" of "+h.Refrigerant)
		}
	}
	if len(parts) == 0 {
		return "Empty."
	}
	return strings.Join(parts, ", ") + "."
}

// SaveCylinder takes the forms of both pages.
func (s *Pages) SaveCylinder(w http.ResponseWriter, r *http.Request) error {
	f := r.PostForm
	e := app.CylinderEntry{
		Kind:        record.Kind("cylinder_" + r.PathValue("act")),
		Cylinder:    f.Get("cylinder"),
		Refrigerant: f.Get("refrigerant"),
		How:         f.Get("how"),
		Other:       f.Get("other"),
		With:        f.Get("with"),
		Receipt:     f.Get("receipt"),
		On:          f.Get("on"),
		Mass:        f.Get("mass"),
		MassUnit:    massUnit(form.Units(r)),
		Tare:        f.Get("tare"),
	}
	if !slices.Contains(record.CylinderKinds(), e.Kind) {
		return s.Missing(w, r)
	}
	err := s.app.SaveCylinder(r.Context(), s.act(r), e)
	if err == nil {
		return redirect(w, r, cylinderPath(strings.TrimSpace(e.Cylinder)))
	}
	wrong := form.Mistakes{}
	if !wrong.Take(err) {
		return err
	}
	if e.Kind == record.CylinderBought {
		return s.showCylinders(w, r, http.StatusUnprocessableEntity, wrong)
	}
	return s.showCylinder(w, r, http.StatusUnprocessableEntity, e.Cylinder, string(e.Kind), wrong)
}
