package web_test

import (
	"bytes"
	"mime/multipart"
	"regexp"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
)

// events counts what is stored.
func events(d *desk) int {
	all := d.get("/export.jsonl").body
	return strings.Count(all, "\n") - strings.Count(all, `{"blob":`)
}

func startVisit(d *desk) string {
	d.t.Helper()
	return addMachine(d).form("/open").send().url.Path
}

// The nitrogen test with plain forms: started, read after a day that got 20 °F colder, proven tight, in the report.
func TestTight(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	d.get(visit).want(200, "Prove it tight", "Prove it dry", visit+"/tight", visit+"/dry", visit+"/charge", "1 of 11")
	p := d.get(visit+"/tight").
		want(200, "Prove it tight", "Dry nitrogen only", "Through a regulator", "Lowest test pressure on the plates", "Start the clock").
		not("Curve")
	// What cannot be is said beside its field, and everything typed stays.
	n := events(d)
	bad := p.form("/tight/start").
		set("plate", "350", "pressure", "alot", "gas_1", "", "volumes", "20 L").
		send().
		want(422, `value="alot"`, `value="350"`, `value="20 L"`, `aria-invalid="true"`, "This is needed")
	if events(d) != n {
		t.Error("a refused form wrote something")
	}
	// A double tap is one test.
	f := bad.form("/tight/start").set("plate", "350", "pressure", "300", "gas_1", "90", "volumes", "20 L")
	f.send().want(200)
	p = f.send().want(200, "Not decided yet", "One look shows no change", "Started 07:40, read once", "300")
	p.green(false)
	if n := events(d); n != strings.Count(d.get("/export.jsonl").body, "\n") ||
		strings.Count(d.get("/export.jsonl").body, "hold_started") != 1 {
		t.Error("a double submit is two tests")
	}
	p.not("Nitrogen stands")
	d.get(visit+"/charge").want(200, "Nitrogen stands, 300.0 psig")
	d.now = d.now.Add(20 * time.Minute)
	add := p.form("/tight").set("pressure", "299.8", "gas_1", "89.8")
	p = add.send().want(200, "Not decided yet", "more decides it")
	if again := add.send(); again.status != 200 || strings.Count(again.body, ">Take back</button>") != 2 {
		t.Error("a double submit is two readings")
	}
	d.now = d.now.Add(24 * time.Hour)
	p.form("/tight").set("pressure", "300", "gas_1", "70 K").send().want(422, `value="70 K"`, `value="300"`)
	p = d.get(visit+"/tight").form("/tight").set("pressure", "288.2", "gas_1", "70").send().want(200,
		"No leak seen", "a year would not show; tight is said only below a tenth of the charge",
		"5 % of the gas a day is ruled out", "once temperature is taken out",
		"Nothing lost, it would stand at 288", "R-134a a year through the same hole", "Held against a loss of 5 %",
		"Dots: read, temperature taken out", "<svg")
	p.not("NaN", "%!", "Not decided yet", ">Tight<").green(false)
	// Taken back, one reading at a time or the whole test.
	p.form("/withdraw").send().want(200, "Start another test")
	p = d.get(visit + "/tight")
	var whole *form
	for _, action := range []string{"/withdraw"} {
		whole = p.form(action)
	}
	whole.values.Set("event", testID(p))
	whole.values.Set("form", "another")
	whole.send().want(200, "Start the clock").not("Not decided yet", "The readings")
}

// english finds words that no Spanish sentence has.
var english = regexp.MustCompile(
	`(?i)\b(the|of|and|is|was|with|from|to|at|by|for|not|which|should|where|when|each|every|has|have|it|this|that|are|be|will|below|above|between|healthy|read|line|machine|leak|pressure|temperature|door|limit|logged|minutes|hours|days|defrosts?)\b`,
)

// spanishReport checks that the report of a visit says in Spanish what it says in English, on the page, with nothing
// English left but names.
func spanishReport(d *desk, visit string, want ...string) {
	d.t.Helper()
	p := d.get(visit+"/report?lang=es").want(200, want...)
	_, article, _ := strings.Cut(p.body, "<article")
	article, _, _ = strings.Cut(article, "</article>")
	root, err := html.Parse(strings.NewReader("<article" + article))
	if err != nil {
		d.t.Fatal(err)
	}
	said := words(root)
	for _, at := range english.FindAllStringIndex(said, 5) {
		d.t.Errorf("English in the Spanish report: …%s…", said[max(0, at[0]-40):min(len(said), at[1]+40)])
	}
}

