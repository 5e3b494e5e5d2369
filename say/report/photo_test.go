package report_test

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"coldwright/record"
	"coldwright/say/report"
)

// album is the visit with notes and photos, upright and across, one of them twice.
func album(t testing.TB) report.Data {
	t.Helper()
	d := visit(t)
	at := d.Opened
	for i, size := range []image.Point{{800, 600}, {600, 800}, {800, 450}, {300, 900}, {640, 480}, {800, 600}} {
		m := image.NewRGBA(image.Rect(0, 0, size.X, size.Y))
		for y := range size.Y {
			for x := range size.X {
				m.SetRGBA(x, y, color.RGBA{uint8(x * 255 / size.X), uint8(y * 255 / size.Y), uint8(40 * (i % 5)), 255})
			}
		}
		var b bytes.Buffer
		if err := jpeg.Encode(&b, m, nil); err != nil {
			t.Fatal(err)
		}
		h := record.HashOf(b.Bytes())
		at = at.Add(7 * time.Minute)
		d.Photos = append(
			d.Photos,
			report.Photo{
				Where:   "Leak search: evaporator coil ends",
				Caption: fmt.Sprintf("Caption %d: bubbles at the bend behind the left fan", i+1),
				Hash:    h,
				At:      at,
				Width:   size.X,
				Height:  size.Y,
				JPEG:    b.Bytes(),
			},
		)
	}
	d.Photos[3].Caption = ""
	d.Notes = []report.Note{
		{Where: "Arrival", Text: "Key at the desk.\nAsk for the caretaker.", At: d.Opened},
		{Where: "Repair", Text: strings.Repeat("The clamp rubbed through the tube. ", 20), At: at},
	}
	return d
}

// Notes and photos stand in the document with what they belong to and their time; the pictures are the bytes that
// were kept, and the document is the same each time.
func TestPDF_Photos(t *testing.T) {
	d := album(t)
	pdf := bytesOf(t, d)
	if dir := os.Getenv("REPORT_PAGE"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, "photos.pdf"), pdf, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	for range 3 {
		if !bytes.Equal(bytesOf(t, album(t)), pdf) {
			t.Fatal("the same visit gave other bytes")
		}
	}
	got := strings.Join(strings.Fields(strings.ReplaceAll(words(t, pdf), "\u00a0", " ")), " ")
	doc := report.Build(d)
	for _, p := range doc.Pictures {
		for _, want := range []string{p.Caption, p.Line} {
			if !strings.Contains(got, want) {
				t.Errorf("no %q in the document", want)
			}
		}
		if len(p.JPEG) == 0 || !bytes.Contains(pdf, p.JPEG) {
			t.Errorf("%s: not as it was kept", p.Caption)
		}
	}
	for _, want := range append(doc.Notes.Points, "Notes", "Photos", "Van 7, 16 June 2026, 12:19") {
		if !strings.Contains(got, strings.TrimSpace(want)) {
			t.Errorf("no %q in the document", want)
		}
	}
	// Five different pictures, six places: what is shown twice is in the document once (poppler lists each place).
	cmd := exec.Command("pdfimages", "-list", "-")
	cmd.Stdin = bytes.NewReader(pdf)
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	if n := strings.Count(string(out), " jpeg "); n != len(d.Photos) {
		t.Errorf("%d of %d pictures:\n%s", n, len(d.Photos), out)
	}
	d.Photos[2].JPEG = nil
	if err := report.PDF(&bytes.Buffer{}, d); err == nil {
		t.Error("a report without one of its photos was written")
	}
}
