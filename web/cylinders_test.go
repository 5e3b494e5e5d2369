package web_test

import (
	"net/url"
	"testing"
)

// A cylinder from the counter to the reclaimer on the pages, without script.
func TestCylinders(t *testing.T) {
	d := open(t)
	d.get("/cylinders").want(200, "No cylinder yet")
	d.get("/cylinders").
		form("/cylinders/bought").
		set("cylinder", "404-17", "mass", "24 lb", "with", "The counter").
		send().
		want(422, "This is needed", `value="404-17"`, `value="24 lb"`, `value="The counter"`)
	d.get("/cylinders").
		form("/cylinders/bought").
		set("cylinder", "404-17", "refrigerant", "R-404A", "mass", "-3").
		send().
		want(422, `value="404-17"`)
	p := d.get("/cylinders").
		form("/cylinders/bought").
		set("cylinder", "404-17", "refrigerant", "R-404A", "mass", "24 lb", "with", "The counter", "receipt", "2231").
		send()
	p.want(200, "Cylinder 404-17", "24 lb of R-404A.", "Bought: 24 lb, from The counter", "receipt 2231")
	p.form("/cylinders/weighed").
		set("mass", "10 lb", "tare", "11 lb").
		send().
		want(422, "more than the scale showed", `value="10 lb"`, `value="11 lb"`)
	p = p.form("/cylinders/weighed").
		set("mass", "33 lb 8 oz", "tare", "10 lb").
		send().
		want(200, "23 lb 8 oz of R-404A.", "Weighed: 8 oz less than the book said", "33 lb 8 oz less 10 lb")
	p = p.form("/cylinders/moved").set("other", "404-18", "mass", "3 lb 8 oz").send().want(200, "20 lb of R-404A.", "to cylinder 404-18")
	p.form("/cylinders/sent").
		set("how", "reclaimer", "mass", "20 lb", "with", "The yard").
		send().
		want(200, "Empty, last R-404A.", "Sent away: 20 lb, to The yard")
	d.get("/cylinders").want(200, "404-18", "3 lb 8 oz of R-404A.", "Missing at weighing").not("please check")
	// Gone before it came: taken, and said.
	gone := d.get("/cylinders/one?"+url.Values{"number": {"404-18"}}.Encode()).
		form("/cylinders/sent").
		set("how", "supplier", "mass", "5 lb").
		send()
	gone.want(200, "−1 lb 8 oz of R-404A.", "enter where it came from, or weigh it")
	d.get("/cylinders").want(200, "please check")
	gone.form("/cylinders/withdraw").send().want(200, "3 lb 8 oz of R-404A.").not("please check")
	d.get("/cylinders/one?number=nobody").want(404)
	// How much more may go in: by what the book has in it, unless it is on the scale.
	fill := "/cylinders/one?number=404-18&water_capacity=47.7&tare=26"
	d.get(fill).want(200, "The cylinder to fill takes 39 lb 15 oz", "Room for 36 lb 7 oz",
		"At 130 °F the liquid of what is in it now, 3 lb 8 oz, takes", "If it may get 130 °F or warmer, give that",
		"Never refill a disposable cylinder", "service pressure of", "test pressure of")
	d.get(fill+"&gross=60").want(200, "Room for 5 lb 15 oz")
	d.get(fill+"&gross=61&hottest=130").want(200, "over its limit")
	d.get(fill+"&service_pressure=240").want(200, "Do not fill it: take one made for this refrigerant")
	d.get(fill+"&gross=62&service_pressure=260").want(200, "Do not fill it: take one made for this refrigerant",
		"the liquid of what is in it now, 36 lb, takes").not("takes 39 lb", "Room for", "room is left", "next one ready", "at most")
	d.get(fill + "&service_pressure=400").want(200).not("Do not fill it")
	d.get(fill+"&hottest=400").want(200, "outside")
	odd := d.get("/cylinders").form("/cylinders/bought").set("cylinder", "1", "refrigerant", "R-22", "mass", "1 kg")
	odd.action = "/cylinders/eaten"
	odd.send().want(404)
}