// testID is the event of the whole test: the last form that takes something back.
func testID(p *sheet) string {
	i := strings.LastIndex(p.body, `name="event" value="`)
	return p.body[i+len(`name="event" value="`):][:36]
}

// A leak in a day; the pressure above the plate is said before anything else.
func TestTight_LeakAboveThePlate(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	d.get(visit+"/tight").
		form("/tight/start").
		set("plate", "150", "pressure", "300", "gas_1", "70", "gas_2", "60").
		send().
		want(200, "300.0 psig was put on, above the lowest plate, which allows 150.0 psig", "Gas temperature, part 2")
	d.now = d.now.Add(24 * time.Hour)
	d.get(visit+"/tight").
		form("/tight").
		set("pressure", "270", "gas_1", "70", "gas_2", "60").
		send().
		want(200, "It leaks", "More gas is gone", "above the lowest plate", "Give the volume under test")
	// In bar and °C the page says the same; a bare number means what stands beside the field.
	d.get("/me").form("/me").set("temp", "°C", "pressure", "bar(g)", "mass", "kg").send().want(200)
	p := d.get(visit+"/tight").want(200, "It leaks", "bar(g)", "°C", "18.62")
	d.now = d.now.Add(time.Hour)
	p.form("/tight").set("pressure", "18.6", "gas_1", "21.1", "gas_2", "15.6").send().want(200, "18.6")
	d.get(visit+"/write").form("/close").set("mechanic", "Van 7").send().want(200, "Nitrogen", "It leaks", "More gas is gone", "18.6")
	spanishReport(d, visit, "Prueba con nitrógeno", "Hay fuga.", "Descontada la temperatura cambió", "Línea fina: sin pérdida")
	d.get(visit+"/tight").want(200, "It leaks").not("Read gauge", "Take the whole", "Start again")
}

// Another test begun after one above the plate does not undo it: page and report go on saying so.
func TestTight_EarlierTestAboveThePlate(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	start := func(pressure string) *sheet {
		return d.get(visit+"/tight").form("/tight/start").set("plate", "150", "pressure", pressure, "gas_1", "70", "volumes", "20 L").send()
	}
	start("250").want(200, "above the lowest plate")
	start("140").want(200, "An earlier test: 250.0 psig was put on, above the lowest plate, which allows 150.0 psig")
	d.now = d.now.Add(24 * time.Hour)
	d.get(visit+"/tight").form("/tight").set("pressure", "140", "gas_1", "70").send()
	d.get(visit+"/report").want(200, "An earlier test: 250.0 psig was put on")
}

// A loss that was not seen proves nothing where more was put on than the plates allow: it held, and the page is not green.
func TestTight_HeldAboveThePlate(t *testing.T) {
	for plate, want := range map[string]bool{"350": true, "150": false} {
		d := open(t)
		visit := startVisit(d)
		d.get(visit+"/tight").form("/tight/start").set("plate", plate, "pressure", "300", "gas_1", "70", "volumes", "1 L").send().want(200)
		d.now = d.now.Add(24 * time.Hour)
		d.get(visit+"/tight").form("/tight").set("pressure", "300", "gas_1", "70").send().
			want(200, "Tight", "less than a tenth of the charge").green(want)
	}
}

// green checks whether a test's page is in the colour of what is proven.
func (s *sheet) green(want bool) {
	s.d.t.Helper()
	tag := find(s.root, classed("big-tag"))
	if tag == nil || classed("in")(tag) != want {
		s.d.t.Errorf("green %v, want %v", !want, want)
	}
}

