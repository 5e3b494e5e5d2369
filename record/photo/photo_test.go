package photo

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/gif"
	"image/jpeg"
	"image/png"
	"runtime"
	"testing"

	"coldwright/fail"
)

// quarters is a picture whose four quarters differ: red, green / blue, white.
func quarters(w, h int) *image.RGBA {
	m := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			c := color.RGBA{A: 255}
			switch {
			case y < h/2 && x < w/2:
				c.R = 255
			case y < h/2:
				c.G = 255
			case x < w/2:
				c.B = 255
			default:
				c.R, c.G, c.B = 255, 255, 255
			}
			m.SetRGBA(x, y, c)
		}
	}
	return m
}

func asJPEG(t testing.TB, m image.Image) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 95}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// segment is an application segment put after the start of a JPEG.
func segment(b []byte, marker byte, payload string) []byte {
	out := append([]byte{}, b[:2]...)
	out = append(out, 0xFF, marker)
	out = binary.BigEndian.AppendUint16(out, uint16(len(payload)+2))
	out = append(out, payload...)
	return append(out, b[2:]...)
}

// exif is an Exif payload with an orientation and a pointer to a position, by Exif 2.3: header "Exif\0\0", TIFF
// header, one directory of two entries.
func exif(o binary.ByteOrder, orientation int) string {
	b := []byte("Exif\x00\x00")
	tiff := []byte{'I', 'I'}
	if o == binary.ByteOrder(binary.BigEndian) {
		tiff = []byte{'M', 'M'}
	}
	u16 := func(v uint16) { x := make([]byte, 2); o.PutUint16(x, v); tiff = append(tiff, x...) }
	u32 := func(v uint32) { x := make([]byte, 4); o.PutUint32(x, v); tiff = append(tiff, x...) }
	u16(42)
	u32(8)
	u16(2)
	u16(0x0112) // orientation, SHORT, one
	u16(3)
	u32(1)
	u16(uint16(orientation))
	u16(0)
	u16(0x8825) // position, LONG, one
	u16(4)
	u32(1)
	u32(38)
	u32(0)
	return string(b) + string(tiff) + "GPS 52.5163N 13.3777E"
}

func corner(t *testing.T, b []byte) (w, h int, names string) {
	t.Helper()
	m, err := jpeg.Decode(bytes.NewReader(b))
	if err != nil {
		t.Fatal(err)
	}
	w, h = m.Bounds().Dx(), m.Bounds().Dy()
	for _, at := range []image.Point{{w / 4, h / 4}, {3 * w / 4, h / 4}, {w / 4, 3 * h / 4}, {3 * w / 4, 3 * h / 4}} {
		r, g, bl, _ := m.At(at.X, at.Y).RGBA()
		switch {
		case r > 0xc000 && g > 0xc000 && bl > 0xc000:
			names += "w"
		case r > 0xc000:
			names += "r"
		case g > 0xc000:
			names += "g"
		case bl > 0xc000:
			names += "b"
		default:
			names += "?"
		}
	}
	return w, h, names
}

// The corners of each orientation, from Exif 2.3 section 4.6.4 (tag 0x0112): 2 mirrored, 3 upside down, 4 both, 5 to
// 8 the same with rows and columns changed. Stored: red green / blue white.
func TestClean_Orientation(t *testing.T) {
	want := map[int]string{1: "rgbw", 2: "grwb", 3: "wbgr", 4: "bwrg", 5: "rbgw", 6: "brwg", 7: "wgbr", 8: "gwrb"}
	for _, o := range []binary.ByteOrder{binary.LittleEndian, binary.BigEndian} {
		for turn, names := range want {
			p, err := Clean(segment(asJPEG(t, quarters(64, 32)), mkApp1, exif(o, turn)))
			if err != nil {
				t.Fatal(turn, err)
			}
			w, h, got := corner(t, p.JPEG)
			ww, wh := 64, 32
			if turn >= 5 {
				ww, wh = 32, 64
			}
			if got != names || w != ww || h != wh || p.Width != w || p.Height != h {
				t.Errorf(
					"orientation %d (%v): %s, %d by %d (said %d by %d), want %s, %d by %d",
					turn,
					o,
					got,
					w,
					h,
					p.Width,
					p.Height,
					names,
					ww,
					wh,
				)
			}
		}
	}
}

