package photo

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	_ "image/gif" // formats that come in
	"image/jpeg"
	_ "image/png"

	"golang.org/x/image/draw"
	_ "golang.org/x/image/webp"

	"coldwright/fail"
)

const (
	// FileLimit is the largest file taken in, bytes: the largest pictures of phones, with room to spare.
	FileLimit = 16 << 20
	// Long is the longer side of what is kept, pixels: a serial number on a plate that fills the picture is still
	// read, a page of prints stays small.
	Long = 1600
	// Small is the longer side of what a list shows.
	Small = 480

	// Type is the media type of what goes out.
	Type = "image/jpeg"

	quality = 84
	// memory is the most that opening a picture may take, bytes.
	memory = 192 << 20
	// kernel is the most that the last step of making it smaller may take.
	kernel = 128 << 20
	// side is the longer side of a picture at most, pixels: no camera has more. What is long and thin costs little to open
	// and much to make smaller.
	side = 1 << 15
)

// Picture is a picture fit to be kept.
type Picture struct {
	JPEG          []byte
	Width, Height int
}

// Clean makes a file fit to be kept.
//
//   - in: file, JPEG, PNG, GIF (its first picture) or WebP, at most [FileLimit] bytes
//   - out: a JPEG whose longer side is at most [Long] pixels, upright, without metadata; a picture that is smaller keeps its size
//   - errors: [*fail.Error] with field "file": empty, too large, no picture, not whole, or it would take more than 192 MB to open
//   - source: definition; markers by ITU-T T.81, orientation by Exif 2.3 section 4.6
//   - cost: about 20 ns for each pixel and up to 192 MB; do one at a time
func Clean(file []byte) (Picture, error) {
	switch {
	case len(file) == 0:
		return Picture{}, fail.Of(fail.Required, "file", "photo.missing", nil)
	case len(file) > FileLimit:
		return Picture{}, TooLarge()
	}
	c, format, err := image.DecodeConfig(bytes.NewReader(file))
	if err != nil {
		return Picture{}, fail.Of(fail.BadData, "file", "photo.no_picture", nil)
	}
	if c.Width < 1 || c.Height < 1 {
		return Picture{}, fail.Of(fail.BadData, "file", "photo.empty", nil)
	}
	if px := int64(c.Width) * int64(c.Height); max(c.Width, c.Height) > side || px > memory ||
		px*pixel(file, c.ColorModel, format) > memory {
		return Picture{}, fail.Of(fail.BadData, "file", "photo.pixels", fail.Args{"width": c.Width, "height": c.Height})
	}
	// Opened in full even where its bytes are kept: half a picture is noticed now, not in the report.
	m, _, err := image.Decode(bytes.NewReader(file))
	if err != nil {
		return Picture{}, fail.Of(fail.BadData, "file", "photo.broken", nil)
	}
	turn := 1
	if format == "jpeg" {
		turn = orientation(file)
		if max(c.Width, c.Height) <= Long && turn == 1 && plain(m) {
			if out, ok := strip(file); ok {
				return Picture{out, c.Width, c.Height}, nil
			}
		}
	}
	return encode(upright(scale(m, Long), turn))
}

// TooLarge is how a file that is too large is refused.
func TooLarge() *fail.Error {
	return fail.Of(fail.Range, "file", "photo.large", fail.Args{"limit": FileLimit >> 20})
}

// Thumbnail makes a kept picture smaller.
//
//   - in: a JPEG that [Clean] made
//   - out: a JPEG whose longer side is at most [Small] pixels
//   - errors: [*fail.Error] when it is no picture
//   - source: definition
func Thumbnail(kept []byte) ([]byte, error) {
	m, err := jpeg.Decode(bytes.NewReader(kept))
	if err != nil {
		return nil, fail.Of(fail.BadData, "file", "photo.unreadable", nil)
	}
	p, err := encode(scale(m, Small))
	return p.JPEG, err
}

// pixel is how many bytes opening takes for each pixel, by how the decoders of the standard library and of x/image
// work: a progressive JPEG is held as coefficients of four bytes beside the samples.
func pixel(file []byte, m color.Model, format string) int64 {
	switch {
	case format == "jpeg" && progressive(file):
		return 15
	case format == "jpeg" && m == color.CMYKModel:
		return 4
	case format == "jpeg":
		return 3
	case format == "png" && (m == color.RGBA64Model || m == color.NRGBA64Model || m == color.Gray16Model):
		return 8
	case format == "webp":
		return 8
	}
	return 4
}

