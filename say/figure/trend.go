package figure

import (
	"math"
	"time"

	"coldwright/diagnose"
	"coldwright/machine/circuit"
	"coldwright/machine/reading"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
)

// TrendPoint is a derived quantity of one end of a visit, K or a ratio, with the band in which it would stand if healthy; nil: not known.
type TrendPoint struct {
	Value float64
	Band  *diagnose.Band
}

// TrendEnd is one end of a visit: quantities by their keys in [circuit], and the sight glass.
type TrendEnd struct {
	Points map[string]TrendPoint
	Glass  reading.Glass
}

// TrendVisit is a visit of a machine. Repaired says that something was mended.
type TrendVisit struct {
	At            time.Time // in the zone of the site
	Before, After TrendEnd
	In, Out       units.Mass
	Repaired      bool
}

// TrendData is a machine from visit to visit, the oldest first.
type TrendData struct {
	ID      string // "" is "trend"
	Visits  []TrendVisit
	Display units.Display
}

// TrendEndFrom takes what a judgement derived with its bands; p is nil when nothing was judged.
func TrendEndFrom(p *diagnose.Posterior, g reading.Glass) TrendEnd {
	out := TrendEnd{Points: map[string]TrendPoint{}, Glass: g}
	if p == nil {
		return out
	}
	for _, key := range trendKeys {
		q, ok := p.Analysis.Find(key)
		if !ok || bad(q.Value) {
			continue
		}
		x := TrendPoint{Value: q.Value}
		for _, b := range p.Derived {
			if b.Key == key && !bad(b.Band.Low) && !bad(b.Band.High) {
				x.Band = &b.Band
			}
		}
		out.Points[key] = x
	}
	return out
}

// trendKeys are the quantities drawn, from the coil to the compressor.
var trendKeys = []string{circuit.Superheat, circuit.TD, circuit.Subcooling, circuit.Split, circuit.CompressionRatio}

// ends lists both ends of a visit, the one before the repair first.
func (v TrendVisit) ends() [2]TrendEnd { return [2]TrendEnd{v.Before, v.After} }

// number is a quantity as shown: a difference in degrees, a ratio as it is.
func (t TrendData) number(key string, v float64) float64 {
	if key != circuit.CompressionRatio && !celsius(t.Display) {
		return units.TempDiff(v).F()
	}
	return v
}

func (t TrendData) decimals(key string) int {
	if key == circuit.CompressionRatio {
		return 1
	}
	return 0
}

func (t TrendData) name(key string) string {
	if key == circuit.CompressionRatio {
		return text.Derived(key)
	}
	return text.Derived(key) + ", " + t.Display.DiffUnit()
}

// verdict says where a point stands; outside by less than what is shown counts as in.
func (t TrendData) verdict(key string, p TrendPoint) string {
	if p.Band == nil {
		return In
	}
	show := func(v float64) string { return units.Fixed(t.number(key, v), t.decimals(key)) }
	switch {
	case p.Value < p.Band.Low && show(p.Value) != show(p.Band.Low):
		return Under
	case p.Value > p.Band.High && show(p.Value) != show(p.Band.High):
		return Over
	}
	return In
}

// shown lists the quantities that were read at some visit.
func (t TrendData) shown() (keys []string, glass, moved bool) {
	for _, key := range trendKeys {
		for _, v := range t.Visits {
			_, a := v.Before.Points[key]
			_, b := v.After.Points[key]
			if a || b {
				keys = append(keys, key)
				break
			}
		}
	}
	for _, v := range t.Visits {
		glass = glass || v.Before.Glass != reading.GlassUnknown || v.After.Glass != reading.GlassUnknown
		moved = moved || v.In > 0 || v.Out > 0
	}
	return keys, glass, moved
}

// Empty reports whether there is nothing to draw.
func (t TrendData) Empty() bool {
	keys, glass, moved := t.shown()
	return len(keys) == 0 && !glass && !moved
}