// What a file says about where and with what it was taken does not go out; the picture itself is not compressed again.
func TestClean_NoMetadata(t *testing.T) {
	plain := asJPEG(t, quarters(64, 32))
	for _, turn := range []int{1, 6} {
		b := segment(plain, mkCom, "serial 4711")
		b = segment(b, 0xE2, "ICC_PROFILE\x00 of a camera")
		b = segment(b, 0xED, "Photoshop 3.0\x00 caption")
		b = segment(b, mkApp1, "http://ns.adobe.com/xap/1.0/\x00 <x:xmpmeta>GPS</x:xmpmeta>")
		b = segment(b, mkApp1, exif(binary.BigEndian, turn))
		b = append(b, []byte("a second picture with GPS behind the end")...)
		p, err := Clean(b)
		if err != nil {
			t.Fatal(err)
		}
		for _, word := range []string{"GPS", "Exif", "xmp", "4711", "ICC", "Photoshop", "52.5"} {
			if bytes.Contains(p.JPEG, []byte(word)) {
				t.Errorf("orientation %d: %q goes out", turn, word)
			}
		}
		if turn == 1 && !bytes.Equal(p.JPEG, plain) {
			t.Errorf("an upright picture of %d bytes was changed into %d bytes", len(plain), len(p.JPEG))
		}
	}
}

func TestClean_Formats(t *testing.T) {
	small := quarters(40, 20)
	var asPNG, asGIF bytes.Buffer
	if err := errors.Join(png.Encode(&asPNG, small), gif.Encode(&asGIF, small, nil)); err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string][]byte{"png": asPNG.Bytes(), "gif": asGIF.Bytes(), "jpeg": asJPEG(t, small)} {
		p, err := Clean(b)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if w, h, got := corner(t, p.JPEG); got != "rgbw" || w != 40 || h != 20 {
			t.Errorf("%s: %s, %d by %d", name, got, w, h)
		}
	}
	// What is transparent becomes white, not black.
	clear := image.NewNRGBA(image.Rect(0, 0, 16, 16))
	var b bytes.Buffer
	if err := png.Encode(&b, clear); err != nil {
		t.Fatal(err)
	}
	p, err := Clean(b.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if _, _, got := corner(t, p.JPEG); got != "wwww" {
		t.Errorf("transparent: %s", got)
	}
}

// A WebP of one pixel, lossless: the example of the container in RFC 9649 section 2.5 to 3 put together by hand, from
// memory; its decoder is x/image's.
func TestClean_WebP(t *testing.T) {
	b := []byte("RIFF\x1a\x00\x00\x00WEBPVP8L\x0d\x00\x00\x00\x2f\x00\x00\x00\x10\x07\x10\x11\x11\x88\x88\xfe\x07\x00")
	p, err := Clean(b)
	if err != nil || p.Width != 1 || p.Height != 1 {
		t.Errorf("%+v %v", p, err)
	}
}

func TestClean_Scaled(t *testing.T) {
	for _, c := range []struct{ w, h, ww, wh int }{
		{4000, 3000, 1600, 1200},
		{1200, 4800, 400, 1600},
		{1600, 10, 1600, 10},
		{1601, 1, 1600, 1},
	} {
		p, err := Clean(asJPEG(t, quarters(c.w, c.h)))
		if err != nil || p.Width != c.ww || p.Height != c.wh {
			t.Errorf("%d by %d: %d by %d, want %d by %d, %v", c.w, c.h, p.Width, p.Height, c.ww, c.wh, err)
		}
		if c.h > 10 {
			if _, _, got := corner(t, p.JPEG); got != "rgbw" {
				t.Errorf("%d by %d: %s", c.w, c.h, got)
			}
		}
	}
	p, err := Clean(asJPEG(t, quarters(1200, 900)))
	if err != nil {
		t.Fatal(err)
	}
	small, err := Thumbnail(p.JPEG)
	if err != nil {
		t.Fatal(err)
	}
	if w, h, got := corner(t, small); w != Small || h != Small*3/4 || got != "rgbw" {
		t.Errorf("thumbnail: %d by %d, %s", w, h, got)
	}
}

