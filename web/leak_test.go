package web_test

import (
	"strings"
	"testing"

	"golang.org/x/net/html"
)

// suggested returns the place and method the page suggests.
func suggested(p *sheet) (place, method string) {
	walk(p.root, func(n *html.Node) {
		if n.Type == html.ElementNode && attr(n, "id") == "next" {
			walk(n, func(c *html.Node) {
				switch attr(c, "name") {
				case "place":
					place = attr(c, "value")
				case "method":
					method = attr(c, "value")
				}
			})
		}
	})
	return place, method
}

// From the first look to the re-check, with plain forms.
func TestLeakSearch_FromLookToRecheck(t *testing.T) {
	d := open(t)
	m := addMachine(d)
	visit := m.form("/open").send().url.Path
	d.get(visit+"/work").want(200, "Search for the leak")
	p := d.get(visit+"/search").
		want(200, "Leak search", "Look next", "in 100 that it shows here", "All places", "Somewhere else", "Nothing read yet",
			"No charge history yet", "The smallest that shows now")
	place, method := suggested(p)
	if place == "" || method == "" {
		t.Fatalf("suggests %q with %q", place, method)
	}
	// A double tap on "nothing here" is one look, and the next place is another.
	f := p.form("/search", "method").set("saw", "nothing")
	f.send().want(200)
	p = f.send().want(200, "Looked so far", "Looked at once")
	if strings.Count(words(p.root), "Take back") != 1 {
		t.Error("a double tap is two looks")
	}
	if again, with := suggested(p); again == place && with == method {
		t.Errorf("%s with %s is next again", again, with)
	}
	// Another place, chosen from the list.
	var row *form
	walk(p.root, func(n *html.Node) {
		if row == nil && attr(n, "id") == "p-flare_low" {
			row = (&sheet{d: d, status: 200, url: p.url, root: n}).form("/search")
		}
	})
	p = row.set("method", "detector", "saw", "signal").
		send().
		want(200, "Make sure", "Flare nuts at the coil", "Found, not yet confirmed", "Small leaks need ten minutes", "Confirmed by bubbles",
			"No bubbles here")
	bubbles := p.form("/search/act").set("act", "bubbles")
	p = bubbles.send().
		want(200, "Repair", "recover to the level", "Dry nitrogen flows gently", "watch half an hour", "Foam panels", "new filter-drier",
			"for a second leak").
		not("ignition source")
	if k := len(p.form("/search/act").keys); k != 1 {
		t.Errorf("%d buttons for a confirmed leak, want one", k)
	}
	p = p.form("/search/act").
		set("act", "repaired").
		send().
		want(200, "Re-check", "far side", "never oxygen or air", "Re-checked: tight", "Re-checked: still leaks")
	d.get(visit+"/work").want(200, "Leak: Flare nuts at the coil (bubbles)", "Leak repaired: Flare nuts at the coil")
	// A late second tap on the old button changes nothing.
	n := strings.Count(d.get("/export.jsonl").body, "\n")
	bubbles.send().want(409, "does not follow")
	if strings.Count(d.get("/export.jsonl").body, "\n") != n {
		t.Error("a late tap wrote something")
	}
	p.form("/search/act").set("act", "tight").send().want(200, "Re-checked, tight").not("Make sure", "Re-checked: still leaks")
	d.get(visit+"/write").
		form("/close").
		set("mechanic", "Van 7").
		send().
		want(200, "Leak found: Flare nuts at the coil", "Leak repaired: Flare nuts at the coil", "re-checked, tight")
	d.get(visit+"/search").want(200, "Leak search", "Re-checked, tight").not("Nothing here", "Take back")
	// The machine's next visit knows where it leaked.
	next := d.get(m.url.Path).form("/open").send().url.Path
	d.get(next+"/search").want(200, "Look next").not("Make sure", "for a second leak")
}

func TestLeakSearch_Pressures(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	set := func() *form { return d.get(visit + "/search").form("/search/set") }
	set().set("high", "0", "low", "0").
		send().
		want(200, "Recover, then pressurise with dry nitrogen", "As you entered it", "nothing on the high side", `value="0"`)
	set().set("high", "none", "low", "20", "charge", "refrigerant").send().want(422, `value="none"`, `value="20"`, `aria-invalid="true"`)
	set().set("high", "", "low", "", "charge", "nitrogen").send().want(422, "This is needed")
	p := set().set("high", "300", "low", "150", "charge", "nitrogen", "draught", "1").
		send().
		want(200, "Bubbles", "a year on the high side").
		not("Electronic detector:", "Recover, then pressurise")
	if _, method := suggested(p); method == "detector" {
		t.Error("a refrigerant probe suggested in nitrogen")
	}
	// Low pressure is said beside the suggestion that suffers from it.
	set().set("high", "30", "low", "30", "charge", "refrigerant", "draught", "").send().want(200)
	for range 25 {
		p = d.get(visit + "/search")
		if _, method := suggested(p); method == "detector" {
			p.want(200, "49 psi")
			return
		}
		p.form("/search", "method").set("saw", "nothing").send().want(200)
	}
	t.Error("the detector was never suggested")
}

func TestLeakSearch_TakenBackAndRefused(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	p := d.get(visit + "/search")
	place, method := suggested(p)
	p = p.form("/search", "method").set("saw", "nothing").send().want(200, "Looked so far")
	p = p.form("/withdraw").send().want(200, "Leak search").not("Looked so far")
	if a, b := suggested(p); a != place || b != method {
		t.Errorf("after taking the look back %s with %s is next, before it was %s with %s", a, b, place, method)
	}
	p.form("/search", "method").set("place", "elsewhere", "saw", "nothing").send().want(422, "no place of the list")
	p.form("/search", "method").set("saw", "perhaps").send().want(422, "neither nothing nor signal")
	d.get("/visits/none/search").want(404)
}

// A flammable refrigerant brings its own words to the search and to the repair.
func TestLeakSearch_Flammable(t *testing.T) {
	d := open(t)
	visit := d.get("/machines/new").
		form("/machines/new").
		set("new_site", "Café", "name", "Reach-in", "refrigerant", "R-290", "application", "reach-in cooler").
		send().
		form("/open").
		send().
		url.Path
	p := d.get(visit+"/search").want(200).not("Rubbed lines", "Foam panels")
	p = p.form("/search", "method").set("method", "detector", "saw", "signal").send().want(200, "Make sure")
	p.form("/search/act").set("act", "bubbles").send().want(200, "no ignition source", "flush with nitrogen, evacuate, flush again")
}
