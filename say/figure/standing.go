package figure

import (
	"math"
	"time"

	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
)

// HoldData is a standing-pressure test with temperature taken out.
type HoldData struct {
	ID      string // "" is "hold"
	Hold    *standing.Result
	Ambient units.Pressure
	Display units.Display
	Compact bool // lower, for paper
	Lang    text.Language
}

// clockScale turns minutes into what a time axis shows.
func clockScale(span float64, l text.Language) (k float64, name string) {
	switch {
	case span > 48*60:
		return 1.0 / (24 * 60), text.Figure("days", l)
	case span > 240:
		return 1.0 / 60, text.Figure("hours", l)
	}
	return 1, text.Figure("minutes", l)
}

// reach is the end of a time axis.
func reach(span float64) float64 {
	for _, v := range []float64{1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 45, 60, 90, 120, 180, 240, 360, 480, 720, 960} {
		if v >= span-1e-9 {
			return v
		}
	}
	return math.Ceil(span)
}

func (h HoldData) num(p units.Pressure) float64 {
	switch h.Display.PressureUnit() {
	case "bar(g)":
		return float64(p.Gauge(h.Ambient)) / units.Bar
	case "kPa(a)":
		return float64(p) / units.Kilo
	}
	return float64(p.Gauge(h.Ambient)) / units.Psi
}

// Hold draws the corrected pressure against time: dots read, the line through them dashed, white where it lies 9
// times in 10, a thin line where nothing is lost.
func Hold(h HoldData) plot.Scene {
	c := chart{w: ladderW, h: 250, l: 58, r: 14, t: 16, b: 42}
	if h.Compact {
		c.h = 190
	}
	s := plot.Scene{ID: h.ID, W: c.w, H: c.h, Title: text.Figure("hold", h.Lang), Desc: h.describe()}
	if s.ID == "" {
		s.ID = "hold"
	}
	r := h.Hold
	k, name := clockScale(r.Span, h.Lang)
	c.x1 = reach(k * r.Span)
	lo, hi := math.Inf(1), math.Inf(-1)
	see := func(p units.Pressure) { lo, hi = math.Min(lo, h.num(p)), math.Max(hi, h.num(p)) }
	for _, q := range r.Corrected {
		see(q.Pressure)
	}
	end := func(change float64) units.Pressure { return r.Start + units.Pressure(change) }
	for _, p := range []units.Pressure{r.Start, end(r.Low), end(r.High)} {
		see(p)
	}
	pad := math.Max(0.15*(hi-lo), 1e-4*math.Abs(hi))
	c.y0, c.y1 = lo-pad, hi+pad
	s.Add(c.axes(text.Figure("since_first", h.Lang, name), h.Display.PressureUnit())...)
	x1 := c.x(k * r.Span)
	at := func(p units.Pressure) float64 { return c.y(h.num(p)) }
	s.Add(
		plot.Path{
			D:     plot.Polyline([][2]float64{{c.x(0), at(r.Start)}, {x1, at(end(r.Low))}, {x1, at(end(r.High))}}, true),
			Style: plot.Style{Class: "f-sheet g-ink", Width: 1.2},
		},
		plot.Line{X1: c.l, Y1: at(r.Start), X2: c.w - c.r, Y2: at(r.Start), Style: plot.Style{Class: "g-frost", Width: 1.5}},
		plot.Line{
			X1:    c.x(0),
			Y1:    at(r.Start),
			X2:    x1,
			Y2:    at(end(r.Change.Value)),
			Style: plot.Style{Class: "g-ink", Width: 2.6, Dash: []float64{7, 5}},
		},
	)
	for _, q := range r.Corrected {
		s.Add(dot(c.x(k*q.Minute), at(q.Pressure), 4.5, "f-ink"))
	}
	return s
}

func (h HoldData) describe() string {
	r := h.Hold
	return text.Figure(
		"hold_desc",
		h.Lang,
		h.Display.FormatPressure(r.First, h.Ambient),
		text.PressureDiff(r.Change.Value, r.Change.U, h.Display),
		text.Span(r.Span, h.Lang),
	)
}

// Caption explains the drawing.
func (h HoldData) Caption() string {
	return text.Figure("hold_caption", h.Lang)
}

