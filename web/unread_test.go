package web_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"coldwright/record"
)

// newer writes a copy of an event as a newer version of the program would have.
func (d *desk) newer(e record.Event) {
	d.t.Helper()
	d.seq++
	e.ID, e.Version, e.Corrects = record.ID(fmt.Sprintf("019f7a00-0000-7000-8000-%012d", d.seq)), 2, ""
	if _, err := d.store.Append(context.Background(), "", nil, e); err != nil {
		d.t.Fatal(err)
	}
}

// What this program cannot read is kept, and said to be missing: on the pages of the visit, of the machine and of the
// site, and in the report in its language.
func TestUnread(t *testing.T) {
	ctx, d := context.Background(), open(t)
	m := addMachine(d)
	machine := record.ID(strings.TrimPrefix(m.url.Path, "/machines/"))
	v := m.form("/open").set("complaint", "too warm").send().want(200)
	visit := v.url.Path
	v.not("cannot be read by this version")
	events, err := d.store.MachineEvents(ctx, machine)
	if err != nil {
		t.Fatal(err)
	}
	d.newer(events[len(events)-1]) // of the visit
	const one, two = "One entry cannot be read by this version of the program", "2 entries cannot be read by this version of the program"
	for _, page := range []string{visit, visit + "/judge", visit + "/readings", visit + "/report", m.url.Path} {
		d.get(page).want(200, one)
	}
	d.get(visit+"/report?lang=es").want(200, "Lo que aquí no se muestra", "no puede leer una anotación").not(one)
	site := events[0].Site
	d.get("/sites/" + string(site)).want(200).not("cannot be read")
	of, err := d.store.SiteEvents(ctx, site)
	if err != nil {
		t.Fatal(err)
	}
	d.newer(of[0])
	for _, page := range []string{visit, visit + "/report", m.url.Path} {
		d.get(page).want(200, two)
	}
	d.get("/sites/"+string(site)).want(200, one)
	d.get(visit+"/report?lang=es").want(200, "no puede leer 2 anotaciones")
}
