package page

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/rules/ledger"
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

type cylinderForm struct {
	ID, Head, Text, Key, Form string
	Items                     []form.Item
	Errors                    []string
}

type cylinderLine struct{ Date, Words, After, Note, Event, Form string }

type cylinderBody struct {
	Name, Head string
	Findings   []string
	Forms      []cylinderForm
	Lines      []cylinderLine
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
	for _, g := range refrigerant.Designations() {
		p.Options = append(p.Options, form.Option{Value: g, Label: g})
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
	say := func(f form.Field) form.Item { wrong.Place(&f); return form.Item{Field: &f} }
	gas := gasPick(get("refrigerant", ""), []form.Option{{Value: "", Label: "Choose"}})
	wrong.PlaceChoice(&gas)
	how := form.Choice{
		Name:    "how",
		Label:   "Where it came from",
		Value:   get("how", "bought"),
		Options: []form.Option{{Value: "bought", Label: "Bought"}, {Value: "had", Label: "Here before this book"}},
	}
	wrong.PlaceChoice(&how)
	b.Items = []form.Item{
		say(form.TextField("cylinder", "Cylinder", "The number on it, or one you give it", get("cylinder", ""))),
		{Select: &gas},
		{Picks: &how},
		say(form.NumberField("mass", "Refrigerant in it", "Net: 24 lb, or 10.9 kg", massUnit(d), get("mass", ""))),
		say(
			form.TextField("with", "Supplier", "", get("with", "")),
		),
		say(form.TextField("receipt", "Invoice or receipt", "Its number", get("receipt", ""))),
		say(onField(get("on", ""))),
	}
	if status != http.StatusOK {
		b.Form = r.PostForm.Get("form")
	}
	b.Errors = wrong.Rest()
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

func (s *Pages) Cylinder(w http.ResponseWriter, r *http.Request) error {
	return s.showCylinder(w, r, http.StatusOK, r.URL.Query().Get("number"), "", form.Mistakes{})
}

// showCylinder shows one cylinder; part is the kind of event that was refused.
func (s *Pages) showCylinder(w http.ResponseWriter, r *http.Request, status int, number, part string, wrong form.Mistakes) error {
	book, err := s.app.Cylinders(r.Context())
	if err != nil {
		return err
	}
	c, ok := book.Find(number)
	if !ok {
		return fail.New(fail.NotFound, "", "there is no such cylinder in the book", "go back to the list")
	}
	d, unit := form.Units(r), massUnit(form.Units(r))
	b := cylinderBody{Name: c.Name, Head: content(*c, d)}
	for _, f := range c.Findings {
		b.Findings = append(b.Findings, text.LedgerFinding(f.Code, text.English))
	}
	holds := ""
	for _, h := range c.Holds {
		if h.Grams > 0 && !nothing(h.Grams, d) {
			holds = plainMass(h.Grams, d)
		}
	}
	addForm := func(kind record.Kind, head, words, key string, fields ...form.Field) {
		mine := part == string(kind)
		f := cylinderForm{ID: strings.TrimPrefix(string(kind), "cylinder_"), Head: head, Text: words, Key: key, Form: s.formID()}
		if mine {
			f.Form = r.PostForm.Get("form")
		}
		if len(c.Holds) > 1 {
			p := form.Choice{ID: f.ID + "-refrigerant", Name: "refrigerant", Label: "Which refrigerant", Hint: "The book has more than one in it"}
			for _, h := range c.Holds {
				p.Options = append(p.Options, form.Option{Value: h.Refrigerant, Label: h.Refrigerant})
			}
			f.Items = append(f.Items, form.Item{Select: &p})
		}
		if kind == record.CylinderSent {
			p := form.Choice{
				Name:    "how",
				Label:   "Where to",
				Value:   "reclaimer",
				Options: []form.Option{{Value: "reclaimer", Label: "Reclaimer"}, {Value: "supplier", Label: "Back to the supplier"}, {Value: "destroyed", Label: "To be destroyed"}},
			}
			if mine {
				p.Value = r.PostForm.Get("how")
				wrong.PlaceChoice(&p)
			}
			f.Items = append(f.Items, form.Item{Picks: &p})
		}
		for _, x := range fields {
			x = testInput(r, mine, wrong, x, x.Value)
			x.ID = f.ID + "-" + x.Name
			f.Items = append(f.Items, form.Item{Field: &x})
		}
		if mine {
			f.Errors = wrong.Rest()
		}
		b.Forms = append(b.Forms, f)
	}
	addForm(
		record.CylinderWeighed,
		"Weigh it",
		"If the book says otherwise, the difference is booked as an entry of its own.",
		"Save the weighing",
		form.NumberField(
			"mass",
			"On the scale",
			"38 lb 4 oz, or 17.35 kg",
			unit,
			"",
		),
		form.NumberField("tare", "Empty weight", "Behind TW on the collar; leave empty if you typed the content alone", unit, ""),
		onField(""),
	)
	addForm(
		record.CylinderSent,
		"Hand it over",
		"",
		"Save the hand-over",
		form.NumberField(
			"mass",
			"How much",
			"By the receipt or the scale",
			unit,
			holds,
		),
		form.TextField("with", "Who took it", "", ""),
		form.TextField("receipt", "Receipt", "Its number", ""),
		onField(""),
	)
	addForm(record.CylinderMoved, "Move some into another cylinder", "Same refrigerant only; never above 80 % liquid.", "Save the move",
		form.TextField("other", "Into cylinder", "Its number", ""), form.NumberField("mass", "How much", "", unit, ""), onField(""))
	for i, x := range slices.Backward(c.Lines) {
		l := cylinderLine{Date: x.At.Format("2 January 2006"), Words: lineWords(x, book.Names, d), Note: x.Note}
		l.After = mass(x.After, d) + " after it"
		if len(c.Holds) > 1 {
			l.After = mass(x.After, d) + " of " + x.Refrigerant + " after it"
		}
		if x.Own {
			l.Event, l.Form = c.Lines[i].ID, s.formID()
		}
		b.Lines = append(b.Lines, l)
	}
	s.show(w, r, status, "cylinder", &Page{Title: "Cylinder " + c.Name, Tab: "machines", Class: "two", Body: b})
	return nil
}

// lineWords says what an entry did to the cylinder.
func lineWords(x app.CylinderLine, names map[string]string, d units.Display) string {
	out := text.LedgerKind(x.Kind, text.English)
	g := x.Change
	if g < 0 {
		g = -g
	}
	other, way := x.From, ", from "
	if x.Change < 0 {
		other, way = x.To, ", to "
	}
	if x.Kind == ledger.Counted {
		switch {
		case nothing(x.Change, d):
			return out + ": as the book says"
		case x.Change < 0:
			return out + ": " + mass(g, d) + " less than the book said"
		}
		return out + ": " + mass(g, d) + " more than the book said"
	}
	out += ": " + mass(g, d)
	switch {
	case other.Holder == ledger.Machine:
		out += way + names[other.Name]
	case other.Holder == ledger.Cylinder:
		out += way + "cylinder " + other.Name
	case other.Name != "":
		out += way + other.Name
	}
	return out
}

// SaveCylinder takes the forms of both pages.
func (s *Pages) SaveCylinder(w http.ResponseWriter, r *http.Request) error {
	f := r.PostForm
	e := app.CylinderEntry{
		Kind: record.Kind(
			"cylinder_" + r.PathValue("act"),
		),
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

func (s *Pages) WithdrawCylinder(w http.ResponseWriter, r *http.Request) error {
	if err := s.app.WithdrawCylinder(r.Context(), s.act(r), record.ID(r.PostForm.Get("event"))); err != nil {
		return err
	}
	return redirect(w, r, cylindersPath)
}
