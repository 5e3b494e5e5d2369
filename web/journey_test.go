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
	"unicode"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// Whole journeys through the tool in a real browser, each as a person would make it: by what stands on the pages.

// pick chooses one answer of a question by the words on it.
func (p *phone) pick(form, words string) {
	p.t.Helper()
	p.do(chromedp.Click(fmt.Sprintf(`//main//form[contains(@action, %q)]//label[contains(., %q)]`, form, words)))
}

// choose sets a list.
func (p *phone) choose(name, value string) {
	p.t.Helper()
	p.do(chromedp.SetValue(chromedp.CSS(`main select[name="`+name+`"]`), value))
}

// at waits until the address has a part.
func (p *phone) at(part string) {
	p.t.Helper()
	for range 200 {
		if strings.Contains(p.url(), part) {
			return
		}
		time.Sleep(50 * time.Millisecond) // the browser tells of a new address only when asked
	}
	p.shot("elsewhere")
	p.t.Fatalf("at %s, want %s", p.url(), part)
}

// back is the key of the browser.
func (p *phone) back() {
	p.t.Helper()
	h, err := chromedp.Run(p.ctx, chromedp.NavigationEntries())
	if err != nil || h.CurrentIndex == 0 {
		p.t.Fatal("no way back: ", err)
	}
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, page.NavigateToHistoryEntry, page.NavigateToHistoryEntryParams{EntryID: h.Entries[h.CurrentIndex-1].ID})
		return err
	}))
}

// value is what stands in a field.
func (p *phone) value(name string) string {
	p.t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Value(chromedp.CSS(`main [name="`+name+`"]`)))
	if err != nil {
		p.t.Fatal(err)
	}
	return v
}

// events counts what was written of a kind.
func (p *phone) events(kind string) int {
	return strings.Count(p.export(), `"kind":"`+kind+`"`)
}

// plate adds a machine by its form: the walk-in freezer of the check values.
func (p *phone) plate() {
	p.t.Helper()
	p.want("Add a machine")
	p.typ("new_site", "Corner shop")
	p.typ("name", "Walk-in freezer")
	p.choose("refrigerant", "R-404A")
	p.choose("application", "walk-in freezer")
	p.typ("set_point", "0")
	p.choose("expansion", "valve")
	p.pick("/machines/new", "Yes")
	p.typ("full_charge", "9 lb 8 oz")
	p.press("Save the machine")
	p.want("Start a visit", "R-404A")
}

// check is the visit with the check values, before the repair: a freezer at 3 °F that should hold 0, 73 °F outside,
// 12 psig, 203 psig, bubbles in the glass. Bubbles with both pressures low mean too little refrigerant: common
// practice, no source.
func (p *phone) check() (visit string) {
	p.t.Helper()
	p.typ("complaint", "ice cream is soft")
	p.press("Start a visit")
	p.want("Arrive", "Look first")
	visit = strings.SplitN(p.url(), "#", 2)[0]
	p.pick("/arrive", "above 0")
	p.typ("box_air", "3")
	p.press("Save and look")
	p.want("The box is 3 °F warmer than it must be.")
	p.do(chromedp.Click(`//main//fieldset[@id="s-glass"]//label[contains(., "ubbl")]`))
	p.press("Save, skip the timing")
	p.want("Tap where you measured")
	for name, v := range map[string]string{"suction_pressure": "12", "discharge_pressure": "203", "ambient": "73"} {
		p.typ(name, v)
	}
	p.press("Save and judge")
	p.want("Suspects", "Short of refrigerant")
	p.shot("verdict")
	return visit
}

