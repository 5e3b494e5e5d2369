package page

import (
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/record"
	"coldwright/rules/ledger"
	"coldwright/say/text"
	"coldwright/verdict"
	"coldwright/web/form"
)

type doneRow struct{ Words, Event, Form string }

type workBody struct {
	Base, Advice, Form, Form2, Form3, Form4 string
	Cautions, ChargeCautions                []text.Caution
	WorkErrors, LeakErrors, GasErrors       []string
	Kind, Direction                         form.Choice
	Same                                    *form.Choice // asked where refrigerant was added before
	Text, Place, How, Mass, Cylinder        form.Field
	Done                                    []doneRow
}

func (s *Pages) Work(w http.ResponseWriter, r *http.Request) error {
	return s.showWork(w, r, http.StatusOK, "", form.Mistakes{})
}

// showWork shows the page; part says which of its forms was refused.
func (s *Pages) showWork(w http.ResponseWriter, r *http.Request, status int, part string, wrong form.Mistakes) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Judge: []record.Phase{record.Before}, Running: true})
	if err != nil {
		return err
	}
	d, dg := form.Units(r), danger(v.Machine)
	b := workBody{
		Base: visitPath(v.Visit.ID), Form: s.formID(), Form2: s.formID(), Form3: s.formID(), Form4: s.formID(),
		Cautions: text.Cautions("repair", dg), ChargeCautions: text.Cautions("charge", dg),
	}
	if lead, ok := v.Before.Judged.Leading(); ok && lead.Level() <= verdict.AboutEven {
		f := text.Fault(lead.Code.String())
		b.Advice = text.UpperFirst(text.Level(lead.Level())) + ": " + text.LowerFirst(f.Name) + ". " + f.Check
	}
	get := func(p, name string) string {
		if p == part && status != http.StatusOK {
			return r.PostForm.Get(name)
		}
		return ""
	}
	b.Kind = form.Choice{
		ID:      "f-code",
		Name:    "code",
		Label:   "Kind of work",
		Value:   get("work", "code"),
		Options: []form.Option{{Value: "", Label: "Choose"}},
	}
	for _, c := range text.WorkCodes() {
		if c != "other" {
			b.Kind.Options = append(b.Kind.Options, form.Option{Value: c, Label: text.Work(c)})
		}
	}
	b.Kind.Options = append(b.Kind.Options, form.Option{Value: "other", Label: text.Work("other")})
	b.Text = form.TextField("text", "What exactly", "For the report, in words the customer understands", get("work", "text"))
	b.Place = form.TextField("place", "Where", "Such as liquid line at the wall clamp", get("leak", "place"))
	b.How = form.TextField("how", "How it was found", "Detector, bubbles, oil", get("leak", "how"))
	b.Direction = form.Choice{
		Name:    "direction",
		Label:   "Which way",
		Value:   get("gas", "direction"),
		Options: []form.Option{{Value: "recovered", Label: "Out of the machine"}, {Value: "added", Label: "Into the machine"}},
	}
	b.Mass = form.NumberField("mass", "Weight", "By the scale: 9 lb 8 oz, or 4.3 kg", massUnit(d), get("gas", "mass"))
	b.Cylinder = form.TextField("cylinder", "Cylinder", "Its number; one refrigerant only", get("gas", "cylinder"))
	if day, proposed, ok := app.AddedBefore(v.Machine, v.Visit.ID, v.Site.Location(), ledger.On(s.app.Now(), v.Site.Location())); ok {
		b.Same = &form.Choice{
			Name:  "same_leak",
			Label: "Does what goes in make up the same loss as on " + day.Format("2 January 2006") + "?",
			Value: string(ledger.SameLeakNo),
			Options: []form.Option{
				{Value: string(ledger.SameLeakYes), Label: "Same leak"}, {Value: string(ledger.SameLeakNo), Label: "Another loss"},
			},
		}
		if proposed {
			b.Same.Value = string(ledger.SameLeakYes)
		}
		if said := get("gas", "same_leak"); said != "" {
			b.Same.Value = said
		}
	}
	switch part {
	case "work":
		wrong.PlaceChoice(r, &b.Kind)
		wrong.Place(r, &b.Text)
		b.WorkErrors = wrong.Rest(r)
	case "leak":
		wrong.Place(r, &b.Place)
		wrong.Place(r, &b.How)
		b.LeakErrors = wrong.Rest(r)
	case "gas":
		wrong.PlaceChoice(r, &b.Direction)
		if b.Same != nil {
			wrong.PlaceChoice(r, b.Same)
		}
		wrong.Place(r, &b.Mass)
		wrong.Place(r, &b.Cylinder)
		b.GasErrors = wrong.Rest(r)
	}
	for _, x := range v.Visit.Work {
		words := text.Work(x.Code)
		if x.Code == "other" && x.Text != "" {
			words = text.UpperFirst(x.Text)
		} else if x.Text != "" {
			words += ": " + text.LeakPlace(x.Text, text.English)
		}
		b.Done = append(b.Done, doneRow{words, string(x.Event), s.formID()})
	}
	for _, x := range v.Visit.Leaks {
		words := "Leak: " + text.LeakPlace(x.Place, text.English)
		if x.How != "" {
			words += " (" + text.LowerFirst(text.LeakMethod(x.How, text.English)) + ")"
		}
		b.Done = append(b.Done, doneRow{words, string(x.Event), s.formID()})
	}
	for _, x := range v.Visit.Moves {
		words := d.FormatMass(grams(x.Grams)) + " into the machine"
		if x.Direction != "added" {
			words = d.FormatMass(grams(x.Grams)) + " out of the machine"
		}
		if x.Cylinder != "" {
			words += ", cylinder " + x.Cylinder
		}
		b.Done = append(b.Done, doneRow{words, string(x.Event), s.formID()})
	}
	if !v.Visit.Closed.IsZero() {
		for i := range b.Done {
			b.Done[i].Event = ""
		}
	}
	p := s.visitPage(v, d, "Find and repair", false)
	p.Class, p.Body = "two", b
	p.Kept = s.kept(v, "repair", b.Base+"/work")
	s.show(w, r, status, "work", p)
	return nil
}

