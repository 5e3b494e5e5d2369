//go:build browser

package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"html"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"coldwright/app"
	"coldwright/app/keep"
	"coldwright/record"
)

// leaf is one state of one page: where it stands, and what is sent to come to it.
type leaf struct {
	name, path string
	send       map[string]string // fields of a form sent to path; nil: the page is only opened
	file       string            // content of a file to choose in the form of the page
}

// book is every page in every state worth a look. It fills the example on its way, so a browser opens it once: show
// is called with each leaf in turn.
func (p *phone) book(show func(leaf)) {
	p.t.Helper()
	ctx := context.Background()
	must := func(err error) {
		p.t.Helper()
		if err != nil {
			p.t.Fatal(err)
		}
	}
	list, err := p.app.Machines(ctx, "", 0, 50)
	must(err)
	var visit, closed, machine, site string
	var other record.ID
	for _, m := range list.Rows {
		switch {
		case m.Open != nil && visit == "":
			visit, machine, site = "/visits/"+string(m.Open.ID), "/machines/"+string(m.Machine.ID), "/sites/"+string(m.Site.ID)
		case m.Open == nil && m.Last != nil && closed == "":
			closed, other = "/visits/"+string(m.Last.ID), m.Machine.ID
		}
	}
	if visit == "" || closed == "" {
		p.t.Fatal("the example has no open or no closed visit")
	}
	fresh, err := p.app.OpenVisit(ctx, app.Act{}, other, "")
	must(err)
	begun := "/visits/" + string(fresh)
	no := func(pairs ...string) map[string]string {
		m := map[string]string{}
		for i := 0; i < len(pairs); i += 2 {
			m[pairs[i]] = pairs[i+1]
		}
		return m
	}
	for _, l := range []leaf{
		{name: "visit-begun", path: begun},
		{name: "time-begun", path: begun + "/time"},
		{name: "readings-begun", path: begun + "/readings"},
		{name: "judge-begun", path: begun + "/judge"},
		{name: "write-begun", path: begun + "/write"},
		{name: "report-begun", path: begun + "/report"},
		{name: "cold-begun", path: begun + "/cold"},
		{name: "work-begun", path: begun + "/work"},
		{name: "tight-begun", path: visit + "/tight"},
		{name: "dry-begun", path: visit + "/dry"},
		{name: "charge-begun", path: visit + "/charge"},
		{name: "cold-record-begun", path: visit + "/cold-record"},
		{name: "load-begun", path: machine + "/load"},
		{name: "parts-begun", path: machine + "/parts"},
	} {
		show(l)
	}
	p.tested(visit)
	lines := p.export()
	for _, l := range []leaf{
		{name: "today", path: "/"},
		{name: "me", path: "/me"},
		{name: "machines", path: "/machines"},
		{name: "machines-none", path: "/machines?q=nothing"},
		{name: "machine", path: machine},
		{name: "machine-drift", path: machine + "/drift"},
		{name: "machine-other", path: machine + "?to=R-454C"},
		{name: "machine-idle", path: "/machines/" + string(other)},
		{name: "plate", path: machine + "/edit"},
		{name: "new-machine", path: "/machines/new"},
		{name: "load", path: machine + "/load"},
		{name: "parts", path: machine + "/parts"},
		{name: "plate-photos", path: machine + "/photos"},
		{name: "photos", path: visit + "/photos"},
		{name: "cylinders", path: "/cylinders"},
		{name: "cylinder", path: "/cylinders/one?number=404-17"},
		{name: "book", path: site + "/book/2026-11"},
		{name: "site", path: site},
		{name: "new-site", path: "/sites/new"},
		{name: "site-edit", path: site + "/edit"},
		{name: "find", path: "/search?q=freezer"},
		{name: "find-none", path: "/search?q=zzz"},
		{name: "learned", path: "/learned"},
		{name: "refrigerants", path: "/refrigerants?q=134"},
		{name: "refrigerant", path: "/refrigerants/R-407C?p=60"},
		{name: "visit", path: visit},
		{name: "time", path: visit + "/time"},
		{name: "readings", path: visit + "/readings"},
		{name: "readings-after", path: visit + "/readings?end=after"},
		{name: "judge", path: visit + "/judge"},
		{name: "work", path: visit + "/work"},
		{name: "search", path: visit + "/search"},
		{name: "tight", path: visit + "/tight"},
		{name: "dry", path: visit + "/dry"},
		{name: "charge", path: visit + "/charge"},
		{name: "cold-record", path: visit + "/cold-record"},
		{name: "cold", path: visit + "/cold"},
		{name: "write", path: visit + "/write"},
		{name: "report", path: visit + "/report"},
		{name: "report-es", path: visit + "/report?lang=es"},
		{name: "visit-closed", path: closed},
		{name: "cold-closed", path: closed + "/cold"},
		{name: "report-closed", path: closed + "/report"},
		{name: "sign", path: closed + "/sign"},
		{name: "labels", path: "/labels?machine=" + strings.TrimPrefix(machine, "/machines/")},
		{name: "practice", path: "/practice"},
		{name: "bench", path: benchPage},
		{name: "truth", path: truthPage},
		{name: "practice-refused", path: "/practice/run?seed=many"},
		{name: "import", path: "/import"},
		{name: "import-preview", path: "/import", file: strings.Replace(lines, "freezer", "cold room", 1) + "{broken\n"},
		{name: "import-refused", path: "/import", file: "id,device,x\n"},
		{name: "missing", path: "/nothing"},
		{name: "missing-visit", path: "/visits/none"},
		{name: "visit-refused", path: visit + "/arrive", send: no("box_air", "warm", "complaint", "typed")},
		{name: "time-refused", path: visit + "/time", send: no("other", "warm")},
		{name: "time-start-refused", path: begun + "/time/start", send: no("box", "")},
		{name: "readings-refused", path: visit + "/readings", send: no("suction_pressure", "12 apples", "liquid_line", "9000")},
		{name: "judge-refused", path: visit + "/judge", send: no("one", "drier_in", "drier_in", "hot")},
		{name: "work-refused", path: visit + "/work", send: no("text", "typed")},
		{name: "leak-refused", path: visit + "/leak", send: no("how", "bubbles")},
		{name: "gas-refused", path: visit + "/gas", send: no("mass", "much")},
		{name: "search-refused", path: visit + "/search/set", send: no("high", "much")},
		{name: "tight-refused", path: visit + "/tight", send: no("pressure", "none", "minute", "soon")},
		{name: "dry-refused", path: visit + "/dry", send: no("pressure", "none")},
		{name: "charge-refused", path: visit + "/charge", send: no("gross", "none")},
		{name: "load-refused", path: machine + "/load", send: no("length", "long")},
		{name: "parts-refused", path: machine + "/parts", send: no("liquid_size", "0.6", "receiver_volume", "big")},
		{name: "fill-refused", path: visit + "/charge?water_capacity=none"},
		{name: "write-refused", path: visit + "/close", send: no("mechanic", "")},
		{name: "machine-refused", path: "/machines/new", send: no("name", "X", "set_point", "warm")},
		{name: "site-refused", path: "/sites/new", send: no("name", "", "altitude", "99999")},
	} {
		show(l)
	}
}