// plain reports whether every reader draws this JPEG alike: grey or the usual three components.
func plain(m image.Image) bool {
	switch m.(type) {
	case *image.YCbCr, *image.Gray:
		return true
	}
	return false
}

// scale makes the longer side at most long pixels; it does not enlarge. What is transparent becomes white. A picture more
// than twice as large is first brought down by a whole number, a band at a time.
func scale(m image.Image, long int) *image.RGBA {
	if by := max(m.Bounds().Dx(), m.Bounds().Dy()) / long; by > 1 {
		m = shrink(m, by)
	}
	w, h := m.Bounds().Dx(), m.Bounds().Dy()
	if most := max(w, h); most > long {
		w, h = max(1, (w*long+most/2)/most), max(1, (h*long+most/2)/most)
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(out, out.Bounds(), image.White, image.Point{}, draw.Src)
	if w == m.Bounds().Dx() && h == m.Bounds().Dy() {
		draw.Draw(out, out.Bounds(), m, m.Bounds().Min, draw.Over)
		return out
	}
	by := draw.Scaler(draw.BiLinear)
	if 32*w*m.Bounds().Dy() > kernel { // four numbers for each pixel of a width as kept and the height as taken
		by = draw.ApproxBiLinear
	}
	by.Scale(out, out.Bounds(), m, m.Bounds(), draw.Over, nil)
	return out
}

// shrink makes one pixel of by times by, their mean over white, a band of the picture at a time.
func shrink(m image.Image, by int) *image.RGBA {
	b := m.Bounds()
	w, h := max(1, b.Dx()/by), max(1, b.Dy()/by)
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	band := image.NewRGBA(image.Rect(0, 0, b.Dx(), by))
	sums := make([]uint32, 3*w)
	for y := range h {
		rows := min(by, b.Dy()-y*by)
		draw.Draw(band, band.Bounds(), image.White, image.Point{}, draw.Src)
		draw.Draw(band, band.Bounds(), m, image.Pt(b.Min.X, b.Min.Y+y*by), draw.Over)
		clear(sums)
		for r := range rows {
			line := band.Pix[r*band.Stride:]
			for x := range w {
				for k := x * by; k < min((x+1)*by, b.Dx()); k++ {
					p := line[4*k:]
					sums[3*x] += uint32(p[0])
					sums[3*x+1] += uint32(p[1])
					sums[3*x+2] += uint32(p[2])
				}
			}
		}
		for x := range w {
			n := uint32(rows * (min((x+1)*by, b.Dx()) - x*by))
			p := out.Pix[out.PixOffset(x, y):]
			p[0], p[1], p[2], p[3] = uint8((sums[3*x]+n/2)/n), uint8((sums[3*x+1]+n/2)/n), uint8((sums[3*x+2]+n/2)/n), 255
		}
	}
	return out
}

func encode(m *image.RGBA) (Picture, error) {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, &jpeg.Options{Quality: quality}); err != nil {
		return Picture{}, fmt.Errorf("photo: %w", err)
	}
	return Picture{b.Bytes(), m.Bounds().Dx(), m.Bounds().Dy()}, nil
}

// upright turns a picture as its Exif orientation says: where the first row and the first column of the stored picture belong.
func upright(m *image.RGBA, orientation int) *image.RGBA {
	w, h := m.Bounds().Dx(), m.Bounds().Dy()
	var from func(x, y int) (int, int)
	switch orientation {
	case 2:
		from = func(x, y int) (int, int) { return w - 1 - x, y }
	case 3:
		from = func(x, y int) (int, int) { return w - 1 - x, h - 1 - y }
	case 4:
		from = func(x, y int) (int, int) { return x, h - 1 - y }
	case 5:
		from = func(x, y int) (int, int) { return y, x }
	case 6:
		from = func(x, y int) (int, int) { return y, h - 1 - x }
	case 7:
		from = func(x, y int) (int, int) { return w - 1 - y, h - 1 - x }
	case 8:
		from = func(x, y int) (int, int) { return w - 1 - y, x }
	default:
		return m
	}
	ow, oh := w, h
	if orientation >= 5 {
		ow, oh = h, w
	}
	out := image.NewRGBA(image.Rect(0, 0, ow, oh))
	for y := range oh {
		for x := range ow {
			fx, fy := from(x, y)
			copy(out.Pix[out.PixOffset(x, y):][:4], m.Pix[m.PixOffset(fx, fy):][:4])
		}
	}
	return out
}
