package web_test

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"image/png"
	"net/http"
	"regexp"
	"strings"
	"sync"
	"testing"
)

// shot is a picture: a bright disc on grey, as JPEG.
func shot(t testing.TB, w, h int) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{90, 90, 90, 255}
			if dx, dy := x-w/2, y-h/2; dx*dx+dy*dy < h*h/16 {
				c = color.RGBA{250, 240, 200, 255}
			}
			m.SetRGBA(x, y, c)
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

var photoAddress = regexp.MustCompile(`/photo/[0-9a-f]{64}`)

// Photos go with a step or a place of the visit, are shown, given out and taken back; what is refused keeps what was typed.
func TestPhotos(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	p := d.get(visit+"/work").want(200, "Photos and notes", "Add a photo", `accept="image/*" capture="environment"`, "at most 16 MB")
	n := events(d)
	bad := p.form("/photos").
		set("caption", "The nut <b>").
		upload("", "").
		want(422, "This is needed", `value="The nut &lt;b&gt;"`, "chosen again", `value="repair" selected`)
	bad.form("/photos").
		upload("x.jpg", "no picture at all").
		want(422, "Is no picture that can be read. JPEG, PNG, GIF and WebP can.", `value="The nut &lt;b&gt;"`)
	bad.form("/photos").upload("x.svg", `<svg xmlns="http://www.w3.org/2000/svg"><script>1</script></svg>`).want(422, "Is no picture")
	whole := shot(t, 300, 200)
	bad.form("/photos").upload("x.jpg", string(whole[:len(whole)/2])).want(422, "not whole")
	// Larger than a file may be, and larger than the whole form may be: said in words, with what was typed.
	for _, mb := range []int{17, 40} {
		bad.form("/photos").upload("x.jpg", strings.Repeat("x", mb<<20)).want(422, "larger than 16 MB", `value="The nut &lt;b&gt;"`)
	}
	p.form("/photos").set("caption", strings.Repeat("x", 301)).upload("x.jpg", string(whole)).want(422, "longer than 300")
	p.form("/photos").set("where", "moon").upload("x.jpg", string(whole)).want(422, "no step of a visit")
	if events(d) != n || strings.Contains(d.get("/export.jsonl").body, `{"blob":`) {
		t.Error("what was refused was kept")
	}
	// A double submit, also at the same time, is one photo.
	p.form("/photos").set("caption", strings.Repeat("y", 70_000)).upload("x.jpg", string(whole)).want(422, "longer than 300", "yyyyyyyy")
	f := p.form("/photos").set("caption", "The nut, made new")
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() { f.upload("x.jpg", string(shot(t, 2400, 1200))) })
	}
	wg.Wait()
	p = f.upload("x.jpg", string(shot(t, 2400, 1200))).want(200, "The nut, made new", "Repair, ", `alt="The nut, made new"`)
	if p.url.Path != visit+"/work" || events(d) != n+1 {
		t.Errorf("%s, %d events more", p.url, events(d)-n)
	}
	address := photoAddress.FindString(p.body)
	for path, long := range map[string]int{address: 1600, address + "/small": 480} {
		got := d.get(path).want(200)
		c, err := jpeg.DecodeConfig(strings.NewReader(got.body))
		if err != nil || c.Width != long || c.Height != long/2 {
			t.Errorf("%s: %+v %v", path, c, err)
		}
		for k, v := range map[string]string{
			"Content-Type": "image/jpeg", "X-Content-Type-Options": "nosniff",
			"Cache-Control": "private, max-age=31536000, immutable",
		} {
			if got.header.Get(k) != v {
				t.Errorf("%s: %s is %q", path, k, got.header.Get(k))
			}
		}
	}
	d.get("/photo/" + strings.Repeat("0", 64)).want(404)
	d.get("/photo/..%2f..%2fetc").want(404)
	// A place of the leak search has its own, seen in the search and named in the list of all.
	p = d.get(visit+"/search").want(200, "Photo or note of this place")
	p.form("/search").set("place", "flare_high", "method", "detector", "saw", "signal").send().want(200, "Photograph it")
	p = d.get(visit+"/photos?where=search%7Cflare_high").want(200, "Leak search: flare nuts, high side")
	var b bytes.Buffer
	if err := png.Encode(&b, image.NewGray(image.Rect(0, 0, 40, 30))); err != nil {
		t.Fatal(err)
	}
	p.form("/photos").upload("bubbles.png", b.String()).want(200, `alt="Photo, leak search: flare nuts, high side"`)
	p = d.get(visit + "/search")
	if strings.Count(p.body, `alt="Photo, leak search: flare nuts, high side"`) != 2 { // beside the find, and below
		t.Errorf("beside the find: %d", strings.Count(p.body, `alt="Photo, leak search`))
	}
	if d.get(visit+"/work").want(200, "The nut, made new"); strings.Contains(d.get(visit+"/work").body, "flare nuts, high side\"") {
		t.Error("the leak's photo stands at the repair")
	}
	// Taken back, it is gone from the pages; the log keeps both.
	n = events(d)
	d.get(visit + "/work").form("/withdraw").send()
	p = d.get(visit+"/work").want(200, "Photos and notes").not(`src="/photo/`)
	if events(d) != n+1 || !strings.Contains(d.get("/export.jsonl").body, `{"blob":`) {
		t.Error("taking back is an event, and takes nothing out of the log")
	}
	d.get(visit+"/write").form("/close").set("mechanic", "Van 7").send().want(200)
	d.get(visit+"/photos").want(200, "flare nuts, high side").not("Take back", "Save the photo", "Save the note")
	f = p.form("/photos")
	f.upload("x.jpg", string(whole)).want(http.StatusConflict, "This visit is closed")
}

