package web

import (
	"bytes"
	"compress/gzip"
	"errors"
	"html/template"
	"net/http"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/web/form"
)

// Options tune the pages.
type Options struct {
	Version string
	// Base is the address of the server as others open it, such as http://cold.example:8080, for the codes of labels;
	// empty: the one a request came to.
	Base string
	// Log is told about failures that are ours, with the id the page shows; nil: nobody is told.
	Log func(id string, err error)
}

type server struct {
	app    *app.App
	o      Options
	pages  map[string]*template.Template
	assets assets
}

// maxBody is more than any form of ours needs.
const maxBody = 1 << 20

// New returns the pages over an application.
func New(a *app.App, o Options) http.Handler {
	s := &server{app: a, o: o, assets: loadAssets(), pages: map[string]*template.Template{}}
	funcs := template.FuncMap{
		"fig":   plot.HTML,
		"asset": func(name string) string { return s.assets.names[name] },
	}
	layout := template.Must(template.New("layout.html").Funcs(funcs).ParseFS(files, "pages/layout.html"))
	for _, name := range []string{
		"error", "me", "today", "machines", "machine", "drift", "site", "form", "visit", "time", "readings",
		"judge", "work", "leak", "cold", "write", "report", "test", "charge", "coldrecord", "load", "parts", "search", "learned", "import",
		"practice", "bench", "truth", "photos", "cylinders", "cylinder", "book", "sign", "labels",
	} {
		s.pages[name] = template.Must(template.Must(layout.Clone()).ParseFS(files, "pages/"+name+".html"))
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /static/{name}", s.assets.serve)
	for pattern, h := range map[string]handler{
		"GET /{$}":                                s.today,
		"GET /":                                   s.missing,
		"GET /cylinders":                          s.cylinders,
		"POST /cylinders/{act}":                   s.saveCylinder,
		"GET /cylinders/one":                      s.cylinder,
		"POST /cylinders/withdraw":                s.withdrawCylinder,
		"GET /export.csv":                         s.exportTable,
		"GET /export.jsonl":                       s.exportAll,
		"GET /import":                             s.importPage,
		"POST /import":                            s.importFile,
		"POST /import/now":                        s.importNow,
		"GET /labels":                             s.labels,
		"GET /labels.pdf":                         s.labelsPDF,
		"GET /learned":                            s.learned,
		"GET /machines":                           s.machines,
		"GET /machines/new":                       s.newMachine,
		"POST /machines/new":                      s.saveMachine,
		"GET /machines/{machine}":                 s.machine,
		"GET /machines/{machine}/drift":           s.drift,
		"GET /machines/{machine}/due.ics":         s.dueCalendar,
		"GET /machines/{machine}/edit":            s.newMachine,
		"POST /machines/{machine}/edit":           s.saveMachine,
		"POST /machines/{machine}/law/facts":      s.saveLaw,
		"POST /machines/{machine}/law/event":      s.addLawEvent,
		"POST /machines/{machine}/law/withdraw":   s.withdrawLaw,
		"GET /machines/{machine}/load":            s.load,
		"POST /machines/{machine}/load":           s.saveLoad,
		"POST /machines/{machine}/open":           s.openVisit,
		"GET /machines/{machine}/parts":           s.parts,
		"POST /machines/{machine}/parts":          s.saveParts,
		"GET /machines/{machine}/photos":          s.platePhotos,
		"POST /machines/{machine}/photos":         s.addPlatePhoto,
		"POST /machines/{machine}/photos/back":    s.takePlatePhoto,
		"GET /me":                                 s.me,
		"POST /me":                                s.saveMe,
		"GET /photo/{hash}":                       s.photo,
		"GET /photo/{hash}/small":                 s.smallPhoto,
		"GET /practice":                           s.practice,
		"GET /practice/result":                    s.truth,
		"GET /practice/run":                       s.bench,
		"GET /search":                             s.search,
		"GET /sites/new":                          s.newSite,
		"POST /sites/new":                         s.saveSite,
		"GET /sites/{site}":                       s.site,
		"GET /sites/{site}/book/{month}":          s.refrigerantMonth,
		"GET /sites/{site}/edit":                  s.newSite,
		"POST /sites/{site}/edit":                 s.saveSite,
		"GET /visits":                             s.visits,
		"GET /visits/{visit}":                     s.visit,
		"POST /visits/{visit}/after":              s.goAfter,
		"POST /visits/{visit}/arrive":             s.arrive,
		"GET /visits/{visit}/charge":              s.charge,
		"POST /visits/{visit}/charge":             s.addScale,
		"POST /visits/{visit}/charge/book":        s.bookCharge,
		"POST /visits/{visit}/charge/set":         s.setCharge,
		"POST /visits/{visit}/close":              s.close,
		"GET /visits/{visit}/cold":                s.cold,
		"GET /visits/{visit}/cold-record":         s.coldRecord,
		"POST /visits/{visit}/cold-record":        s.addColdRecord,
		"GET /visits/{visit}/cold-record/{event}": s.coldFile,
		"POST /visits/{visit}/confirm":            s.confirm,
		"GET /visits/{visit}/dry":                 s.dry,
		"POST /visits/{visit}/dry":                s.addDry,
		"POST /visits/{visit}/dry/start":          s.startDry,
		"POST /visits/{visit}/gas":                s.moveGas,
		"POST /visits/{visit}/healthy":            s.markHealthy,
		"GET /visits/{visit}/judge":               s.judge,
		"POST /visits/{visit}/judge":              s.saveOne,
		"POST /visits/{visit}/leak":               s.addLeak,
		"POST /visits/{visit}/look":               s.look,
		"POST /visits/{visit}/notes":              s.addNote,
		"GET /visits/{visit}/photos":              s.photos,
		"POST /visits/{visit}/photos":             s.addPhoto,
		"GET /visits/{visit}/readings":            s.readings,
		"POST /visits/{visit}/readings":           s.saveReadings,
		"GET /visits/{visit}/report":              s.report,
		"GET /visits/{visit}/report.pdf":          s.reportPDF,
		"GET /visits/{visit}/search":              s.leakSearch,
		"POST /visits/{visit}/search":             s.markLook,
		"POST /visits/{visit}/search/act":         s.markLeak,
		"POST /visits/{visit}/search/set":         s.setLeak,
		"GET /visits/{visit}/sign":                s.sign,
		"POST /visits/{visit}/sign":               s.saveSign,
		"GET /visits/{visit}/tight":               s.tight,
		"POST /visits/{visit}/tight":              s.addTight,
		"POST /visits/{visit}/tight/start":        s.startTight,
		"GET /visits/{visit}/time":                s.time,
		"POST /visits/{visit}/time":               s.addPoint,
		"POST /visits/{visit}/time/mark":          s.mark,
		"POST /visits/{visit}/time/start":         s.startPull,
		"POST /visits/{visit}/withdraw":           s.withdraw,
		"GET /visits/{visit}/work":                s.work,
		"POST /visits/{visit}/work":               s.addWork,
		"GET /visits/{visit}/write":               s.write,
	} {
		mux.HandleFunc(pattern, s.handle(h))
	}
	guard := http.NewCrossOriginProtection()
	guard.SetDenyHandler(s.handle(func(http.ResponseWriter, *http.Request) error {
		return fail.New(
			fail.Forbidden,
			"",
			"This form came from another site, so nothing was changed.",
			"Open the page here and send it again.",
		)
	}))
	return headers(guard.Handler(mux))
}

func headers(h http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		w.Header().
			Set("Content-Security-Policy", "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; form-action 'self'; "+
				"frame-ancestors 'none'")
		w.Header().Set("X-Content-Type-Options", "nosniff")
		w.Header().Set("Referrer-Policy", "same-origin")
		w.Header().Set("Cache-Control", "no-store")
		h.ServeHTTP(w, r)
	})
}

