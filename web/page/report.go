package page

import (
	"bytes"
	"cmp"
	"net/http"

	"coldwright/app"
	"coldwright/say/report"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/web/form"
)

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
