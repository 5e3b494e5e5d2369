package web_test

import (
	"regexp"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
)

// The clocks of a machine on its page, without script: the repair clock runs from the day refrigerant was added, is
// late a day after its 30, and ends with the repair and its tests.
func TestMachine_Clocks(t *testing.T) {
	d := open(t)
	d.get("/sites/new").form("/sites/new").set("name", "Market", "zone", "America/Chicago", "altitude", "0").send().want(200)
	site := ""
	walk(d.get("/machines/new").root, func(n *html.Node) {
		if n.Data == "option" && strings.HasPrefix(words(n), "Market") {
			site = attr(n, "value")
		}
	})
	m := d.get("/machines/new").
		form("/machines/new").
		set("site", site, "name", "Rack", "refrigerant", "R-448A", "application", "display case", "set_point", "36", "full_charge", "60 lb").
		send().
		want(200, "Clocks", "No clock runs.", "Recover before opening", "not legal advice", "time zone")
	visit := m.form("/open").send().url.Path
	d.get(visit+"/work").form("/gas").set("direction", "added", "mass", "15 lb", "cylinder", "C1").send().want(200)
	d.get(m.url.Path).
		want(200, "Repair the leak", "Due 16 July 2026, in 30 days.", "Annualized 25 %, rolling 25 % of the full charge; limit 20 %.",
			"40 CFR 84.106(d). Second hand").
		not("overdue", "No clock runs")
	cal := d.get(m.url.Path + "/due.ics")
	for _, w := range []string{"BEGIN:VCALENDAR\r\n", "SUMMARY:Repair the leak: Rack\r\n", "DTSTART;VALUE=DATE:20260716\r\n"} {
		if !strings.Contains(cal.body, w) {
			t.Errorf("no %q in %s", w, cal.body)
		}
	}
	d.now = d.now.Add(31 * 24 * time.Hour)
	d.get(m.url.Path).want(200, "Due 16 July 2026, a day ago.", "overdue", "Plan to convert or retire")
	for _, code := range []string{"leak_repaired", "repair_tested", "repair_tested_again"} {
		d.get(visit+"/work").form("/work").set("code", code).send().want(200)
	}
	d.get(m.url.Path).want(200).not("Repair the leak", "overdue", "Plan to convert")
	// The site's book of the month: the addition, and the loss that it proves.
	siteURL := ""
	walk(d.get(m.url.Path).root, func(n *html.Node) {
		if strings.HasPrefix(attr(n, "href"), "/sites/") {
			siteURL = attr(n, "href")
		}
	})
	d.get(siteURL).want(200, "June 2026", "July 2026")
	book := d.get(siteURL + "/book/2026-06.csv")
	if book.status != 200 || !strings.HasPrefix(book.header.Get("Content-Type"), "text/csv") {
		t.Fatalf("%d %s", book.status, book.header.Get("Content-Type"))
	}
	for _, w := range []string{
		"date,entry,kind", ",top_up,R-448A,cylinder C1,machine Rack,6804,9437.148,AR4,",
		",loss,R-448A,machine Rack,atmosphere,6804,",
	} {
		if !strings.Contains(book.body, w) {
			t.Errorf("no %q in %s", w, book.body)
		}
	}
	d.get(siteURL+"/book/2026-06").
		want(200, "Refrigerant book, June 2026", "By machine", "By cylinder used here", "Movements", "27.216", "6.804", "9437.148",
			"GWP over 100 years by AR4")
	for _, name := range []string{"2026-06.pdf", "2026-06-letter.pdf"} {
		pdf := d.get(siteURL + "/book/" + name)
		if pdf.status != 200 || !strings.HasPrefix(pdf.body, "%PDF-") || pdf.body != d.get(siteURL+"/book/"+name).body {
			t.Errorf("%s: %d, or not the same twice", name, pdf.status)
		}
	}
	if b := d.get(
		siteURL + "/book/2026-06-balances.csv",
	); !strings.Contains(b.body, "machine,Rack,R-448A,0,34020,0,6804,0,27216\n") ||
		!strings.Contains(b.body, "cylinder,C1,R-448A,0,0,6804,0,0,-6804\n") {
		t.Errorf("%s", b.body)
	}
	d.get(siteURL + "/book/2026-06.doc").want(404)
	d.get(siteURL+"/book/June.csv").want(422, "no month")
	d.get("/sites/nowhere/refrigerant?month=2026-06").want(404)
}

