package figure

import (
	"math"
	"strings"

	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// Lane is the column of the ladder in which a temperature stands, so that bands do not cover each other.
type Lane int

// The lanes.
const (
	LaneUnknown Lane = iota
	LaneSaturation
	LaneAir
	LaneLine
)

// Band is where a healthy machine stands: 5 to 95 % of healthy visits and the middle. Design says that only the design stands behind it.
type Band struct {
	Low, Mid, High units.Temp
	Design         bool
}

// Mark is one temperature on the staff. Band is nil for what is given, not judged (box, ambient).
type Mark struct {
	Key, Name string
	Read      units.Temp
	Lane      Lane
	Band      *Band
}

// Codes of a verdict.
const (
	In    = "in"
	Under = "under"
	Over  = "over"
)

// Verdict says on which side of its band a reading lies, and how many whole degrees from the middle in the units
// shown; in where it stands less than [threshold.ShownOff] from that.
func Verdict(read units.Temp, b Band, d units.Display) (kind string, degrees int) {
	off := math.Abs(num(d, read) - num(d, b.Mid))
	switch {
	case off < threshold.ShownOff || read >= b.Low && read <= b.High:
		return In, 0
	case read < b.Low:
		return Under, int(math.Round(off))
	}
	return Over, int(math.Round(off))
}

// Off is the verdict in words: "11 under", "in band"; in English unless a language is given.
func Off(read units.Temp, b Band, d units.Display, lang ...text.Language) string {
	l := one(lang)
	kind, n := Verdict(read, b, d)
	if kind == In {
		return text.Figure("in_band", l)
	}
	return off(n, kind, l)
}

// off is so many degrees under or over.
func off(n int, kind string, l text.Language) string {
	return units.Fixed(float64(n), 0) + " " + text.Figure(kind, l)
}

// one is the language asked for; none is English.
func one(lang []text.Language) text.Language {
	if len(lang) > 0 {
		return lang[0]
	}
	return text.English
}

// num is a temperature in the unit shown.
func num(d units.Display, t units.Temp) float64 {
	if celsius(d) {
		return t.C()
	}
	return t.F()
}

func celsius(d units.Display) bool { return d.Temp == "°C" }

// TempUnit is the unit of temperatures to show, °F when nobody chose.
func TempUnit(d units.Display) string {
	if celsius(d) {
		return "°C"
	}
	return "°F"
}

func (b Band) span(d units.Display, l text.Language) string {
	return text.Figure("range", l, d.TempNumber(b.Low, 0), d.TempNumber(b.High, 0))
}

// scale is the staff's: numbers in the unit shown against height.
type scale struct {
	lo, hi, k, top float64
	step, tick     float64
}

func (s scale) y(v float64) float64 { return s.top + (s.hi-v)*s.k }

// Heights per degree: 4.1 units per °F carries the labels of eight readings; very long scales are drawn smaller but never broken.
func newScale(values []float64, d units.Display, top, k, need float64) scale {
	s := scale{step: 10, tick: 2, top: top, k: k}
	if celsius(d) {
		s.step, s.tick, s.k = 5, 1, k*1.8
	}
	s.lo, s.hi = math.Inf(1), math.Inf(-1)
	for _, v := range values {
		s.lo, s.hi = math.Min(s.lo, v), math.Max(s.hi, v)
	}
	if len(values) == 0 {
		s.lo, s.hi = 0, 0
	}
	s.lo = math.Floor((s.lo-0.4*s.step)/s.step) * s.step
	s.hi = math.Ceil((s.hi+0.4*s.step)/s.step) * s.step
	const longest = 920
	if (s.hi-s.lo)*s.k > longest {
		s.k = math.Max(longest/(s.hi-s.lo), need/(s.hi-s.lo))
	}
	for up := true; (s.hi-s.lo)*s.k < need; up = !up {
		if up {
			s.hi += s.step
		} else {
			s.lo -= s.step
		}
	}
	return s
}

// staff draws the scale as blocks in turn black and white, figures inside.
func (s scale) staff(x, w float64) []plot.Item {
	var out []plot.Item
	for t := s.lo; t < s.hi; t += s.step {
		y0, y1 := s.y(t+s.step), s.y(t)
		black := math.Mod(math.Abs(t/s.step), 2) < 0.5
		fill, ink, tick := "f-sheet", "f-ink", "g-ink"
		if black {
			fill, ink, tick = "f-ink", "f-sheet", "gs-sheet"
		}
		out = append(out, plot.Rect{X: x, Y: y0, W: w, H: y1 - y0, Style: plot.Style{Class: fill + " g-ink", Width: 1.5}})
		if y1-y0 > 20 {
			out = append(out, plot.Text{X: x + w/2, Y: y1 - 4, S: units.Fixed(t, 0), Class: "x-s x-c x-b " + ink})
		}
		for q := 2 * s.tick; q < s.step; q += s.tick {
			y := s.y(t + q)
			st := plot.Style{Class: tick, Width: 1}
			out = append(
				out,
				plot.Line{X1: x, Y1: y, X2: x + 5, Y2: y, Style: st},
				plot.Line{X1: x + w - 5, Y1: y, X2: x + w, Y2: y, Style: st},
			)
		}
	}
	return out
}

// triangle points up for over and down for under.
func triangle(x, y, size float64, kind string) plot.Item {
	d := plot.D("M%.3f %.3fh%.3fl%.3f %.3fz", x-size, y-0.8*size, 2*size, -size, 1.6*size)
	if kind == Over {
		d = plot.D("M%.3f %.3fh%.3fl%.3f %.3fz", x-size, y+0.8*size, 2*size, -size, -1.6*size)
	}
	return plot.Path{D: d, Style: plot.Style{Class: "f-ember"}}
}

func dot(x, y, r float64, class string) plot.Item {
	return plot.Circle{X: x, Y: y, R: r, Style: plot.Style{Class: class}}
}

// dimension is the line from a reading, whose triangle is its first head, to the middle of the band.
func dimension(x, y0, y1 float64) []plot.Item {
	d := 9.0
	if y1 < y0 {
		d = -9
	}
	return []plot.Item{
		plot.Line{X1: x, Y1: y0, X2: x, Y2: y1 - d/2, Style: plot.Style{Class: "g-ember", Width: 2}},
		plot.Path{D: plot.D("M%.3f %.3fl-5 %.3fh10z", x, y1, -d), Style: plot.Style{Class: "f-ember"}},
	}
}

// fit shortens a text that is wider than it may be.
func fit(s string, size float64, bold bool, width float64) string {
	if plot.Width(s, size, bold) <= width {
		return s
	}
	r := []rune(s)
	for len(r) > 1 && plot.Width(string(r)+"…", size, bold) > width {
		r = r[:len(r)-1]
	}
	return strings.TrimRight(string(r), " ,.") + "…"
}

// Table is a figure's numbers as text. The first cell of a row names it.
type Table struct {
	Head []string
	Rows [][]string
}

func valid(marks []Mark) []Mark {
	var out []Mark
	for _, m := range marks {
		ok := !bad(float64(m.Read))
		if m.Band != nil && (bad(float64(m.Band.Low)) || bad(float64(m.Band.Mid)) || bad(float64(m.Band.High))) {
			m.Band = nil
		}
		if ok {
			out = append(out, m)
		}
	}
	return out
}

func bad(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) }

func values(d units.Display, lists ...[]Mark) []float64 {
	var out []float64
	for _, l := range lists {
		for _, m := range l {
			out = append(out, num(d, m.Read))
			if m.Band != nil {
				out = append(out, num(d, m.Band.Low), num(d, m.Band.Mid), num(d, m.Band.High))
			}
		}
	}
	return out
}

// bandBox draws the hatched band with the bar of its middle.
func bandBox(x, w, bar float64, b Band, d units.Display, s scale) []plot.Item {
	hi, lo, mid := s.y(num(d, b.High)), s.y(num(d, b.Low)), s.y(num(d, b.Mid))
	st := plot.Style{Class: "g-frost", Width: 1.5, Hatch: plot.Healthy}
	if b.Design {
		st.Dash = []float64{4, 3}
	}
	return []plot.Item{
		plot.Rect{X: x - w/2, Y: hi, W: w, H: math.Max(1, lo-hi), Style: st},
		plot.Line{X1: x - bar/2, Y1: mid, X2: x + bar/2, Y2: mid, Style: plot.Style{Class: "g-frost", Width: 3}},
	}
}
