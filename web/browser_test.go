//go:build browser

package web_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"coldwright/app"
	"coldwright/record"
)

// finish does the rest of the open visit of the example, as a stranger would: by what stands on the pages.
func (p *phone) finish() {
	p.visit("/")
	p.want("Open visit")
	p.press("Go on")
	p.want("Suspects", "Clamp both sides of the drier")
	p.shot("judge")
	p.typ("drier_in", "95")
	p.typ("drier_out", "94.5")
	p.press("Save and judge again")
	p.want("7 readings")
	p.shot("judged")
	p.press("Go on to the repair")
	p.want("Find and repair", "Recover first")
	visit := strings.TrimSuffix(strings.SplitN(p.url(), "#", 2)[0], "/work")
	p.typ("place", "flare at the valve")
	p.press("Save the leak")
	p.want("Leak: flare at the valve")
	p.do(chromedp.SetValue(chromedp.CSS(`main [name="code"]`), "leak_repaired"))
	p.write("text", "flare made new")
	p.press("Save the work")
	p.want("Leak repaired: flare made new")
	p.do(chromedp.Click(`//main//label[contains(., "Into the machine")]`))
	p.typ("mass", "3 lb 6 oz")
	p.typ("cylinder", "C-9")
	p.press("Save the weight")
	p.want("3 lb 6 oz into the machine, cylinder C-9")
	p.shot("work")
	p.press("Read it after the repair")
	p.want("Time the box again")
	p.press("Pull it down again")
	p.want("Start the clock")
	p.do(chromedp.Click(`//main//form[contains(@action, "start")]//label[contains(., "above 0")]`))
	p.typ("box", "4")
	p.press("Start the clock")
	p.want("Tap what the box reads now")
	for _, tap := range []string{"2.0", "0.0", "-2.0", "-4.0"} {
		p.wait(9 * time.Minute)
		shown := strings.ReplaceAll(tap, "-", "−")
		p.press(shown)
		p.do(
			chromedp.WaitReady(
				fmt.Sprintf(`//dl[contains(@class, "cells")]//dd[normalize-space(.) = "%s°F"]`, strings.TrimSuffix(shown, ".0")),
			),
		)
		p.wait(time.Second)
	}
	p.shot("time")
	p.press("Go on to the readings")
	p.want("Tap where you measured", "After the repair.")
	for name, v := range map[string]string{"suction_pressure": "20", "discharge_pressure": "268", "ambient": "73"} {
		p.typ(name, v)
	}
	p.do(chromedp.Click(`//main//section[@id="e-box_air"]//label[contains(., "below 0")]`))
	p.typ("box_air", "4")
	p.press("Save and judge")
	p.want("Suspects")
	p.shot("after")
	p.visit(visit + "/cold")
	p.want("Before and after", "Is it healthy now?")
	p.press("Yes, keep them as healthy")
	p.want("Kept as a healthy visit")
	p.shot("cold")
	p.press("Write it down")
	p.want("Close the visit")
	p.write("advice", "Keep the curtain closed")
	p.typ("mechanic", "R. Lind")
	p.press("Close and keep the report")
	p.want("What is proven", "Keep the curtain closed.", "PDF to print or send")
	p.shot("report")
	p.visit("/")
	p.want("Find a machine")
}

func TestBrowserFinishVisit(t *testing.T) {
	p := browser(t, 390, 844, true)
	p.finish()
}

func TestBrowserFinishVisitWithoutScript(t *testing.T) {
	p := browser(t, 390, 844, false)
	p.finish()
}

// Tapping a place in the drawing opens its field at the top, also one that waits behind "more places".
func TestBrowserTapOpensField(t *testing.T) {
	p := browser(t, 390, 844, true)
	p.visit("/")
	p.press("Go on")
	p.want("Suspects")
	visit := strings.SplitN(strings.TrimPrefix(p.url(), "/visits/"), "/", 2)[0]
	for _, key := range []string{"suction_pressure", "discharge_line"} {
		p.visit("/visits/" + visit + "/readings?end=before")
		p.want("Tap where you measured")
		p.do(chromedp.Click(chromedp.CSS(`a.tap[href="#e-` + key + `"] text`)))
		p.do(chromedp.WaitVisible(chromedp.CSS(`#e-` + key + ` [inputmode]`)))
		top, err := chromedp.Run(
			p.ctx,
			chromedp.Evaluate[float64](`document.querySelector("#e-`+key+` [inputmode]").getBoundingClientRect().top`),
		)
		if err != nil || top < 0 || top > 500 {
			p.shot("tap-" + key)
			t.Errorf("%s: its field stands at %v px (%v)", key, top, err)
		}
	}
}