// What a person says beats the guess from the time zone; the guess is shown as one.
func TestSite_Jurisdiction(t *testing.T) {
	d := open(t)
	site := d.get("/sites/new").
		form("/sites/new").
		set("name", "Depot", "zone", "Europe/London", "altitude", "0").
		send().
		want(200, "Great Britain, guessed from the time zone")
	m := d.get("/machines/new?site="+strings.TrimPrefix(site.url.Path, "/sites/")).
		form("/machines/new").
		set("name", "Rack", "refrigerant", "R-404A", "application", "display case", "set_point", "36", "full_charge", "60 lb").
		send()
	m.want(200, "517/2014", "is a guess from the site")
	d.get(site.url.Path+"/edit").
		want(200, "Guess it from the time zone: Great Britain").
		form("/edit").
		set("jurisdiction", "EU").
		send().
		want(200, "Rules on refrigerant: European Union").
		not("guessed")
	d.get(m.url.Path).want(200, "2024/573").not("517/2014", "is a guess from the site")
	d.get(site.url.Path+"/edit").form("/edit").set("jurisdiction", "none").send().want(200, "none on file")
	d.get(m.url.Path).want(200, "none of the rules on file hold there").not("2024/573")
	d.get(site.url.Path+"/edit").
		form("/edit").
		set("jurisdiction", "Mars", "customer", "kept").
		send().
		want(422, "not on file", `value="kept"`)
}

// Where nobody can say whose rules hold, the page says so.
func TestMachine_NoClocks(t *testing.T) {
	d := open(t)
	d.get("/machines/new").
		form("/machines/new").
		set("new_site", "Somewhere", "name", "Box", "refrigerant", "R-134a", "application", "walk-in cooler", "set_point", "36").
		send().
		want(200, "Clocks", "no time zone that says which rules hold")
}

// What the clocks need beside the visits, on the machine's page.
func TestMachine_ForTheLaw(t *testing.T) {
	d := open(t)
	m := addMachine(d)
	m.form("/law/event").send().want(422, "This is needed")
	m.form("/law/event").
		set("what", "retired", "on", "yesterday", "text", "kept").
		send().
		want(422, "no date", `value="yesterday"`, `value="kept"`)
	m.form("/law/event").
		set("what", "detection_installed", "on", "2026-05-04", "text", "by the door").
		send().
		want(200, "Automatic leak detection fitted", "4 May 2026", "by the door")
	p := m.form("/law/facts").set("class", "comfort cooling", "hermetic", "yes").send().want(200)
	f := p.form("/law/facts")
	if f.values.Get("class") != "comfort cooling" || f.values.Get("hermetic") != "yes" || f.values.Get("shutdown") != "no" {
		t.Errorf("not kept: %v", f.values)
	}
	p.form("/law/withdraw").send().want(200).not("4 May 2026")
}

// What another refrigerant would mean stands on the machine's page; nothing is kept of it. R-454C is A2L, R-448A is A1 (ASHRAE 34).
func TestRetrofit(t *testing.T) {
	d := open(t)
	m := addMachine(d).url.Path
	n := events(d)
	p := d.get(m+"?to=R-454C").want(200, "What another refrigerant would mean")
	if strings.Contains(p.body, "not known whose rules hold") {
		site := regexp.MustCompile(`/sites/[0-9a-f-]{36}`).FindString(p.body)
		d.get(site+"/edit").form("/edit").set("jurisdiction", "US").send().want(200)
		p = d.get(m + "?to=R-454C")
	}
	p.want(200, "R-454C in its place", "A2L").not("%!", "NaN")
	d.get(m+"?to=R-9999").want(200, "R-9999")
	if events(d) > n+1 {
		t.Error("asking wrote something")
	}
}
