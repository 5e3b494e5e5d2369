package web_test

import (
	"bytes"
	"image"
	"image/png"
	"net/http/httptest"
	"os/exec"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/multi/qrcode"

	"coldwright/web"
)

// codes are what a decoder of others reads on the first page of a PDF.
func codes(t *testing.T, pdf string) (out []string) {
	t.Helper()
	cmd := exec.Command("pdftoppm", "-png", "-r", "150", "-f", "1", "-l", "1", "-")
	cmd.Stdin = strings.NewReader(pdf)
	b, err := cmd.Output()
	if err != nil {
		t.Fatalf("pdftoppm: %v", err)
	}
	var img image.Image
	if img, err = png.Decode(bytes.NewReader(b)); err != nil {
		t.Fatal(err)
	}
	m, err := gozxing.NewBinaryBitmapFromImage(img)
	if err != nil {
		t.Fatal(err)
	}
	found, err := qrcode.NewQRCodeMultiReader().DecodeMultiple(m, nil)
	if err != nil {
		t.Fatalf("no code: %v", err)
	}
	for _, r := range found {
		out = append(out, r.GetText())
	}
	return out
}

// The code on a label opens the machine's page at the address the page was opened by, or at the one the server was started with.
func TestLabels(t *testing.T) {
	d := open(t)
	m := addMachine(d)
	machine := strings.TrimPrefix(m.url.Path, "/machines/")
	d.get(m.url.Path).want(200, "Label with a code", "/labels?machine="+machine)
	p := d.get("/labels?machine="+machine).
		want(200, "Walk-in cooler 1, School kitchen: 1 label", "The codes lead to", d.base, "opens on this computer only")
	pdf := p.form("/labels.pdf").set("size", "large").send()
	if pdf.status != 200 || pdf.header.Get("Content-Type") != "application/pdf" {
		t.Fatalf("%d %s", pdf.status, words(pdf.root))
	}
	got := codes(t, pdf.body)
	if len(got) != 1 || got[0] != d.base+m.url.Path {
		t.Fatalf("the code says %q", got)
	}
	d.get(strings.TrimPrefix(got[0], d.base)).want(200, "Walk-in cooler 1")
	if again := p.form("/labels.pdf").set("size", "large").send(); again.body != pdf.body {
		t.Error("the same label twice has other bytes")
	}
	// What is refused stays as it was typed.
	p.form("/labels.pdf").set("start", "third").send().want(422, "is no number of a label", `value="third"`)
	p.form("/labels.pdf").set("start", "11", "paper", "letter").send().want(422, "11 is no label of this sheet", "1 to 10", `value="11"`)
	d.get("/labels.pdf?machine="+machine+"&size=huge&paper=a4").want(422, "huge", "small, medium, large")
	d.get("/labels?machine=00000000-0000-7000-8000-000000000000").want(404)
	d.get("/labels").want(404)
	// All machines of a site, in one sheet.
	site := ""
	for _, l := range strings.Split(m.body, `"`) {
		if strings.HasPrefix(l, "/sites/") {
			site = strings.TrimPrefix(l, "/sites/")
		}
	}
	d.get("/machines/new").
		form("/machines/new").
		set("site", site, "name", "Walk-in freezer 2", "refrigerant", "R-404A", "application", "walk-in freezer", "set_point", "0").
		send().
		want(200)
	d.get("/sites/"+site).want(200, "Labels with codes")
	both := codes(t, d.get("/labels?site="+site).want(200, "2 labels").form("/labels.pdf").set("start", "4", "edges", "yes").send().body)
	if len(both) != 2 || both[0] == both[1] || !strings.HasPrefix(both[0], d.base+"/machines/") ||
		!strings.HasPrefix(both[1], d.base+"/machines/") {
		t.Errorf("the codes say %q", both)
	}
	srv := httptest.NewServer(web.New(d.app, web.Options{Base: "https://cold.example/"}))
	defer srv.Close()
	d.base = srv.URL
	q := d.get("/labels?machine="+machine).want(200, "https://cold.example").not("this computer only")
	if got := codes(t, q.form("/labels.pdf").send().body); len(got) != 1 || got[0] != "https://cold.example"+m.url.Path {
		t.Errorf("the code says %q", got)
	}
}