type handler func(http.ResponseWriter, *http.Request) error

// handle reads the form and turns a failure into a page.
func (s *server) handle(h handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, mostOf(r))
		err := r.ParseForm()
		if err != nil {
			err = fail.New(fail.Usage, "", "This form could not be read.", "Go back and send it again.")
		} else {
			err = h(w, r)
		}
		if err != nil {
			s.fail(w, r, err)
		}
	}
}

type errorBody struct{ Head, Message, Hint, ID string }

func (s *server) fail(w http.ResponseWriter, r *http.Request, err error) {
	var wrong app.Wrong
	if errors.As(err, &wrong) {
		err = errors.New(wrong.Error())
	}
	var f *fail.Error
	if !errors.As(err, &f) || f.Code == fail.Internal {
		id := "none"
		if v, idErr := s.app.NewID(); idErr == nil {
			id = string(v)
		}
		if s.o.Log != nil {
			s.o.Log(id, err)
		}
		s.page(
			w,
			r,
			http.StatusInternalServerError,
			"error",
			&page{
				Title: "Our mistake",
				Body: errorBody{
					"This did not work",
					"The mistake is ours, not yours. What was saved before is safe.",
					"Try it once more.",
					id,
				},
			},
		)
		return
	}
	head := "This did not work"
	switch f.Code {
	case fail.NotFound:
		head = "Not found"
	case fail.Conflict:
		head = "It has changed meanwhile"
	}
	said := text.Voice{Display: form.Units(r)}.Mistake(f)
	s.page(w, r, f.Code.HTTPStatus(), "error", &page{Title: head, Body: errorBody{Head: head, Message: said.Sentence(), Hint: said.Advice()}})
}

