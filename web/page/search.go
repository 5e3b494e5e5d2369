package page

import (
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/say/text"
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