// The diagram beside the circuit opens without script, and neither it nor its table is wider than a phone.
func TestBrowserCycle(t *testing.T) {
	p := browser(t, 390, 844, false)
	p.visit("/")
	p.press("Go on")
	p.want("Suspects")
	visit := "/visits/" + strings.SplitN(strings.TrimPrefix(p.url(), "/visits/"), "/", 2)[0]
	p.visit(visit + "/readings")
	p.do(chromedp.Click(`//section[@id="ph"]/details/summary`))
	p.do(chromedp.WaitVisible(chromedp.CSS(`#ph figure svg`)))
	p.do(chromedp.Click(`//section[@id="ph"]/details/details/summary`))
	p.do(chromedp.WaitVisible(chromedp.CSS(`#ph table`)))
	for _, width := range []int64{390, 320} {
		p.do(chromedp.EmulateViewport(width, 844))
		wide, err := chromedp.Run(
			p.ctx,
			chromedp.Evaluate[float64](
				`Math.max(document.documentElement.scrollWidth, ...[...document.querySelectorAll("#ph figure, #ph svg, #ph table")].map(e => e.getBoundingClientRect().right))`,
			),
		)
		if err != nil || wide > float64(width) {
			t.Errorf("the diagram reaches to %v px on a screen of %d (%v)", wide, width, err)
		}
		p.shot(fmt.Sprint(width))
	}
}

// An exercise under way, and its end.
const (
	benchPage = "/practice/run?seed=4&level=3&did=box_air,box_display,ambient,glass,drier_out,suction_pressure,discharge_pressure"
	truthPage = "/practice/result?seed=4&level=3&did=box_air,box_display,ambient,glass,drier_out,suction_pressure,discharge_pressure" +
		"&cause=low_charge&cause2=condenser_air&repair=find_and_repair_leak"
)

// The bench from the first page to the truth without script, on a phone.
func TestBrowserPracticeWithoutScript(t *testing.T) {
	p := browser(t, 390, 844, false)
	p.visit("/")
	p.press("Practice on a machine")
	p.want("Draw the machine")
	p.press("Draw the machine")
	p.want("What is wrong?", "Two readings at least")
	p.press("Box air")
	p.want("Read so far")
	p.press("Air entering the condenser")
	p.want("I am sure: name the cause")
	p.do(
		chromedp.SetValue(chromedp.CSS(`main [name="cause"]`), "low_charge"),
		chromedp.SetValue(chromedp.CSS(`main [name="repair"]`), "find_and_repair_leak"),
	)
	p.press("Name it and see the truth")
	p.want("What it was", "What an expert reads", "Draw it")
	p.shot("truth")
}

// contrast lists texts on a page whose colour is nearer than 7:1 to what lies under them (WCAG 2.2 relative luminance).
const contrast = `(() => {
	const rgba = c => { const m = c.match(/[\d.]+/g).map(Number); return m.length < 4 ? [m[0], m[1], m[2], 1] : m };
	const lum = ([r, g, b]) => { const f = v => { v /= 255; return v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4 }; return 0.2126 * f(r) + 0.7152 * f(g) + 0.0722 * f(b) };
	const under = e => { for (; e; e = e.parentElement) { const c = rgba(getComputedStyle(e).backgroundColor); if (c[3] > 0.99) return c } return [255, 255, 255, 1] };
	const bad = [];
	let seen = 0;
	const w = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
	while (w.nextNode()) {
		const e = w.currentNode.parentElement, text = w.currentNode.data.trim();
		if (!text || e.closest("svg, script, option, .vh, .skip") || !e.checkVisibility()) continue;
		seen++;
		const a = lum(rgba(getComputedStyle(e).color)), b = lum(under(e));
		const ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
		if (ratio < 6.99) bad.push(text.slice(0, 30) + ": " + ratio.toFixed(1));
	}
	if (seen < 5) bad.push("only " + seen + " texts were found");
	return bad.slice(0, 8);
})()`

