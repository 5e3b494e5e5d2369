package web_test

import (
	"net/http"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
)

// starved are invented readings of a cooler short of refrigerant; repaired the same after the repair.
var (
	starved = []string{
		"suction_pressure",
		"17.5",
		"discharge_pressure",
		"120",
		"box_air",
		"44",
		"ambient",
		"86",
		"coil_outlet_line",
		"43.2",
		"liquid_line",
		"97",
		"s_glass",
		"bubbling",
		"running_min",
		"45",
	}
	repaired = []string{
		"suction_pressure",
		"22.5",
		"discharge_pressure",
		"146",
		"box_air",
		"36.5",
		"ambient",
		"84",
		"coil_outlet_line",
		"33.5",
		"liquid_line",
		"104",
		"s_glass",
		"clear",
		"running_min",
		"60",
	}
)

func TestErrors(t *testing.T) {
	d := open(t)
	d.get("/nothing/here").want(404, "There is no page here.")
	d.get("/machines/unknown").want(404, "Not found")
	d.get("/visits/unknown/judge").want(404, "Not found")
	d.get("/static/none.css").want(404)
	// Another site's form is refused; the same form from here is taken.
	req, err := http.NewRequest("POST", d.base+"/sites/new", strings.NewReader("name=Elsewhere"))
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Sec-Fetch-Site", "cross-site")
	resp, err := d.client.Do(req)
	d.read(resp, err).want(403, "came from another site")
	d.get("/machines").not("Elsewhere")
	// No way to another site by the way back.
	for _, back := range []string{"//elsewhere.example/x", "/\t/elsewhere.example/x", "/\\elsewhere.example", "/\n/elsewhere.example"} {
		if p := d.get("/me").form("/me").set("back", back).send(); !strings.HasPrefix(p.url.String(), d.base) {
			t.Errorf("%q: sent to %s", back, p.url)
		}
	}
}

func TestHeadersAndAssets(t *testing.T) {
	d := open(t)
	p := d.get("/")
	for k, want := range map[string]string{
		"Content-Security-Policy": "default-src 'self'", "X-Content-Type-Options": "nosniff",
		"Referrer-Policy": "same-origin", "Cache-Control": "no-store",
	} {
		if got := p.header.Get(k); !strings.Contains(got, want) {
			t.Errorf("%s: %q", k, got)
		}
	}
	n := 0
	walk(p.root, func(x *html.Node) {
		if x.Type == html.ElementNode && x.Data == "link" {
			n++
			a := d.get(attr(x, "href")).want(200)
			if !strings.Contains(a.header.Get("Cache-Control"), "immutable") {
				t.Errorf("%s is not kept", attr(x, "href"))
			}
		}
	})
	if n != 2 {
		t.Errorf("%d links in the head", n)
	}
}

// Every page: one h1, labels on all fields, no inline style or script, unique ids, links that lead somewhere.
// file is an address of no page.
var file = regexp.MustCompile(`\.(pdf|csv|ics|jsonl)($|[?#])`)

// standsIn reports whether an element stands within one of a kind.
func standsIn(n *html.Node, kind string) bool {
	for p := n.Parent; p != nil; p = p.Parent {
		if p.Data == kind {
			return true
		}
	}
	return false
}

