package page

import (
	"fmt"
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/machine/fault"
	"coldwright/record"
	"coldwright/say/text"
	"coldwright/units"
)

type searchBody struct {
	Query, Help, Head string
	Rows              []row
	Pager             pages
}

// onPage is how many rows a page of found things or of learned ones holds.
const onPage = 20

func (s *Pages) Search(w http.ResponseWriter, r *http.Request) error {
	b := searchBody{Query: strings.TrimSpace(r.URL.Query().Get("q")), Help: text.SearchHelp}
	from := offset(r)
	hits, err := s.app.Search(r.Context(), b.Query, from, onPage)
	if err != nil {
		return err
	}
	for _, d := range hits.Docs {
		b.Rows = append(b.Rows, found(d))
	}
	switch {
	case b.Query == "":
	case len(b.Rows) == 0:
		b.Head = "Nothing found for “" + b.Query + "”"
	default:
		b.Head = "Found for “" + b.Query + "”"
	}
	b.Pager = pager("/search", b.Query, from, onPage, hits.More)
	s.show(w, r, http.StatusOK, "search", &Page{Title: "Search", Tab: "machines", Body: b})
	return nil
}

// found is a document as a row.
func found(d app.Doc) row {
	out := row{Main: d.Title, Small: text.FoundKind(d.Kind)}
	if d.Text != "" {
		out.Lines = []string{short(d.Text, 160)}
	}
	switch d.Kind {
	case "site":
		out.Href = "/sites/" + string(d.ID)
	case "machine":
		out.Href = machinePath(d.ID)
	default:
		out.Href = visitPath(d.ID)
		out.Small += " on " + d.At.Format("2 January 2006")
	}
	return out
}

// short cuts a text at a word.
func short(s string, most int) string {
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	cut := string(r[:most])
	if i := strings.LastIndexByte(cut, ' '); i > most/2 {
		cut = cut[:i]
	}
	return cut + " …"
}

type learnedRow struct {
	Href, Main, Line, Withdraw, Event, Form string
}

type learnedBody struct {
	Text                      string
	Table                     [][]string
	Confirmed, Healthy        []learnedRow
	ConfirmedAll, HealthyRest string
}

func (s *Pages) Learned(w http.ResponseWriter, r *http.Request) error {
	l, err := s.app.Learned(r.Context(), onPage)
	if err != nil {
		return err
	}
	b := learnedBody{Text: text.Learned(l.Repairs, fault.PriorStrength)}
	percent := func(x float64) string { return units.Fixed(100*x, 1) + " %" }
	for _, c := range l.Rates {
		b.Table = append(b.Table, []string{text.Fault(c.Cause.String()).Name, percent(c.Shipped), fmt.Sprint(c.Repairs), percent(c.Now)})
	}
	one := func(visit, event record.ID, name, words string) learnedRow {
		return learnedRow{
			Href:     visitPath(visit) + "/report",
			Main:     name,
			Line:     words,
			Withdraw: visitPath(visit) + "/withdraw",
			Event:    string(event),
			Form:     s.formID(),
		}
	}
	for _, c := range l.Confirmed {
		b.Confirmed = append(
			b.Confirmed,
			one(c.Visit, c.Event, c.Site+", "+text.LowerFirst(c.Machine), text.Fault(c.Cause.String()).Name+", "+c.At.Format("2 January 2006")),
		)
	}
	for _, h := range l.Healthy {
		b.Healthy = append(
			b.Healthy,
			one(h.Visit, h.Event, h.Site+", "+text.LowerFirst(h.Name), "Its own normal values, "+h.At.Format("2 January 2006")),
		)
	}
	if n := l.Confirmations - len(l.Confirmed); n > 0 {
		b.ConfirmedAll = fmt.Sprintf("And %d earlier ones; each can be taken back on the page of its visit.", n)
	}
	if n := l.HealthyVisits - len(l.Healthy); n > 0 {
		b.HealthyRest = fmt.Sprintf("And %d earlier ones.", n)
	}
	s.show(w, r, http.StatusOK, "learned", &Page{Title: "What was learned", Tab: "machines", Class: "wide-left", Body: b})
	return nil
}
