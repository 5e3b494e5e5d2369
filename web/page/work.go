package page

import (
	"bytes"
	"cmp"
	"net/http"
	"slices"
	"strings"

	"coldwright/app"
	"coldwright/machine/fault"
	"coldwright/record"
	"coldwright/say/figure"
	"coldwright/say/plot"
	"coldwright/say/report"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
	"coldwright/web/form"
)

type doneRow struct{ Words, Event, Form string }

type workBody struct {
	Base, Advice, Form, Form2, Form3, Form4 string
	Cautions, ChargeCautions                []text.Caution
	WorkErrors, LeakErrors, GasErrors       []string
	Kind, Direction                         form.Choice
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
	b.Kind = form.Choice{ID: "f-code", Name: "code", Label: "Kind of work", Value: get("work", "code"), Options: []form.Option{{Value: "", Label: "Choose"}}}
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
	switch part {
	case "work":
		wrong.PlaceChoice(&b.Kind)
		wrong.Place(&b.Text)
		b.WorkErrors = wrong.Rest()
	case "leak":
		wrong.Place(&b.Place)
		wrong.Place(&b.How)
		b.LeakErrors = wrong.Rest()
	case "gas":
		wrong.PlaceChoice(&b.Direction)
		wrong.Place(&b.Mass)
		wrong.Place(&b.Cylinder)
		b.GasErrors = wrong.Rest()
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
			words += " (" + x.How + ")"
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
		s.app.MoveGas(r.Context(), s.act(r), id(r, "visit"), f.Get("direction"), f.Get("mass"), massUnit(form.Units(r)), f.Get("cylinder")),
	)
}

func (s *Pages) GoAfter(w http.ResponseWriter, r *http.Request) error {
	visit := id(r, "visit")
	if err := s.app.SetPhase(r.Context(), s.act(r), visit, record.After); err != nil {
		return err
	}
	return redirect(w, r, visitPath(visit)+"/cold")
}

type coldBody struct {
	Base, H1, Para, Over, Head, Form, Form2, Caption string
	Keys                                             []key
	Cautions                                         []text.Caution
	CanHealthy, Healthy, Proof                       bool
	Confirm                                          *form.Choice
	Scene                                            plot.Scene
	Table                                            figure.Table
}