// mend is the rest of that visit: leak, repair, charge, the same readings again, report.
func (p *phone) mend(visit string) {
	p.t.Helper()
	p.visit(visit + "/work")
	p.typ("place", "U-bend at the coil")
	p.press("Save the leak")
	p.want("Leak: U-bend at the coil")
	p.choose("code", "leak_repaired")
	p.write("text", "brazed anew")
	p.press("Save the work")
	p.want("brazed anew")
	p.pick("/gas", "Into the machine")
	p.typ("mass", "5 lb")
	p.typ("cylinder", "C-4")
	p.press("Save the weight")
	p.want("5 lb into the machine, cylinder C-4")
	p.press("Read it after the repair")
	p.press("Read the circuit again")
	p.want("After the repair.")
	for name, v := range map[string]string{"suction_pressure": "15", "discharge_pressure": "236", "ambient": "73"} {
		p.typ(name, v)
	}
	p.do(chromedp.Click(`//main//section[@id="e-box_air"]//label[contains(., "below 0")]`))
	p.typ("box_air", "2")
	p.do(chromedp.Click(`//main//section[@id="e-glass"]//label[contains(., "lear")]`))
	p.press("Save and judge")
	p.want("Suspects")
	p.visit(visit + "/cold")
	p.want("Before and after")
	p.press("Write it down")
	p.want("Close the visit")
	p.typ("mechanic", "R. Lind")
	p.typ("customer", "shop keeper")
	p.press("Close and keep the report")
	p.want("What was wrong", "U-bend at the coil", "R. Lind", "shop keeper", "PDF to print or send")
	p.shot("report")
}

// The first minutes: nothing is there; then a site, a machine, a visit and a verdict.
func TestBrowserJourneyFirstMinutes(t *testing.T) {
	p := blank(t, 390, 844, true)
	p.visit("/")
	p.want("No machines here yet")
	p.press("Add a machine")
	p.plate()
	p.check()
	p.visit("/")
	p.want("Corner shop, walk-in freezer")
}

func TestBrowserJourneyCheckValues(t *testing.T) {
	for _, c := range []struct {
		name   string
		w, h   int64
		script bool
	}{{"360 px without script", 360, 740, false}, {"desk with script", 1280, 900, true}} {
		t.Run(c.name, func(t *testing.T) {
			p := blank(t, c.w, c.h, c.script)
			p.visit("/machines/new")
			p.plate()
			p.mend(p.check())
		})
	}
}

// begun opens a visit of the freezer on an empty tool.
func (p *phone) begun() (visit string) {
	p.t.Helper()
	p.visit("/machines/new")
	p.plate()
	p.press("Start a visit")
	p.want("Arrive")
	return strings.SplitN(p.url(), "#", 2)[0]
}

// A leak from the first look to the re-check.
func TestBrowserJourneyLeak(t *testing.T) {
	p := blank(t, 390, 844, true)
	visit := p.begun()
	p.visit(visit + "/work")
	p.press("Search for the leak")
	p.want("Leak search", "Look next")
	p.press("Nothing here")
	p.want("Looked so far", "Looked at once")
	p.press("Found")
	p.want("Make sure")
	p.press("Confirmed by bubbles")
	p.want("Repair", "recover to the level")
	p.press("Repaired")
	p.want("Re-check", "never oxygen or air")
	p.press("Re-checked: tight")
	p.want("Re-checked, tight")
	p.shot("tight")
	p.visit(visit + "/work")
	p.want("Leak repaired:")
}

// Nitrogen, vacuum, charge: each with its clock and verdict. Nitrogen in a closed volume follows p/T = constant (ideal gas law).
func TestBrowserJourneyProof(t *testing.T) {
	p := blank(t, 390, 844, true)
	visit := p.begun()
	p.visit(visit + "/tight")
	p.typ("plate", "350")
	p.typ("pressure", "300")
	p.typ("gas_1", "90")
	p.press("Start the clock")
	p.want("One look shows no change")
	p.wait(24 * time.Hour)
	p.typ("pressure", "288.2")
	p.typ("gas_1", "70")
	p.press("Enter")
	p.want("No leak seen")
	p.press("Go on: prove it dry")
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
	p.typ("cylinder", "C-9")
	p.press("Enter the weight")
	p.want("Added so far")
	p.wait(5 * time.Minute)
	p.typ("gross", "35 lb 4 oz")
	p.press("Enter the weight")
	p.want("3 lb")
	p.press("Enter as refrigerant added")
	for range 100 {
		if p.events("refrigerant_moved") > 0 {
			break
		}
		time.Sleep(50 * time.Millisecond) // the same page comes back, so there is nothing to wait for on it
	}
	p.do(chromedp.WaitReady(chromedp.CSS("main h1")))
	p.visit(visit + "/work")
	p.want("3 lb into the machine, cylinder C-9")
}

