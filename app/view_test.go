package app_test

import (
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
		a.SaveNote(ctx, app.Act{}, visit, record.Where{}, "a note", ""),
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
