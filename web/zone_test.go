package web_test

import (
	"net/url"
	"strings"
	"testing"
)

// A site's zone is taken as people say it, chosen from a list, and stands beside the times; without one they are said
// to be UTC.
func TestZone_SaidAndPrinted(t *testing.T) {
	d := open(t)
	p := d.get("/sites/new").want(200, "data-zone", `src="/static/zone-`, `<option value="America/Chicago">`)
	p.form("/sites/new").set("name", "Market", "zone", "nowhere").send().want(422, "nowhere")
	for typed, want := range map[string]string{"Chicago": "America/Chicago", "CST": "America/Chicago", "europe/berlin": "Europe/Berlin"} {
		p.form("/sites/new").set("name", "Market", "zone", typed, "form", "").send().want(200, "Time zone "+want)
	}
	m := d.get("/machines/new").form("/machines/new").set(
		"new_site", "Diner", "zone", "Chicago", "name", "Box", "refrigerant", "R-134a", "application", "walk-in cooler", "set_point", "36",
	).send().want(200)
	visit := m.form("/open").send().want(200, "02:40 CDT").url.Path
	d.get(visit+"/time").form("/time/start").set("box", "46").send().want(200, "Running since 02:40 CDT")
	d.get(visit+"/report").want(200, "16 June 2026, 02:40 CDT")
	visit = addMachine(d).form("/open").send().want(200, "07:40 UTC").url.Path
	d.get(visit+"/report").want(200, "07:40 UTC")
}

// A signature binds to what was said: a zone corrected afterwards leaves it, an address does not.
func TestSign_ZoneCorrected(t *testing.T) {
	d := open(t)
	machine, visit := closed(d)
	d.get(visit+"/sign").form("/sign").set("mechanic_name", "Van 7", "mechanic_how", "paper").send().want(200, "Van 7, 16 June 2026, 07:40")
	site := ""
	for _, l := range strings.Split(d.get(machine).body, `"`) {
		if strings.HasPrefix(l, "/sites/") && !strings.Contains(l, "/book") {
			site = l
		}
	}
	if u, err := url.Parse(site); err != nil || site == "" {
		t.Fatalf("no site: %q %v %v", site, u, err)
	}
	d.get(site+"/edit").form("/edit").set("zone", "Chicago").send().want(200, "Time zone America/Chicago")
	d.get(visit+"/report").want(200, "Van 7, 16 June 2026, 02:40").not("Changed since signed")
	d.get(site+"/edit").form("/edit").set("zone", "America/Denver").send().want(200)
	d.get(visit + "/report").not("Changed since signed")
	d.get(site+"/edit").form("/edit").set("address", "2 Lake Road").send().want(200)
	d.get(visit+"/report").want(200, "Changed since signed")
}

// Names told at closing are no signatures: their lines stay empty until somebody signs.
func TestSign_UnsignedLinesAreEmpty(t *testing.T) {
	d := open(t)
	_, visit := closed(d)
	d.get(visit+"/report").want(200, "Mechanic (Van 7), name and time", "For the customer (kitchen manager), name and time").
		not("Van 7, 16 June", "kitchen manager, 16 June")
}
