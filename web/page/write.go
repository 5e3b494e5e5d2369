package page

import (
	"errors"
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/say/report"
	"coldwright/web/form"
)

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
		Base:     visitPath(v.Visit.ID),
		Headline: report.Headline(s.reportData(v, d)),
		Form:     s.formID(),
		Closed:   !v.Visit.Closed.IsZero(),
		What:     "What was wrong, what was done, what is proven and what to do come first; then before and after, readings and tests.",
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
		b.ClosedWords = "Closed " + zoned(v.Visit.Closed, v.Site, "2 January 2006, 15:04")
	}
	for _, f := range []*form.Field{&b.Advice, &b.Mechanic, &b.Customer} {
		wrong.Place(r, f)
	}
	b.Errors = wrong.Rest(r)
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
		Mechanic: strings.TrimSpace(f.Get("mechanic")),
		Customer: strings.TrimSpace(f.Get("customer")),
		Advice:   strings.TrimSpace(f.Get("advice")),
		Shown:    report.Headline(s.reportData(v, form.Units(r))),
	}
	if err := s.app.CloseVisit(r.Context(), s.act(r), v.Visit.ID, b); err != nil {
		var f *fail.Error
		if errors.As(err, &f) && f.Key == "visit.closed_already" {
			return redirect(w, r, visitPath(v.Visit.ID)+"/report") // closed twice it is closed
		}
		wrong := form.Mistakes{}
		if !wrong.Take(err) {
			return err
		}
		return s.showWrite(w, r, http.StatusUnprocessableEntity, wrong)
	}
	return redirect(w, r, visitPath(v.Visit.ID)+"/report")
}