// With the keyboard alone: tab to a field, type, tab to the key, press it.
func TestBrowserKeyboard(t *testing.T) {
	p := browser(t, 390, 844, true)
	p.visit("/")
	p.press("Go on")
	p.want("Suspects")
	visit := "/visits/" + strings.SplitN(strings.TrimPrefix(p.url(), "/visits/"), "/", 2)[0]
	p.visit(visit + "/readings")
	tabTo := func(what string) {
		t.Helper()
		for range 200 {
			p.do(chromedp.KeyEvent("\t"))
			at, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](`(e => e.name || e.textContent.trim())(document.activeElement)`))
			if err != nil {
				t.Fatal(err)
			}
			if at == what {
				return
			}
		}
		t.Fatalf("tabbing never comes to %q", what)
	}
	tabTo("liquid_line")
	p.do(chromedp.KeyEvent("93"))
	tabTo("Save and judge")
	p.do(chromedp.KeyEvent("\r"))
	p.want("Suspects")
	p.visit(visit + "/readings")
	got, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](`document.querySelector("#f-liquid_line").value`))
	if err != nil || got != "93" {
		t.Errorf("typed 93, stored %q (%v)", got, err)
	}
	p.visit(visit + "/dry")
	tabTo("pressure")
	p.do(chromedp.KeyEvent("310"))
	tabTo("Start the clock")
	p.do(chromedp.KeyEvent("\r"))
	p.want("Not decided yet")
	tabTo("pressure")
	p.do(chromedp.KeyEvent("nonsense"))
	tabTo("Enter")
	p.do(chromedp.KeyEvent("\r"))
	p.want("Not decided yet", "is not a number")
	at, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](`document.activeElement.name + "=" + document.activeElement.value`))
	if err != nil || at != "pressure=nonsense" {
		t.Errorf("after a refused value the focus is on %q (%v)", at, err)
	}
}

// The tests after the repair without script: a number or two, a tap, and the verdict stands there.
func TestBrowserProofWithoutScript(t *testing.T) {
	p := browser(t, 390, 844, false)
	p.visit("/")
	p.press("Go on")
	p.want("Suspects")
	visit := "/visits/" + strings.SplitN(strings.TrimPrefix(p.url(), "/visits/"), "/", 2)[0]
	p.visit(visit + "/tight")
	p.want("Prove it tight", "Dry nitrogen only")
	p.typ("plate", "350")
	p.typ("pressure", "300")
	p.typ("gas_1", "90")
	p.press("Start the clock")
	p.want("One look shows no change")
	p.wait(24 * time.Hour)
	p.typ("pressure", "288.2")
	p.typ("gas_1", "70")
	p.press("Enter")
	p.want("No leak seen", "once temperature is taken out")
	p.press("Go on: prove it dry")
	p.want("Prove it dry")
	p.typ("pressure", "200")
	p.press("Start the clock")
	p.want("Four readings at least")
	for _, v := range []string{"301", "399", "502", "600", "699"} {
		p.wait(2 * time.Minute)
		p.typ("pressure", v)
		p.press("Enter")
		p.want("Risen by", v)
	}
	p.want("It leaks")
	p.visit(visit + "/charge")
	p.typ("gross", "38 lb 4 oz")
	p.press("Enter the weight")
	p.want("Added so far")
	p.typ("before", "0")
	p.press("Save")
	p.want("Keep adding", "Close the valve when the scale reads")
	file := filepath.Join(t.TempDir(), "box.csv")
	if err := os.WriteFile(file, []byte(loggerFile), 0o600); err != nil {
		t.Fatal(err)
	}
	p.visit(visit + "/cold-record")
	p.do(chromedp.SetUploadFiles(chromedp.CSS(`main [name="file"]`), []string{file}))
	p.press("Keep and judge it")
	p.want("box.csv", "6 readings")
	p.visit("/machines")
	p.do(chromedp.Click(`//main//a[starts-with(@href, "/machines/0")]`))
	p.press("Room load")
	p.want("Measure the room once")
	for name, v := range map[string]string{
		"length": "10", "width": "8", "height": "8", "walls": "25", "ceiling": "25", "outside": "80",
		"capacity": "9000",
	} {
		p.typ(name, v)
	}
	p.press("Save the room")
	p.want("What warms it", "A sound machine gives")
	p.shot("load")
}