const (
	trendLeft, trendRight = 74.0, 10.0
	trendTop              = 34.0 // the lane of the marks
	trendPanel, trendHead = 92.0, 24.0
	trendStep             = 5.0 // of before and after from the middle of their visit
	trendLane             = 22.0
)

// Trend draws small charts one above the other over the same visits: as found a dot, left again a square, the healthy
// band hatched; outside of it a triangle. On top stand the marks of repairs and of refrigerant put in.
func Trend(t TrendData) plot.Scene {
	s := plot.Scene{ID: t.ID, W: ladderW, Title: "From visit to visit", Desc: t.describe()}
	if s.ID == "" {
		s.ID = "trend"
	}
	x := t.places()
	keys, glass, moved := t.shown()
	var names []string
	for _, k := range keys {
		names = append(names, t.name(k))
	}
	if glass {
		names = append(names, "Sight glass")
	}
	if moved {
		names = append(names, "Refrigerant, "+massUnitOf(t.Display))
	}
	foot := trendTop + trendPanel*float64(len(names))
	s.H = foot + 46
	// Lines of the marks go behind all charts.
	for i, v := range t.Visits {
		if v.Repaired {
			s.Add(
				plot.Line{
					X1:    x[i],
					Y1:    trendTop - 6,
					X2:    x[i],
					Y2:    foot,
					Style: plot.Style{Class: "g-rule", Width: 1.2, Dash: []float64{5, 4}},
				},
			)
		} else if v.In > 0 {
			s.Add(plot.Line{X1: x[i], Y1: trendTop - 6, X2: x[i], Y2: foot, Style: plot.Style{Class: "g-hair", Width: 1.2}})
		}
	}
	for i, name := range names {
		top := trendTop + trendPanel*float64(i)
		s.Add(plot.Text{X: 0, Y: top + 15, S: fit(name, 14.5, true, ladderW), Class: "x-s x-b f-ink"})
		c := chart{w: ladderW, l: trendLeft, r: trendRight, t: top + trendHead, b: 0}
		c.h = top + trendPanel - 8
		switch {
		case i < len(keys):
			t.panel(&s, c, keys[i], x)
		case glass && i == len(keys):
			t.glass(&s, c, x)
		default:
			t.moved(&s, c, x)
		}
		s.Add(plot.Line{X1: trendLeft, Y1: c.h, X2: ladderW - trendRight, Y2: c.h, Style: plot.Style{Class: "g-rule", Width: 1}})
	}
	for i, v := range t.Visits {
		at := x[i]
		if v.Repaired {
			s.Add(plot.Path{D: plot.D("M%.3f %.3fl7 8l-7 8l-7 -8z", at, trendTop-24), Style: plot.Style{Class: "f-ink"}})
			at += 14
		}
		if v.In > 0 {
			s.Add(
				plot.Path{
					D:     plot.D("M%.3f %.3fh12M%.3f %.3fv12", at-6, trendTop-16, at, trendTop-22),
					Style: plot.Style{Class: "f-none g-ink", Width: 3},
				},
			)
		}
	}
	// Dates where they do not stand on each other; the last one always.
	const wide = 56.0
	last := -wide
	for i, v := range t.Visits {
		if n := len(t.Visits) - 1; i < n && (x[i]-last < wide || x[n]-x[i] < wide) {
			continue
		}
		last = x[i]
		at := math.Min(x[i], ladderW-28)
		s.Add(
			plot.Text{X: at, Y: foot + 15, S: v.At.Format("2 Jan"), Class: "x-s x-c f-ink2"},
			plot.Text{X: at, Y: foot + 32, S: v.At.Format("2006"), Class: "x-s x-c f-ink2"},
		)
	}
	return s
}

// places spreads the visits over the width by their dates, those close together as far apart as their marks are wide.
func (t TrendData) places() []float64 {
	lo, hi := trendLeft, ladderW-trendRight
	n := len(t.Visits)
	if n == 0 {
		return nil
	}
	first, span := t.Visits[0].At, t.Visits[n-1].At.Sub(t.Visits[0].At).Hours()
	want, width := make([]float64, n), make([]float64, n)
	for i, v := range t.Visits {
		want[i], width[i] = (lo+hi)/2, trendLane
		if span > 0 {
			want[i] = lo + (hi-lo)*v.At.Sub(first).Hours()/span
		}
	}
	return plot.Spread(want, width, 0, lo, hi)
}