func (s *Pages) Cold(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Judge: []record.Phase{record.Before, record.After}, Running: true})
	if err != nil {
		return err
	}
	d, base := form.Units(r), visitPath(v.Visit.ID)
	b := coldBody{
		Base:     base,
		Form:     s.formID(),
		Form2:    s.formID(),
		Over:     "Next",
		Healthy:  v.Visit.Healthy,
		Cautions: text.Cautions("cold", danger(v.Machine)),
	}
	after := v.Visit.After
	pulled := after.Pull != nil && len(after.Pull.Points) > 1
	open := v.Visit.Closed.IsZero()
	b.H1, b.Para = "Prove the cold", "Pull-down again, then the same temperatures as before. A final reading within a degree or two of "+
		"its band counts as right."
	if v.After.Posterior != nil {
		b.H1, b.Para = text.Headline(v.After.Judged, d)
		b.Para = strings.TrimSpace(b.Para + " " + text.Instruments(v.After.Judged.Instruments, d, text.English))
	}
	logged := key{Href: base + "/cold-record", Label: "Add a logger's record", Second: true}
	pull := key{Href: base + "/time?end=after", Label: "Pull it down again"}
	read := key{Href: base + "/readings?end=after", Label: "Read the circuit again"}
	write := key{Href: base + "/write", Label: "Write it down"}
	switch {
	case !pulled && len(after.Readings) < 2:
		b.Head = "Time the box again, doors shut"
		read.Second, write.Second = true, true
		b.Keys = []key{pull, read, logged, write}
	case len(after.Readings) < 2:
		b.Head = "Read the same places again"
		pull.Second, write.Second = true, true
		b.Keys = []key{read, pull, logged, write}
	default:
		b.Head = "Write it down"
		pull.Second, read.Second = true, true
		b.Keys = []key{write, {Href: base + "/judge?end=after", Label: "See the judgement", Second: true}, read, pull, logged}
	}
	b.CanHealthy = open && !v.Visit.Healthy && (len(after.Readings) >= 2 || len(v.Visit.Before.Readings) >= 2 && len(v.Visit.Work) == 0)
	if open {
		b.Confirm = &form.Choice{ID: "f-fault", Name: "fault", Label: "The cause the repair confirmed", Value: v.Visit.Confirmed}
		if v.Visit.Confirmed == "" {
			b.Confirm.Options = []form.Option{{Value: "", Label: "Choose"}}
		}
		codes := fault.Singles()
		// The first suspects, so that the answer is near the top of the list.
		if j := v.Before.Judged; j != nil {
			var first []fault.Code
			for _, c := range j.Causes() {
				first = append(first, c.Code)
			}
			codes = append(first[:min(3, len(first))], codes...)
		}
		var said []fault.Code
		for _, c := range append(codes, fault.Healthy) {
			if !slices.Contains(said, c) {
				said = append(said, c)
				b.Confirm.Options = append(b.Confirm.Options, form.Option{Value: c.String(), Label: text.Fault(c.String()).Name})
			}
		}
	}
	if v.Before.Posterior != nil && v.After.Posterior != nil {
		f := figure.ProofData{
			Before: figure.Marks(
				v.Before.Posterior,
				v.Before.Sheet,
			),
			After:   figure.Marks(v.After.Posterior, v.After.Sheet),
			Display: d,
		}
		b.Proof, b.Scene, b.Caption, b.Table = true, figure.Proof(f), f.Caption(), f.Table()
	}
	p := s.visitPage(v, d, "Prove the cold", false)
	p.Class, p.Body = "two", b
	p.Kept = s.kept(v, "cold", base+"/cold")
	s.show(w, r, http.StatusOK, "cold", p)
	return nil
}

func (s *Pages) MarkHealthy(w http.ResponseWriter, r *http.Request) error {
	visit := id(r, "visit")
	if err := s.app.MarkHealthy(r.Context(), s.act(r), visit); err != nil {
		return err
	}
	return redirect(w, r, visitPath(visit)+"/cold")
}

func (s *Pages) Confirm(w http.ResponseWriter, r *http.Request) error {
	visit := id(r, "visit")
	if err := s.app.Confirm(r.Context(), s.act(r), visit, r.PostForm.Get("fault")); err != nil {
		return err
	}
	return redirect(w, r, visitPath(visit)+"/cold")
}

type writeBody struct {
	Base, Headline, Form, ClosedWords, What string
	Closed                                  bool
	Errors                                  []string
	Advice, Mechanic, Customer              form.Field
}

func (s *Pages) Write(w http.ResponseWriter, r *http.Request) error {
	return s.showWrite(w, r, http.StatusOK, form.Mistakes{})
}

func (s *Pages) showWrite(w http.ResponseWriter, r *http.Request, status int, wrong form.Mistakes) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Judge: []record.Phase{record.Before, record.After}, Running: true})
	if err != nil {
		return err
	}
	d := form.Units(r)
	get := func(name, otherwise string) string {
		if r.PostForm.Has(name) {
			return r.PostForm.Get(name)
		}
		return otherwise
	}
	b := writeBody{
		Base: visitPath(
			v.Visit.ID,
		),
		Headline: report.Headline(s.reportData(v, d)),
		Form:     s.formID(),
		Closed:   !v.Visit.Closed.IsZero(),
		What:     "One page: what was wrong, what was done, what is proven, what to do, with before and after on one scale.",
		Advice:   form.TextField("advice", "What the customer should do", "One line each; leave empty for none", get("advice", "")),
		Mechanic: form.TextField(
			"mechanic",
			"Mechanic",
			"Your name or van",
			get("mechanic", form.ReadProfile(r).By),
		),
		Customer: form.TextField("customer", "For the customer", "Who signs there", get("customer", "")),
	}
	if b.Closed {
		b.ClosedWords = "Closed " + v.Visit.Closed.In(v.Site.Location()).Format("2 January 2006, 15:04")
	}
	for _, f := range []*form.Field{&b.Advice, &b.Mechanic, &b.Customer} {
		wrong.Place(f)
	}
	b.Errors = wrong.Rest()
	p := s.visitPage(v, d, "Write it down", false)
	p.Class, p.Body = "two", b
	p.Kept = s.kept(v, "", b.Base+"/write")
	p.Kept.Where = "write"
	s.show(w, r, status, "write", p)
	return nil
}