// A long, thin picture is made smaller in a band of it, not in numbers for each of its pixels.
func TestClean_Memory(t *testing.T) {
	const w, h = 900, 32_000
	m := image.NewGray(image.Rect(0, 0, w, h))
	for i := range m.Pix {
		m.Pix[i] = uint8(i / w / 200 % 2 * 255)
	}
	var file bytes.Buffer
	if err := png.Encode(&file, m); err != nil {
		t.Fatal(err)
	}
	m = nil
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	p, err := Clean(file.Bytes())
	runtime.ReadMemStats(&after)
	if err != nil || p.Height != Long || p.Width != 45 {
		t.Fatalf("%d by %d, %v", p.Width, p.Height, err)
	}
	if took := (after.TotalAlloc - before.TotalAlloc) >> 20; took > 192 {
		t.Errorf("it took %d MB", took)
	}
	// Stripes 200 high are 10 high now, and as white and black as before.
	out, err := jpeg.Decode(bytes.NewReader(p.JPEG))
	if err != nil {
		t.Fatal(err)
	}
	for y := 5; y < Long; y += 20 {
		dark, _, _, _ := out.At(20, y).RGBA()
		light, _, _, _ := out.At(20, y+10).RGBA()
		if dark>>8 > 30 || light>>8 < 225 {
			t.Fatalf("at %d: %d and %d", y, dark>>8, light>>8)
		}
	}
}

// bomb is a PNG whose header asks for a picture of w by h pixels and whose data is almost nothing.
func bomb(w, h uint32) []byte {
	b := []byte("\x89PNG\r\n\x1a\n")
	chunk := func(kind string, data []byte) {
		b = binary.BigEndian.AppendUint32(b, uint32(len(data)))
		body := append([]byte(kind), data...)
		b = append(b, body...)
		b = binary.BigEndian.AppendUint32(b, crc32.ChecksumIEEE(body))
	}
	head := binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32(nil, w), h)
	chunk("IHDR", append(head, 8, 6, 0, 0, 0))
	chunk("IDAT", []byte{0x78, 0x9c, 0x03, 0, 0, 0, 0, 1})
	chunk("IEND", nil)
	return b
}

func TestClean_Refused(t *testing.T) {
	whole := asJPEG(t, quarters(400, 300))
	huge := append([]byte{}, whole...)
	if i := bytes.Index(huge, []byte{0xFF, 0xC0}); i > 0 { // frame header: 65,500 by 65,500 (T.81 B.2.2: height, then width)
		binary.BigEndian.PutUint16(huge[i+5:], 65500)
		binary.BigEndian.PutUint16(huge[i+7:], 65500)
	}
	for what, c := range map[string]struct {
		file []byte
		says string
	}{
		"nothing":        {nil, "photo.missing"},
		"text":           {[]byte("time,box_c\n1,2\n"), "photo.no_picture"},
		"a page":         {[]byte("<!doctype html><script>alert(1)</script>"), "photo.no_picture"},
		"a vector":       {[]byte(`<svg xmlns="http://www.w3.org/2000/svg"/>`), "photo.no_picture"},
		"cut off":        {whole[:len(whole)/2], "photo.broken"},
		"only a head":    {whole[:200], "photo.no_picture"},
		"PNG bomb":       {bomb(50000, 50000), "photo.pixels"},
		"a long line":    {bomb(1, 50_000_000), "photo.pixels"},
		"a wide line":    {bomb(50_000_000, 1), "photo.pixels"},
		"a thin ribbon":  {bomb(1000, 40_000), "photo.pixels"},
		"wide bomb":      {bomb(1<<31-1, 1<<30), "photo.no_picture"},
		"JPEG bomb":      {huge, "photo.pixels"},
		"too large file": {make([]byte, FileLimit+1), "photo.large"},
		"empty PNG":      {bomb(0, 10), "photo.no_picture"},
	} {
		_, err := Clean(c.file)
		var f *fail.Error
		if !errors.As(err, &f) || f.Field != "file" || f.Key != c.says {
			t.Errorf("%s: %v, want %q", what, err, c.says)
		}
	}
	if _, err := Thumbnail([]byte("x")); err == nil {
		t.Error("a thumbnail of nothing was made")
	}
}

func FuzzClean(f *testing.F) {
	f.Add(asJPEG(f, quarters(16, 8)))
	f.Add(segment(asJPEG(f, quarters(16, 8)), mkApp1, exif(binary.LittleEndian, 6)))
	f.Add(bomb(3, 3))
	f.Fuzz(func(t *testing.T, b []byte) {
		p, err := Clean(b)
		if err != nil {
			return
		}
		// What is kept can be opened again, says its size and stays as it is.
		again, err := Clean(p.JPEG)
		if err != nil || again.Width != p.Width || again.Height != p.Height || max(p.Width, p.Height) > Long {
			t.Fatalf("%d by %d, again %d by %d: %v", p.Width, p.Height, again.Width, again.Height, err)
		}
		if !bytes.Equal(again.JPEG, p.JPEG) {
			t.Fatal("cleaning twice changes it")
		}
	})
}
