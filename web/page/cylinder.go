package page

import (
	"net/http"
	"slices"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/rules/ledger"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

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
	Fill       *fillBody // nil: nobody knows which refrigerant
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
		return fail.Of(fail.NotFound, "", "cylinder.none", nil)
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
				Name:  "how",
				Label: "Where to",
				Value: "reclaimer",
				Options: []form.Option{
					{Value: "reclaimer", Label: "Reclaimer"},
					{Value: "supplier", Label: "Back to the supplier"},
					{Value: "destroyed", Label: "To be destroyed"},
				},
			}
			if mine {
				p.Value = r.PostForm.Get("how")
				wrong.PlaceChoice(r, &p)
			}
			f.Items = append(f.Items, form.Item{Picks: &p})
		}
		for _, x := range fields {
			x = testInput(r, mine, wrong, x, x.Value)
			x.ID = f.ID + "-" + x.Name
			f.Items = append(f.Items, form.Item{Field: &x})
		}
		if mine {
			f.Errors = wrong.Rest(r)
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
	if len(c.Holds) == 1 && c.Holds[0].Refrigerant != "" {
		f := s.cylinderFill(c.Holds[0].Refrigerant, max(0, float64(c.Holds[0].Grams)/units.Kilo), r, d)
		f.Action, f.Hidden = "/cylinders/one#fill", c.Name
		b.Fill = &f
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

func (s *Pages) WithdrawCylinder(w http.ResponseWriter, r *http.Request) error {
	if err := s.app.WithdrawCylinder(r.Context(), s.act(r), record.ID(r.PostForm.Get("event"))); err != nil {
		return err
	}
	return redirect(w, r, cylindersPath)
}