// A photo of the camera's size goes with a step: with script it is made small before it is sent, without script the
// form sends it as it is. Both end as the same kind of picture.
func TestBrowserPhoto(t *testing.T)              { photographed(t, true) }
func TestBrowserPhotoWithoutScript(t *testing.T) { photographed(t, false) }

func photographed(t *testing.T, script bool) {
	p := browser(t, 390, 844, script)
	file := filepath.Join(t.TempDir(), "shot.jpg")
	if err := os.WriteFile(file, shot(t, 4000, 3000), 0o600); err != nil {
		t.Fatal(err)
	}
	p.visit("/")
	p.press("Go on")
	p.want("Suspects")
	visit := "/visits/" + strings.SplitN(strings.TrimPrefix(p.url(), "/visits/"), "/", 2)[0]
	p.visit(visit + "/work")
	p.do(
		chromedp.Click(`//section[@id="kept"]//summary[contains(., "Add a photo")]`),
		chromedp.WaitVisible(chromedp.CSS(`#kept [name="caption"]`)),
	)
	p.typ("caption", "Rubbed through at the clamp")
	choose := chromedp.CSS(`#kept input[type="file"]:not([capture])`)
	p.do(chromedp.SetUploadFiles(choose, []string{file}))
	if script {
		// What goes out is small: waits until the script has put it in place.
		small := `(() => { const f = document.querySelector('#kept input[type="file"]:not([capture])').files[0]; return f && f.name === "photo.jpg" && f.size < 600000 })()`
		ctx, stop := context.WithTimeout(p.ctx, 20*time.Second)
		defer stop()
		if _, err := chromedp.Run(ctx, chromedp.Poll[bool](small)); err != nil {
			p.shot("not-small")
			t.Fatalf("the picture was not made small: %v", err)
		}
	}
	p.press("Save the photo")
	p.do(chromedp.WaitVisible(chromedp.CSS(`#kept .photos img[alt="Rubbed through at the clamp"]`)))
	p.do(
		chromedp.Click(`//section[@id="kept"]//summary[contains(., "Add a note")]`),
		chromedp.WaitVisible(chromedp.CSS(`#kept [name="text"]`)),
	)
	p.do(chromedp.SendKeys(chromedp.CSS(`#kept [name="text"]`), "Clamp padded with rubber"))
	p.press("Save the note")
	p.want("Clamp padded with rubber")
	p.shot("work")
	v, err := p.app.Visit(context.Background(), record.ID(strings.TrimPrefix(visit, "/visits/")), app.Parts{})
	if err != nil {
		t.Fatal(err)
	}
	got := v.Visit.Photos[len(v.Visit.Photos)-1]
	if got.Width != 1600 || got.Height != 1200 || got.Step != "repair" || got.Caption != "Rubbed through at the clamp" {
		t.Errorf("kept as %+v", got)
	}
	machine := "/machines/" + string(v.Machine.ID)
	for name, path := range map[string]string{
		"all": visit + "/photos", "report": visit + "/report", "search": visit + "/search",
		"plate": machine, "edit": machine + "/edit",
	} {
		p.visit(path)
		p.do(chromedp.WaitReady(chromedp.CSS(`main img, main form`)))
		wide, err := chromedp.Run(p.ctx, chromedp.Evaluate[float64](`document.documentElement.scrollWidth`))
		if err != nil || wide > 390 {
			t.Errorf("%s is %v px wide (%v)", path, wide, err)
		}
		bad, err := chromedp.Run(p.ctx, chromedp.Evaluate[[]string](contrast))
		if script && (err != nil || len(bad) > 0) {
			t.Errorf("%s: %v %v", path, bad, err)
		}
		p.shot(name)
	}
}