func TestNotes(t *testing.T) {
	d := open(t)
	visit := startVisit(d)
	p := d.get(visit+"/tight").want(200, "Add a note")
	n := events(d)
	p.form("/notes").set("text", " ").send().want(422, "This is needed")
	p.form("/notes").set("text", strings.Repeat("long ", 900)).send().want(422, "longer than 4000", "long long")
	f := p.form("/notes").set("text", "Gauge 2\n<i>leaks</i> itself")
	f.send()
	p = f.send().want(200, "Gauge 2", "&lt;i&gt;leaks&lt;/i&gt; itself", "Nitrogen test, ")
	if strings.Contains(p.body, "<i>leaks") {
		t.Error("a note is taken for markup")
	}
	if p.url.Path != visit+"/tight" || events(d) != n+1 {
		t.Errorf("%s, %d events more", p.url, events(d)-n)
	}
	edit := regexp.MustCompile(`/photos\?note=[0-9a-f-]{36}`).FindString(p.body)
	p = d.get(visit+edit).want(200, "Correct the note")
	p.form("/notes").set("text", "Gauge 3 leaks itself").send().want(200, "Gauge 3 leaks itself", "Nitrogen test, ").not("Gauge 2")
	d.get(visit+"/tight").want(200, "Gauge 3 leaks itself").not("Gauge 2")
	d.get(visit + "/dry").want(200).not("Gauge 3")
	d.get("/search?q=gauge").want(200, "Gauge 3")
	p.form("/notes").set("form", "another", "text", "once more").send().want(404) // it was put right meanwhile
	d.get(visit + "/tight").form("/withdraw").send()
	d.get(visit+"/tight").want(200).not("Gauge 3", "Gauge 2")
}

// The plate is photographed first and typed later, with or without a visit.
func TestPlatePhoto(t *testing.T) {
	d := open(t)
	m := addMachine(d).url.Path
	p := d.get(m).want(200, "Photo of the plate", "type it later")
	n := events(d)
	p.form("/photos").set("caption", "Plate").upload("x.jpg", "text").want(422, "Is no picture", `value="Plate"`)
	f := p.form("/photos").set("caption", "Plate at the back")
	f.upload("x.jpg", string(shot(t, 800, 600)))
	p = f.upload("x.jpg", string(shot(t, 800, 600))).want(200, "Plate at the back")
	if p.url.Path != m || events(d) != n+1 {
		t.Errorf("%s, %d events more", p.url, events(d)-n)
	}
	d.get(m+"/edit").want(200, "Plate at the back", "Correct the plate")
	p.form("/photos/back").send().want(200).not("Plate at the back")
	d.get("/machines/none/photos").want(404)
}
