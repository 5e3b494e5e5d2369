package page

import (
	"net/http"
	"strings"
	"unicode"

	"coldwright/app"
	"coldwright/machine/charge"
	"coldwright/record"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

type partsBody struct {
	measureForm
	Note  string
	Cells []cell
	Rows  [][]string
	Lines []string
}

var slotNames = map[string]string{
	"liquid":      "Liquid line",
	"liquid2":     "Liquid line, second size",
	"suction":     "Suction line",
	"suction2":    "Suction line, second size",
	"discharge":   "Discharge line",
	"evaporator":  "Evaporator coil",
	"condenser":   "Condenser",
	"receiver":    "Receiver",
	"drier":       "Drier",
	"accumulator": "Accumulator",
}

func (s *Pages) Parts(w http.ResponseWriter, r *http.Request) error {
	return s.showParts(w, r, http.StatusOK, form.Mistakes{})
}

// partUnits are the units of a bare number: of a tube's size, its length, a volume.
func partUnits(d units.Display) map[string]string {
	if d.Temp == "°C" {
		return map[string]string{"size": "mm", "length": "m", "volume": "L"}
	}
	return map[string]string{"size": "in", "length": "ft", "volume": "ft³"}
}

func (s *Pages) showParts(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	v, err := s.app.Parts(r.Context(), id(r, "machine"))
	if err != nil {
		return err
	}
	d, m := form.Units(r), v.Machine
	mass := func(kg float64) string { return d.FormatMass(units.Mass(kg)) }
	b := partsBody{
		measureForm: measureForm{
			Base:   machinePath(m.ID),
			Action: machinePath(m.ID) + "/parts",
			Form:   s.formID(),
			Lead:   "Leave empty what is not there.",
			Key:    "Save the parts",
			Open:   len(m.Parts) == 0 || status != http.StatusOK,
		},
	}
	if status != http.StatusOK {
		b.Form = r.PostForm.Get("form")
	}
	if v.Err != nil {
		b.Note = form.Message(r, failure(v.Err))
	}
	if a := v.Answer; a != nil {
		byParts, u := a.Full, a.FullU
		if a.ByParts != nil {
			byParts, u = a.ByParts.Mass, a.ByParts.U
			b.Cells = append(b.Cells, cell{Name: "By the plate", Value: mass(a.Full)})
		}
		b.Cells = append([]cell{{Name: "By its parts", Value: mass(byParts), From: "± " + mass(u)}}, b.Cells...)
		if a.ReceiverLimit > 0 {
			b.Cells = append(b.Cells, cell{Name: "Receiver takes at most", Value: mass(a.ReceiverLimit), From: "pumped down"})
		}
		for _, p := range a.Parts {
			b.Rows = append(
				b.Rows,
				[]string{
					text.UpperFirst(text.Word(text.English, p.Part.Kind.String())),
					units.Fixed(p.Part.Volume*units.Kilo, 2),
					mass(p.Mass),
					"± " + mass(p.U),
				},
			)
		}
		for _, f := range a.Findings {
			if f.Code == charge.PlateDiffers || f.Code == charge.ReceiverOverfull || f.Code == charge.PlateShortWinter {
				b.Lines = append(b.Lines, text.Say(text.English, f, d, units.Atm))
			}
		}
	}
	stored := map[string]record.PartBody{}
	for _, p := range m.Parts {
		stored[p.Slot] = p
	}
	unit := partUnits(d)
	for _, slot := range app.PartSlots() {
		g := form.Group{Title: slotNames[slot.Key]}
		add := func(what, label, hint, value string) {
			name := slot.Key + "_" + what
			if status != http.StatusOK {
				value = r.PostForm.Get(name)
			}
			// A value is shown with the unit it was typed in.
			in := form.TextField(name, label, hint, value)
			in.Unit = unit[what]
			if strings.ContainsFunc(value, unicode.IsLetter) || strings.ContainsAny(value, `"³`) {
				in.Unit = ""
			}
			wrong.Place(r, &in)
			g.Items = append(g.Items, form.Item{Field: &in})
		}
		p := stored[slot.Key]
		switch {
		case slot.Tube && slot.Vessel:
			add("volume", "Inner volume", "From the maker's sheet", p.Volume)
			add("size", "Or tube, outside", "Such as 3/8", p.Size)
			add("length", "and all its length", "", p.Length)
		case slot.Tube:
			add("size", "Tube, outside", "Such as 7/8", p.Size)
			add("length", "Length", "", p.Length)
		default:
			add("volume", "Inner volume", "", p.Volume)
		}
		b.Groups = append(b.Groups, g)
	}
	b.Errors, b.Asks = wrong.Rest(r), "Measure the parts"
	if len(b.Cells) > 0 {
		b.Asks = "Correct the parts"
	}
	p := &Page{Title: "Parts, " + text.LowerFirst(m.Name), Tab: "machines", Class: "two", Body: b, Plate: plate(v.Site, m, nil, d)}
	s.show(w, r, status, "parts", p)
	return nil
}

// withUnit gives a bare number or fraction its unit, so that what is kept says what was meant.
func withUnit(value, unit string) string {
	value = strings.TrimSpace(value)
	if value == "" || strings.ContainsFunc(value, unicode.IsLetter) || strings.ContainsAny(value, `"'`) {
		return value
	}
	return value + " " + unit
}

func (s *Pages) SaveParts(w http.ResponseWriter, r *http.Request) error {
	unit, f, wrong := partUnits(form.Units(r)), r.PostForm, form.Mistakes{}
	entries := map[string]app.PartEntry{}
	for _, slot := range app.PartSlots() {
		get := func(what string) string { return withUnit(f.Get(slot.Key+"_"+what), unit[what]) }
		entries[slot.Key] = app.PartEntry{Size: get("size"), Length: get("length"), Volume: get("volume")}
	}
	err := s.app.SaveParts(r.Context(), s.act(r), id(r, "machine"), entries)
	if err == nil {
		return redirect(w, r, machinePath(id(r, "machine"))+"/parts")
	}
	if !wrong.Take(err) {
		return err
	}
	return s.showParts(w, r, http.StatusUnprocessableEntity, wrong)
}