// A logger's file with columns of its own: other names, other order, one nobody asked for, decimal commas.
func TestBrowserJourneyColdRecord(t *testing.T) {
	p := blank(t, 390, 844, false)
	visit := p.begun()
	odd := "Nr;Bemerkung;Luft (°C);Datum;Uhrzeit\n"
	for i, c := range []string{"2,0", "3,0", "8,0", "9,0", "4,0", "3,0"} {
		odd += fmt.Sprintf("%d;;%s;13.06.2026;12:%d0\n", i+1, c, i)
	}
	file := filepath.Join(t.TempDir(), "odd.csv")
	if err := os.WriteFile(file, []byte(odd), 0o600); err != nil {
		t.Fatal(err)
	}
	p.visit(visit + "/cold-record")
	p.do(chromedp.SetUploadFiles(chromedp.CSS(`main [name="file"]`), []string{file}))
	p.press("Keep and judge it")
	// All six stand above the limit of frozen food, from the first to the last, 50 minutes.
	p.want("odd.csv", "6 readings", "once, 50 min in all", "Get it back as it came")
	p.shot("judged")
}

// A preview says what a file would do; only then it is taken in, without its broken lines.
func TestBrowserJourneyImport(t *testing.T) {
	from, p := browser(t, 390, 844, false), blank(t, 390, 844, false)
	lines := from.export()
	file := filepath.Join(t.TempDir(), "events.jsonl")
	if err := os.WriteFile(file, []byte(lines+"{broken\n{\"id\":1}\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	p.visit("/me")
	p.press("Events in and out")
	p.want("Choose a file")
	p.do(chromedp.SetUploadFiles(chromedp.CSS(`main [name="file"]`), []string{file}))
	p.press("Show what it would do")
	p.want("Would be added", "2 lines", "This line is no event")
	if p.export() != "" {
		t.Error("the preview wrote something")
	}
	p.shot("preview")
	p.press("leave the rejected out")
	p.want("Added")
	if p.export() != lines {
		t.Error("what came in is not what went out")
	}
	p.visit("/")
	p.want("Open visit")
}

// second opens another tab of the same browser.
func (p *phone) second() *phone {
	p.t.Helper()
	q := *p
	ctx, cancel := chromedp.NewContext(p.ctx)
	p.t.Cleanup(cancel)
	q.ctx = ctx
	if err := chromedp.Do(ctx); err != nil {
		p.t.Fatal(err)
	}
	q.do(chromedp.EmulateViewport(390, 844))
	return &q
}

// Two tabs on one visit, each with a page that does not know of the other: both are kept, and neither undoes the other.
func TestBrowserJourneyTwoTabs(t *testing.T) {
	a := blank(t, 390, 844, true)
	visit := a.begun()
	a.visit(visit + "/readings")
	a.typ("suction_pressure", "12")
	a.typ("ambient", "73")
	a.typ("running_min", "20")
	a.press("Save and judge")
	a.at("/judge")
	b := a.second()
	for _, p := range []*phone{a, b} {
		p.visit(visit + "/readings")
		p.want("2 readings so far")
	}
	a.typ("suction_pressure", "14")
	a.typ("running_min", "30")
	a.do(chromedp.Click(`//main//section[@id="e-glass"]//label[contains(., "ubbl")]`))
	a.press("Save and judge")
	a.at("/judge")
	b.typ("discharge_pressure", "203")
	b.press("Save and judge")
	b.at("/judge")
	b.visit(visit + "/readings")
	for name, want := range map[string]string{"suction_pressure": "14", "discharge_pressure": "203", "ambient": "73", "running_min": "30"} {
		if got := b.value(name); got != want {
			t.Errorf("%s is %q, want %q", name, got, want)
		}
	}
	// Complaint and food in two tabs.
	for _, p := range []*phone{a, b} {
		p.visit(visit)
	}
	a.typ("complaint", "soft ice cream")
	a.press("Save and look")
	a.at("#look")
	b.typ("food", "moved at noon")
	b.press("Save and look")
	b.at("#look")
	a.visit(visit)
	if c, f := a.value("complaint"), a.value("food"); c != "soft ice cream" || f != "moved at noon" {
		t.Errorf("complaint %q, food %q", c, f)
	}
}

// Back after a form was sent, and sent again: once more only what was changed.
func TestBrowserJourneyBack(t *testing.T) {
	for _, script := range []bool{true, false} {
		t.Run(fmt.Sprintf("script %t", script), func(t *testing.T) {
			p := blank(t, 390, 844, script)
			visit := p.begun()
			p.visit(visit + "/readings")
			p.typ("suction_pressure", "12")
			p.typ("ambient", "73")
			p.press("Save and judge")
			p.at("/judge")
			n := p.events("reading_taken")
			p.back()
			p.want("Tap where you measured")
			if got := p.value("suction_pressure"); got != "12" {
				t.Errorf("back shows %q", got)
			}
			p.press("Save and judge")
			p.at("/judge")
			if got := p.events("reading_taken"); got != n {
				t.Errorf("%d readings after sending it again, %d before", got, n)
			}
			p.back()
			p.want("Tap where you measured")
			p.typ("suction_pressure", "13")
			p.press("Save and judge")
			p.at("/judge")
			if got := p.events("reading_taken"); got != n+1 {
				t.Errorf("%d readings after one was corrected, %d before", got, n)
			}
			p.visit(visit + "/work")
			p.typ("place", "flare")
			p.press("Save the leak")
			p.want("Leak: flare")
			p.back()
			p.at("/work")
			p.want("Leak: flare")
			if got := p.events("leak_found"); got != 1 {
				t.Errorf("%d leaks", got)
			}
		})
	}
}

// A double tap is one event, on a slow network too.
func TestBrowserJourneyDoubleTap(t *testing.T) {
	p := blank(t, 390, 844, true)
	visit := p.begun()
	p.slow()
	p.visit(visit + "/work")
	p.typ("place", "flare")
	p.do(chromedp.DoubleClick(`//main//button[contains(., "Save the leak")]`))
	p.want("Leak: flare")
	p.choose("code", "evacuated")
	p.do(chromedp.DoubleClick(`//main//button[contains(., "Save the work")]`))
	p.want("Evacuated")
	p.visit(visit + "/time")
	p.typ("box", "+5") // in a freezer a number without a sign is asked about
	p.do(chromedp.DoubleClick(`//main//button[contains(., "Start the clock")]`))
	p.want("Tap what the box reads now")
	p.wait(5 * time.Minute)
	p.do(chromedp.DoubleClick(chromedp.CSS(`.nowpad button:nth-child(2)`)))
	p.want("Lately")
	time.Sleep(time.Second) // a second answer, if there is one, is on its way
	for kind, want := range map[string]int{"leak_found": 1, "work_done": 1, "pulldown_started": 1, "pulldown_point": 2} {
		if got := p.events(kind); got != want {
			t.Errorf("%d of %s, want %d", got, kind, want)
		}
	}
}

// slow makes the browser an old phone on a poor connection: a sixth of the speed, 150 ms away, 200 kB/s. The figures
// are common practice, no source.
func (p *phone) slow() {
	p.t.Helper()
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		if _, err := cdp.Call(ctx, t, emulation.SetCPUThrottlingRate, emulation.SetCPUThrottlingRateParams{Rate: 6}); err != nil {
			return err
		}
		if _, err := cdp.Call(ctx, t, network.Enable, network.EnableParams{}); err != nil {
			return err
		}
		_, err := cdp.Call(ctx, t, network.EmulateNetworkConditionsByRule, network.EmulateNetworkConditionsByRuleParams{
			MatchedNetworkConditions: []*network.Conditions{{Latency: 150, DownloadThroughput: 200e3, UploadThroughput: 200e3}},
		})
		return err
	}))
}

