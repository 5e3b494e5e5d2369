package web

import (
	"bytes"
	"compress/gzip"
	"errors"
	"html/template"
	"io/fs"
	"net/http"
	"regexp"
	"strings"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/web/form"
	"coldwright/web/page"
)

// Options tune the pages.
type Options = page.Options

type server struct {
	app    *app.App
	o      Options
	pages  map[string]*template.Template
	assets assets
}

// New returns the pages over an application.
func New(a *app.App, o Options) http.Handler {
	s := &server{app: a, o: o, assets: loadAssets(), pages: map[string]*template.Template{}}
	funcs := template.FuncMap{
		"fig":   plot.HTML,
		"asset": func(name string) string { return s.assets.names[name] },
		"grid":  page.NewGrid,
		"zones": record.ZoneNames,
		"words": func(words ...string) []string { return words },
	}
	p := page.New(a, o, s.page)
	layout := template.Must(template.New("layout.html").Funcs(funcs).Parse(unindented(files, "layout.html")))
	s.pages["error"] = template.Must(template.Must(layout.Clone()).Parse(unindented(files, "error.html")))
	names, err := fs.Glob(page.Templates, "*.html")
	if err != nil {
		panic(err) // the pattern is ours
	}
	for _, name := range names {
		s.pages[strings.TrimSuffix(name, ".html")] = template.Must(template.Must(layout.Clone()).Parse(unindented(page.Templates, name)))
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /static/{name}", s.assets.serve)
	for pattern, h := range map[string]handler{
		"GET /{$}":                                p.Today,
		"GET /":                                   p.Missing,
		"GET /cylinders":                          p.Cylinders,
		"POST /cylinders/{act}":                   p.SaveCylinder,
		"GET /cylinders/one":                      p.Cylinder,
		"POST /cylinders/withdraw":                p.WithdrawCylinder,
		"GET /export.csv":                         p.ExportTable,
		"GET /export.jsonl":                       p.ExportAll,
		"GET /import":                             p.ImportPage,
		"POST /import":                            p.ImportFile,
		"POST /import/now":                        p.ImportNow,
		"GET /labels":                             p.Labels,
		"GET /labels.pdf":                         p.LabelsPDF,
		"GET /learned":                            p.Learned,
		"GET /machines":                           p.Machines,
		"GET /machines/new":                       p.NewMachine,
		"POST /machines/new":                      p.SaveMachine,
		"GET /machines/{machine}":                 p.Machine,
		"POST /machines/{machine}/aside":          p.SetAside,
		"POST /machines/{machine}/aside/back":     p.TakeAsideBack,
		"GET /machines/{machine}/drift":           p.Drift,
		"GET /machines/{machine}/due.ics":         p.DueCalendar,
		"GET /machines/{machine}/edit":            p.NewMachine,
		"POST /machines/{machine}/edit":           p.SaveMachine,
		"POST /machines/{machine}/law/facts":      p.SaveLaw,
		"POST /machines/{machine}/law/event":      p.AddLawEvent,
		"POST /machines/{machine}/law/withdraw":   p.WithdrawLaw,
		"GET /machines/{machine}/load":            p.Load,
		"POST /machines/{machine}/load":           p.SaveLoad,
		"POST /machines/{machine}/open":           p.OpenVisit,
		"GET /machines/{machine}/parts":           p.Parts,
		"POST /machines/{machine}/parts":          p.SaveParts,
		"GET /machines/{machine}/photos":          p.PlatePhotos,
		"POST /machines/{machine}/photos":         p.AddPlatePhoto,
		"POST /machines/{machine}/photos/back":    p.TakePlatePhoto,
		"GET /me":                                 p.Me,
		"POST /me":                                p.SaveMe,
		"GET /photo/{hash}":                       p.Photo,
		"GET /photo/{hash}/small":                 p.SmallPhoto,
		"GET /practice":                           p.Practice,
		"GET /practice/result":                    p.Truth,
		"GET /practice/run":                       p.Bench,
		"GET /refrigerants":                       p.Refrigerants,
		"GET /refrigerants/{designation}":         p.Refrigerant,
		"GET /search":                             p.Search,
		"GET /sites/new":                          p.NewSite,
		"POST /sites/new":                         p.SaveSite,
		"GET /sites/{site}":                       p.Site,
		"GET /sites/{site}/book/{month}":          p.RefrigerantMonth,
		"GET /sites/{site}/edit":                  p.NewSite,
		"POST /sites/{site}/edit":                 p.SaveSite,
		"GET /visits":                             p.Visits,
		"GET /visits/{visit}":                     p.Visit,
		"POST /visits/{visit}/after":              p.GoAfter,
		"POST /visits/{visit}/arrive":             p.Arrive,
		"GET /visits/{visit}/charge":              p.Charge,
		"POST /visits/{visit}/charge":             p.AddScale,
		"POST /visits/{visit}/charge/book":        p.BookCharge,
		"POST /visits/{visit}/charge/set":         p.SetCharge,
		"POST /visits/{visit}/close":              p.Close,
		"GET /visits/{visit}/cold":                p.Cold,
		"GET /visits/{visit}/cold-record":         p.ColdRecord,
		"POST /visits/{visit}/cold-record":        p.AddColdRecord,
		"GET /visits/{visit}/cold-record/{event}": p.ColdFile,
		"POST /visits/{visit}/confirm":            p.Confirm,
		"GET /visits/{visit}/dry":                 p.Dry,
		"POST /visits/{visit}/dry":                p.AddDry,
		"POST /visits/{visit}/dry/start":          p.StartDry,
		"POST /visits/{visit}/gas":                p.MoveGas,
		"POST /visits/{visit}/healthy":            p.MarkHealthy,
		"GET /visits/{visit}/judge":               p.Judge,
		"POST /visits/{visit}/judge":              p.SaveOne,
		"POST /visits/{visit}/leak":               p.AddLeak,
		"POST /visits/{visit}/look":               p.Look,
		"POST /visits/{visit}/notes":              p.AddNote,
		"GET /visits/{visit}/photos":              p.Photos,
		"POST /visits/{visit}/photos":             p.AddPhoto,
		"GET /visits/{visit}/readings":            p.Readings,
		"POST /visits/{visit}/readings":           p.SaveReadings,
		"GET /visits/{visit}/report":              p.Report,
		"GET /visits/{visit}/report.pdf":          p.ReportPDF,
		"GET /visits/{visit}/search":              p.LeakSearch,
		"POST /visits/{visit}/search":             p.MarkLook,
		"POST /visits/{visit}/search/act":         p.MarkLeak,
		"POST /visits/{visit}/search/set":         p.SetLeak,
		"GET /visits/{visit}/sign":                p.Sign,
		"POST /visits/{visit}/sign":               p.SaveSign,
		"GET /visits/{visit}/tight":               p.Tight,
		"POST /visits/{visit}/tight":              p.AddTight,
		"POST /visits/{visit}/tight/start":        p.StartTight,
		"GET /visits/{visit}/time":                p.Time,
		"POST /visits/{visit}/time":               p.AddPoint,
		"POST /visits/{visit}/time/mark":          p.Mark,
		"POST /visits/{visit}/time/start":         p.StartPull,
		"POST /visits/{visit}/withdraw":           p.Withdraw,
		"GET /visits/{visit}/work":                p.Work,
		"POST /visits/{visit}/work":               p.AddWork,
		"GET /visits/{visit}/write":               p.Write,
	} {
		mux.HandleFunc(pattern, s.handle(h))
	}
	guard := http.NewCrossOriginProtection()
	guard.SetDenyHandler(s.handle(func(http.ResponseWriter, *http.Request) error {
		return fail.Of(fail.Forbidden, "", "form.other_site", nil)
	}))
	return headers(guard.Handler(mux))
}

var indent = regexp.MustCompile(`\n[ \t]+`)

// unindented is a template without its indentation, which is for who reads it and would only be sent along.
func unindented(f fs.FS, name string) string {
	text, err := fs.ReadFile(f, name)
	if err != nil {
		panic("web: missing file " + name)
	}
	return indent.ReplaceAllString(string(text), "\n")
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
		r.Body = http.MaxBytesReader(w, r.Body, page.MostOf(r))
		err := r.ParseForm()
		if err != nil {
			err = fail.Of(fail.Usage, "", "form.unreadable", nil)
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
			&page.Page{
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
	s.page(
		w,
		r,
		f.Code.HTTPStatus(),
		"error",
		&page.Page{Title: head, Body: errorBody{Head: head, Message: said.Sentence(), Hint: said.Advice()}},
	)
}

// page renders into memory first, so that a page is whole or not there.
func (s *server) page(w http.ResponseWriter, r *http.Request, status int, name string, p *page.Page) {
	p.Me = form.ReadProfile(r)
	d := form.Units(r)
	p.Me.Temp, p.Me.Pressure, p.Me.Mass = d.Temp, d.Pressure, d.Mass
	p.Shown = strings.Join([]string{d.Temp, d.Pressure, d.Mass}, "|")
	p.Look, p.Print, p.Here = p.Me.DataLook(), r.URL.Query().Has("print"), r.URL.RequestURI()
	if r.Method == http.MethodPost {
		p.Here, p.Answer = r.URL.Path, true
	}
	if len(p.Strips) > 0 {
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
	if len(body) > 1000 && page.TakesGzip(r) {
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