func (t TrendData) panel(s *plot.Scene, c chart, key string, x []float64) {
	lo, hi := math.Inf(1), math.Inf(-1)
	see := func(v float64) { lo, hi = math.Min(lo, t.number(key, v)), math.Max(hi, t.number(key, v)) }
	for _, v := range t.Visits {
		for _, e := range v.ends() {
			if p, ok := e.Points[key]; ok {
				see(p.Value)
				if p.Band != nil {
					see(p.Band.Low)
					see(p.Band.High)
				}
			}
		}
	}
	pad := math.Max(0.14*(hi-lo), 0.5)
	c.y0, c.y1 = lo-pad, hi+pad
	s.Add(c.rules(4)...)
	for i, v := range t.Visits {
		for k, e := range v.ends() {
			p, ok := e.Points[key]
			if !ok || p.Band == nil {
				continue
			}
			at, y0, y1 := x[i]+trendStep*float64(2*k-1), c.y(t.number(key, p.Band.High)), c.y(t.number(key, p.Band.Low))
			s.Add(
				plot.Rect{
					X:     at - trendStep,
					Y:     y0,
					W:     2 * trendStep,
					H:     math.Max(1, y1-y0),
					Style: plot.Style{Class: "g-frost", Width: 1, Hatch: plot.Healthy},
				},
			)
		}
	}
	for i, v := range t.Visits {
		for k, e := range v.ends() {
			if p, ok := e.Points[key]; ok {
				s.Add(trendMark(x[i]+trendStep*float64(2*k-1), c.y(t.number(key, p.Value)), k == 1, t.verdict(key, p)))
			}
		}
	}
}

// trendMark is full as found and hollow as left; round or square inside the band, a triangle outside of it.
func trendMark(x, y float64, after bool, verdict string) plot.Item {
	switch {
	case verdict != In && after:
		p := triangle(x, y, 6, verdict).(plot.Path)
		p.Style = plot.Style{Class: "f-sheet g-ember", Width: 2}
		return p
	case verdict != In:
		return triangle(x, y, 7, verdict)
	case after:
		return plot.Rect{X: x - 3.5, Y: y - 3.5, W: 7, H: 7, Style: plot.Style{Class: "f-sheet g-ink", Width: 2}}
	}
	return dot(x, y, 4.2, "f-ink")
}

func (t TrendData) glass(s *plot.Scene, c chart, x []float64) {
	c.y0, c.y1 = 0, 4
	row := map[reading.Glass]float64{reading.Empty: 0.6, reading.Bubbling: 2, reading.Clear: 3.4}
	for _, g := range []reading.Glass{reading.Empty, reading.Bubbling, reading.Clear} {
		s.Add(
			plot.Line{X1: c.l, Y1: c.y(row[g]), X2: c.w - c.r, Y2: c.y(row[g]), Style: plot.Style{Class: "g-hair", Width: 1}},
			plot.Text{X: c.l - 6, Y: c.y(row[g]) + 5, S: g.String(), Class: "x-s x-e f-ink2"},
		)
	}
	for i, v := range t.Visits {
		for k, e := range v.ends() {
			if e.Glass == reading.GlassUnknown {
				continue
			}
			verdict := Under
			if e.Glass == reading.Clear {
				verdict = In
			}
			s.Add(trendMark(x[i]+trendStep*float64(2*k-1), c.y(row[e.Glass]), k == 1, verdict))
		}
	}
}

// massUnitOf is the one unit of an axis of masses.
func massUnitOf(d units.Display) string {
	if d.Mass == "kg" {
		return "kg"
	}
	return "lb"
}

