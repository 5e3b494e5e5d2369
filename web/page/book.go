package page

import (
	"bytes"
	"net/http"
	"slices"
	"strings"
	"time"

	"coldwright/fail"
	"coldwright/record"
	"coldwright/rules/ledger"
	"coldwright/say/report"
)

// books names the refrigerant books of this month and the two before.
func books(site record.Site, now time.Time) []nameValue {
	var out []nameValue
	first := now.In(site.Location())
	first = time.Date(first.Year(), first.Month(), 1, 0, 0, 0, 0, time.UTC)
	for i := range 3 {
		m := first.AddDate(0, -i, 0)
		out = append(out, nameValue{m.Format("January 2006"), bookPath(site.ID, m)})
	}
	return out
}

func bookPath(site record.ID, month time.Time) string {
	return "/sites/" + string(site) + "/book/" + month.Format("2006-01")
}

type bookBody struct {
	Book                      report.Book
	Site, Path, Before, After string
}

// RefrigerantMonth is a site's refrigerant in and out in a month: a page, the same as PDF, and its numbers as CSV.
func (s *Pages) RefrigerantMonth(w http.ResponseWriter, r *http.Request) error {
	asked := r.PathValue("month")
	month, kind := asked, ""
	if len(asked) > len("2006-01") {
		month, kind = asked[:len("2006-01")], asked[len("2006-01"):]
	}
	t, err := time.Parse("2006-01", month)
	if err != nil {
		return fail.Of(fail.BadValue, "month", "book.month", fail.Args{"text": asked})
	}
	view, err := s.app.Site(r.Context(), id(r, "site"))
	if err != nil {
		return err
	}
	m, err := s.app.RefrigerantMonth(r.Context(), id(r, "site"), t.Year(), t.Month())
	if err != nil {
		return err
	}
	book := report.BuildBook(report.BookData{Site: view.Site.Name, Customer: view.Site.Customer, Address: view.Site.Address, Month: m})
	var b bytes.Buffer
	content := "text/csv; charset=utf-8"
	switch kind {
	case "":
		p := bookBody{Book: book, Site: "/sites/" + string(view.Site.ID), Path: bookPath(view.Site.ID, t)}
		if slices.ContainsFunc(m.Accounts, func(l ledger.AccountLine) bool { return l.Before != 0 }) {
			p.Before = bookPath(view.Site.ID, t.AddDate(0, -1, 0))
		}
		if after := t.AddDate(0, 1, 0); !after.After(s.app.Now()) {
			p.After = bookPath(view.Site.ID, after)
		}
		s.show(w, r, http.StatusOK, "book", &Page{Title: book.Title, Tab: "machines", Body: p})
		return nil
	case ".csv":
		err = m.WriteCSV(&b)
	case "-balances.csv":
		err = m.WriteAccounts(&b)
	case ".pdf":
		content, err = "application/pdf", book.PDF(&b, report.A4)
	case "-letter.pdf":
		content, err = "application/pdf", book.PDF(&b, report.Letter)
	default:
		return s.Missing(w, r)
	}
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", content)
	how := "attachment"
	if strings.HasSuffix(kind, "pdf") {
		how = "inline"
	}
	w.Header().Set("Content-Disposition", how+`; filename="refrigerant-`+asked+`"`)
	_, _ = w.Write(b.Bytes()) // the other end may have gone
	return nil
}
