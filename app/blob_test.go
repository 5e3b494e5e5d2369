package app_test

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"strings"
	"sync"
	"testing"

	"coldwright/app"
	"coldwright/fail"
	"coldwright/record"
)

// shot is a picture of one grey.
func shot(t *testing.T, grey uint8, w, h int) []byte {
	t.Helper()
	m := image.NewGray(image.Rect(0, 0, w, h))
	for i := range m.Pix {
		m.Pix[i] = grey
	}
	m.SetGray(0, 0, color.Gray{Y: 255 - grey})
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestPhotos(t *testing.T) {
	a, s, _ := fresh(t)
	_, machine, visit := house(t, a)
	n := count(t, s)
	leakAt := record.Where{Step: "search", Place: "coil_ends"}
	for field, err := range map[string]error{
		"file":    a.AddPhoto(ctx, app.Act{}, visit, leakAt, "", []byte("no picture")),
		"caption": a.AddPhoto(ctx, app.Act{}, visit, leakAt, strings.Repeat("x", 301), shot(t, 9, 8, 8)),
		"step":    a.AddPhoto(ctx, app.Act{}, visit, record.Where{Step: "search", Place: "moon"}, "", shot(t, 9, 8, 8)),
		"text":    a.SaveNote(ctx, app.Act{}, visit, leakAt, " \n", false, ""),
	} {
		if wrongAt(err, field) == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	if err := a.AddPhoto(ctx, app.Act{}, visit, leakAt, ""); wrongAt(err, "file") != fail.Required {
		t.Errorf("no file: %v", err)
	}
	// One good and one bad: none.
	if err := a.AddPhoto(ctx, app.Act{}, visit, leakAt, "", shot(t, 9, 8, 8), []byte("GIF89a")); wrongAt(err, "file") == "" {
		t.Errorf("half good: %v", err)
	}
	for _, w := range []record.Where{
		{Step: "nowhere"},
		{Step: "look", Place: "coil_ends"},
		{Place: "box_air"},
		{Step: "connect", Place: "coil_ends"},
	} {
		if err := a.SaveNote(ctx, app.Act{}, visit, w, "x", false, ""); wrongAt(err, "step") == "" {
			t.Errorf("%+v: %v", w, err)
		}
	}
	if count(t, s) != n {
		t.Error("what was refused was kept")
	}
	// Kept once, however often it is sent, by whoever at the same time.
	var wg sync.WaitGroup
	for range 6 {
		wg.Go(func() {
			if err := a.AddPhoto(
				ctx,
				app.Act{By: "R", Form: "f1"},
				visit,
				leakAt,
				" Bubbles at the bend ",
				shot(t, 40, 2000, 1000),
			); err != nil {
				t.Error(err)
			}
		})
	}
	wg.Wait()
	if count(t, s) != n+1 {
		t.Errorf("%d events after one form sent six times", count(t, s)-n)
	}
	mustAll(
		t,
		a.AddPhoto(ctx, app.Act{}, visit, record.Where{Step: "look"}, "", shot(t, 50, 30, 20), shot(t, 60, 30, 20)),
		a.SaveNote(ctx, app.Act{}, visit, leakAt, "Behind\r\nthe fan", false, ""),
	)
	v := view(t, a, visit)
	p := v.Visit.Photos
	if len(p) != 3 || p[0].Caption != "Bubbles at the bend" || p[0].Where != leakAt || p[0].Width != 1600 || p[0].Height != 800 ||
		len(v.Visit.Notes) != 1 ||
		v.Visit.Notes[0].Text != "Behind\nthe fan" {
		t.Fatalf("%+v %+v", p, v.Visit.Notes)
	}
	whole, err1 := a.Photo(ctx, p[0].Hash, false)
	small, err2 := a.Photo(ctx, p[0].Hash, true)
	c, err3 := jpeg.DecodeConfig(bytes.NewReader(small))
	mine := v.Pictures[p[0].Hash]
	if err1 != nil || err2 != nil || err3 != nil || c.Width != 480 || c.Height != 240 || !bytes.Equal(whole, mine) ||
		record.HashOf(whole) != p[0].Hash {
		t.Errorf("%v %v %v: %+v", err1, err2, err3, c)
	}
	// A file that is no picture is not given out as one.
	mustAll(t, a.AddCold(ctx, app.Act{}, visit, app.ColdEntry{Name: "box.csv", Data: []byte(logged), Rule: "cold_holding"}))
	for _, small := range []bool{false, true} {
		if _, err := a.Photo(ctx, record.HashOf([]byte(logged)), small); fail.CodeOf(err) != fail.NotFound {
			t.Errorf("a logger's file as a picture: %v", err)
		}
	}
	// A note is put right by another event that names it, and a photo taken back.
	note := v.Visit.Notes[0].Event
	n = count(t, s)
	mustAll(
		t,
		a.SaveNote(ctx, app.Act{}, visit, record.Where{}, "Behind the left fan", false, note),
		a.Withdraw(ctx, app.Act{}, visit, p[1].Event),
	)
	if err := a.SaveNote(ctx, app.Act{}, visit, record.Where{}, "x", false, note); fail.CodeOf(err) != fail.NotFound {
		t.Errorf("a note put right twice: %v", err)
	}
	v = view(t, a, visit)
	if count(t, s) != n+2 || len(v.Visit.Notes) != 1 || v.Visit.Notes[0].Text != "Behind the left fan" ||
		v.Visit.Notes[0].Where != leakAt ||
		len(v.Visit.Photos) != 2 {
		t.Errorf("%+v %+v", v.Visit.Notes, v.Visit.Photos)
	}
	if found, err := a.Search(ctx, "bubbles bend", 0, 9); err != nil || len(found.Docs) != 1 {
		t.Errorf("by its caption: %+v %v", found, err)
	}
	// The plate has its own, with no visit needed.
	mustAll(
		t,
		a.CloseVisit(ctx, app.Act{}, visit, record.CloseBody{Mechanic: "R"}),
		a.AddPlatePhoto(ctx, app.Act{}, machine, "Plate", shot(t, 90, 30, 20)),
	)
	if err := a.AddPhoto(ctx, app.Act{}, visit, leakAt, "", shot(t, 70, 30, 20)); fail.CodeOf(err) != fail.Conflict {
		t.Errorf("into a closed visit: %v", err)
	}
	if err := a.SaveNote(ctx, app.Act{}, visit, leakAt, "late", false, ""); fail.CodeOf(err) != fail.Conflict {
		t.Errorf("a note into a closed visit: %v", err)
	}
	m, err := a.Machine(ctx, machine, app.MachineParts{})
	if err != nil || len(m.Machine.Photos) != 1 || m.Machine.Photos[0].Step != "plate" || len(m.Machine.Visits) != 1 {
		t.Fatalf("%+v %v", m, err)
	}
	if err := a.TakePlatePhoto(ctx, app.Act{}, machine, note); fail.CodeOf(err) != fail.NotFound {
		t.Errorf("%v", err)
	}
	mustAll(t, a.TakePlatePhoto(ctx, app.Act{}, machine, m.Machine.Photos[0].Event))
	if m, err = a.Machine(ctx, machine, app.MachineParts{}); err != nil || len(m.Machine.Photos) != 0 {
		t.Errorf("%+v %v", m.Machine.Photos, err)
	}
}

// One form that is sent again brings one picture once; with another picture it is another form.
func TestAddPhoto_SameForm(t *testing.T) {
	a, _, _ := fresh(t)
	_, machine, visit := house(t, a)
	act, plate := app.Act{Form: "01900000-0000-7000-8000-000000000123"}, app.Act{Form: "01900000-0000-7000-8000-000000000124"}
	for _, file := range [][]byte{shot(t, 9, 8, 8), shot(t, 9, 8, 8), shot(t, 99, 8, 8)} {
		if err := a.AddPhoto(ctx, act, visit, record.Where{}, "plate", file); err != nil {
			t.Fatal(err)
		}
		if err := a.AddPlatePhoto(ctx, plate, machine, "plate", file); err != nil {
			t.Fatal(err)
		}
	}
	v, err := a.Visit(ctx, visit, app.Parts{})
	if err != nil || len(v.Visit.Photos) != 2 || len(v.Machine.Photos) != 2 {
		t.Errorf("%d photos of the visit and %d of the machine, %v", len(v.Visit.Photos), len(v.Machine.Photos), err)
	}
}
