//go:build browser

package web_test

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"

	"coldwright/app"
	"coldwright/record"
	"coldwright/web"
)

// phone is a real browser on the filled example; its clock is moved by hand.
type phone struct {
	t    *testing.T
	app  *app.App
	ctx  context.Context
	base string
	now  *atomic.Int64
	dir  string // artifacts
}

func browser(t *testing.T, width, height int64, script bool) *phone {
	t.Helper()
	p := blank(t, width, height, script)
	if err := p.app.Demo(context.Background()); err != nil {
		t.Fatal(err)
	}
	return p
}

// blank is a real browser on an empty tool.
func blank(t *testing.T, width, height int64, script bool) *phone {
	t.Helper()
	p := &phone{t: t, now: &atomic.Int64{}}
	p.now.Store(time.Date(2026, 11, 25, 9, 0, 0, 0, time.UTC).Unix())
	a := app.New(app.NewMemStore(), app.Options{
		Now:     func() time.Time { return time.Unix(p.now.Load(), 0).UTC() },
		Rand:    seeded{rand.New(rand.NewPCG(3, 4))},
		Version: "test",
		Device:  "phone",
	})
	p.app = a
	srv := httptest.NewServer(web.New(a, web.Options{Version: "test", Log: func(_ string, err error) { t.Errorf("logged: %v", err) }}))
	t.Cleanup(srv.Close)
	p.base = srv.URL
	p.start(width, height, script)
	return p
}

// start opens the browser itself.
func (p *phone) start(width, height int64, script bool) {
	t := p.t
	t.Helper()
	if p.dir = os.Getenv("COLDWRIGHT_ARTIFACTS"); p.dir == "" {
		p.dir = t.TempDir()
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox, chromedp.Headless,
		chromedp.Flag("disable-gpu", true), chromedp.Flag("hide-scrollbars", true),
		// The way back loads a page anew: chromedp cannot follow a page that the browser brings back as it was left.
		chromedp.Flag("disable-back-forward-cache", true),
		// Nothing but this machine can be reached.
		chromedp.Flag("host-resolver-rules", "MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"))
	ctx, stop := context.WithTimeout(context.Background(), 9*time.Minute)
	t.Cleanup(stop)
	ctx, cancel := chromedp.NewExecAllocator(ctx, opts...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	p.ctx = ctx
	// The browser lives as long as the context that starts it, so it is started without a deadline of its own.
	if err := chromedp.Do(ctx); err != nil {
		t.Fatal(err)
	}
	p.do(chromedp.EmulateViewport(width, height))
	if !script {
		p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
			_, err := cdp.Call(ctx, t, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
			return err
		}))
	}
}

func (p *phone) do(steps ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, 20*time.Second)
	defer stop()
	if err := chromedp.Do(ctx, steps...); err != nil {
		p.shot("failed")
		p.t.Fatal(err)
	}
}

func (p *phone) shot(name string) {
	p.t.Helper()
	b, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		p.t.Logf("no screenshot: %v", err)
		return
	}
	if err := os.WriteFile(filepath.Join(p.dir, strings.ReplaceAll(p.t.Name(), "/", "-")+"-"+name+".png"), b, 0o644); err != nil {
		p.t.Error(err)
	}
}

func (p *phone) visit(path string) { p.t.Helper(); p.do(chromedp.Navigate(p.base + path)) }

func (p *phone) url() string {
	p.t.Helper()
	u, err := chromedp.Run(p.ctx, chromedp.Location())
	if err != nil {
		p.t.Fatal(err)
	}
	return strings.TrimPrefix(u, p.base)
}

// want waits until the page says something.
func (p *phone) want(texts ...string) {
	p.t.Helper()
	for _, text := range texts {
		ctx, stop := context.WithTimeout(p.ctx, 20*time.Second)
		err := chromedp.Do(ctx, chromedp.WaitReady(fmt.Sprintf(`//main//*[contains(normalize-space(.), %q)]`, text)))
		stop()
		if err != nil {
			p.shot("missing")
			p.t.Fatalf("%s: never said %q: %v", p.url(), text, err)
		}
	}
}

// press taps a button or a link by its words.
func (p *phone) press(words string) {
	p.t.Helper()
	p.do(chromedp.Click(fmt.Sprintf(`//main//*[self::button or self::a][contains(normalize-space(.), %q)]`, words)))
}

// typ types into a field by its name.
func (p *phone) typ(name, value string) {
	p.t.Helper()
	sel := chromedp.CSS(`main [name="` + name + `"]`)
	p.do(chromedp.Clear(sel), chromedp.SendKeys(sel, value))
}

// write types into an empty text area, which has nothing to clear.
func (p *phone) write(name, value string) {
	p.t.Helper()
	p.do(chromedp.SendKeys(chromedp.CSS(`main [name="`+name+`"]`), value))
}

