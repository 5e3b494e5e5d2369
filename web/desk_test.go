package web_test

import (
	"bytes"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"coldwright/app"
	"coldwright/web"
)

// seeded is randomness that repeats: a PCG with a fixed seed.
type seeded struct{ r *rand.Rand }

func (s seeded) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = byte(s.r.Uint32())
	}
	return len(p), nil
}

// desk is a browser without script on a fresh, empty tool. Its clock is moved by hand.
type desk struct {
	t      testing.TB
	client *http.Client
	base   string
	now    time.Time
	app    *app.App
	store  *app.MemStore
	seq    int // of events written past the program
	logged []error
}

func open(t testing.TB) *desk {
	t.Helper()
	d := &desk{t: t, now: time.Date(2026, 6, 16, 7, 40, 0, 0, time.UTC), store: app.NewMemStore()}
	d.app = app.New(
		d.store,
		app.Options{Now: func() time.Time { return d.now }, Rand: seeded{rand.New(rand.NewPCG(1, 2))}, Version: "test", Device: "desk"},
	)
	srv := httptest.NewServer(
		web.New(d.app, web.Options{Version: "test", Log: func(_ string, err error) { d.logged = append(d.logged, err) }}),
	)
	t.Cleanup(srv.Close)
	t.Cleanup(func() {
		for _, err := range d.logged {
			t.Errorf("logged: %v", err)
		}
	})
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	d.base, d.client = srv.URL, &http.Client{Jar: jar}
	return d
}

// sheet is a page as it came.
type sheet struct {
	d      *desk
	status int
	url    *url.URL
	body   string
	root   *html.Node
	header http.Header
}

func (d *desk) read(resp *http.Response, err error) *sheet {
	d.t.Helper()
	if err != nil {
		d.t.Fatal(err)
	}
	defer resp.Body.Close()
	b, err := io.ReadAll(resp.Body)
	if err != nil {
		d.t.Fatal(err)
	}
	root, err := html.Parse(bytes.NewReader(b))
	if err != nil {
		d.t.Fatal(err)
	}
	return &sheet{d, resp.StatusCode, resp.Request.URL, string(b), root, resp.Header}
}

func (d *desk) get(path string) *sheet {
	d.t.Helper()
	resp, err := d.client.Get(d.base + path)
	return d.read(resp, err)
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func has(n *html.Node, key string) bool {
	for _, a := range n.Attr {
		if a.Key == key {
			return true
		}
	}
	return false
}

func walk(n *html.Node, f func(*html.Node)) {
	f(n)
	for c := n.FirstChild; c != nil; c = c.NextSibling {
		walk(c, f)
	}
}

// words is the text of a page, spaces folded.
func words(n *html.Node) string {
	var b strings.Builder
	walk(n, func(n *html.Node) {
		if n.Type == html.TextNode {
			b.WriteString(n.Data + " ")
		}
	})
	return strings.Join(strings.Fields(b.String()), " ")
}

func (s *sheet) want(status int, texts ...string) *sheet {
	s.d.t.Helper()
	if s.status != status {
		s.d.t.Fatalf("%s: status %d, want %d: %.400s", s.url, s.status, status, words(s.root))
	}
	all := words(s.root)
	for _, w := range texts {
		if !strings.Contains(all, w) && !strings.Contains(s.body, w) {
			s.d.t.Errorf("%s: no %q in: %.1500s", s.url, w, all)
		}
	}
	return s
}

func (s *sheet) not(texts ...string) *sheet {
	s.d.t.Helper()
	for _, w := range texts {
		if strings.Contains(words(s.root), w) {
			s.d.t.Errorf("%s: must not say %q", s.url, w)
		}
	}
	return s
}

// form is a form of a page, filled as it came.
type form struct {
	s      *sheet
	action string
	method string
	values url.Values
	keys   []string // names of its buttons
}

// form finds the form whose action ends in suffix (before any query), of several the first that has a field of a name.
func (s *sheet) form(suffix string, field ...string) *form {
	s.d.t.Helper()
	var out *form
	walk(s.root, func(n *html.Node) {
		if n.Type != html.ElementNode || n.Data != "form" || out != nil {
			return
		}
		path, _, _ := strings.Cut(attr(n, "action"), "?")
		if !strings.HasSuffix(path, suffix) {
			return
		}
		if len(field) > 0 {
			found := false
			walk(n, func(c *html.Node) { found = found || c.Data == "input" && attr(c, "name") == field[0] })
			if !found {
				return
			}
		}
		out = &form{s: s, action: attr(n, "action"), method: strings.ToUpper(attr(n, "method")), values: url.Values{}}
		walk(n, func(c *html.Node) {
			if c.Type != html.ElementNode {
				return
			}
			name := attr(c, "name")
			switch c.Data {
			case "input":
				kind := attr(c, "type")
				if (kind == "radio" || kind == "checkbox") && !has(c, "checked") || name == "" {
					return
				}
				if kind == "hidden" {
					out.values.Add(name, attr(c, "value"))
				} else {
					out.values.Set(name, attr(c, "value"))
				}
			case "textarea":
				out.values.Set(name, words(c))
			case "select":
				first := true
				walk(c, func(o *html.Node) {
					if o.Data == "option" && (first || has(o, "selected")) {
						out.values.Set(name, attr(o, "value"))
						first = false
					}
				})
			case "button":
				out.keys = append(out.keys, name+"="+attr(c, "value"))
			}
		})
	})
	if out == nil {
		s.d.t.Fatalf("%s has no form to %q", s.url, suffix)
	}
	return out
}

func (f *form) set(pairs ...string) *form {
	f.s.d.t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		f.values.Set(pairs[i], pairs[i+1])
	}
	return f
}

func (f *form) send() *sheet {
	f.s.d.t.Helper()
	u, err := f.s.url.Parse(f.action)
	if err != nil {
		f.s.d.t.Fatal(err)
	}
	if f.method == "POST" {
		resp, err := f.s.d.client.PostForm(u.String(), f.values)
		return f.s.d.read(resp, err)
	}
	u.RawQuery = f.values.Encode()
	resp, err := f.s.d.client.Get(u.String())
	return f.s.d.read(resp, err)
}

// addMachine makes a site and a cooler and returns the machine's page.
func addMachine(d *desk) *sheet {
	d.t.Helper()
	return d.get("/machines/new").want(200).form("/machines/new").set(
		"new_site", "School kitchen", "name", "Walk-in cooler 1", "refrigerant", "R-134a", "application", "walk-in cooler", "set_point", "36",
		"expansion", "valve", "receiver", "yes", "full_charge", "9 lb 8 oz",
	).
		send().want(200, "Walk-in cooler 1", "School kitchen", "R-134a", "36 °F", "9 lb 8 oz")
}
