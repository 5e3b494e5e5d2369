package app_test

import (
	"reflect"
	"testing"

	"coldwright/app"
	"coldwright/machine/reading"
	"coldwright/record"
)

// A reading taken back and another taken in its place: what is judged is the new one.
func TestVisit_JudgedAgain(t *testing.T) {
	a, _, _ := fresh(t)
	_, _, visit := house(t, a)
	read := func(at reading.Place, text, unit string) {
		t.Helper()
		mustAll(
			t,
			a.SaveReadings(ctx, app.Act{}, visit, record.Before, app.Observed{Entries: []app.Entry{{Place: at, Text: text, Unit: unit}}}),
		)
	}
	judged := func() (value float64) {
		t.Helper()
		v, err := a.Visit(ctx, visit, app.Parts{Judge: []record.Phase{record.Before}})
		if err != nil || v.Before.Posterior == nil {
			t.Fatal(err, v.Before.Err)
		}
		return v.Before.Posterior.PHealthy
	}
	read(reading.BoxAir, "37", "°F")
	read(reading.Ambient, "75", "°F")
	read(reading.SuctionPressure, "2", "psig")
	poor := judged()
	v := view(t, a, visit)
	mustAll(t, a.Withdraw(ctx, app.Act{}, visit, v.Visit.Before.Readings[2].Event))
	read(reading.SuctionPressure, "22", "psig")
	if good := judged(); good == poor {
		t.Errorf("still judged by the reading that was taken back: %g", good)
	}
	// A photo changes nothing that is judged.
	before := judgement(t, a, visit)
	mustAll(
		t,
		a.SaveNote(ctx, app.Act{}, visit, record.Where{}, "a note", false, ""),
		a.AddPhoto(ctx, app.Act{}, visit, record.Where{}, "", shot(t, 9, 20, 20)),
	)
	if judgement(t, a, visit) != before {
		t.Error("judged again because of a note or a photo")
	}
}

func judgement(t *testing.T, a *app.App, visit record.ID) any {
	t.Helper()
	v, err := a.Visit(ctx, visit, app.Parts{Judge: []record.Phase{record.Before}})
	if err != nil {
		t.Fatal(err)
	}
	return v.Before.Posterior
}

// A view holds values: nothing in it can turn back to the program, so that nothing is computed while it is shown.
func TestVisitView_HoldsValues(t *testing.T) {
	seen := map[reflect.Type]bool{}
	var walk func(path string, x reflect.Type)
	walk = func(path string, x reflect.Type) {
		if seen[x] {
			return
		}
		seen[x] = true
		switch x.Kind() {
		case reflect.Func, reflect.Chan, reflect.UnsafePointer:
			t.Errorf("%s is a %s", path, x.Kind())
		case reflect.Pointer, reflect.Slice, reflect.Array, reflect.Map:
			walk(path, x.Elem())
		case reflect.Struct:
			if x == reflect.TypeFor[app.App]() {
				t.Errorf("%s is the program", path)
				return
			}
			if p := x.PkgPath(); p == "time" || p == "coldwright/refrigerant" {
				return
			}
			for i := range x.NumField() {
				walk(path+"."+x.Field(i).Name, x.Field(i).Type)
			}
		}
	}
	for _, v := range []reflect.Type{
		reflect.TypeFor[app.VisitView](), reflect.TypeFor[app.MachineView](), reflect.TypeFor[app.DriftView](),
		reflect.TypeFor[app.RoomView](), reflect.TypeFor[app.PartsView](), reflect.TypeFor[app.LeakView](),
	} {
		walk(v.Name(), v)
	}
	if len(seen) < 60 {
		t.Errorf("only %d types were looked at", len(seen))
	}
}
