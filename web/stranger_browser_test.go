//go:build browser

package web_test

import (
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// A first visit to a freezer on a small phone: no sign is given, Enter saves, clocks stand at the foot, steps have
// their signs.
func TestBrowserStranger(t *testing.T) {
	p := blank(t, 390, 844, true)
	p.visit("/sites/new")
	if z := p.value("zone"); z == "" {
		t.Error("the device's time zone was not asked")
	}
	p.visit("/machines/new")
	p.plate()
	p.press("Start a visit")
	p.want("Arrive")
	visit := strings.TrimPrefix(strings.SplitN(p.url(), "#", 2)[0], p.base)
	p.typ("box_air", "3")
	p.press("Save and look")
	p.want("3 does not say whether it is above or below zero")
	p.narrow(leaf{name: "sign asked", path: visit}, 390)
	p.shot("sign")
	p.pick("/arrive", "above 0")
	p.press("Save and look")
	p.want("Kept: 3 °F above zero.")
	p.visit(visit + "/readings?end=before")
	p.typ("suction_pressure", "12")
	p.do(chromedp.KeyEvent(kb.Enter))
	p.want("2 readings") // saved, and led to the judgement
	p.visit(visit + "/time?end=before")
	p.press("Start the clock")
	p.want("Tap what the box reads now")
	p.visit(visit + "/tight")
	p.typ("plate", "350")
	p.typ("pressure", "300")
	p.typ("gas_1", "70")
	p.press("Start the clock")
	p.want("Not decided yet")
	p.wait(10 * time.Minute)
	p.visit(visit)
	p.want("not decided")
	foot, err := chromedp.Run(p.ctx, chromedp.Evaluate[string](`document.querySelector(".strips").innerText`))
	if err != nil || !strings.Contains(foot, "Nitrogen stands") || !strings.Contains(foot, "Pull-down running") {
		t.Errorf("at the foot: %q %v", foot, err)
	}
	p.narrow(leaf{name: "clocks", path: visit}, 390)
	p.shot("clocks")
}