// On a slow device the visit goes on as before, and no page keeps the phone busy for long.
func TestBrowserJourneySlow(t *testing.T) {
	p := blank(t, 390, 844, true)
	p.slow()
	p.visit("/machines/new")
	p.plate()
	visit := p.check()
	for _, path := range []string{"/", visit, visit + "/readings", visit + "/judge", visit + "/work"} {
		p.visit(path)
		// Work of the browser itself between the answer's end and the finished page; the machine's own load counts too, so the bound is wide.
		ms, err := chromedp.Run(
			p.ctx,
			chromedp.Evaluate[float64](`(e => e.domComplete - e.responseEnd)(performance.getEntriesByType("navigation")[0])`),
		)
		if err != nil || ms > 5000 {
			t.Errorf("%s is busy for %.0f ms (%v)", path, ms, err)
		}
		t.Logf("%s: %.0f ms from answer to finished page", path, ms)
	}
}

// counter counts what a person does: taps, and keys that are not part of a number.
type counter struct {
	*phone
	taps, keys int
}

func (c *counter) tap(sel string) {
	c.t.Helper()
	c.taps++
	c.do(chromedp.Click(sel))
}

// number taps a field and types a number into it; the digits are not counted, the tap is.
func (c *counter) number(name, digits string) {
	c.t.Helper()
	c.tap(`//main//input[@name="` + name + `" and not(@type="radio")]`)
	for _, r := range digits {
		if !unicode.IsDigit(r) && r != '.' {
			c.keys++
		}
	}
	c.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, input.InsertText, input.InsertTextParams{Text: digits})
		return err
	}))
}