// Table returns the corrected readings.
func (h HoldData) Table() Table {
	t := Table{Head: []string{text.Figure("minute", h.Lang), text.Figure("corrected", h.Lang, h.Display.PressureUnit())}}
	for _, q := range h.Hold.Corrected {
		t.Rows = append(t.Rows, []string{units.Whole(units.Fixed(q.Minute, 1)), units.Fixed(h.num(q.Pressure), 2)})
	}
	return t
}

// RiseData is a vacuum rise test with its most likely curve.
type RiseData struct {
	ID      string // "" is "rise"
	Points  []vacuum.Point
	Rise    *vacuum.Result
	Curve   []vacuum.CurvePoint
	Display units.Display
	Compact bool // lower, for paper
	Lang    text.Language
}

func (r RiseData) num(p units.Pressure) float64 {
	if text.VacuumUnit(r.Display) == "Pa" {
		return float64(p)
	}
	return float64(p) / units.Micron
}

// RiseCurve draws the vacuum against minutes: dots read, the most likely curve as a line, its straight part alone
// dashed, shaded between them what levels off. A thin line with a flag is the most the criterion accepts.
func RiseCurve(r RiseData) plot.Scene {
	c := chart{w: ladderW, h: 280, l: 58, r: 40, t: 16, b: 42}
	if r.Compact {
		c.h = 200
	}
	s := plot.Scene{ID: r.ID, W: c.w, H: c.h, Title: text.Figure("rise", r.Lang), Desc: r.describe()}
	if s.ID == "" {
		s.ID = "rise"
	}
	first := 0.0
	if len(r.Points) > 0 {
		first = r.Points[0].Minute
	}
	// The curve goes on to the end of the horizon; it is drawn no farther than four times what was watched.
	end := math.Max(r.Rise.Span, math.Min(r.Rise.Horizon, 4*r.Rise.Span))
	k, name := clockScale(end, r.Lang)
	c.x1 = reach(k * end)
	top := 0.0
	for _, q := range r.Points {
		top = math.Max(top, r.num(q.Pressure))
	}
	var whole, straight [][2]float64
	var shown []vacuum.CurvePoint
	for _, q := range r.Curve {
		if k*q.Minute <= c.x1+1e-9 {
			shown = append(shown, q)
			top = math.Max(top, r.num(q.Whole))
		}
	}
	accept := r.num(units.Pressure(r.Rise.Profile.Accept * units.Micron))
	if accept < 2*top {
		top = math.Max(top, accept)
	}
	c.y1 = 1.12 * math.Max(top, 1)
	s.Add(c.axes(text.Figure("since_pump_off", r.Lang, name), text.VacuumUnit(r.Display, r.Lang))...)
	for _, q := range shown {
		whole = append(whole, [2]float64{c.x(k * q.Minute), c.y(r.num(q.Whole))})
		straight = append(straight, [2]float64{c.x(k * q.Minute), c.y(r.num(q.Leak))})
	}
	if len(whole) > 1 {
		area := append([][2]float64{}, whole...)
		for i := len(straight) - 1; i >= 0; i-- {
			area = append(area, straight[i])
		}
		s.Add(
			plot.Path{D: plot.Polyline(area, true), Style: plot.Style{Class: "f-inset"}},
			plot.Path{D: plot.Polyline(straight, false), Style: plot.Style{Class: "f-none g-ink", Width: 2, Dash: []float64{7, 5}}},
			plot.Path{D: plot.Polyline(whole, false), Round: true, Style: plot.Style{Class: "f-none g-ink", Width: 2.6}},
		)
	}
	if accept <= c.y1 {
		y := c.y(accept)
		s.Add(
			plot.Line{X1: c.l, Y1: y, X2: c.w - c.r, Y2: y, Style: plot.Style{Class: "g-ink", Width: 1.5}},
			plot.Path{D: plot.D("M%.2f %.2fl9 -6v12z", c.w-c.r, y), Style: plot.Style{Class: "f-ink"}},
			plot.Text{X: c.w - c.r + 4, Y: y - 9, S: text.Figure("most", r.Lang), Class: "x-s f-ink2"},
		)
	}
	for _, q := range r.Points {
		s.Add(dot(c.x(k*(q.Minute-first)), c.y(r.num(q.Pressure)), 4.5, "f-ink"))
	}
	return s
}

func (r RiseData) describe() string {
	return text.Figure(
		"rise_desc",
		r.Lang,
		text.Vacuum(r.Rise.First, r.Display, r.Lang),
		text.Vacuum(r.Rise.Last, r.Display, r.Lang),
		text.Span(r.Rise.Span, r.Lang),
	)
}

