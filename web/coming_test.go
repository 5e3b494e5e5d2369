package web_test

import (
	"testing"
	"time"
)

// Where the machine's readings after the work stand in band and the box is not cold yet, the pull-down's page and the report
// say when it will be, each with what a forecast does not say of food.
func TestPullDown_SaysWhenItWillBeCold(t *testing.T) {
	d := open(t)
	m := addMachine(d)
	visit := m.form("/open").set("complaint", "too warm").send().url.Path
	d.get(visit + "/work").form("/after").send()
	p := d.get(visit+"/time?end=after").form("/time/start").set("box", "50").send()
	for _, box := range []string{"45", "42", "40"} {
		d.now = d.now.Add(12 * time.Minute)
		p = p.form("/time").set("box", box).send()
	}
	const food, coming = "Food above its limit is not judged by this forecast", "Readings in band; box not yet cold; will be at 36 °F by "
	p.want(200, food).not(coming)
	d.get(visit+"/readings?end=after").form("/readings").set(repaired...).send().want(200, "Suspects")
	d.get(visit+"/time?end=after").want(200, food, coming)
	d.get(visit+"/report").want(200, food, coming)
}