// emptyBook is what stands on the pages before anything was entered.
func emptyBook(show func(leaf)) {
	for _, l := range []leaf{
		{name: "empty-today", path: "/"},
		{name: "empty-machines", path: "/machines"},
		{name: "empty-visits", path: "/visits"},
		{name: "empty-find", path: "/search"},
		{name: "empty-learned", path: "/learned"},
		{name: "empty-new-machine", path: "/machines/new"},
	} {
		show(l)
	}
}

// export is everything as lines.
func (p *phone) export() string {
	p.t.Helper()
	var b strings.Builder
	if err := keep.Export(context.Background(), p.app, func(line []byte) error { b.Write(line); return nil }); err != nil {
		p.t.Fatal(err)
	}
	return b.String()
}

// turn comes to a leaf the way a browser does: it opens an address, sends a form, or chooses a file.
func (p *phone) turn(l leaf) {
	p.t.Helper()
	switch {
	case l.file != "":
		name := filepath.Join(p.t.TempDir(), "events.jsonl")
		if err := os.WriteFile(name, []byte(l.file), 0o600); err != nil {
			p.t.Fatal(err)
		}
		p.visit(l.path)
		p.do(chromedp.SetUploadFiles(chromedp.CSS(`main [type="file"]`), []string{name}), chromedp.Click(chromedp.CSS(`main form button`)))
		p.do(chromedp.WaitReady(`//main//*[contains(text(), "What this file would do") or contains(@class, "msg")]`))
	case l.send != nil:
		fields, err := json.Marshal(l.send)
		if err != nil {
			p.t.Fatal(err)
		}
		p.visit("/me")
		p.do(chromedp.Evaluate[chromedp.Void](fmt.Sprintf(`(() => {
			const f = document.createElement("form"), fields = %s;
			f.method = "post"; f.action = %q;
			for (const k in fields) { const i = document.createElement("input"); i.name = k; i.value = fields[k]; f.append(i) }
			document.body.append(f); setTimeout(() => f.submit());
		})()`, fields, l.path)), chromedp.WaitReady(`//main//*[@role="alert" or contains(@class, "msg")]`))
	default:
		p.visit(l.path)
	}
}

