package web_test

import (
	"strings"
	"testing"

	"golang.org/x/net/html"
)

const drawing = "120 200 30 -40 30 40 30 -40 30 40;300 90 80 0"

// closed is a visit to a fresh machine that is closed, with hardly anything in it.
func closed(d *desk) (machine, visit string) {
	d.t.Helper()
	m := addMachine(d)
	visit = m.form("/open").send().want(200).url.Path
	d.get(visit+"/sign").want(200, "Close the visit first").not("Save the signatures")
	d.get(visit + "/report").want(200).not("Sign the report")
	d.get(visit+"/write").form("/close").set("mechanic", "Van 7", "customer", "kitchen manager").send().want(200, "Sign the report")
	return m.url.Path, visit
}

// inked counts the paths of a drawn signature.
func inked(s *sheet) (n int) {
	walk(s.root, func(x *html.Node) {
		if x.Data == "svg" && attr(x, "class") == "hand" {
			walk(x, func(c *html.Node) {
				if c.Data == "path" {
					n++
				}
			})
		}
	})
	return n
}

// Without script a name and a tick; what a script draws comes in as text. Nothing that was typed or drawn is lost
// when something else is refused.
func TestSign(t *testing.T) {
	d := open(t)
	machine, visit := closed(d)
	p := d.get(visit+"/sign").want(200, "Name in letters", "Signed on paper", `value="kitchen manager"`, `value="Van 7"`)
	p.form("/sign").send().want(422, "Nobody has signed")
	bad := p.form("/sign").
		set("customer_name", "", "customer_strokes", drawing, "mechanic_how", "typed", "mechanic_name", "Van 8").
		send().
		want(422, "This is needed", drawing, `value="Van 8"`)
	bad = bad.form("/sign").
		set("customer_name", "Kitchen <lead>", "customer_strokes", drawing+" 2000 0").
		send().
		want(422, "is no point of a drawing", "wipe", "Kitchen &lt;lead&gt;", drawing+" 2000 0", `value="Van 8"`)
	if inked(d.get(visit+"/report")) != 0 {
		t.Fatal("a refused signature stands in the report")
	}
	rep := bad.form("/sign").
		set("customer_strokes", drawing).
		send().
		want(200, "Kitchen <lead>, 16 June 2026, 07:40", "Van 8, 16 June 2026", "The typed name stands for the signature.").
		not("Changed since signed")
	if rep.url.Path != visit+"/report" || inked(rep) != 2 || !strings.Contains(rep.body, "M120 200L150 160L180 200L210 160L240 200") {
		t.Errorf("%s: %d lines drawn", rep.url, inked(rep))
	}
	// Sent twice it is there once.
	again := bad.form("/sign").set("customer_strokes", drawing).send().want(200)
	if n := strings.Count(d.get("/export.jsonl").body, `"kind":"report_signed"`); n != 2 || inked(again) != 2 {
		t.Errorf("%d signatures after a double submit", n)
	}
	a, b := d.get(visit+"/report.pdf"), d.get(visit+"/report.pdf")
	if a.status != 200 || a.body != b.body {
		t.Error("the signed report twice has other bytes")
	}
	// Taken back by an event, what is typed meanwhile stays.
	page := d.get(visit+"/sign").want(200, "Take this signature back").not("Name in letters")
	var events []string
	walk(page.root, func(n *html.Node) {
		if n.Data == "button" && attr(n, "name") == "take_back" {
			events = append(events, attr(n, "value"))
		}
	})
	if len(events) != 2 {
		t.Fatal(events)
	}
	page = page.form("/sign").set("take_back", events[0]).send().want(200, "Name in letters")
	page = page.form("/sign").
		set("take_back", events[1], "customer_name", "Somebody else", "customer_strokes", drawing).
		send().
		want(200, `value="Somebody else"`, drawing)
	page.form("/sign").set("customer_how", "").send().want(200, "Somebody else, 16 June")
	// The plate is corrected afterwards: the report says so, on paper too; a page from before it is refused with all that is on it.
	old := d.get(visit + "/sign")
	d.get(machine+"/edit").form("/edit").set("full_charge", "9 lb").send().want(200, "Full charge 9 lb")
	d.get(visit+"/report").want(200, "Changed since signed")
	d.get(visit+"/sign").want(200, "Changed since signed")
	old.form("/sign").
		set("mechanic_name", "Van 7", "mechanic_how", "paper").
		send().
		want(422, "changed since this page was opened", `value="Van 7"`).
		form("/sign").
		set("mechanic_how", "paper").
		send().
		want(200, "Van 7, 16 June", "Signed on paper.")
}
