package figure

import (
	"math"
	"strings"

	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
)

// PullPoint is the box read at a minute since the start.
type PullPoint struct {
	Minute float64
	Box    units.Temp
}

// PullBand is a band at a minute since the start: 5 to 95 % and the middle.
type PullBand struct {
	Minute         float64
	Low, Mid, High units.Temp
}

// PullDownData is a pull-down test. Second is another run of it (after the repair); Healthy is what this box does when nothing is wrong.
type PullDownData struct {
	ID                string // "" is "pd"
	Points, Second    []PullPoint
	Healthy, Forecast []PullBand
	SetPoint          *units.Temp
	Display           units.Display
	Compact           bool // lower, for paper
	Lang              text.Language
}

// chart is a plane with axes.
type chart struct {
	w, h, l, r, t, b float64
	x0, x1, y0, y1   float64
}

func (c chart) x(v float64) float64 { return c.l + (v-c.x0)/(c.x1-c.x0)*(c.w-c.l-c.r) }
func (c chart) y(v float64) float64 { return c.t + (c.y1-v)/(c.y1-c.y0)*(c.h-c.t-c.b) }

// numbers are the values that stand beside the light lines across, n at most or one more, and their decimals.
func (c chart) numbers(n int) (first, step float64, dec int) {
	first, step = ticks(c.y0, c.y1, n)
	return first, step, max(0, int(math.Ceil(-math.Log10(step)-1e-9)))
}

// numbersWidth is the room the widest of these numbers takes.
func (c chart) numbersWidth(n int) float64 {
	first, step, dec := c.numbers(n)
	width := 0.0
	for v := first; v <= c.y1+1e-9*step; v += step {
		width = math.Max(width, plot.Width(units.Fixed(v, dec), 14.5, false))
	}
	return width
}

// rules are the light lines across with their numbers, n at most or one more.
func (c chart) rules(n int) []plot.Item {
	var out []plot.Item
	first, step, dec := c.numbers(n)
	for v := first; v <= c.y1+1e-9*step; v += step {
		out = append(
			out,
			plot.Line{X1: c.l, Y1: c.y(v), X2: c.w - c.r, Y2: c.y(v), Style: plot.Style{Class: "g-hair", Width: 1}},
			plot.Text{X: c.l - 6, Y: c.y(v) + 5, S: units.Fixed(v, dec), Class: "x-s x-e f-ink2"},
		)
	}
	return out
}

func (c chart) axes(xName, yName string) []plot.Item {
	out := c.rules(5)
	foot := c.h - c.b
	for _, step := range []float64{1, 2, 5, 10, 15, 30, 60, 120, 240, 480, 960} {
		if (c.x1-c.x0)/step > 6 {
			continue
		}
		for v := c.x0; v <= c.x1+1e-9; v += step {
			out = append(
				out,
				plot.Line{X1: c.x(v), Y1: foot, X2: c.x(v), Y2: foot + 5, Style: plot.Style{Class: "g-ink", Width: 1.5}},
				plot.Text{X: c.x(v), Y: foot + 19, S: units.Fixed(v, 0), Class: "x-s x-c f-ink2"},
			)
		}
		break
	}
	return append(
		out,
		plot.Line{X1: c.l, Y1: foot, X2: c.w - c.r, Y2: foot, Style: plot.Style{Class: "g-ink", Width: 1.5}},
		plot.Text{X: c.w - c.r, Y: c.h - 4, S: xName, Class: "x-s x-e f-ink2"},
		plot.Text{X: 0, Y: c.h - 4, S: yName, Class: "x-s f-ink2"},
	)
}