// axe is the source of axe-core, a checker of pages against WCAG; it does not travel with this code.
func axe(t *testing.T) string {
	t.Helper()
	name := os.Getenv("COLDWRIGHT_AXE")
	if name == "" {
		if os.Getenv("CI") != "" {
			t.Fatal("COLDWRIGHT_AXE must name axe.min.js of the npm package axe-core; .ci/run fetches it")
		}
		t.Log("pages are not checked by axe-core: COLDWRIGHT_AXE names no axe.min.js")
		return ""
	}
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// runAxe asks for every rule of WCAG 2.0 to 2.2 up to AA, best practice, and contrast at the level AAA, 7:1. A look
// changes colours and sizes only, so the second and third are asked for what depends on these.
const runAxe = `axe.run(document, { resultTypes: ["violations"], ...(document.documentElement.dataset.look == "light"
		? { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"], rules: { "color-contrast-enhanced": { enabled: true } } }
		: { runOnly: { type: "rule", values: ["color-contrast", "color-contrast-enhanced", "link-in-text-block", "scrollable-region-focusable", "target-size"] } }) })
	.then(r => ["checked " + r.testEngine.name].concat(r.violations.flatMap(v => v.nodes.map(n => v.id + ": " + n.target.join(" ") + ": " + n.failureSummary.replace(/\s+/g, " ")))))`

var looksAre = []string{"light", "dark", "sun"}

// TestBrowserGallery opens every page at both widths in every look: axe-core finds nothing, text stands at 7:1 or
// more, nothing is wider than the screen, nothing is asked of another host, and there is a picture of it, all of them
// in index.html of the folder gallery.
func TestBrowserGallery(t *testing.T) {
	source := axe(t)
	var names []string
	dir := ""
	for _, size := range []struct{ w, h int64 }{{390, 844}, {1280, 900}} {
		for kind, p := range map[string]*phone{"filled": browser(t, size.w, size.h, true), "empty": blank(t, size.w, size.h, true)} {
			dir = filepath.Join(p.dir, "gallery")
			if err := os.MkdirAll(dir, 0o755); err != nil {
				t.Fatal(err)
			}
			show := func(l leaf) {
				p.turn(l)
				if !slices.Contains(names, l.name) {
					names = append(names, l.name)
				}
				if source != "" && size.w == 390 {
					p.do(chromedp.Evaluate[chromedp.Void](source + "\n;void 0"))
				}
				for _, look := range looksAre {
					bad := p.judgeLook(look)
					if source != "" && size.w == 390 {
						found, err := chromedp.Run(p.ctx, chromedp.Evaluate[[]string](runAxe, chromedp.EvalAwaitPromise))
						if err != nil || len(found) == 0 || found[0] != "checked axe-core" {
							t.Fatalf("%s: axe-core did not run: %v %v", l.name, found, err)
						}
						bad = append(bad, found[1:]...)
					}
					for _, b := range bad {
						t.Errorf("%s (%s), %d px, %s look: %s", l.name, l.path, size.w, look, b)
					}
					p.picture(filepath.Join(dir, picture(l.name, size.w, look)))
				}
				p.narrow(l, size.w)
			}
			if kind == "filled" {
				p.book(show)
			} else {
				emptyBook(show)
			}
		}
	}
	if err := os.WriteFile(filepath.Join(dir, "index.html"), []byte(contents(names)), 0o644); err != nil {
		t.Fatal(err)
	}
	t.Logf("%d pages, %d pictures", len(names), len(names)*2*len(looksAre))
}

// picture takes one of the whole page.
func (p *phone) picture(file string) {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, 30*time.Second)
	defer stop()
	b, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err == nil {
		err = os.WriteFile(file, b, 0o644)
	}
	if err != nil {
		p.t.Fatalf("%s: %v", file, err)
	}
}

