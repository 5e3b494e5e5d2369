package page

import (
	"embed"
	"net/http"
	"strings"
	"time"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/say/text"
	"coldwright/web/form"
)

// Templates are the pages as html/template reads them, each beside the handlers that fill it; they stand inside the
// layout of package web.
//
//go:embed *.html
var Templates embed.FS

// Options tune the pages.
type Options struct {
	Version string
	// Base is the address of the server as others open it, such as http://cold.example:8080, for the codes of labels;
	// empty: the one a request came to.
	Base string
	// Log is told about failures that are ours, with the id the page shows; nil: nobody is told.
	Log func(id string, err error)
}

// Show lays a page out and sends it.
type Show func(w http.ResponseWriter, r *http.Request, status int, name string, p *Page)

// Pages are the handlers over an application.
type Pages struct {
	app  *app.App
	o    Options
	show Show
}

// New returns the handlers; show lays out what they made.
func New(a *app.App, o Options, show Show) *Pages { return &Pages{a, o, show} }

// maxBody is more than any form of ours needs.
const maxBody = 1 << 20

func (s *Pages) Missing(http.ResponseWriter, *http.Request) error {
	return fail.Of(fail.NotFound, "", "page.none", nil)
}

// Page is what the layout shows.
type Page struct {
	Title, Tab, Look, Class, VisitPath, Here string
	Lang                                     string // of what the page shows; "" is that of the program around it
	Shown                                    string // the units the page is in, sent back with its forms
	Plate                                    []PlateCell
	Strips                                   []Strip // the tests that run, the nearest to its end first
	Me                                       form.Profile
	Print, Clock, Sign                       bool
	Kept                                     *keptBody // photos and notes below the page
	Pictures                                 bool      // the page itself sends pictures
	Unread                                   *text.Caution
	Answer                                   bool // it came straight in answer to a form, and shows what was typed
	Body                                     any
}

type PlateCell struct {
	Name, Value, Href string
	Desk              bool
}

// Strip is a running test: its clock, its last value, and when it ends or what is due now.
type Strip struct {
	Href, Since, Now, Clock, Words, End string
	Due                                 bool      // its end has come
	ends                                time.Time // zero: nobody can say
}

func TakesGzip(r *http.Request) bool {
	for part := range strings.SplitSeq(r.Header.Get("Accept-Encoding"), ",") {
		name, q, _ := strings.Cut(part, ";")
		if strings.TrimSpace(name) == "gzip" {
			return strings.Trim(strings.TrimSpace(q), "0.") != "q="
		}
	}
	return false
}

func redirect(w http.ResponseWriter, r *http.Request, to string) error {
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// local keeps a way back on this site.
func local(path, otherwise string) string {
	// A browser leaves out tabs and line ends before it looks where a way leads.
	strange := strings.ContainsFunc(path, func(r rune) bool { return r <= ' ' || r == '\\' || r == 0x7f })
	if strings.HasPrefix(path, "/") && !strings.HasPrefix(path, "//") && !strange {
		return path
	}
	return otherwise
}

func (s *Pages) act(r *http.Request) app.Act {
	return app.Act{By: form.ReadProfile(r).By, Form: form.IdempotencyKey(r)}
}

// formID is the id of a form about to be shown.
func (s *Pages) formID() string {
	id, err := s.app.NewID()
	if err != nil {
		return "" // without one a double submit is not noticed; nothing else suffers
	}
	return string(id)
}

// Temps and Pressures are what a person may choose to see.
func (p *Page) Temps() []string { return form.Choices["temp"] }

// Pressures lists the units of pressures.
func (p *Page) Pressures() []string { return form.Choices["pressure"] }

func id(r *http.Request, name string) record.ID { return record.ID(r.PathValue(name)) }

// notRead says that entries of what the page shows cannot be read by this program.
func (p *Page) notRead(n int) {
	if s := text.Unread(n, text.English); s != "" {
		p.Unread = &text.Caution{Code: "unread", Text: s}
	}
}