// wait moves the clock on.
func (p *phone) wait(d time.Duration) { p.now.Add(int64(d / time.Second)) }

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
	truthPage = "/practice/result?seed=4&level=3&did=box_air,box_display,ambient,glass,drier_out,suction_pressure,discharge_pressure&cause=low_charge&cause2=condenser_air&repair=find_and_repair_leak"
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

// tested fills the tests after the repair of a visit and the room of its machine, by the clock of the phone. It
// returns the machine's address.
func (p *phone) tested(visit string) (machine string) {
	p.t.Helper()
	ctx, id := context.Background(), record.ID(strings.TrimPrefix(visit, "/visits/"))
	v, err := p.app.Visit(ctx, id, app.Parts{})
	if err != nil {
		p.t.Fatal(err)
	}
	must := func(err error) {
		p.t.Helper()
		if err != nil {
			p.t.Fatal(err)
		}
	}
	must(p.app.SaveParts(ctx, app.Act{}, v.Machine.ID, map[string]app.PartEntry{
		"liquid": {
			Size:   "1/2 in",
			Length: "60 ft",
		},
		"suction":    {Size: "1-1/8 in", Length: "60 ft"},
		"evaporator": {Volume: "6 L"},
		"condenser":  {Volume: "7 L"},
		"receiver":   {Volume: "14 L"},
	}))
	later := func(d time.Duration) { p.now.Add(int64(d / time.Second)) }
	act := app.Act{By: "R. Lind"}
	gas := func(psig, f string) app.HoldEntry {
		return app.HoldEntry{Pressure: psig, Unit: "psig", Gas: []string{f}, TempUnit: "°F"}
	}
	must(p.app.StartHold(ctx, act, id, app.HoldStart{HoldEntry: gas("149.8", "74"), Plate: "150", Volumes: "22 L"}))
	for _, x := range [][2]string{{"149.6", "73.4"}, {"149.4", "72.6"}, {"149.2", "72"}, {"149.1", "71.6"}} {
		later(45 * time.Minute)
		must(p.app.AddHold(ctx, act, id, gas(x[0], x[1])))
	}
	later(time.Hour)
	must(
		p.app.StartRise(
			ctx,
			act,
			id,
			app.RiseStart{
				RiseEntry: app.RiseEntry{Pressure: "240", Unit: "micron"},
				Coldest:   "58",
				TempUnit:  "°F",
				Volume:    "22 L",
				Criterion: "ufgs_15182",
			},
		),
	)
	for _, m := range []string{"330", "402", "458", "498", "530", "552", "571", "585"} {
		later(2 * time.Minute)
		must(p.app.AddRise(ctx, act, id, app.RiseEntry{Pressure: m, Unit: "micron"}))
	}
	later(20 * time.Minute)
	must(p.app.SetCharge(ctx, act, id, app.ChargeEntry{Before: "0", Unit: "lb", Coldest: "10", TempUnit: "°F"}))
	for _, g := range []string{"44 lb 6 oz", "39 lb 2 oz", "34 lb 11 oz"} {
		later(6 * time.Minute)
		must(p.app.AddScale(ctx, act, id, app.ScaleEntry{Cylinder: "404-22", Gross: g, Tare: "26 lb", Unit: "lb"}))
	}
	var file strings.Builder
	file.WriteString("time;air °C\n")
	for i := range 300 {
		t := time.Date(2026, 11, 23, 8, 0, 0, 0, time.UTC).Add(time.Duration(i) * 10 * time.Minute)
		c := -20.5 + 0.4*math.Sin(float64(i)/7)
		if i > 180 && i < 260 {
			c += 7 * math.Sin(math.Pi*float64(i-180)/80)
		}
		fmt.Fprintf(&file, "%s;%.1f\n", t.Format("2006-01-02 15:04"), c)
	}
	must(
		p.app.AddCold(
			ctx,
			act,
			id,
			app.ColdEntry{
				Name:     "freezer-november.csv",
				Data:     []byte(file.String()),
				Rule:     "frozen_quality",
				Logger:   "Logger 7, checked in May",
				TempUnit: "°F",
				DiffUnit: "°F",
			},
		),
	)
	capacity, in, r25 := 2400.0, 262.0, 0.227
	must(p.app.SaveRoom(ctx, act, v.Machine.ID, record.RoomBody{
		LengthM:      3.5,
		WidthM:       2.3,
		HeightM:      2.3,
		WallsU:       r25,
		CeilingU:     r25,
		OutsideK:     298.7,
		OutsideRH:    0.55,
		DoorWidthM:   0.86,
		DoorHeightM:  1.93,
		DoorMinutes:  49,
		GoodsKg:      72,
		GoodsInK:     &in,
		GoodsWater:   0.75,
		People:       1,
		PeopleHours:  1.5,
		LightsW:      52,
		LightsHours:  3,
		FansW:        150,
		DefrostKind:  "electric",
		DefrostW:     1800,
		DefrostMin:   25,
		DefrostDaily: 3,
		CapacityW:    &capacity,
	}))
	return "/machines/" + string(v.Machine.ID)
}

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
	p.want("Tight within limits", "once temperature is taken out")
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