func picture(name string, width int64, look string) string {
	return fmt.Sprintf("%s-%d-%s.png", name, width, look)
}

// judgeLook puts a look on the page and measures its contrast.
func (p *phone) judgeLook(look string) []string {
	p.t.Helper()
	bad, err := chromedp.Run(p.ctx, chromedp.Evaluate[[]string](`document.documentElement.dataset.look = "`+look+`", `+contrast))
	if err != nil {
		p.t.Fatal(err)
	}
	return bad
}

// narrow sees that nothing reaches over the edge of the screen, of a smaller phone too, and that nothing came from elsewhere.
func (p *phone) narrow(l leaf, width int64) {
	p.t.Helper()
	widths := []int64{width}
	if width < 500 {
		widths = []int64{width, 320, width}
	}
	for _, w := range widths {
		if len(widths) > 1 {
			p.do(chromedp.EmulateViewport(w, 844))
		}
		over, err := chromedp.Run(
			p.ctx,
			chromedp.Evaluate[[]string](
				fmt.Sprintf(
					`document.documentElement.scrollWidth <= %[1]d ? [] : [...document.querySelectorAll("body *")].filter(e => e.getBoundingClientRect().right > %[1]d + 1).map(e => e.tagName + "." + e.className).slice(0, 8)`,
					w,
				),
			),
		)
		if err != nil || len(over) > 0 {
			p.t.Errorf("%s (%s) is wider than a screen of %d px: %v %v", l.name, l.path, w, over, err)
		}
	}
	asked, err := chromedp.Run(p.ctx, chromedp.Evaluate[[]string](`performance.getEntriesByType("resource").map(e => e.name)`))
	if err != nil {
		p.t.Fatal(err)
	}
	for _, u := range asked {
		if !strings.HasPrefix(u, p.base) {
			p.t.Errorf("%s asked for %s", l.path, u)
		}
	}
}

// contents is the page over the pictures.
func contents(names []string) string {
	var b strings.Builder
	b.WriteString(
		"<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\"><title>Every page " +
			"of Coldwright</title><style>body{font:16px sans-serif;margin:1rem}img{height:22rem;border:1px solid #888;vertical-align:top;margin:0 " +
			".5rem .5rem 0}</style><h1>Every page, on phone and desk, light, dark and in the sun</h1>\n",
	)
	for _, n := range names {
		fmt.Fprintf(&b, "<h2 id=\"%[1]s\">%[1]s</h2>\n", html.EscapeString(n))
		for _, w := range []int64{390, 1280} {
			for _, look := range looksAre {
				f := html.EscapeString(picture(n, w, look))
				fmt.Fprintf(
					&b,
					"<a href=\"%[1]s\"><img loading=\"lazy\" src=\"%[1]s\" alt=\"%[2]s on %[3]d px, %[4]s\"></a>\n",
					f,
					html.EscapeString(n),
					w,
					look,
				)
			}
		}
	}
	return b.String() + "</html>\n"
}