func (t TrendData) moved(s *plot.Scene, c chart, x []float64) {
	number := func(m units.Mass) float64 {
		if massUnitOf(t.Display) == "kg" {
			return float64(m)
		}
		return float64(m) / units.Pound
	}
	lo, hi := 0.0, 0.0
	for _, v := range t.Visits {
		lo, hi = math.Min(lo, -number(v.Out)), math.Max(hi, number(v.In))
	}
	pad := 0.08 * (hi - lo)
	c.y0, c.y1 = lo-pad, hi+pad
	s.Add(c.rules(4)...)
	s.Add(plot.Line{X1: c.l, Y1: c.y(0), X2: c.w - c.r, Y2: c.y(0), Style: plot.Style{Class: "g-ink", Width: 1.5}})
	for i, v := range t.Visits {
		if in := number(v.In); in > 0 {
			s.Add(plot.Rect{X: x[i] - 5, Y: c.y(in), W: 10, H: c.y(0) - c.y(in), Style: plot.Style{Class: "f-ink"}})
		}
		if out := number(v.Out); out > 0 {
			s.Add(plot.Rect{X: x[i] - 5, Y: c.y(0), W: 10, H: c.y(-out) - c.y(0), Style: plot.Style{Class: "f-sheet g-ink", Width: 2}})
		}
	}
}

func (t TrendData) describe() string {
	n := len(t.Visits)
	if n == 0 {
		return "No visit."
	}
	out := 0
	for _, v := range t.Visits {
		for _, e := range v.ends() {
			for _, key := range trendKeys {
				if p, ok := e.Points[key]; ok && t.verdict(key, p) != In {
					out++
				}
			}
		}
	}
	return "Visits from " + t.Visits[0].At.Format("2 January 2006") + " to " + t.Visits[n-1].At.Format("2 January 2006") + ": " + units.Fixed(
		float64(n),
		0,
	) + ". Values outside their band: " + units.Fixed(float64(out), 0) + "."
}

// Caption explains the drawing.
func (t TrendData) Caption() string {
	return "Full: as found. Hollow: as left after the repair. Hatched: where this machine stands when healthy, at that day's box and " +
		"outside air; a triangle stands outside of it. " +
		"Diamond and dashed line: repaired. Plus: refrigerant put in; bars down: taken out. Visits close together are drawn a little apart."
}

// Table returns the numbers: a row for each end at which something was read, the band in brackets.
func (t TrendData) Table() Table {
	keys, glass, moved := t.shown()
	out := Table{Head: []string{"Visit"}}
	for _, k := range keys {
		out.Head = append(out.Head, t.name(k))
	}
	if glass {
		out.Head = append(out.Head, "Sight glass")
	}
	if moved {
		out.Head = append(out.Head, "In", "Out")
	}
	for _, v := range t.Visits {
		for k, e := range v.ends() {
			if k == 1 && len(e.Points) == 0 && e.Glass == reading.GlassUnknown {
				continue
			}
			row := []string{v.At.Format("2 Jan 2006")}
			if k == 1 {
				row[0] += ", left"
			} else if v.Repaired {
				row[0] += ", repaired"
			}
			for _, key := range keys {
				row = append(row, t.cell(key, e))
			}
			if glass {
				row = append(row, e.Glass.String())
			}
			if moved {
				in, gone := "", ""
				if k == 0 && v.In > 0 {
					in = t.Display.FormatMass(v.In)
				}
				if k == 0 && v.Out > 0 {
					gone = t.Display.FormatMass(v.Out)
				}
				row = append(row, in, gone)
			}
			out.Rows = append(out.Rows, row)
		}
	}
	return out
}

func (t TrendData) cell(key string, e TrendEnd) string {
	p, ok := e.Points[key]
	if !ok {
		return ""
	}
	show := func(v float64) string { return units.Fixed(t.number(key, v), t.decimals(key)) }
	s := show(p.Value)
	if p.Band != nil {
		s += " (" + show(p.Band.Low) + " to " + show(p.Band.High) + ")"
	}
	if v := t.verdict(key, p); v != In {
		s += ", " + v
	}
	return s
}
