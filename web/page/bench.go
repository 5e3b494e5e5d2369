package page

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"coldwright/machine/reading"
	"coldwright/practice"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

type benchRow struct{ Href, Name, Value, Risk string }

type benchGroup struct {
	Title string
	Rows  []benchRow
}

type benchBody struct {
	Complaint, Spent          string
	Seed, Level, Machine, Did string
	Done                      []benchRow
	Groups                    []benchGroup
	Cause, Cause2, Fix, Fix2  form.Choice
	Enough                    bool
	Errors                    []string
}

func (s *Pages) Bench(w http.ResponseWriter, r *http.Request) error {
	return s.showBench(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showBench(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	q := r.URL.Query()
	so, err := s.session(q)
	if err != nil {
		if wrong.Take(err) && wrong["at"] == nil {
			return s.showPractice(w, r, http.StatusUnprocessableEntity, wrong)
		}
		return err
	}
	d := form.Units(r)
	b := benchBody{
		Complaint: text.PracticeComplaint(so.Level), Spent: text.PracticeSpent(so.Minutes(), so.Grams()),
		Seed: q.Get("seed"), Level: q.Get("level"), Machine: q.Get("machine"), Did: strings.Join(so.Done(), ","),
		Enough: len(so.Sheet().Readings) >= practice.Enough,
	}
	for _, ev := range so.Events {
		b.Done = append(b.Done, benchRow{Name: text.PracticeName(ev.At), Value: text.PracticeShown(ev, d)})
	}
	groups := []benchGroup{{Title: "Look"}, {Title: "Thermometer, clamp, meter"}, {Title: "Gauges"}}
	for _, o := range so.Offers() {
		if o.Taken {
			continue
		}
		row := benchRow{
			Href:  benchPath("/practice/run", q, so, o.At),
			Name:  text.PracticeName(o.At),
			Value: units.Fixed(o.Minutes, 0) + " min",
			Risk:  text.UpperFirst(text.RiskShort(o.Risk)),
		}
		g := 1
		if p, err := reading.ParsePlace(o.At); err != nil {
			g = 0
		} else if p.Kind() == reading.KindPressure {
			g = 2
		}
		groups[g].Rows = append(groups[g].Rows, row)
	}
	for _, g := range groups {
		if len(g.Rows) > 0 {
			b.Groups = append(b.Groups, g)
		}
	}
	var causes, fixes []form.Option
	for _, c := range so.Candidates() {
		causes = append(causes, form.Option{Value: c.String(), Label: text.Fault(c.String()).Name})
	}
	for _, f := range so.Repairs() {
		fixes = append(fixes, form.Option{Value: f, Label: text.Remedy(f)})
	}
	list := func(name, label, hint, none string, options []form.Option) form.Choice {
		return form.Choice{
			ID:      "f-" + name,
			Name:    name,
			Label:   label,
			Hint:    hint,
			Value:   q.Get(name),
			Options: append([]form.Option{{Value: "", Label: none}}, options...),
		}
	}
	b.Cause, b.Fix = list("cause", "What is wrong", "", "Choose", causes), list("repair", "What to do about it", "", "Choose", fixes)
	if so.Level >= practice.LevelTwo {
		b.Cause2, b.Fix2 = list("cause2", "And also", "", "Nothing else", causes), list("repair2", "And also", "", "Nothing else", fixes)
	}
	wrong.PlaceChoice(r, &b.Cause)
	wrong.PlaceChoice(r, &b.Fix)
	b.Errors = wrong.Rest(r)
	s.show(w, r, status, "bench", &Page{Title: "Practice", Class: "two bench", Plate: benchPlate(so.Exercise, d), Body: b})
	return nil
}

func benchPlate(e *practice.Exercise, d units.Display) []PlateCell {
	m, _ := e.Plate.Resolve()
	device := text.Expansion(m.Expansion.String())
	if m.Receiver {
		device += ", receiver"
	} else {
		device += ", no receiver"
	}
	cells := []PlateCell{
		{Name: "Exercise " + strconv.FormatUint(e.Seed, 10), Value: text.PracticeMachine(e.Key)},
		{Name: "Refrigerant", Value: m.Refrigerant},
		{Name: "Holds", Value: d.FormatTemp(m.Box, 0)},
		{Name: "Full charge", Value: d.FormatMass(e.Charge)},
		{Name: "Feeds by", Value: device},
		{Name: "Rated", Value: units.Fixed(m.RatedAmps, 0) + " A"},
	}
	if m.HeadControl != reading.HeadNone {
		cells = append(
			cells,
			PlateCell{Name: "Head control", Value: text.HeadControl(m.HeadControl.String()) + " below " + d.FormatTemp(m.HeadSet, 0)},
		)
	}
	return cells
}

// benchPath is the address of a session, with one more thing read.
func benchPath(page string, q url.Values, s practice.Session, more string) string {
	v := url.Values{"seed": {q.Get("seed")}, "level": {q.Get("level")}}
	if m := q.Get("machine"); m != "" {
		v.Set("machine", m)
	}
	done := s.Done()
	if more != "" {
		done = append(done, more)
	}
	if len(done) > 0 {
		v.Set("did", strings.Join(done, ","))
	}
	return page + "?" + v.Encode()
}
