package web_test

import (
	"bytes"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"regexp"
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

// Regulators and the exchanger of a machine: stored, shown again in the form and on the plate; what is no setting is
// refused beside its field.
func TestMachine_SuctionSide(t *testing.T) {
	d := open(t)
	d.get("/machines/new").
		want(200).
		form("/machines/new").
		set("new_site", "Cold store", "name", "Freezer 2", "refrigerant", "R-404A", "application", "walk-in freezer", "set_point", "0",
			"exchanger", "yes", "crankcase", "300 psia").
		send().
		want(422, "absolute", "such as 30 psig")
	m := d.get("/machines/new").
		want(200).
		form("/machines/new").
		set("new_site", "Cold store", "name", "Freezer 2", "refrigerant", "R-404A", "application", "walk-in freezer", "set_point", "0",
			"exchanger", "yes", "crankcase", "22", "evaporator", "12 psig", "subcooling", "9").
		send().
		want(200, "Freezer 2", "Crankcase regulator", "22.0 psig", "Evaporator regulator", "12.0 psig", "exchanger")
	d.get(m.url.Path+"/edit").want(200, `value="22"`, `value="12"`, `value="9"`)
	d.get(m.url.Path+"/edit").
		form("/edit").
		set("crankcase", "", "exchanger", "no").
		send().
		want(200, "Evaporator regulator").
		not("Crankcase regulator")
}

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

// The whole job with plain forms, as a mechanic does it on a phone without script.
func TestVisit_FromArrivalToReport(t *testing.T) {
	d := open(t)
	d.get("/").want(200, "No machines here yet", "Add a machine")
	d.get("/me").form("/me").set("by", "Van 7").send().want(200, "Kept on this device")
	m := addMachine(d)
	v := m.form("/open").
		set("complaint", "too warm since the morning").
		send().
		want(200, "Arrive", "Look first", "too warm since the morning", "Lock out", "opens from inside")
	visit := v.url.Path
	v = v.form("/arrive").
		set("food", "milk moved at 07:50", "box_air", "44", "box_display", "39").
		send().
		want(200, "thermometer reads 5 °F low", "Food: milk moved at 07:50")
	v = v.form("/look").
		set("s_coil_fans", "1", "s_coil_ice", "none", "s_condenser_dirt", "none", "s_glass", "bubbling").
		send().
		want(200, "Start the clock")
	// The pull-down, point by point.
	v = v.form("/time/start").set("box", "46").send().want(200, "Too early yet")
	for _, box := range []string{"45.2", "44.6", "44.2", "44.0", "43.9"} {
		d.now = d.now.Add(6 * time.Minute)
		v = v.form("/time").set("box", box).send().want(200, "Box, last read", box)
	}
	v.want(200, "Pull-down", "in 100 within 6 hours", "minutes since start")
	d.get("/").want(200, "Pull-down running", "Open visit, started 07:40")
	// Readings.
	r := d.get(visit+"/readings?end=before").
		want(200, "Tap where you measured", "Suction + tap to enter, not read yet", "Goggles and gloves")
	j := r.form("/readings").
		set(starved...).
		send().
		want(200, "refrigerant", "Suspects", "Short of refrigerant", "in 100", "The ladder", "under", "Superheat",
			"Two causes can be present at once", "The same as a table")
	if j.url.Path != visit+"/judge" {
		t.Fatalf("went to %s", j.url)
	}
	d.get(visit+"/readings?end=before").want(200, `aria-label="Suction: 17.5 psig`, `value="17.5"`, "saturated, R-134a")
	// The cycle beside the circuit, closed until it is wanted, with what is missing and its table.
	d.get(visit+"/readings?end=before").
		want(200, "The cycle on the pressure–enthalpy diagram", "Coil outlet, SH 24.5 °F", "Liquid line, SC 1.0 °F",
			"left out: suction line, discharge line.", "enthalpy, Btu/lb")
	d.get(visit + "/readings?end=after").not("pressure–enthalpy")
	d.get("/machines").want(200, "Someone today", "Walk-in cooler 1", "under")
	// Repair.
	w := d.get(visit+"/work").want(200, "Recover first", "Nitrogen flowing", "Nitrogen test", "Vacuum rise")
	w = w.form("/leak").
		set("place", "liquid line at the wall clamp", "how", "bubbles").
		send().
		want(200, "Leak: liquid line at the wall clamp (bubbles)")
	w = w.form("/work").set("code", "leak_repaired", "text", "pipe replaced").send().want(200, "Leak repaired: pipe replaced")
	w = w.form("/work").set("code", "evacuated").send().want(200, "Evacuated")
	w = w.form("/gas").
		set("direction", "recovered", "mass", "4 lb 14 oz", "cylinder", "R-07").
		send().
		want(200, "4 lb 14 oz out of the machine, cylinder R-07")
	w = w.form("/gas").set("direction", "added", "mass", "9 lb 8 oz", "cylinder", "C-131").send().want(200, "9 lb 8 oz into the machine")
	w.form("/after").send().want(200, "Prove the cold", "Time the box again")
	p := d.get(visit+"/time?end=after").form("/time/start").set("box", "46").send()
	for _, box := range []string{"42", "39.2", "37.3", "36"} {
		d.now = d.now.Add(15 * time.Minute)
		p = p.form("/time").set("box", box).send()
	}
	p.want(200, "Set point reached")
	d.get(visit+"/readings?end=after").form("/readings").set(repaired...).send().want(200, "Suspects")
	c := d.get(visit+"/cold").want(200, "Before and after", "Is it healthy now?")
	c = c.form("/healthy").send().want(200, "Kept as a healthy visit")
	c.form("/confirm").set("fault", "low_charge").send().want(200)
	wr := d.get(visit+"/write").want(200, "The walk-in cooler is cold again.", `value="Van 7"`)
	rep := wr.form("/close").set("customer", "kitchen manager", "advice", "Keep boxes off the condenser\nClose the door").send().want(200,
		"The walk-in cooler is cold again. The machine has lost refrigerant through a leak.", "What was wrong",
		"Keep boxes off the condenser.", "Close the door.", "food authority", "4 lb 14 oz", "Before and after on one scale", "kitchen manager")
	rep.not("NaN", "%!", "superheat of")
	pdf := d.get(visit + "/report.pdf")
	if pdf.status != 200 || !strings.HasPrefix(pdf.body, "%PDF-") || pdf.header.Get("Content-Type") != "application/pdf" {
		t.Errorf("PDF: status %d, %q", pdf.status, pdf.header.Get("Content-Type"))
	}
	if again := d.get(visit + "/report.pdf"); again.body != pdf.body {
		t.Error("the same report twice has other bytes")
	}
	// In Spanish by the address alone, or kept on the device by the page's own switch; the units stay as chosen.
	es := d.get(visit+"/report?lang=es").
		want(200, `<html lang="es"`, "Qué pasaba", "La cámara de refrigeración está otra vez a su temperatura.", "Se recuperaron 4 lb 14 oz",
			"Antes y después en una misma escala, °F", `href="`+visit+`/report.pdf?lang=es"`, "Lo mismo en una tabla", "This report in English")
	es.not("What was wrong", "The same as a table", "Service report", "Superheat", "Before and after")
	d.get(visit+"/report").
		want(200, `<html lang="en"`, "What was wrong", "Este informe en español").
		form("/me").
		set("lang", "es").
		send().
		want(200, "Qué debe hacer usted", "This report in English")
	if spanish := d.get(
		visit + "/report.pdf",
	); spanish.status != 200 || spanish.body == pdf.body || spanish.body != d.get(visit+"/report.pdf?lang=es").body ||
		pdf.body != d.get(visit+"/report.pdf?lang=en").body {
		t.Error("the PDF does not follow the language that was chosen, or the address")
	}
	if letter := d.get(visit + "/report.pdf?paper=letter"); letter.status != 200 || !strings.Contains(letter.body, "[0 0 612.00 792.00]") {
		t.Error("no report on Letter")
	}
	d.get(visit+"/report?lang=xx").want(422, "is no language here")
	d.get(visit+"/report.pdf?paper=A3").want(422, "is no paper here")
	d.get("/me").want(200, "Language of reports", "Español", "Paper of reports", "Letter")
	d.get(visit+"/report").form("/me").set("lang", "en").send().want(200, "What was wrong")
	d.get(m.url.Path).want(200, "healthy", "It was: short of refrigerant.", "Refrigerant in and out", "The walk-in cooler is cold again.")
	if x := d.get(
		"/export.jsonl",
	); x.status != 200 || strings.Count(x.body, "\n") < 25 ||
		!strings.Contains(x.body, `"kind":"visit_closed"`) {
		t.Errorf("export: %d, %d lines", x.status, strings.Count(x.body, "\n"))
	}
}

func TestForms_KeepWhatWasTyped(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	p := d.get(visit+"/readings").
		form("/readings").
		set("suction_pressure", "17,5o", "discharge_pressure", "120", "liquid_line", "97 K").
		send()
	p.want(422, `value="17,5o"`, `value="120"`, `value="97 K"`, `aria-invalid="true"`, "autofocus")
	if n := strings.Count(p.body, `aria-invalid="true"`); n != 2 {
		t.Errorf("%d fields marked, want suction and liquid line", n)
	}
	d.get(visit+"/readings").want(200, "0 readings so far") // all or none
	p.form("/readings").set("suction_pressure", "1.2 bar(g)", "liquid_line", "97").send().want(200, "Suspects")
	d.get(visit+"/readings").want(200, `value="17.4"`) // 1.2 bar is 17.40 psi

	d.get(visit+"/work").form("/work").set("code", "", "text", "kept text").send().want(422, "kept text", "This is needed.")
	d.get(visit+"/work").
		form("/gas").
		set("direction", "added", "mass", "lots", "cylinder", "C-1").
		send().
		want(422, `value="lots"`, `value="C-1"`)
	d.get(visit+"/write").form("/close").set("mechanic", "", "advice", "kept advice").send().want(422, "kept advice", "This is needed.")
	d.get("/machines/new").
		form("/machines/new").
		set("name", "X", "set_point", "warm").
		send().
		want(422, `value="warm"`, "It is on the plate.", "Choose a site or name a new one.")
	d.get("/sites/new").form("/sites/new").set("name", "", "altitude", "99999").send().want(422, `value="99999"`)
}

// A double tap sends the same form twice: one visit, one machine, one piece of work.
func TestForms_SentTwice(t *testing.T) {
	d := open(t)
	f := d.get("/machines/new").
		form("/machines/new").
		set("new_site", "School kitchen", "name", "Walk-in cooler 1", "refrigerant", "R-134a", "application", "walk-in cooler")
	a, b := f.send().want(200), f.send().want(200)
	if a.url.Path != b.url.Path {
		t.Errorf("two machines: %s and %s", a.url.Path, b.url.Path)
	}
	o := a.form("/open")
	v, again := o.send().want(200), o.send().want(200)
	if v.url.Path != again.url.Path {
		t.Errorf("two visits: %s and %s", v.url.Path, again.url.Path)
	}
	w := d.get(v.url.Path+"/work").form("/work").set("code", "evacuated")
	w.send()
	if p := w.send().want(200); strings.Count(words(p.root), "Take back") != 1 {
		t.Errorf("work is there %d times", strings.Count(words(p.root), "Take back"))
	}
	// The same form again with other content, as a browser brings it back with its back key: a correction, not a double tap.
	w.set("code", "pressure_tested").send()
	if p := w.send().want(200); strings.Count(words(p.root), "Take back") != 2 {
		t.Errorf("work is there %d times after a form was changed and sent again", strings.Count(words(p.root), "Take back"))
	}
	d.get(v.url.Path + "/work").form("/withdraw").send()
	p := d.get(v.url.Path+"/work").form("/withdraw").send().want(200, "Nothing yet.")
	if strings.Contains(words(p.root), "Take back") {
		t.Error("what was taken back is still shown")
	}
}

func TestUnits_SwitchConvertsAndKeeps(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	d.get(visit+"/readings").form("/readings").set("suction_pressure", "17.5", "box_air", "44").send()
	n := strings.Count(d.get("/export.jsonl").body, "\n")
	f := d.get(visit+"/readings").form("/readings").set("temp", "°C", "pressure", "bar(g)", "liquid_line", "104")
	f.action += "&show"
	// What is stored is converted, what was typed but not saved stays with the unit it was typed in, and nothing is saved.
	f.send().want(200, "6.7 °C", "1.21 bar(g)", "2 °C", `value="104 °F"`)
	if m := strings.Count(d.get("/export.jsonl").body, "\n"); m != n {
		t.Errorf("a look in other units wrote %d events", m-n)
	}
	// Saved again as shown, nothing changes.
	d.get(visit + "/readings").form("/readings").send().want(200)
	if m := strings.Count(d.get("/export.jsonl").body, "\n"); m != n {
		t.Errorf("saving what is shown wrote %d events", m-n)
	}
	d.get("/me").want(200).form("/me").set("look", "sun").send().want(200, `data-look="sun"`)
}

// Another tab switches the units while a form stands open: a bare number means what its own page said.
func TestUnits_TwoTabs(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	d.get(visit+"/readings").form("/readings").set("suction_pressure", "17.5", "box_air", "44").send()
	stale := d.get(visit + "/readings").form("/readings")
	pull := d.get(visit + "/time").form("/time/start")
	d.get("/me").form("/me").set("temp", "°C", "pressure", "kPa(a)").send().want(200)
	n := strings.Count(d.get("/export.jsonl").body, "\n")
	stale.send().want(200)
	if m := strings.Count(d.get("/export.jsonl").body, "\n"); m != n {
		t.Errorf("an untouched form of another tab wrote %d events", m-n)
	}
	pull.set("box", "45").send().want(200)
	// 45 °F are 280.37 K (definition).
	if p := d.get("/export.jsonl"); !strings.Contains(p.body, `"box_k":280.37`) {
		t.Error("45 on a page in °F was not taken as °F")
	}
}

// The clocks of machine and defrost count on, and count for the readings; what was typed stays when it is refused.
func TestTime_MachineAndDefrost(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	p := d.get(visit+"/time").want(200, "Machine and defrost", "It starts running", "A defrost begins")
	p = p.form("/time/mark").set("what", "switched_on", "ago", "a while").send().want(422, `value="a while"`, `aria-invalid="true"`)
	p = p.form("/time/mark").set("what", "switched_on", "ago", "22").send().want(200, "Running since").not("It starts running")
	d.get(visit+"/readings").want(200, "By the clock 22")
	p = p.form("/time/mark").set("what", "defrost_began", "ago", "").send().want(200, "Defrosting since", "The defrost is over")
	p = p.form("/time/mark").set("what", "defrost_ended").send().want(200, "Defrost over since", "A defrost begins").not("Defrosting since")
	p.form("/withdraw").send().want(200, "It starts running")
}

// A reading that is emptied is taken back, with the older ones at its place; an empty field that was empty when the
// page was made says nothing.
func TestReadings_TakenBack(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	blank := d.get(visit + "/readings").form("/readings")
	for _, v := range []string{"17.5", "18.5"} {
		d.get(visit+"/readings").form("/readings").set("suction_pressure", v, "box_air", "44", "ambient", "86").send().want(200)
	}
	blank.send().want(200)
	d.get(visit+"/readings").want(200, `value="18.5"`)
	d.get(visit+"/readings").form("/readings").set("suction_pressure", "").send().want(200)
	d.get(visit+"/readings").want(200, `value="44"`).not(`value="18.5"`, `value="17.5"`)
}

// A closed visit takes nothing more.
func TestVisit_ClosedStaysClosed(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	f := d.get(visit+"/readings").form("/readings").set("suction_pressure", "17.5", "box_air", "44")
	d.get(visit+"/write").form("/close").set("mechanic", "A. Mechanic").send().want(200)
	n := strings.Count(d.get("/export.jsonl").body, "\n")
	if p := f.send(); p.status != 409 {
		t.Errorf("readings after closing: status %d", p.status)
	}
	if m := strings.Count(d.get("/export.jsonl").body, "\n"); m != n {
		t.Errorf("%d events after closing", m-n)
	}
}

// A point of the pull-down may be told later, at its minute; the same minute twice is said beside the form.
func TestPullDown_AtAMinute(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	d.get(visit+"/time").form("/time/start").set("box", "50").send().want(200)
	forms := func() *form { return d.get(visit+"/time").form("/time", "minute") }
	forms().set("other", "48", "minute", "10").send().want(200, "48")
	forms().set("other", "47", "minute", "10").send().want(422, "there already")
	forms().set("other", "47", "minute", "soon").send().want(422, "soon")
}

func TestFreezer_BelowZeroWithoutMinusKey(t *testing.T) {
	d := open(t)
	m := d.get("/machines/new").
		form("/machines/new").
		set("new_site", "Bakery", "name", "Walk-in freezer", "refrigerant", "R-448A", "application", "walk-in freezer", "set_point", "5",
			"set_point_sign", "minus").
		send().
		want(200, "−5 °F")
	visit := m.form("/open").send().url.Path
	f := d.get(visit).form("/arrive")
	if f.values.Get("box_air_sign") != "minus" {
		t.Error("a freezer starts below zero")
	}
	f.set("box_air", "12").send().want(200)
	d.get(visit).want(200, `value="12"`)
	d.get("/").want(200, "Box at −12 °F, holds −5 °F.")
}

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
	if p := d.get("/me").form("/me").set("back", "//elsewhere.example/x").send(); !strings.HasPrefix(p.url.String(), d.base) {
		t.Errorf("sent to %s", p.url)
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
	seen := map[string]bool{}
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
			if id := attr(n, "id"); id != "" {
				if ids[id] {
					t.Errorf("%s: id %s twice", path, id)
				}
				ids[id] = true
			}
			if n.Data == "label" && attr(n, "for") != "" {
				labels[attr(n, "for")] = true
			}
			if (n.Data == "input" && attr(n, "type") != "hidden" && attr(n, "type") != "radio" || n.Data == "select" || n.Data == "textarea") &&
				attr(n, "id") != "" {
				fields[attr(n, "id")] = true
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
	if len(seen) < 25 {
		t.Errorf("only %d pages", len(seen))
	}
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
