package page

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/refrigerant"
	"coldwright/rules/law"
	"coldwright/rules/ledger"
	"coldwright/say/text"
	"coldwright/web/form"
)

// lawPart is the part of the machine page that asks what the rules need.
type lawPart struct {
	Base        string
	Open        bool // a form was refused: show it
	What        form.Choice
	On, Note    form.Field
	EventErrors []string
	Form, Form2 string
	Facts       []form.Choice
	FactErrors  []string
	Happened    []lawRow
	Yes         []form.Choice
	Other       form.Choice // another refrigerant
	Asked       string      // the one asked about
	Changes     []string    // what it would mean
	Machine     string
}

type lawRow struct{ Date, Words, Note, Event, Form string }

// lawPartOf builds the part; part names the form that was refused.
func (s *Pages) lawPartOf(r *http.Request, v *app.MachineView, part string, wrong form.Mistakes) (*lawPart, error) {
	m := v.Machine
	b := &lawPart{Base: machinePath(m.ID) + "/law", Open: part != "", Form: s.formID(), Form2: s.formID()}
	event, facts := part == "event", part == "facts"
	if err := retrofit(r, v, b); err != nil {
		return nil, err
	}
	b.What = form.Choice{ID: "law-what", Name: "what", Label: "What happened", Options: []form.Option{{Value: "", Label: "Choose"}}}
	for _, w := range app.LawEventWords() {
		b.What.Options = append(b.What.Options, form.Option{Value: w, Label: text.LawEvent(w, text.English)})
	}
	if event {
		b.What.Value = r.PostForm.Get("what")
		wrong.PlaceChoice(r, &b.What)
	}
	b.On = testInput(r, event, wrong, form.TextField("on", "Day", "Empty: today. Otherwise year-month-day, such as 2026-11-25", ""), "")
	b.Note = testInput(r, event, wrong, form.TextField("text", "Note", "", ""), "")
	b.On.ID, b.Note.ID = "law-on", "law-text"
	stored := m.Law
	if facts {
		stored = lawBody(r)
	}
	pick := func(name, label, hint, value string, none string, list []string, say func(string) string) {
		p := form.Choice{
			ID:      "law-" + name,
			Name:    name,
			Label:   label,
			Hint:    hint,
			Value:   value,
			Options: []form.Option{{Value: "", Label: none}},
		}
		for _, w := range list {
			p.Options = append(p.Options, form.Option{Value: w, Label: say(w)})
		}
		if facts {
			wrong.PlaceChoice(r, &p)
		}
		b.Facts = append(b.Facts, p)
	}
	var classes []string
	for _, c := range law.Classes() {
		classes = append(classes, string(c))
	}
	subsectors, err := law.Subsectors()
	if err != nil {
		return nil, err
	}
	word := func(w string) string { return text.LawWord(w, text.English) }
	pick("class", "Class", "Leak rates that start a clock differ by class", stored.Class, "By what it cools", classes, word)
	pick("subsector", "Use", "Some rules hold for these uses only", stored.Subsector, "Not said", subsectors, word)
	pick(
		"method",
		"Leak rate by",
		"One method for all machines of a site",
		stored.Method,
		"Not said: annualizing",
		[]string{string(ledger.Annualizing), string(ledger.Rolling)},
		text.UpperFirst,
	)
	exempt := make([]string, 0, len(law.Exemptions()))
	for _, x := range law.Exemptions() {
		exempt = append(exempt, string(x))
	}
	pick("exempt", "Out of reach of a ban of use", "The European ban on servicing with gas of high warming potential", stored.Exempt,
		"No", exempt, word)
	yes := func(name, label string, on bool) {
		p := form.Choice{
			Name:    name,
			Label:   label,
			Value:   "no",
			Options: []form.Option{{Value: "yes", Label: "Yes"}, {Value: "no", Label: "No"}},
		}
		if on {
			p.Value = "yes"
		}
		b.Yes = append(b.Yes, p)
	}
	yes("hermetic", "Hermetically sealed, and its label says so", stored.Hermetic)
	yes("residential", "It stands in a residential building", stored.Residential)
	yes("shutdown", "A repair needs the shutdown of an industrial process", stored.Shutdown)
	switch {
	case event:
		b.EventErrors = wrong.Rest(r)
	case facts:
		b.FactErrors = wrong.Rest(r)
	}
	for _, x := range slices.Backward(app.LawEvents(m, v.Site.Location())) {
		b.Happened = append(
			b.Happened,
			lawRow{x.Day.Format("2 January 2006"), text.LawEvent(x.What, text.English), x.Text, string(x.Event), s.formID()},
		)
	}
	return b, nil
}

func lawBody(r *http.Request) record.LawBody {
	f := r.PostForm
	return record.LawBody{
		Class:     f.Get("class"),
		Subsector: f.Get("subsector"),
		Method:    f.Get("method"),
		Hermetic:  f.Get("hermetic") == "yes",
		Shutdown:  f.Get("shutdown") == "yes",

		Residential: f.Get("residential") == "yes",
		Exempt:      f.Get("exempt"),
	}
}

func (s *Pages) lawSaved(w http.ResponseWriter, r *http.Request, part string, err error) error {
	if err == nil {
		return redirect(w, r, machinePath(id(r, "machine"))+"#law")
	}
	wrong := form.Mistakes{}
	if !wrong.Take(err) {
		return err
	}
	return s.showMachine(w, r, http.StatusUnprocessableEntity, part, wrong)
}

func (s *Pages) SaveLaw(w http.ResponseWriter, r *http.Request) error {
	return s.lawSaved(w, r, "facts", s.app.SaveLaw(r.Context(), s.act(r), id(r, "machine"), lawBody(r)))
}

func (s *Pages) AddLawEvent(w http.ResponseWriter, r *http.Request) error {
	b := record.LawEventBody{What: r.PostForm.Get("what"), On: r.PostForm.Get("on"), Text: strings.TrimSpace(r.PostForm.Get("text"))}
	return s.lawSaved(w, r, "event", s.app.AddLawEvent(r.Context(), s.act(r), id(r, "machine"), b))
}

func (s *Pages) WithdrawLaw(w http.ResponseWriter, r *http.Request) error {
	if err := s.app.WithdrawLawEvent(r.Context(), s.act(r), id(r, "machine"), record.ID(r.PostForm.Get("event"))); err != nil {
		return err
	}
	return redirect(w, r, machinePath(id(r, "machine"))+"#law")
}

// retrofit asks what another refrigerant would mean; nothing is kept of it.
func retrofit(r *http.Request, v *app.MachineView, b *lawPart) error {
	m := v.Machine
	b.Machine, b.Asked = machinePath(m.ID), r.URL.Query().Get("to")
	b.Other = form.Choice{
		ID:      "law-to",
		Name:    "to",
		Label:   "Another refrigerant",
		Value:   b.Asked,
		Options: []form.Option{{Value: "", Label: "Choose"}},
	}
	for _, g := range refrigerant.InOrder() {
		if g != m.Refrigerant {
			b.Other.Options = append(b.Other.Options, form.Option{Value: g, Label: text.Refrigerant(g)})
		}
	}
	if b.Asked == "" {
		return nil
	}
	var f *fail.Error
	switch err := v.RetrofitErr; {
	case errors.As(err, &f) && f.Code != fail.NotFound:
		b.Other.Bad = form.Message(r, f)
	case err != nil:
		return err
	}
	for _, c := range v.Retrofit {
		b.Changes = append(b.Changes, text.Change(c.Code, text.English)+text.ChangeValues(c))
	}
	return nil
}