// The rise test: its first reading at the moment the pump stops, a leak told from moisture, another criterion chosen.
func TestDry(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	p := d.get(visit+"/dry").want(200, "Prove it dry", "terminals arc", "UFGS 15182", "house rule", "coldest part")
	p = p.form("/dry/start").
		set("pressure", "low", "coldest", "60", "criterion", "ufgs_15182", "volume", "20 L").
		send().
		want(422, `value="low"`, `value="60"`, `value="20 L"`, `value="ufgs_15182" selected`)
	f := p.form("/dry/start").set("pressure", "200")
	f.send().want(200)
	p = f.send().want(200, "Not decided yet", "Four readings at least").not("Vacuum watched")
	p.green(false)
	d.get(visit+"/work").want(200, "Vacuum watched, 200 micron")
	d.get("/").want(200) // what Today shows of the visit knows of the running test
	for _, v := range []string{"301", "399", "502", "600", "699", "803", "899", "1001"} {
		d.now = d.now.Add(time.Minute)
		p = p.form("/dry").set("pressure", v).send().want(200)
	}
	d.get(visit + "/charge").not("Vacuum watched")
	p.green(false)
	p.want(200, "It leaks", "lost in a straight line", "micron a minute", "UFGS 15182", "Dashed: its straight part alone", "<svg",
		"R-134a at working pressure", "read 9 times").
		not("NaN", "%!")
	p.form("/dry").set("pressure", "1010", "minute", "3").send().want(422, "Minute 3 is there already", `value="1010"`)
	p.form("/dry").set("pressure", "").send().want(422, `aria-invalid="true"`)
	if n := strings.Count(d.get("/export.jsonl").body, "rise_started"); n != 1 {
		t.Errorf("%d tests", n)
	}
	// Another test replaces it in the page; both stay in the record.
	p = d.get(visit+"/dry").
		form("/dry/start").
		set("pressure", "150", "coldest", "60", "criterion", "").
		send().
		want(200, "Not decided yet", "1 earlier test")
	for range 16 {
		d.now = d.now.Add(time.Minute)
		p = p.form("/dry").set("pressure", "155").send().want(200)
	}
	p.want(200, "Criterion met: 155 of 500 micron", "No leak seen", "a year would not show", "house rule").green(true)
	d.get(visit+"/write").form("/close").set("mechanic", "Van 7").send().
		want(200, "Vacuum", "Dry. No leak seen. A leak of up to", "house rule")
	spanishReport(d, visit, "Subida del vacío", "Seco. Sin fuga visible. Una fuga de hasta", "máximo", "micrones")
	if pdf := d.get(visit + "/report.pdf"); pdf.status != 200 || !strings.HasPrefix(pdf.body, "%PDF-") {
		t.Errorf("PDF: %d", pdf.status)
	}
}

// By the scale: what was in before, cylinder against cylinder, when to stop, entered among refrigerant in and out once.
func TestCharge(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	p := d.get(visit+"/charge").
		want(200, "Weigh the cylinder first", "Gloves and goggles", "Full charge by the plate: 9 lb 8 oz", "when to stop",
			"Never beyond 9 lb 8 oz")
	p.form("/charge").
		set("gross", "heavy", "cylinder", "C-131", "tare", "26 lb").
		send().
		want(422, `value="heavy"`, `value="C-131"`, `value="26 lb"`)
	p = p.form("/charge").
		set("gross", "38 lb 4 oz", "cylinder", "C-131", "tare", "26 lb").
		send().
		want(200, "Nobody knows what was in before", "38 lb 4 oz", "Added so far")
	p.form("/charge/set").set("before", "none").send().want(422, `value="none"`)
	p = p.form("/charge/set").
		set("before", "0", "coldest", "20", "coldest_sign", "plus").
		send().
		want(200, "Keep adding", "Still to add", "9 lb 8 oz", "Close at", "28 lb 12 oz")
	f := p.form("/charge").set("gross", "30 lb")
	f.send().want(200)
	p = f.send().want(200, "8 lb 4 oz out of it", "Enter as refrigerant added", "1 lb 4 oz")
	if n := strings.Count(p.body, ">Take back</button>"); n != 2 {
		t.Errorf("%d weighings after a double submit", n)
	}
	p.form("/charge").set("gross", "33 lb").send().want(422, "does not gain", `value="33 lb"`)
	book := d.get(visit + "/charge").form("/charge/book")
	book.send().want(200).not("Enter as refrigerant added")
	book.values.Set("form", "again")
	book.send().want(200)
	d.get(visit+"/work").want(200, "8 lb 4 oz into the machine, cylinder C-131")
	if n := strings.Count(d.get("/export.jsonl").body, "refrigerant_moved"); n != 1 {
		t.Errorf("entered %d times", n)
	}
	d.get(visit+"/charge").form("/charge").set("gross", "28 lb 12 oz").send().want(200, "Stop")
	d.get(visit+"/write").form("/close").set("mechanic", "Van 7").send().want(200, "By the scale", "9 lb 8 oz")
	spanishReport(d, visit, "Carga con báscula", "Cargado hasta ahora 9 lb 8 oz", "Pare.")
}

