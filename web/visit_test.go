package web_test

import (
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"golang.org/x/net/html"
)

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

// What the plate says of the compressor and of the lines: stored, shown in the units of the person, and refused beside the
// field where a digit has slipped.
func TestMachine_PlateOfLinesAndCompressor(t *testing.T) {
	d := open(t)
	form := d.get("/machines/new").want(200).form("/machines/new").
		set("new_site", "Cold store", "name", "Cooler 3", "refrigerant", "R-407C", "application", "walk-in cooler",
			"line_length", "2000", "lift", "-20", "accumulator", "yes", "rated_amps", "", "locked_amps", "61", "rated_power", "3.1 kW")
	form.send().want(422, "outside")
	m := form.set("line_length", "65").send().
		want(200, "Lines", "65 ft", "Lift to the coil", "−20 ft", "accumulator", "Locked-rotor current", "61 A", "Rated power", "3.1 kW")
	d.get(m.url.Path+"/edit").want(200, `value="65"`, `value="3.1"`, `value="61"`)
	// With glide subcooling is counted from bubble, and the number beside it is bubble too: R-407C at 226.5 psig condenses
	// from 117 to 108 °F (a printed card of the trade, to a degree).
	v := m.form("/open").set("complaint", "warm").send()
	d.get(v.url.Path+"/readings?end=before").form("/readings").
		set("suction_pressure", "60", "discharge_pressure", "226.5", "box_air", "38", "ambient", "90", "liquid_line", "100",
			"box_humidity", "85").
		send().
		want(200, "Subcooling", "from bubble", "head 10").
		not("head 11")
}

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
	d.get(visit+"/report?lang=fr").
		want(200, `<html lang="fr"`, "Ce qui n'allait pas", "La chambre froide positive est revenue à température.", "La même chose en tableau",
			"This report in English", "Este informe en español").
		not("What was wrong", "Superheat", "Before and after")
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
	d.get("/me").want(200, "Language of reports", "Español", "Français", "Paper of reports", "Letter")
	d.get(visit+"/report").form("/me").set("lang", "en").send().want(200, "What was wrong")
	d.get(m.url.Path).want(200, "healthy", "It was: short of refrigerant.", "Refrigerant in and out", "The walk-in cooler is cold again.")
	if x := d.get("/export.jsonl"); x.status != 200 || strings.Count(x.body, "\n") < 25 ||
		!strings.Contains(x.body, `"kind":"visit_closed"`) {
		t.Errorf("export: %d, %d lines", x.status, strings.Count(x.body, "\n"))
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
	p := forms().set("other", "48", "minute", "10").send().want(422, "has not come yet", "It is so: 10 min", `value="48"`)
	p.form("/time", "minute").set("sure_minute", "10").send().want(200, "48")
	forms().set("other", "47", "minute", "10").send().want(422, "there already")
	forms().set("other", "47", "minute", "soon").send().want(422, "soon")
}

// Why somebody came is asked where a visit begins, kept, judged by, said on the page, and can be corrected on arrival; a
// complaint says nothing of how the machine was left.
func TestVisit_Reason(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").set("reason", "complaint").send().want(200, "Why did you come?").url.Path
	d.get(visit + "/readings").form("/readings").set(starved...).send()
	d.get(visit+"/judge?end=before").want(200, "Somebody came on a complaint.")
	d.get(visit).form("/arrive").set("reason", "planned").send()
	d.get(visit+"/judge?end=before").want(200, "The visit was due.").not("Somebody came on a complaint.")
	d.get(visit).form("/arrive").set("reason", "").send()
	d.get(visit + "/judge?end=before").want(200).not("The visit was due.").not("Somebody came on a complaint.")
	d.get(visit).form("/arrive").set("reason", "complaint").send()
	d.get(visit + "/readings?end=after").form("/readings").set(starved...).send()
	d.get(visit+"/judge?end=after").want(200, "Judged on").not("Somebody came on a complaint.")
	d.get(visit+"/judge?end=before").want(200, "Somebody came on a complaint.")
}

// TestJudge_SpeaksForItStandsInside: a reading listed as speaking for a suspect stands inside the interval printed beside
// it, as both are printed.
func TestJudge_SpeaksForItStandsInside(t *testing.T) {
	d := open(t)
	v := addMachine(d).form("/open").set("complaint", "warm").send()
	page := d.get(v.url.Path+"/readings?end=before").form("/readings").set(starved...).send().want(200, "Speaks for it")
	number := regexp.MustCompile(`−?\d+(\.\d+)?`)
	rows, group := 0, ""
	walk(page.root, func(n *html.Node) {
		if n.Data != "tr" {
			return
		}
		if th := find(n, func(n *html.Node) bool { return attr(n, "scope") == "rowgroup" }); th != nil {
			group = words(th)
			return
		}
		cells := strings.Split(words(n), " to ")
		if group != "Speaks for it" || len(cells) != 2 {
			return
		}
		left := number.FindAllString(cells[0], -1)
		high := number.FindString(cells[1])
		if len(left) < 2 {
			t.Fatalf("%q", words(n))
		}
		value := func(s string) float64 {
			x, err := strconv.ParseFloat(strings.ReplaceAll(s, "−", "-"), 64)
			if err != nil {
				t.Fatal(err)
			}
			return x
		}
		shows, lo, hi := value(left[len(left)-2]), value(left[len(left)-1]), value(high)
		rows++
		if shows < lo || shows > hi {
			t.Errorf("speaks for it: %q", words(n))
		}
	})
	if rows < 3 {
		t.Errorf("%d readings speak for anything", rows)
	}
}