// PullDown draws the box against minutes: dots read, open squares the second run, the healthy box hatched, the
// forecast white with a dashed middle.
func PullDown(p PullDownData) plot.Scene {
	d := p.Display
	c := chart{w: ladderW, h: 330, l: 36, r: 44, t: 16, b: 42}
	if p.Compact {
		c.h = 210
	}
	s := plot.Scene{ID: p.ID, W: c.w, H: c.h, Title: text.Figure("pull", p.Lang), Desc: p.describe()}
	if s.ID == "" {
		s.ID = "pd"
	}
	if p.SetPoint != nil {
		// The set point stands right of the curve: its words must find room there.
		value, word := units.Whole(d.TempNumber(*p.SetPoint, 1)), text.Figure("set", p.Lang)
		c.r = math.Max(c.r, 14+math.Max(plot.Width(value, 15, true), plot.Width(word, 14.5, false)))
	}
	last := 0.0
	lo, hi := math.Inf(1), math.Inf(-1)
	see := func(v float64) { lo, hi = math.Min(lo, v), math.Max(hi, v) }
	for _, list := range [][]PullPoint{p.Points, p.Second} {
		for _, q := range list {
			last = math.Max(last, q.Minute)
			see(num(d, q.Box))
		}
	}
	if p.SetPoint != nil {
		see(num(d, *p.SetPoint))
	}
	// The forecast is drawn as far as about four times what has been watched: farther on it would squeeze the readings to the edge.
	c.x1 = 30
	reach := last
	for _, f := range p.Forecast {
		if f.Minute <= math.Max(4*last, last+60) {
			reach = math.Max(reach, f.Minute)
			see(num(d, f.Mid))
		}
	}
	for c.x1 < reach {
		if c.x1 < 120 {
			c.x1 += 30
		} else {
			c.x1 += 60
		}
	}
	if lo > hi {
		lo, hi = 0, 1
	}
	pad := math.Max(0.1*(hi-lo), 1)
	c.y0, c.y1 = math.Floor(lo-pad), math.Ceil(hi+pad)
	c.l = math.Max(c.l, c.numbersWidth(5)+8)
	s.Add(c.axes(text.Figure("minutes_start", p.Lang), TempUnit(d))...)
	inside := func(v units.Temp) float64 { return math.Min(c.y1, math.Max(c.y0, num(d, v))) }
	area := func(bands []PullBand) [][2]float64 {
		var low, high [][2]float64
		for _, b := range clip(bands, c.x1) {
			low = append(low, [2]float64{c.x(b.Minute), c.y(inside(b.Low))})
			high = append([][2]float64{{c.x(b.Minute), c.y(inside(b.High))}}, high...)
		}
		if len(low) < 2 {
			return nil
		}
		return append(low, high...)
	}
	if a := area(p.Healthy); a != nil {
		s.Add(plot.Path{D: plot.Polyline(a, true), Style: plot.Style{Class: "g-frost", Width: 1.2, Hatch: plot.Loose}})
	}
	if a := area(p.Forecast); a != nil {
		var mid [][2]float64
		for _, b := range clip(p.Forecast, c.x1) {
			mid = append(mid, [2]float64{c.x(b.Minute), c.y(inside(b.Mid))})
		}
		s.Add(
			plot.Path{D: plot.Polyline(a, true), Style: plot.Style{Class: "f-sheet g-ink", Width: 1.2}},
			plot.Path{
				D:     plot.Polyline(mid, false),
				Round: true,
				Style: plot.Style{Class: "f-none g-ink", Width: 2.6, Dash: []float64{7, 5}},
			},
		)
	}
	if p.SetPoint != nil {
		y := c.y(num(d, *p.SetPoint))
		s.Add(
			plot.Line{X1: c.l, Y1: y, X2: c.w - c.r, Y2: y, Style: plot.Style{Class: "g-ink", Width: 1.5}},
			plot.Path{D: plot.D("M%.2f %.2fl9 -6v12z", c.w-c.r, y), Style: plot.Style{Class: "f-ink"}},
			plot.Text{X: c.w - c.r + 12, Y: y + 5, S: units.Whole(d.TempNumber(*p.SetPoint, 1)), Class: "x-m x-b f-ink"},
			plot.Text{X: c.w - c.r + 12, Y: y + 20, S: text.Figure("set", p.Lang), Class: "x-s f-ink2"},
		)
	}
	run := func(points []PullPoint, width float64) [][2]float64 {
		var xy [][2]float64
		for _, q := range points {
			xy = append(xy, [2]float64{c.x(q.Minute), c.y(num(d, q.Box))})
		}
		if len(xy) > 1 {
			s.Add(plot.Path{D: plot.Polyline(xy, false), Round: true, Style: plot.Style{Class: "f-none g-ink", Width: width}})
		}
		return xy
	}
	first := run(p.Points, 2)
	for _, q := range first {
		s.Add(dot(q[0], q[1], 4.5, "f-ink"))
	}
	second := run(p.Second, 2)
	for _, q := range second {
		s.Add(plot.Rect{X: q[0] - 4, Y: q[1] - 4, W: 8, H: 8, Style: plot.Style{Class: "f-sheet g-ink", Width: 2}})
	}
	// One label at the end of what was read, where it covers neither curve nor set point.
	var taken [][2]float64
	for _, xy := range [][][2]float64{first, second} {
		for i := range xy {
			taken = append(taken, xy[i])
			for k := 1; i > 0 && k < 16; k++ {
				t := float64(k) / 16
				taken = append(taken, [2]float64{xy[i-1][0] + t*(xy[i][0]-xy[i-1][0]), xy[i-1][1] + t*(xy[i][1]-xy[i-1][1])})
			}
		}
	}
	for _, b := range clip(p.Forecast, c.x1) {
		for _, v := range []units.Temp{b.Low, b.Mid, b.High} {
			taken = append(taken, [2]float64{c.x(b.Minute), c.y(inside(v))})
		}
	}
	if p.SetPoint != nil {
		for x := c.l; x < c.w-c.r; x += 6 {
			taken = append(taken, [2]float64{x, c.y(num(d, *p.SetPoint))})
		}
	}
	label := func(points []PullPoint, code string) {
		if len(points) == 0 {
			return
		}
		q := points[len(points)-1]
		t := plot.Text{S: text.Figure(code, p.Lang, units.Whole(d.TempNumber(q.Box, 1))), Class: "x-m x-b f-ink"}
		w := plot.Width(t.S, 15, true)
		x, y := c.x(q.Minute), c.y(num(d, q.Box))
		least := math.MaxInt
		for _, at := range [][2]float64{
			{x + 9, y - 12},
			{x + 9, y + 22},
			{x - 9 - w, y + 22},
			{x - 9 - w, y - 12},
			{x - w/2, y - 26},
			{x - w/2, y + 36},
		} {
			at[0] = math.Max(c.l+2, math.Min(c.w-c.r-w, at[0]))
			at[1] = math.Max(c.t+12, math.Min(c.h-c.b-4, at[1]))
			covered := 0
			for _, p := range taken {
				if p[0] > at[0]-6 && p[0] < at[0]+w+6 && p[1] > at[1]-17 && p[1] < at[1]+7 {
					covered++
				}
			}
			if covered < least {
				least, t.X, t.Y = covered, at[0], at[1]
			}
		}
		s.Add(plot.Rect{X: t.X - 2, Y: t.Y - 12, W: w + 4, H: 15, Style: plot.Style{Class: "f-sheet"}}, t)
		for dx := 0.0; dx <= w; dx += 4 {
			taken = append(taken, [2]float64{t.X + dx, t.Y - 5})
		}
	}
	if len(p.Second) > 0 {
		label(p.Points, "before_label")
		label(p.Second, "after_label")
	} else {
		label(p.Points, "now_label")
	}
	return s
}