func (s *server) missing(http.ResponseWriter, *http.Request) error {
	return fail.New(fail.NotFound, "", "There is no page here.", "Look for it from Today.")
}

// page is what the layout shows.
type page struct {
	Title, Tab, Look, Class, VisitPath, Here string
	Lang                                     string // of what the page shows; "" is that of the program around it
	Shown                                    string // the units the page is in, sent back with its forms
	Plate                                    []plateCell
	Strip                                    *strip
	Me                                       form.Profile
	Print, Clock, Sign                       bool
	Kept                                     *keptBody // photos and notes below the page
	Pictures                                 bool      // the page itself sends pictures
	Unread                                   *text.Caution
	Answer                                   bool // it came straight in answer to a form, and shows what was typed
	Body                                     any
}

// notRead says that entries of what the page shows cannot be read by this program.
func (p *page) notRead(n int) {
	if s := text.Unread(n, text.English); s != "" {
		p.Unread = &text.Caution{Code: "unread", Text: s}
	}
}

type plateCell struct {
	Name, Value, Href string
	Desk              bool
}

type strip struct{ Href, Since, Now, Clock, Words string }

// page renders into memory first, so that a page is whole or not there.
func (s *server) page(w http.ResponseWriter, r *http.Request, status int, name string, p *page) {
	p.Me = form.ReadProfile(r)
	d := form.Units(r)
	p.Me.Temp, p.Me.Pressure, p.Me.Mass = d.Temp, d.Pressure, d.Mass
	p.Shown = strings.Join([]string{d.Temp, d.Pressure, d.Mass}, "|")
	p.Look, p.Print, p.Here = p.Me.DataLook(), r.URL.Query().Has("print"), r.URL.RequestURI()
	if r.Method == http.MethodPost {
		p.Here, p.Answer = r.URL.Path, true
	}
	if p.Strip != nil {
		p.Clock = true
	}
	var b bytes.Buffer
	if err := s.pages[name].ExecuteTemplate(&b, "layout", p); err != nil {
		if s.o.Log != nil {
			s.o.Log(name, err)
		}
		http.Error(w, "The mistake is ours: this page could not be made.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	send(w, r, status, b.Bytes())
}

// send writes a text whole, packed where the other end takes it. Pages hold no secret that a form's text could be guessed against.
func send(w http.ResponseWriter, r *http.Request, status int, body []byte) {
	w.Header().Add("Vary", "Accept-Encoding")
	if len(body) > 1000 && takesGzip(r) {
		var z bytes.Buffer
		p := gzip.NewWriter(&z)
		_, err := p.Write(body)
		if err = errors.Join(err, p.Close()); err == nil { // memory only fails by ending the program
			w.Header().Set("Content-Encoding", "gzip")
			body = z.Bytes()
		}
	}
	w.WriteHeader(status)
	_, _ = w.Write(body) // the other end may have gone
}

func takesGzip(r *http.Request) bool {
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
	if strings.HasPrefix(path, "/") && !strings.HasPrefix(path, "//") && !strings.ContainsAny(path, "\\\r\n") {
		return path
	}
	return otherwise
}

func (s *server) act(r *http.Request) app.Act {
	return app.Act{By: form.ReadProfile(r).By, Form: form.IdempotencyKey(r)}
}

// formID is the id of a form about to be shown.
func (s *server) formID() string {
	id, err := s.app.NewID()
	if err != nil {
		return "" // without one a double submit is not noticed; nothing else suffers
	}
	return string(id)
}

// Temps and Pressures are what a person may choose to see.
func (p *page) Temps() []string { return form.Choices["temp"] }

// Pressures lists the units of pressures.
func (p *page) Pressures() []string { return form.Choices["pressure"] }

func id(r *http.Request, name string) record.ID { return record.ID(r.PathValue(name)) }
