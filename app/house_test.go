package app_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"coldwright/app"
	"coldwright/machine/reading"
	"coldwright/record"
)

// Machines met healthy teach what is usual for others of their house from the next day on, never themselves; one set
// aside no longer does, and taken back everything is as it was, to the last bit. What was judged says how many taught.
func TestTaught(t *testing.T) {
	a, store, c := fresh(t)
	site, first, _ := house(t, a)
	read := func(v record.ID, head string) {
		t.Helper()
		err := a.SaveReadings(ctx, app.Act{}, v, record.Before, app.Observed{Entries: []app.Entry{
			entry(reading.SuctionPressure, "15 psig", ""),
			entry(reading.DischargePressure, head, ""),
			entry(reading.BoxAir, "0 °F", ""),
			entry(reading.Ambient, "75 °F", ""),
			entry(reading.LiquidLine, "84 °F", ""),
		}})
		if err != nil {
			t.Fatal(err)
		}
	}
	open := func(m record.ID) record.ID {
		t.Helper()
		v, err := a.OpenVisit(ctx, app.Act{}, m, "")
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	var machines []record.ID
	var last record.ID
	body := record.MachineBody{Refrigerant: "R-404A", Application: "walk-in freezer"}
	for i := range 5 {
		body.Name = fmt.Sprint("Freezer ", i)
		m, err := a.SaveMachine(ctx, app.Act{}, site, "", body)
		if err != nil {
			t.Fatal(err)
		}
		last = open(m)
		read(last, "300 psig")
		if err := a.MarkHealthy(ctx, app.Act{}, last); err != nil {
			t.Fatal(err)
		}
		if i == 0 {
			if err := a.CloseVisit(ctx, app.Act{}, last, record.CloseBody{Mechanic: "me"}); err != nil {
				t.Fatal(err)
			}
		}
		machines = append(machines, m)
	}
	end := func(a *app.App, v record.ID) *app.End {
		t.Helper()
		view, err := a.Visit(ctx, v, app.Parts{Judge: []record.Phase{record.Before}})
		if err != nil || view.Before.Err != nil || view.Before.Judged == nil {
			t.Fatal(err, view.Before.Err)
		}
		return &view.Before
	}
	if e := end(a, last); e.Learned != nil {
		t.Errorf("the same day taught %+v", e.Learned)
	}
	c.t = c.t.Add(24 * time.Hour)
	visit := open(machines[0])
	read(visit, "300 psig")
	before := end(a, visit)
	if before.Learned == nil || before.Learned.Machines != 4 || before.Learned.Here != 4 || before.Judged.On.Taught.Machines != 4 {
		t.Fatalf("five machines of a site taught one of them %+v", before.Learned)
	}
	if u := before.Learned.Of[reading.TraitSplit]; !(u.Shift > 0.1 && u.Spread > 0) {
		t.Errorf("high heads taught a split %+v", u)
	}
	if before.Sheet.Learned == nil || *before.Sheet.Learned != *before.Learned {
		t.Errorf("the sheet shown holds %+v", before.Sheet.Learned)
	}
	// Another program over the same log says the same.
	other := app.New(store, app.Options{Now: c.now, Rand: rand.NewChaCha8([32]byte{2})})
	if e := end(other, visit); !reflect.DeepEqual(e.Posterior, before.Posterior) || e.Judged.On.Sheet != before.Judged.On.Sheet {
		t.Error("read anew the judgement is another one")
	}
	if err := a.SetLessonAside(ctx, app.Act{}, machines[1]); err != nil {
		t.Fatal(err)
	}
	if e := end(a, visit); e.Learned.Machines != 3 || e.Judged.On.Sheet == before.Judged.On.Sheet {
		t.Errorf("with one set aside %+v", e.Learned)
	}
	all, err := a.Taught(ctx, 3)
	if err != nil || all.Total != 5 || len(all.Machines) != 3 || len(all.Usual) != 1 || all.Usual[0].Usual.Machines != 4 ||
		len(all.Usual[0].Sites) != 1 || all.Usual[0].Sites[0].Name != "Test kitchen" {
		t.Fatalf("%+v %v", all, err)
	}
	all, err = a.Taught(ctx, 10)
	list := all.Machines
	aside := record.ID("")
	for _, m := range list {
		if (m.Machine == machines[1]) != (m.Aside != "") {
			t.Errorf("%+v", m)
		}
		aside += m.Aside
	}
	if err != nil || a.TakeLessonBack(ctx, app.Act{}, machines[2], aside) == nil {
		t.Error("another machine's entry was taken back", err)
	}
	if err := a.TakeLessonBack(ctx, app.Act{}, machines[1], aside); err != nil {
		t.Fatal(err)
	}
	if e := end(a, visit); !reflect.DeepEqual(e.Posterior, before.Posterior) || *e.Learned != *before.Learned {
		t.Error("taken back it is not as it was")
	}
	// What a lesson was read from is read again when it changes.
	for _, v := range []record.ID{last} {
		err := a.SaveReadings(ctx, app.Act{}, v, record.Before, app.Observed{Entries: []app.Entry{
			entry(reading.DischargePressure, "210 psig", ""),
		}})
		if err != nil {
			t.Fatal(err)
		}
	}
	if e := end(a, visit); !(e.Learned.Of[reading.TraitSplit].Shift < before.Learned.Of[reading.TraitSplit].Shift) {
		t.Errorf("a head corrected downwards taught %+v, before %+v", e.Learned.Of, before.Learned.Of)
	}
	// The machine of the house helper cools something else or nothing was kept of it: it taught nobody.
	for _, m := range list {
		if m.Machine == first {
			t.Error("a machine that was never kept as healthy teaches")
		}
	}
}
