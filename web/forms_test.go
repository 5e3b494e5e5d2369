package web_test

import (
	"strings"
	"testing"
	"time"
)

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

// freezerVisit opens a visit to a freezer that holds −5 °F.
func freezerVisit(d *desk) string {
	d.t.Helper()
	m := d.get("/machines/new").form("/machines/new").set(
		"new_site", "Bakery", "name", "Walk-in freezer", "refrigerant", "R-448A", "application", "walk-in freezer", "set_point", "-5",
	).send().want(200, "−5 °F")
	return m.form("/open").send().url.Path
}

// Where below zero is as usual as above, nobody is given a sign: it is typed or chosen, and what is kept is said back.
func TestFreezer_NoSignByDefault(t *testing.T) {
	d := open(t)
	d.get("/machines/new").form("/machines/new").set(
		"new_site", "Bakery", "name", "Walk-in freezer", "refrigerant", "R-448A", "application", "walk-in freezer", "set_point", "5",
	).send().want(422, "5 does not say whether it is above or below zero")
	visit := freezerVisit(d)
	arrive := func() *form { return d.get(visit).form("/arrive") }
	if f := arrive(); f.values.Has("box_air_sign") {
		t.Error("a sign is chosen before anybody said one")
	}
	arrive().set("box_air", "3").send().want(422, "3 does not say whether it is above or below zero", `value="3"`)
	arrive().set("box_air", "3", "box_air_sign", "plus").send().want(200)
	d.get(visit).want(200, "Kept: 3 °F above zero.").form("/arrive").send().want(200)
	d.get("/").want(200, "Box at 3 °F, holds −5 °F.")
	// What is kept stands with its sign; a minus that is typed counts, one that the choice contradicts is asked about.
	arrive().set("box_air", "-4").send().want(200)
	d.get(visit).want(200, "Kept: 4 °F below zero.", `value="−4"`)
	arrive().set("box_air", "-4.5", "box_air_sign", "plus").send().want(422, "the choice beside it do not agree")
	arrive().set("box_air", "4.5", "box_air_sign", "minus").send().want(200)
	d.get(visit).want(200, "Kept: 4.5 °F below zero.")
	d.get(visit+"/readings").form("/readings").set("coil_air_off", "9").send().want(422, "9 does not say whether")
	d.get(visit+"/time").form("/time/start").set("box", "9").send().want(422, "9 does not say whether")
	d.get(visit+"/time").form("/time/start").set("box", "9", "box_sign", "plus").send().want(200)
	d.get(visit+"/time").form("/time", "other").set("other", "8").send().want(422, "8 does not say whether")
}

// In °C a cooler's coil stands below zero too: the sign can be chosen, and a bare number is above.
func TestCooler_SignInCelsius(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	d.get("/me").form("/me").set("temp", "°C").send().want(200)
	d.get(visit+"/readings").form("/readings").set("coil_outlet_line", "4", "coil_outlet_line_sign", "minus", "box_air", "3").send().want(200)
	d.get(visit+"/readings").want(200, "Kept: 4 °C below zero.", "Kept: 3 °C above zero.")
}

// A temperature more than 10 °F from the last one at its place is kept only when somebody says that it is so.
func TestReading_JumpAsks(t *testing.T) {
	d := open(t)
	visit := addMachine(d).form("/open").send().url.Path
	arrive := func(v string) *sheet { return d.get(visit).form("/arrive").set("box_air", v).send() }
	arrive("44").want(200)
	arrive("54").want(200) // 10 °F
	p := arrive("64.2").want(422, "64.2 °F is 10.2 °F from the 54.0 °F last read here.", "It is so: 64.2 °F")
	p.form("/arrive").set("box_air", "65").send().want(422, "65.0 °F is 11.0 °F from")
	d.get(visit).want(200, `value="54"`)
	p.form("/arrive").set("sure_box_air", "64.2").send().want(200)
	d.get(visit).want(200, `value="64.2"`)
	d.get(visit+"/readings").form("/readings").set("box_air", "46").send().want(422, "It is so: 46 °F").
		form("/readings").set("sure_box_air", "46").send().want(200)
	// In a pull-down too, within a quarter of an hour.
	d.get(visit+"/time").form("/time/start").set("box", "46").send().want(200)
	point := func(v string) *sheet { return d.get(visit+"/time").form("/time", "other").set("other", v).send() }
	d.now = d.now.Add(10 * time.Minute)
	p = point("4.5").want(422, "4.5 °F is 41.5 °F from the 46.0 °F last read here.")
	p.form("/time", "other").set("sure_other", "4.5").send().want(200)
	d.now = d.now.Add(20 * time.Minute)
	point("41").want(200)
}