// clip keeps the bands up to a minute and cuts the last one there.
func clip(bands []PullBand, end float64) []PullBand {
	var out []PullBand
	for i, b := range bands {
		if bad(float64(b.Low)) || bad(float64(b.Mid)) || bad(float64(b.High)) {
			continue
		}
		if b.Minute <= end {
			out = append(out, b)
			continue
		}
		if i > 0 && len(out) > 0 {
			a := out[len(out)-1]
			t := (end - a.Minute) / (b.Minute - a.Minute)
			mix := func(x, y units.Temp) units.Temp { return x + units.Temp(t)*(y-x) }
			out = append(out, PullBand{end, mix(a.Low, b.Low), mix(a.Mid, b.Mid), mix(a.High, b.High)})
		}
		break
	}
	return out
}

func (p PullDownData) describe() string {
	out := text.Figure("pull_desc", p.Lang)
	if n := len(p.Points); n > 0 {
		a, b := p.Points[0], p.Points[n-1]
		out += " " + text.Figure(
			"pull_from",
			p.Lang,
			p.Display.FormatTemp(a.Box, 1),
			minuteOf(a.Minute),
			p.Display.FormatTemp(b.Box, 1),
			minuteOf(b.Minute),
		)
	}
	if p.SetPoint != nil {
		out += " " + text.Figure("set_point", p.Lang, p.Display.FormatTemp(*p.SetPoint, 1))
	}
	return out
}

// Caption explains the drawing.
func (p PullDownData) Caption() string {
	parts := []string{text.Figure("dots_read", p.Lang)}
	if len(p.Second) > 0 {
		parts = []string{text.Figure("dots_before", p.Lang)}
	}
	if len(p.Healthy) > 0 {
		parts = append(parts, text.Figure("hatched_box", p.Lang))
	}
	if len(p.Forecast) > 0 {
		parts = append(parts, text.Figure("white_going", p.Lang))
	}
	return strings.Join(parts, " ")
}

// Table returns the readings.
func (p PullDownData) Table() Table {
	minute, unit := text.Figure("minute", p.Lang), TempUnit(p.Display)
	t := Table{Head: []string{minute, text.Figure("box_in", p.Lang, unit)}}
	if len(p.Second) > 0 {
		t.Head = []string{minute, text.Figure("before_in", p.Lang, unit), text.Figure("after_in", p.Lang, unit)}
	}
	for _, q := range p.Points {
		row := []string{minuteOf(q.Minute), p.Display.TempNumber(q.Box, 1)}
		if len(p.Second) > 0 {
			row = append(row, "")
		}
		t.Rows = append(t.Rows, row)
	}
	for _, q := range p.Second {
		t.Rows = append(t.Rows, []string{minuteOf(q.Minute), "", p.Display.TempNumber(q.Box, 1)})
	}
	return t
}

// minuteOf is a minute as it was noted, to the tenth: half a minute is no second minute 0.
func minuteOf(m float64) string { return units.Whole(units.Fixed(m, 1)) }