func TestPages_WellMade(t *testing.T) {
	d := open(t)
	m := addMachine(d)
	visit := m.form("/open").send().url.Path
	d.get(visit+"/time").form("/time/start").set("box", "46").send()
	d.now = d.now.Add(20 * time.Minute)
	d.get(visit+"/time").form("/time").set("box", "42").send()
	d.get(visit + "/readings").form("/readings").set(starved...).send()
	d.get(visit+"/work").form("/work").set("code", "evacuated").send()
	site := ""
	walk(m.root, func(n *html.Node) {
		if strings.HasPrefix(attr(n, "href"), "/sites/") {
			site = attr(n, "href")
		}
	})
	queue := []string{
		"/",
		"/search?q=walk",
		"/learned",
		"/refrigerants",
		"/refrigerants/R-407C",
		"/refrigerants/R-134a?p=27.8",
		"/cylinders",
		"/import",
		"/me",
		"/machines",
		"/machines/new",
		"/machines?q=nothing",
		"/sites/new",
		m.url.Path,
		m.url.Path + "/edit",
		site,
		site + "/edit",
		visit,
	}
	for _, p := range []string{"time", "readings", "judge", "work", "cold", "write", "report"} {
		queue = append(queue, visit+"/"+p, visit+"/"+p+"?end=after", visit+"/"+p+"?print")
	}
	seen, figures := map[string]bool{}, 0
	for len(queue) > 0 {
		path := queue[0]
		queue = queue[1:]
		if seen[path] {
			continue
		}
		seen[path] = true
		p := d.get(path).want(200)
		h1, ids, labels, fields := 0, map[string]bool{}, map[string]bool{}, map[string]bool{}
		walk(p.root, func(n *html.Node) {
			if n.Type != html.ElementNode {
				return
			}
			if n.Data == "h1" {
				h1++
			}
			if n.Data == "figure" && inside(n, "svg") > 0 {
				figures++
				if inside(n.Parent, "table") == 0 {
					t.Errorf("%s: the figure %q has no table", path, words(n))
				}
			}
			if id := attr(n, "id"); id != "" {
				if ids[id] {
					t.Errorf("%s: id %s twice", path, id)
				}
				ids[id] = true
			}
			if n.Data == "label" && attr(n, "for") != "" {
				labels[attr(n, "for")] = true
			}
			if n.Data == "input" && attr(n, "type") != "hidden" || n.Data == "select" || n.Data == "textarea" {
				if id := attr(n, "id"); id != "" {
					fields[id] = true
				} else if !standsIn(n, "label") {
					t.Errorf("%s: field %s has neither an id for a label nor a label round it", path, attr(n, "name"))
				}
			}
			if has(n, "style") || has(n, "onclick") || n.Data == "style" || n.Data == "script" && attr(n, "src") == "" {
				t.Errorf("%s: inline style or script on %s", path, n.Data)
			}
			if h := attr(n, "href"); n.Data == "a" && strings.HasPrefix(h, "/") && !file.MatchString(h) {
				h, _, _ = strings.Cut(h, "#")
				queue = append(queue, h)
			}
		})
		if h1 != 1 {
			t.Errorf("%s: %d h1", path, h1)
		}
		for f := range fields {
			if !labels[f] {
				t.Errorf("%s: field %s has no label", path, f)
			}
		}
		for _, bad := range []string{"NaN", "%!", "ZgotmplZ", "<no value>"} {
			if strings.Contains(p.body, bad) {
				t.Errorf("%s holds %s", path, bad)
			}
		}
	}
	if len(seen) < 25 || figures < 20 {
		t.Errorf("only %d pages with %d figures", len(seen), figures)
	}
}

// The numbers of the circuit, read or not, stand beside its figure as a table.
func TestCircuit_AsTable(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	d.get(visit + "/readings").form("/readings").set(starved...).send()
	var got [][]string
	walk(d.get(visit+"/readings").root, func(n *html.Node) {
		if n.Data == "figure" && attr(n, "class") == "fig-circuit" {
			got = rows(n)
		}
	})
	for _, want := range [][]string{
		{"Suction, at the compressor", "17.5 psig", "12 °F under"},
		{"Discharge line, near the compressor", "not read", ""},
		{"Sight glass", "Bubbling", ""},
	} {
		if !slices.ContainsFunc(got, func(r []string) bool { return slices.Equal(r, want) }) {
			t.Errorf("no %q in %q", want, got)
		}
	}
}

// rows are the body cells of the tables inside.
func rows(n *html.Node) (out [][]string) {
	walk(n, func(n *html.Node) {
		if n.Data != "tr" || n.Parent.Data != "tbody" {
			return
		}
		var row []string
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			if c.Type == html.ElementNode {
				row = append(row, words(c))
			}
		}
		out = append(out, row)
	})
	return out
}

// inside counts elements of a name inside.
func inside(n *html.Node, name string) (count int) {
	walk(n, func(n *html.Node) {
		if n.Type == html.ElementNode && n.Data == name {
			count++
		}
	})
	return count
}

func BenchmarkVisitPage(b *testing.B) {
	d := open(b)
	visit := addMachine(d).form("/open").send().url.Path
	d.get(visit + "/readings").form("/readings").set(starved...).send()
	b.ResetTimer()
	for b.Loop() {
		d.get(visit + "/judge")
	}
}
