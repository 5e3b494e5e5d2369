package web_test

import (
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
)

// stepOf is the class of a step in the list of a visit.
func stepOf(p *sheet, title string) string {
	out := "none"
	walk(p.root, func(n *html.Node) {
		if n.Type == html.ElementNode && n.Data == "li" && n.Parent != nil && attr(n.Parent, "class") == "rungs" &&
			strings.HasPrefix(words(n), title) {
			out = attr(n, "class")
		}
	})
	return out
}

// vacuum reads a vacuum test by the 500 micron rule, minute by minute.
func (d *desk) vacuum(visit string, at map[int]string, minutes ...int) *sheet {
	d.t.Helper()
	var p *sheet
	began := d.now
	for i, m := range minutes {
		d.now = began.Add(time.Duration(m) * time.Minute)
		if i == 0 {
			p = d.get(visit+"/dry").form("/dry/start").set("pressure", at[m]).send().want(200)
			continue
		}
		p = d.get(visit+"/dry").form("/dry").set("pressure", at[m]).send().want(200)
	}
	return p
}

// The criterion that was chosen is met: that is said first, then what the curve cannot exclude; open is no tick.
func TestDry_CriterionFirst(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	p := d.vacuum(visit, map[int]string{0: "300", 5: "330", 10: "345", 15: "352"}, 0, 5, 10, 15)
	p.want(200, "Criterion met", "352 of 500 micron after 15 min.").not("Not decided yet")
	if got := stepOf(d.get(visit), "Prove it dry"); got != "open" {
		t.Errorf("the step is %q", got)
	}
	if got := stepOf(d.get(visit), "Prove it tight"); got != "now" && got != "" {
		t.Errorf("a step nobody began is %q", got)
	}
	d.get(visit).want(200, "not decided: Vacuum")
	d.get(visit+"/report").want(200, ": not decided", "Criterion met: 352 of 500 micron after 15 min.")
	d.get(visit+"/report?lang=es").want(200, ": sin decidir", "Criterio cumplido: 352 de 500")
	d.get(visit+"/write").form("/close").set("mechanic", "Van 7").send().want(200)
	if got := stepOf(d.get(visit), "Charge"); got != "skipped" {
		t.Errorf("after closing, what was left out is %q", got)
	}
}

// Every test that runs has its clock and its end; one that another overtook, or a closed visit, has none.
func TestStrips_AllClocks(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	d.get(visit+"/time").form("/time/start").set("box", "46").send().want(200)
	d.get(visit+"/tight").form("/tight/start").set("plate", "350", "pressure", "300", "gas_1", "70").send().want(200)
	d.now = d.now.Add(20 * time.Minute)
	d.get(visit+"/tight").form("/tight").set("pressure", "299.8", "gas_1", "69.8").send().want(200)
	d.get(visit+"/charge").want(200, "Nitrogen stands, 299.8 psig", "Pull-down running, 46 °F", "Till about", "20:00")
	d.vacuum(visit, map[int]string{0: "300", 5: "330"}, 0, 5)
	p := d.get(visit+"/charge").want(200, "Vacuum watched, 330 micron", "Till about 08:15 UTC").not("Nitrogen stands")
	if n := strings.Count(p.body, `class="strip`); n != 3 { // their frame and two
		t.Errorf("%d", n)
	}
	d.now = d.now.Add(20 * time.Minute)
	d.get(visit + "/after").want(404)
	d.get(visit + "/work").form("/after").send().want(200)
	d.get(visit+"/time?end=after").form("/time/start").set("box", "44").send().want(200)
	d.get(visit+"/charge").want(200, "Pull-down running, 44 °F").not("Vacuum watched")
	d.get(visit+"/write").form("/close").set("mechanic", "Van 7").send().want(200)
	for _, page := range []string{"/charge", "/time", "/dry", "/report"} {
		if p := d.get(visit + page); strings.Contains(p.body, "data-since") {
			t.Errorf("%s counts on after closing", page)
		}
	}
}

// The first button of the readings' form is the one that Enter presses: it saves.
func TestReadings_EnterSaves(t *testing.T) {
	d := open(t)
	p := d.get(startVisit(d) + "/readings")
	first := ""
	walk(p.root, func(n *html.Node) {
		if n.Data == "button" && first == "" && (attr(n, "form") == "rf" || standsIn(n, "form")) {
			first = words(n)
		}
	})
	if first != "Save and judge" {
		t.Errorf("Enter presses %q", first)
	}
}

// Whose visit is meant, nobody guesses: the list of open ones is shown.
func TestVisits_NoGuess(t *testing.T) {
	d := open(t)
	startVisit(d)
	if p := d.get("/visits").want(200, "Open visit"); p.url.Path != "/" {
		t.Errorf("led to %s", p.url)
	}
}

// A note is the company's until it is put into the report.
func TestNotes_PrivateUntilShared(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	d.get(visit+"/photos").form("/notes").set("text", "Key under the mat").send().want(200, "Key under the mat", "Not in the report.")
	d.get(visit+"/photos").form("/notes").set("text", "Gasket is torn", "shared", "yes").send().want(200, "In the report.")
	d.get(visit+"/report").want(200, "Gasket is torn").not("Key under the mat")
}