// saved answers a save on the work page: back to it, or the same page with what was refused.
func (s *Pages) saved(w http.ResponseWriter, r *http.Request, part string, err error) error {
	if err == nil {
		return redirect(w, r, visitPath(id(r, "visit"))+"/work#"+part)
	}
	wrong := form.Mistakes{}
	if !wrong.Take(err) {
		return err
	}
	return s.showWork(w, r, http.StatusUnprocessableEntity, part, wrong)
}

func (s *Pages) AddWork(w http.ResponseWriter, r *http.Request) error {
	return s.saved(
		w,
		r,
		"work",
		s.app.AddWork(
			r.Context(),
			s.act(r),
			id(r, "visit"),
			record.WorkBody{Code: r.PostForm.Get("code"), Text: strings.TrimSpace(r.PostForm.Get("text"))},
		),
	)
}

func (s *Pages) AddLeak(w http.ResponseWriter, r *http.Request) error {
	return s.saved(
		w,
		r,
		"leak",
		s.app.AddLeak(
			r.Context(),
			s.act(r),
			id(r, "visit"),
			record.LeakBody{Place: strings.TrimSpace(r.PostForm.Get("place")), How: strings.TrimSpace(r.PostForm.Get("how"))},
		),
	)
}

func (s *Pages) MoveGas(w http.ResponseWriter, r *http.Request) error {
	f := r.PostForm
	return s.saved(
		w,
		r,
		"gas",
		s.app.MoveGas(
			r.Context(),
			s.act(r),
			id(r, "visit"),
			f.Get("direction"),
			f.Get("mass"),
			massUnit(form.Units(r)),
			f.Get("cylinder"),
			f.Get("same_leak"),
		),
	)
}

func (s *Pages) GoAfter(w http.ResponseWriter, r *http.Request) error {
	visit := id(r, "visit")
	if err := s.app.SetPhase(r.Context(), s.act(r), visit, record.After); err != nil {
		return err
	}
	return redirect(w, r, visitPath(visit)+"/cold")
}