func TestCharge_NothingOnThePlate(t *testing.T) {
	d := open(t)
	visit := d.get("/machines/new").
		form("/machines/new").
		set("new_site", "Café", "name", "Reach-in", "refrigerant", "R-290", "application", "reach-in cooler").
		send().
		form("/open").
		send().
		url.Path
	d.get(visit+"/charge").
		want(200, "charge is not known here", "Enter the charge of the plate").
		form("/charge").
		set("gross", "4 lb").
		send().
		want(200, "Added so far")
}

// upload posts a form with a file.
func (f *form) upload(name, data string) *sheet {
	f.s.d.t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	for k := range f.values {
		if k == "file" {
			continue
		}
		if err := w.WriteField(k, f.values.Get(k)); err != nil {
			f.s.d.t.Fatal(err)
		}
	}
	if name != "" {
		part, err := w.CreateFormFile("file", name)
		if err == nil {
			_, err = part.Write([]byte(data))
		}
		if err != nil {
			f.s.d.t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		f.s.d.t.Fatal(err)
	}
	u, err := f.s.url.Parse(f.action)
	if err != nil {
		f.s.d.t.Fatal(err)
	}
	resp, err := f.s.d.client.Post(u.String(), w.FormDataContentType(), &b)
	return f.s.d.read(resp, err)
}

const loggerFile = "Datum;Uhrzeit;Luft (°C)\n13.06.2026;12:00;2,0\n13.06.2026;12:10;3,0\n" +
	"13.06.2026;12:20;8,0\n13.06.2026;12:30;9,0\n13.06.2026;12:40;4,0\n13.06.2026;12:50;3,0\n"

// A logger's file is kept as it came, judged against a published limit, and given back byte by byte.
func TestColdRecord(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	d.get(visit+"/cold").want(200, "Add a logger's record")
	p := d.get(visit+"/cold-record").want(200, "Cold record", "at most 512 KB", "Cold food: 41 °F", "As they follow on")
	n := events(d)
	bad := p.form("/cold-record").set("logger", "Logger 7").upload("", "").want(422, "This is needed", `value="Logger 7"`, "chosen again")
	bad.form("/cold-record").set("rule", "own", "limit", "warm").upload("box.csv", loggerFile).want(422, `value="warm"`)
	p.form("/cold-record").upload("box.csv", "nothing of use").want(422, `role="alert"`)
	p.form("/cold-record").upload("box.csv", strings.Repeat(loggerFile, 5000)).want(422, "larger than 512 KB")
	p.form("/cold-record").upload("box.csv", strings.Repeat(loggerFile, 9000)).want(422, "512 KB")
	// What the file leaves in doubt is asked beside the field that settles it, without words of the command line.
	doubt := "time,box_c\n03/04/2026 12:00,2\n03/04/2026 12:10,3\n"
	p.form("/cold-record").upload("box.csv", doubt).want(422, "Choose which comes first").not("--dates")
	p.form("/cold-record").
		upload("box.csv", "time,temp\n2026-06-13 12:00,36\n2026-06-13 12:10,37\n").
		want(422, "Choose the unit").
		not("--unit")
	if events(d) != n {
		t.Error("a refused file was kept")
	}
	f := p.form("/cold-record").set("logger", "Logger 7", "place", "return air")
	f.upload("box.csv", loggerFile).want(200)
	p = f.upload("box.csv", loggerFile).
		want(200, "box.csv", "Above 41 °F once", "SHA-256", "FDA Food Code 2022", "operator and the food authority", "The record still needs",
			"6 readings").
		not("NaN", "%!", "Which logger it was")
	if events(d) != n+1 {
		t.Error("a double submit is two files")
	}
	i := strings.Index(p.body, visit+"/cold-record/")
	href, _, _ := strings.Cut(p.body[i:], `"`)
	if got := d.get(href); got.body != loggerFile || !strings.HasPrefix(got.header.Get("Content-Type"), "text/csv") ||
		!strings.HasPrefix(got.header.Get("Content-Disposition"), "attachment") {
		t.Errorf("%s: %q", href, got.body)
	}
	d.get(visit + "/cold-record/none").want(404)
	d.get(visit+"/write").form("/close").set("mechanic", "Van 7").send().want(200, "Above 41 °F once", "box.csv", "SHA-256")
	d.get(visit+"/cold-record").want(200, "box.csv").not("Take back", "Keep and judge it")
	spanishReport(d, visit, "Registro de frío box.csv", "Límite", "Alimento por encima del límite", "Archivo guardado con esta visita")
}

// The room is measured once and kept with the machine.
func TestLoad(t *testing.T) {
	d := open(t)
	m := addMachine(d).url.Path
	d.get(m).want(200, "Room load: box or machine")
	p := d.get(m+"/load").want(200, "Is it the box or the machine?", "Measure the room", `value="55"`)
	n := events(d)
	p = p.form("/load").
		set("length", "10", "width", "8 feet and more", "walls", "25").
		send().
		want(422, `value="8 feet and more"`, `value="25"`, `aria-invalid="true"`, "This is needed")
	p = p.form("/load").
		set("length", "10", "width", "8", "height", "8", "walls", "25", "ceiling", "R-25", "floor", "", "outside", "80", "outside_rh", "55",
			"door_width", "34", "door_height", "").
		send().
		want(422, "Of the clear opening", `value="34"`)
	if events(d) != n {
		t.Error("a refused form wrote something")
	}
	f := p.form("/load").
		set("length", "10", "width", "8", "height", "8", "walls", "25", "ceiling", "R-25", "floor", "", "outside", "80", "outside_rh", "55",
			"door_width", "34", "door_height", "76", "door_minutes", "40",
			"goods", "200", "goods_in", "50", "goods_kind", "vegetables", "people", "1", "people_hours", "2", "lights", "80", "lights_hours", "4",
			"fans", "120")
	f.send().want(200, "Not judged", "Heat into the box", "Door, air coming in", "Btu/h", "Correct the room")
	f.send().want(200)
	if events(d) != n+1 {
		t.Error("a double submit is two rooms")
	}
	p = d.get(m+"/load").want(200, `value="10"`, `value="25"`, `value="34"`, `value="80"`, `value="200"`, `value="vegetables" selected`)
	p = p.form("/load").
		set("capacity", "9000").
		send().
		want(200, "Enough machine", "The machine carries this box.", "A sound machine gives", "hours a day of the").
		want(200, "Assumed: humidity in the room 90 %, product begins to freeze at 28 °F", "capacity uncertain by 10 %").
		not("NaN", "%!", "ground under the floor") // the floor is a slab
	p.form("/load").set("capacity", "2000").send().want(200, "Too much box")
	// The plate's own form leaves the room as it is.
	d.get(m + "/edit").form("/edit").send().want(200)
	d.get(m+"/load").want(200, "Too much box")
	d.get("/me").form("/me").set("temp", "°C", "pressure", "bar(g)", "mass", "kg").send().want(200)
	d.get(m+"/load").want(200, "Too much box", `value="3.05"`, `value="0.227"`, " W")
	visit := d.get(m).form("/open").send().url.Path
	d.get(visit+"/time").form("/time/start").set("box", "10").send().want(200, "The box is too much for the machine: about ")
	d.get("/machines/none/load").want(404)
}

// The parts of the circuit: what was typed stays, bare numbers get the person's unit, and the charge page says what they make.
func TestParts_Page(t *testing.T) {
	d := open(t)
	m := addMachine(d).url.Path
	p := d.get(m+"/parts").want(200, "What the circuit holds", "Measure the parts")
	p = p.form("/parts").
		set("liquid_size", "0.6", "liquid_length", "60").
		send().
		want(422, `value="0.6"`, `value="60"`, "no size of copper tube on file")
	p = p.form("/parts").
		set("liquid_size", "1/2", "liquid_length", "60", "evaporator_volume", "6 L", "condenser_volume", "8.5 L", "receiver_volume", "0.5").
		send().
		want(200, "By its parts", "Receiver takes at most", `value="1/2 in"`, `value="60 ft"`, `value="0.5 ft³"`)
	p.not("NaN", "%!")
}