// Caption explains the drawing.
func (r RiseData) Caption() string {
	if len(r.Curve) == 0 {
		return text.Figure("dots_read", r.Lang)
	}
	return text.Figure("rise_caption", r.Lang)
}

// Table returns the readings.
func (r RiseData) Table() Table {
	t := Table{Head: []string{text.Figure("minute", r.Lang), text.Figure("vacuum_in", r.Lang, text.VacuumUnit(r.Display, r.Lang))}}
	for _, q := range r.Points {
		t.Rows = append(t.Rows, []string{units.Whole(units.Fixed(q.Minute, 1)), text.VacuumNumber(q.Pressure, r.Display)})
	}
	return t
}

// ColdData is a logger's record against its limit.
type ColdData struct {
	ID      string // "" is "record"
	Record  *templog.Record
	Display units.Display
	Compact bool // lower, for paper
	Lang    text.Language
}

// ColdTrace draws a record: the temperature as a line, as wide as it swung, shaded where it stood above the limit;
// the limit is a thin line with a flag.
func ColdTrace(r ColdData) plot.Scene {
	d, rec := r.Display, r.Record
	c := chart{w: ladderW, h: 260, l: 40, r: 44, t: 16, b: 42}
	if r.Compact {
		c.h = 190
	}
	s := plot.Scene{ID: r.ID, W: c.w, H: c.h, Title: text.Figure("cold", r.Lang), Desc: r.describe()}
	if s.ID == "" {
		s.ID = "record"
	}
	span := rec.Last.Sub(rec.First).Minutes()
	k, name := clockScale(span, r.Lang)
	c.x1 = math.Max(k*span, 1e-3)
	limit := num(d, rec.Limit)
	lo, hi := math.Min(num(d, rec.Min), limit), math.Max(num(d, rec.Max), limit)
	pad := math.Max(0.08*(hi-lo), 0.5)
	c.y0, c.y1 = lo-pad, hi+pad
	at := func(t time.Time) float64 {
		return c.x(k * math.Min(span, math.Max(0, t.Sub(rec.First).Minutes())))
	}
	for _, e := range rec.Excursions {
		if e.Defrost || e.Start.Before.IsZero() {
			continue
		}
		end := rec.Last
		if !e.End.Before.IsZero() {
			end = e.End.Before
		}
		s.Add(
			plot.Rect{
				X:     at(e.Start.Before),
				Y:     c.t,
				W:     math.Max(1, at(end)-at(e.Start.Before)),
				H:     c.h - c.b - c.t,
				Style: plot.Style{Class: "f-emberw"},
			},
		)
	}
	s.Add(c.axes(text.Figure("since_first", r.Lang, name), TempUnit(d))...)
	var up, down [][2]float64
	flush := func() {
		if len(up) > 0 {
			area := append([][2]float64{}, up...)
			for i := len(down) - 1; i >= 0; i-- {
				area = append(area, down[i])
			}
			s.Add(plot.Path{D: plot.Polyline(area, true), Round: true, Style: plot.Style{Class: "f-ink g-ink", Width: 1.8}})
		}
		up, down = nil, nil
	}
	for _, x := range rec.Trace {
		if x.Gap {
			flush()
		}
		up, down = append(up, [2]float64{at(x.At), c.y(num(d, x.High))}), append(down, [2]float64{at(x.At), c.y(num(d, x.Low))})
	}
	flush()
	y := c.y(limit)
	s.Add(
		plot.Line{X1: c.l, Y1: y, X2: c.w - c.r, Y2: y, Style: plot.Style{Class: "g-ink", Width: 1.5}},
		plot.Path{D: plot.D("M%.2f %.2fl9 -6v12z", c.w-c.r, y), Style: plot.Style{Class: "f-ink"}},
		plot.Text{X: c.w - c.r + 12, Y: y + 5, S: units.Whole(d.TempNumber(rec.Limit, 1)), Class: "x-m x-b f-ink"},
	)
	return s
}

func (r ColdData) describe() string {
	return text.Figure(
		"cold_desc",
		r.Lang,
		text.ColdVerdict(r.Record, r.Display, r.Lang),
		r.Display.FormatTemp(r.Record.Min, 1),
		r.Display.FormatTemp(r.Record.Max, 1),
	)
}

// Caption explains the drawing.
func (r ColdData) Caption() string {
	return text.Figure("cold_caption", r.Lang)
}
