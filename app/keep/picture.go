package keep

import (
	"bytes"
	"image"
	"image/color"
	"image/jpeg"
	"math"
	"math/rand/v2"

	"coldwright/record"
)

// sketch is a picture drawn for the example: nobody's photograph.
type sketch struct {
	*image.RGBA
	rng *rand.Rand
}

func newSketch(ground color.RGBA, seed uint64) sketch {
	m := sketch{image.NewRGBA(image.Rect(0, 0, 800, 600)), rand.New(rand.NewPCG(seed, 5))}
	m.fill(ground, func(float64, float64) bool { return true })
	return m
}

// fill paints where in says so, with the grain of a camera.
func (m sketch) fill(c color.RGBA, in func(x, y float64) bool) {
	for y := range m.Bounds().Dy() {
		for x := range m.Bounds().Dx() {
			if in(float64(x), float64(y)) {
				g := m.rng.IntN(9) - 4
				m.SetRGBA(x, y, color.RGBA{grain(c.R, g), grain(c.G, g), grain(c.B, g), 255})
			}
		}
	}
}

func grain(v uint8, g int) uint8 { return uint8(min(255, max(0, int(v)+g))) }

func disc(cx, cy, r float64) func(x, y float64) bool {
	return func(x, y float64) bool { return math.Hypot(x-cx, y-cy) < r }
}

func bar(x0, y0, x1, y1 float64) func(x, y float64) bool {
	return func(x, y float64) bool { return x >= x0 && x < x1 && y >= y0 && y < y1 }
}

// bubble is a ring with a light.
func (m sketch) bubble(x, y, r float64) {
	m.fill(color.RGBA{236, 242, 246, 255}, disc(x, y, r))
	m.fill(color.RGBA{168, 190, 202, 255}, disc(x, y, r*0.8))
	m.fill(color.RGBA{250, 252, 255, 255}, disc(x-r*0.3, y-r*0.3, r*0.25))
}

func (m sketch) jpeg() ([]byte, error) {
	var b bytes.Buffer
	err := jpeg.Encode(&b, m, &jpeg.Options{Quality: 72})
	return b.Bytes(), err
}

// glassPicture is a sight glass with bubbles in it.
func glassPicture() ([]byte, error) {
	m := newSketch(color.RGBA{72, 76, 80, 255}, 1)
	m.fill(color.RGBA{176, 112, 66, 255}, bar(0, 250, 800, 350))  // the tube
	m.fill(color.RGBA{204, 142, 92, 255}, bar(0, 268, 800, 286))  // light on it
	m.fill(color.RGBA{150, 132, 84, 255}, disc(400, 300, 215))    // the body
	m.fill(color.RGBA{198, 180, 124, 255}, disc(400, 300, 190))   // its rim
	m.fill(color.RGBA{96, 128, 140, 255}, disc(400, 300, 160))    // the glass
	m.fill(color.RGBA{120, 156, 168, 255}, disc(380, 280, 120.0)) // light in it
	for range 26 {
		a, r := 2*math.Pi*m.rng.Float64(), 135*math.Sqrt(m.rng.Float64())
		m.bubble(400+r*math.Cos(a), 300+r*math.Sin(a), 6+14*m.rng.Float64())
	}
	return m.jpeg()
}

// dirtPicture is a condenser's face, half of it matted.
func dirtPicture() ([]byte, error) {
	m := newSketch(color.RGBA{34, 36, 38, 255}, 2)
	m.fill(color.RGBA{150, 156, 160, 255}, func(x, _ float64) bool { return int(x)%12 < 7 })
	for y := 60.0; y < 600; y += 120 {
		m.fill(color.RGBA{170, 108, 64, 255}, bar(0, y, 800, y+26))
	}
	edge := func(x float64) float64 { return 250 + 60*math.Sin(x/90) + 24*math.Sin(x/23) }
	m.fill(color.RGBA{112, 104, 92, 255}, func(x, y float64) bool { return y > edge(x) && m.rng.Float64() < 0.92 })
	return m.jpeg()
}

// platePicture is a plate with lines where its words stand.
func platePicture() ([]byte, error) {
	m := newSketch(color.RGBA{88, 92, 96, 255}, 3)
	m.fill(color.RGBA{206, 208, 206, 255}, bar(110, 90, 690, 510))
	for _, at := range [][2]float64{{140, 120}, {660, 120}, {140, 480}, {660, 480}} {
		m.fill(color.RGBA{120, 122, 124, 255}, disc(at[0], at[1], 12))
	}
	ink := color.RGBA{46, 48, 52, 255}
	m.fill(ink, bar(180, 130, 470, 158))
	for row := range 6 {
		y := 205 + 44*float64(row)
		m.fill(ink, bar(180, y, 300+30*m.rng.Float64(), y+14))
		m.fill(ink, bar(380, y, 480+130*m.rng.Float64(), y+14))
		m.fill(color.RGBA{150, 152, 152, 255}, bar(180, y+26, 620, y+28))
	}
	return m.jpeg()
}

// pictures keeps drawn pictures with the example, one of the machine's plate among them.
func (d *demo) pictures(machine, visit record.ID) {
	if d.err != nil {
		return
	}
	glass, err := glassPicture()
	d.do(err)
	plate, err := platePicture()
	d.do(err)
	d.do(d.AddPhoto(d.ctx, d.act(), visit, record.Where{Step: "look"}, "Sight glass, bubbling after ten minutes of running (drawn)", glass))
	d.do(
		d.SaveNote(
			d.ctx,
			d.act(),
			visit,
			record.Where{Step: "look"},
			"The liquid line rubs at the wall clamp: look there first.",
			false,
			"",
		),
	)
	d.do(d.SaveNote(d.ctx, d.act(), visit, record.Where{Step: "look"}, "Key to the roof hangs in the caretaker's room.", true, ""))
	d.do(d.AddPlatePhoto(d.ctx, d.act(), machine, "Plate (drawn)", plate))
}