// From opening the machine to the first verdict, at most 25 taps and keys beyond the numbers themselves. The bound is the house's.
func TestBrowserTaps(t *testing.T) {
	for _, script := range []bool{true, false} {
		p := blank(t, 390, 844, script)
		p.visit("/machines/new")
		p.plate()
		c := &counter{phone: p}
		button := func(words string) string { return fmt.Sprintf(`//main//button[contains(., %q)]`, words) }
		c.tap(button("Start a visit"))
		p.want("Arrive")
		c.tap(`//main//form[contains(@action, "/arrive")]//label[contains(., "above 0")]`)
		c.number("box_air", "3")
		c.tap(button("Save and look"))
		p.want("The box is 3 °F warmer than it must be.")
		c.tap(`//main//fieldset[@id="s-glass"]//label[contains(., "ubbl")]`)
		c.tap(button("Save, skip the timing"))
		p.want("Tap where you measured")
		c.number("suction_pressure", "12")
		c.number("discharge_pressure", "203")
		c.number("ambient", "73")
		c.tap(button("Save and judge"))
		p.want("Suspects", "Short of refrigerant")
		t.Logf("script %t: %d taps and %d keys to the first verdict", script, c.taps, c.keys)
		if n := c.taps + c.keys; n > 25 || n < 5 {
			t.Errorf("%d taps and keys to the first verdict, at most 25", n)
		}
	}
}

// The first load in a real browser: everything that comes over the wire, and from where.
func TestBrowserFirstLoad(t *testing.T) {
	p := browser(t, 390, 844, true)
	for _, path := range []string{"/", "/machines"} {
		p.do(chromedp.Navigate("about:blank"), chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
			_, err := cdp.Call(ctx, t, network.ClearBrowserCache, cdp.Empty{})
			return err
		}))
		p.visit(path)
		type part struct {
			Name string  `json:"name"`
			Size float64 `json:"size"`
		}
		parts, err := chromedp.Run(
			p.ctx,
			chromedp.Evaluate[[]part](
				`[...performance.getEntriesByType("navigation"), ...performance.getEntriesByType("resource")].map(e => ({name: e.name, size: e.transferSize}))`,
			),
		)
		if err != nil {
			t.Fatal(err)
		}
		total := 0.0
		for _, x := range parts {
			total += x.Size
			if !strings.HasPrefix(x.Name, p.base) {
				t.Errorf("%s asked for %s", path, x.Name)
			}
		}
		if total > 150e3 || total < 5e3 || len(parts) < 3 {
			t.Errorf("%s: %.0f bytes in %d parts", path, total, len(parts))
		}
		t.Logf("%s: %.0f bytes in %d parts", path, total, len(parts))
	}
}