// Closed twice, on two phones or by a double tap, it is closed.
func TestClose_Twice(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	a, b := d.get(visit+"/write").form("/close"), d.get(visit+"/write").form("/close")
	a.set("mechanic", "Van 7").send().want(200, "Sign the report")
	if p := b.set("mechanic", "Van 8").send().want(200, "Sign the report"); p.url.Path != visit+"/report" {
		t.Errorf("led to %s", p.url)
	}
}

// findLeak takes a leak at the flare from a signal to bubbles.
func (d *desk) findLeak(visit string) *sheet {
	d.t.Helper()
	p := d.get(visit + "/search")
	var row *form
	walk(p.root, func(n *html.Node) {
		if row == nil && attr(n, "id") == "p-flare_low" {
			row = (&sheet{d: d, status: 200, url: p.url, root: n}).form("/search")
		}
	})
	p = row.set("method", "detector", "saw", "signal").send().want(200)
	return p.form("/search/act").set("act", "bubbles").send().want(200)
}

// A leak is open, repaired, verified in headline, list, search and report, from one visit to the next.
func TestLeak_OpenAcrossVisits(t *testing.T) {
	d := open(t)
	m := addMachine(d)
	visit := m.form("/open").send().url.Path
	d.get(visit + "/readings").form("/readings").set(repaired...).send().want(200)
	d.findLeak(visit)
	d.get(visit+"/judge").want(200, "Open leak: flare nuts at the coil", "By the readings alone:")
	d.get("/").want(200, "Open leak: flare nuts at the coil.")
	d.get(visit+"/report").want(200, "The walk-in cooler still leaks.")
	d.get(visit+"/write").form("/close").set("mechanic", "Van 7").send().want(200, "still leaks")
	d.get("/").want(200, "Open leak: flare nuts at the coil.")
	d.get("/machines").want(200, "Repair the leak")
	d.get("/search?q=bubbles").want(200, "Flare nuts at the coil: Confirmed").not("flare_low")
	next := d.get(m.url.Path).form("/open").send().url.Path
	p := d.get(next+"/search").form("/search/act").set("act", "repaired").send().want(200)
	d.get("/").want(200, "Leak repaired, to be checked again: flare nuts at the coil.")
	d.get(next+"/report").not("still leaks", "flare_low")
	p.form("/search/act").set("act", "tight").send().want(200)
	d.get(next + "/readings").form("/readings").set(repaired...).send().want(200)
	d.get("/").not("Open leak", "Leak repaired")
	d.get(next + "/judge").not("Open leak")
	d.get(next+"/write").form("/close").set("mechanic", "Van 7").send().want(200).not("still leaks")
	d.get("/machines").not("Repair the leak", "Search for the leak", "Check the repair")
	// What the first report said it goes on saying.
	d.get(visit+"/report").want(200, "still leaks")
}

// The number on a report is found by the search.
func TestSearch_ReportNumber(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	id := strings.TrimPrefix(visit, "/visits/")
	number := id[:8] + "-" + id[24:28]
	d.get(visit+"/report").want(200, number)
	if p := d.get("/search?q="+number).want(200, "Walk-in cooler 1"); !strings.Contains(p.body, visit) {
		t.Error("the report's number does not find its visit")
	}
}

// A machine round a capillary tube has no flares, stems or glass to look at.
func TestLeakSearch_Capillary(t *testing.T) {
	d := open(t)
	m := d.get("/machines/new").form("/machines/new").set(
		"new_site", "Bar", "name", "Back bar", "refrigerant", "R-290", "application", "reach-in cooler", "set_point", "36",
		"expansion", "capillary",
	).send().want(200)
	p := d.get(m.form("/open").send().url.Path + "/search").want(200)
	for _, place := range []string{"flare_low", "flare_high", "sight_glass", "valve_stem_high"} {
		if strings.Contains(p.body, `id="p-`+place+`"`) {
			t.Errorf("it is sent to look at %s", place)
		}
	}
	if !strings.Contains(p.body, `id="p-brazed_low"`) {
		t.Error("brazed joints are not offered")
	}
}

// Bare units of a gauge are taken as gauge in a field that is printed with one; pounds and ounces get letters to type;
// no vacuum that no service pump pulls.
func TestFields_Units(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	d.get(visit+"/readings").form("/readings").set("suction_pressure", "17.5 psi", "discharge_pressure", "8.3 bar").send().want(200)
	d.get(visit+"/readings").want(200, `value="17.5"`, `value="120.4"`) // 8.3 bar are 120.38 psi (definition)
	p := d.get(visit + "/work")
	walk(p.root, func(n *html.Node) {
		if attr(n, "name") == "mass" && has(n, "inputmode") {
			t.Error("the scale's field has a keypad without letters")
		}
	})
	d.get("/me").form("/me").set("temp", "°C", "pressure", "bar(g)").send().want(200)
	dry := func(v string) *sheet { return d.get(visit+"/dry").form("/dry/start").set("pressure", v).send() }
	dry("0.5").want(422, "is deeper than a service pump pulls")
	dry("0.5 mbar").want(200, "50")
}