func (s *Pages) Close(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), app.Parts{Judge: []record.Phase{record.Before, record.After}})
	if err != nil {
		return err
	}
	f := r.PostForm
	b := record.CloseBody{
		Mechanic: strings.TrimSpace(
			f.Get("mechanic"),
		),
		Customer: strings.TrimSpace(f.Get("customer")),
		Advice:   strings.TrimSpace(f.Get("advice")),
		Shown:    report.Headline(s.reportData(v, form.Units(r))),
	}
	if err := s.app.CloseVisit(r.Context(), s.act(r), v.Visit.ID, b); err != nil {
		wrong := form.Mistakes{}
		if !wrong.Take(err) {
			return err
		}
		return s.showWrite(w, r, http.StatusUnprocessableEntity, wrong)
	}
	return redirect(w, r, visitPath(v.Visit.ID)+"/report")
}

func (s *Pages) reportData(v *app.VisitView, d units.Display, lang ...text.Language) report.Data {
	return report.FromVisit(v, d, v.Site.Location(), lang...)
}

type reportBody struct {
	Doc        report.Document
	PDF, Visit string
	Others     []otherLanguage
	Closed     bool
}

// otherLanguage is a language a report can be had in besides the one it is shown in.
type otherLanguage struct{ Lang, Words string }

// reportLanguage is the language asked for in the address, else the one kept on this device.
func reportLanguage(r *http.Request) (text.Language, error) {
	if asked := r.URL.Query().Get("lang"); asked != "" {
		return text.ParseLanguage(asked)
	}
	return text.ParseLanguage(form.ReadProfile(r).Lang)
}

func (s *Pages) Report(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), report.Needs(form.Units(r), false))
	if err != nil {
		return err
	}
	l, err := reportLanguage(r)
	if err != nil {
		return err
	}
	d, base := form.Units(r), visitPath(v.Visit.ID)
	p := s.visitPage(v, d, "", true)
	p.Unread = nil // the report says it itself, in its language
	p.Title = text.Report("title", l, text.LowerFirst(v.Machine.Name))
	b := reportBody{
		Doc:    report.Build(s.reportData(v, d, l)),
		PDF:    base + "/report.pdf?lang=" + string(l),
		Visit:  base,
		Closed: !v.Visit.Closed.IsZero(),
	}
	for _, o := range text.Languages() {
		if o != l {
			b.Others = append(b.Others, otherLanguage{string(o), text.Report("in_language", o)})
		}
	}
	p.Lang, p.Class, p.Body = string(l), "rep", b
	s.show(w, r, http.StatusOK, "report", p)
	return nil
}

func (s *Pages) ReportPDF(w http.ResponseWriter, r *http.Request) error {
	v, err := s.app.Visit(r.Context(), id(r, "visit"), report.Needs(form.Units(r), true))
	if err != nil {
		return err
	}
	l, err := reportLanguage(r)
	if err != nil {
		return err
	}
	data := s.reportData(v, form.Units(r), l)
	if data.Paper, err = report.ParsePaper(cmp.Or(r.URL.Query().Get("paper"), form.ReadProfile(r).Paper)); err != nil {
		return err
	}
	var b bytes.Buffer
	if err := report.PDF(&b, data); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", `inline; filename="report-`+data.Number+`.pdf"`)
	_, _ = w.Write(b.Bytes()) // the other end may have gone
	return nil
}
