package web_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"

	"coldwright/app/keep"
)

// The page for a slow leak says for every machine of the demo what its visits say together, and the machine's page leads to it.
func TestDriftPage(t *testing.T) {
	d := open(t)
	d.now = time.Date(2026, 11, 20, 9, 0, 0, 0, time.UTC)
	if err := keep.Demo(context.Background(), d.app); err != nil {
		t.Fatal(err)
	}
	var machines []string
	walk(d.get("/machines").root, func(n *html.Node) {
		if h := attr(n, "href"); strings.HasPrefix(h, "/machines/") && h != "/machines/new" {
			machines = append(machines, h)
		}
	})
	led := 0
	for _, m := range machines {
		d.get(m+"/drift").want(200, "Back to")
		walk(d.get(m).root, func(n *html.Node) {
			if attr(n, "href") == m+"/drift" {
				led++
				d.get(m+"/drift").
					want(200, "What each visit says", "Missing on arrival", "From visit to visit", "Hatched: where this machine stands when healthy")
			}
		})
	}
	if len(machines) == 0 || led == 0 {
		t.Errorf("%d machines, %d lead to the page", len(machines), led)
	}
	d.get("/machines/00000000-0000-7000-8000-000000000000/drift").want(404)
}

// The charts of a visit that was read by hand: superheat is the line less the dew point of the gauge, TD the box less
// it, split the head's less the air outside, the ratio that of absolute pressures. Dew points of R-134a from memory
// of a pressure–temperature card: 17.5 psig is about 18.6 °F, 22.5 psig about 25.5 °F.
func TestDriftCharts(t *testing.T) {
	d := open(t)
	m := addMachine(d)
	d.get(m.url.Path).not("From visit to visit")
	visit := m.form("/open").send().want(200).url.Path
	d.get(visit + "/readings?end=before").form("/readings").set(starved...).send().want(200)
	d.get(visit+"/work").form("/work").set("code", "leak_repaired", "text", "pipe replaced").send().want(200)
	d.get(visit+"/work").form("/gas").set("direction", "recovered", "mass", "4 lb 14 oz").send().want(200)
	d.get(visit+"/work").form("/gas").set("direction", "added", "mass", "9 lb 8 oz").send().want(200).form("/after").send().want(200)
	d.get(visit + "/readings?end=after").form("/readings").set(repaired...).send().want(200)
	d.get(m.url.Path).want(200, "From visit to visit, and does it lose refrigerant", m.url.Path+"/drift")
	p := d.get(m.url.Path + "/drift")
	p.want(
		200,
		"16 Jun 2026, repaired",
		"16 Jun 2026, left",
		"9 lb 8 oz",
		"4 lb 14 oz",
		"bubbling",
		"Superheat, coil, °F",
		"Refrigerant, lb",
	)
	cells := func(of string) (out []string) {
		walk(p.root, func(n *html.Node) {
			if n.Data != "tr" || !strings.HasPrefix(words(n), of) {
				return
			}
			walk(n, func(c *html.Node) {
				if c.Data == "td" {
					out = append(out, words(c))
				}
			})
		})
		return out
	}
	found, left := cells("16 Jun 2026, repaired"), cells("16 Jun 2026, left")
	if len(found) != 8 || len(left) != 8 {
		t.Fatalf("%q, %q", found, left)
	}
	// 43.2 − 18.6, 44 − 18.6; 120 psig and 17.5 psig are 134.7 and 32.2 psia.
	for i, want := range map[int]string{0: "25 (", 1: "25 (", 3: "12 (", 4: "4.2 ("} {
		if !strings.HasPrefix(found[i], want) {
			t.Errorf("column %d as found says %q, want %q", i, found[i], want)
		}
	}
	for i, want := range map[int]string{0: "8 (", 1: "11 (", 3: "26 (", 4: "4.3 ("} {
		if !strings.HasPrefix(left[i], want) {
			t.Errorf("column %d as left says %q, want %q", i, left[i], want)
		}
	}
	// Nobody stated this machine's split: coolers differ in it by a third, so that 12 °F may still be a large condenser.
	if !strings.HasSuffix(found[0], ", over") || !strings.HasSuffix(found[1], ", over") ||
		strings.Contains(found[3], ", ") || strings.Contains(left[0], "over") {
		t.Errorf("found %q, left %q", found, left)
	}
	d.get("/me").form("/me").set("temp", "°C", "mass", "kg").send()
	p = d.get(m.url.Path+"/drift").want(200, "Superheat, coil, K", "Refrigerant, kg", "4.31 kg")
	if found = cells("16 Jun 2026, repaired"); !strings.HasPrefix(found[0], "14 (") { // 24.6 °F are 13.7 K
		t.Errorf("%q", found)
	}
}
