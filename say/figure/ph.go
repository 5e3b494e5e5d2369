package figure

import (
	"math"
	"slices"
	"strings"

	"coldwright/machine/circuit"
	"coldwright/refrigerant"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
)

// PHBand is the healthy cycle: the reach of each pressure, Pa, and each enthalpy, J/kg, over 5 to 95 % of healthy visits.
type PHBand struct {
	Low, High    [2]float64 // pressure of the coil and of the head
	Liquid       [2]float64 // enthalpy of the liquid
	CompressorIn [2]float64
	Discharge    [2]float64
	Rows         map[circuit.Corner]PHRow
	Design       bool // only the design stands behind it
}

// PHRow is the reach of one state.
type PHRow struct{ P, T, H [2]float64 }

// PHData is what the pressure–enthalpy diagram shows. Chart holds the curves of the refrigerant.
type PHData struct {
	ID      string // "" is "ph"
	Chart   *refrigerant.Chart
	Cycle   circuit.Cycle
	Healthy *PHBand
	Display units.Display
	Ambient units.Pressure // atmospheric pressure at the site, for gauge readings
	Lang    text.Language  // "" is English
	Compact bool           // lower, for paper
}

const (
	phH, phCompactH = 452.0, 290.0
	phLeft, phRight = 42.0, 8.0
	phTop, phFoot   = 28.0, 44.0
)

// PHLines are the isotherms of a chart that reads well in the units a person chose: every 20 °C, or every 40 °F.
func PHLines(d units.Display) refrigerant.ChartOptions {
	if celsius(d) {
		return refrigerant.ChartOptions{First: units.ZeroC, Step: 20}
	}
	return refrigerant.ChartOptions{First: float64(units.Fahrenheit(0)), Step: float64(units.FahrenheitDiff(40))}
}

// Known reports whether there is anything to draw: a curve and a pressure that was read.
func (p PHData) Known() bool {
	return p.Chart != nil && (p.Cycle.Coil != nil || p.Cycle.Head != nil || p.Cycle.Suction != nil)
}

// plane is the window of the diagram: enthalpy across, logarithm of absolute pressure up.
type plane struct {
	l, r, t, b     float64
	h0, h1, p0, p1 float64
}

func (c plane) x(h float64) float64 { return c.l + (h-c.h0)/(c.h1-c.h0)*(c.r-c.l) }
func (c plane) y(p float64) float64 { return c.t + math.Log(c.p1/p)/math.Log(c.p1/c.p0)*(c.b-c.t) }

func (c plane) at(h, p float64) [2]float64 { return [2]float64{c.x(h), c.y(p)} }

// window chooses the part of the plane that holds the cycle and the top of the dome.
func (p PHData) window() plane {
	c := plane{l: phLeft, r: ladderW - phRight, t: phTop, b: phH - phFoot, p1: p.Chart.PMax, p0: math.Inf(1)}
	if p.Compact {
		c.b = phCompactH - phFoot
	}
	for _, l := range p.levels() {
		c.p0 = math.Min(c.p0, l.P)
	}
	if p.Healthy != nil {
		c.p0 = math.Min(c.p0, p.Healthy.Low[0])
	}
	// Room below the cycle for words.
	room := 0.35
	if p.Compact {
		room = 0.25
	}
	c.p0 = math.Min(room*c.p0, 0.04*c.p1)
	c.p1 = math.Max(c.p1, 1.04*p.Chart.Critical.P)
	left, _, ok := p.Chart.At(p.Chart.Bubble, c.p0)
	if !ok {
		left = p.Chart.Bubble[0].H
	}
	right := 0.0
	for _, q := range p.Chart.Dew {
		right = math.Max(right, q.H)
	}
	width := right - left
	right += 0.12 * width
	for _, l := range p.levels() {
		left = math.Min(left, l.HBubble)
	}
	for _, s := range p.Cycle.States {
		left, right = math.Min(left, s.H), math.Max(right, s.H+0.06*width)
	}
	if b := p.Healthy; b != nil {
		left, right = math.Min(left, b.Liquid[0]), math.Max(right, b.Discharge[1]+0.04*width)
	}
	c.h0, c.h1 = left-0.03*(right-left), right
	return c
}

// inside cuts a line of points at the edges of the window; what is left may be several pieces.
func (c plane) inside(points [][2]float64) [][][2]float64 {
	var out [][][2]float64
	var now [][2]float64
	flush := func() {
		if len(now) > 1 {
			out = append(out, now)
		}
		now = nil
	}
	for i := 1; i < len(points); i++ {
		a, b := points[i-1], points[i]
		t0, t1 := 0.0, 1.0
		for _, e := range [4][2]float64{{a[0] - c.l, b[0] - c.l}, {c.r - a[0], c.r - b[0]}, {a[1] - c.t, b[1] - c.t}, {c.b - a[1], c.b - b[1]}} {
			switch {
			case e[0] < 0 && e[1] < 0:
				t0, t1 = 1, 0
			case e[0] < 0:
				t0 = math.Max(t0, e[0]/(e[0]-e[1]))
			case e[1] < 0:
				t1 = math.Min(t1, e[0]/(e[0]-e[1]))
			}
		}
		if t0 >= t1 {
			flush()
			continue
		}
		mix := func(t float64) [2]float64 { return [2]float64{a[0] + t*(b[0]-a[0]), a[1] + t*(b[1]-a[1])} }
		if t0 > 0 || len(now) == 0 {
			flush()
			now = append(now, mix(t0))
		}
		now = append(now, mix(t1))
		if t1 < 1 {
			flush()
		}
	}
	flush()
	return out
}

// thin drops points that lie on the line through their neighbours to a fifth of a unit: Douglas and Peucker (1973),
// Cartographica 10:112-122.
func thin(points [][2]float64) [][2]float64 {
	if len(points) < 3 {
		return points
	}
	a, b := points[0], points[len(points)-1]
	dx, dy := b[0]-a[0], b[1]-a[1]
	length, far, worst := math.Hypot(dx, dy), 0, 0.2
	for i := 1; i < len(points)-1; i++ {
		d := math.Hypot(points[i][0]-a[0], points[i][1]-a[1])
		if length > 0 {
			d = math.Abs((points[i][0]-a[0])*dy-(points[i][1]-a[1])*dx) / length
		}
		if d > worst {
			far, worst = i, d
		}
	}
	if far == 0 {
		return [][2]float64{a, b}
	}
	return append(slices.Clone(thin(points[:far+1])), thin(points[far:])[1:]...)
}

// curve draws states as a line inside the window.
func (c plane) curve(points []refrigerant.ChartPoint, st plot.Style) []plot.Item {
	var xy [][2]float64
	for _, q := range points {
		xy = append(xy, c.at(q.H, q.P))
	}
	return c.line(xy, st)
}

func (c plane) line(xy [][2]float64, st plot.Style) []plot.Item {
	st.Class = "f-none " + st.Class
	var out []plot.Item
	for _, piece := range c.inside(xy) {
		out = append(out, plot.Path{D: plot.Polyline(thin(piece), false), Round: len(st.Dash) == 0, Style: st})
	}
	return out
}

// pressures are the labels a pressure axis may have, in the unit shown; the first ones are set first and keep their place.
var pressures = map[string][]float64{
	"psig":   {0, 100, 10, 500, 200, 50, 20, 300, 1000, 400, 600, 150, 800, 1500, 30, -10},
	"bar(g)": {0, 10, 1, 5, 20, 2, 50, 30, 100, 3, 7, 15, 40, 70, 0.5, -0.5, -0.7},
	"kPa(a)": {100, 1000, 500, 200, 2000, 5000, 10000, 50, 20, 300, 3000, 700, 7000, 1500, 150, 10, 30, 70},
}

// absolute is a pressure of the axis in Pa: gauge values stand on the absolute scale where the air of the site puts them.
func (p PHData) absolute(v float64) float64 {
	switch p.Display.PressureUnit() {
	case "bar(g)":
		return float64(units.Gauge(v * units.Bar).Absolute(p.Ambient))
	case "kPa(a)":
		return v * units.Kilo
	}
	return float64(units.Psig(v).Absolute(p.Ambient))
}

// zero is the enthalpy, J/kg, from which the display counts.
func (p PHData) zero() float64 {
	if celsius(p.Display) || bad(p.Chart.ZeroASHRAE) {
		return 0
	}
	return p.Chart.ZeroASHRAE
}

func (p PHData) enthalpy(h float64) string { return p.Display.EnthalpyNumber(h-p.zero(), 0) }

func (p PHData) axes(c plane, w text.DiagramWords) []plot.Item {
	ink := plot.Style{Class: "g-ink", Width: 1.5}
	out := []plot.Item{
		plot.Line{X1: c.l, Y1: c.t, X2: c.l, Y2: c.b, Style: ink}, plot.Line{X1: c.l, Y1: c.b, X2: c.r, Y2: c.b, Style: ink},
	}
	var used []float64
	for _, v := range pressures[p.Display.PressureUnit()] {
		abs := p.absolute(v)
		if abs < c.p0 || abs > c.p1 {
			continue
		}
		y := c.y(abs)
		if y < c.t+4 || slices.ContainsFunc(used, func(u float64) bool { return math.Abs(u-y) < 24 }) {
			continue
		}
		used = append(used, y)
		dec := 0
		if v != math.Trunc(v) {
			dec = 1
		}
		out = append(
			out,
			plot.Line{X1: c.l - 5, Y1: y, X2: c.l, Y2: y, Style: ink},
			plot.Text{X: c.l - 8, Y: y + 5, S: units.Fixed(v, dec), Class: "x-s x-e f-ink2"},
		)
	}
	per := units.BtuPerLb
	if celsius(p.Display) {
		per = units.Kilo
	}
	first, step := ticks((c.h0-p.zero())/per, (c.h1-p.zero())/per, 6)
	for v := first; p.zero()+v*per <= c.h1; v += step {
		x := c.x(p.zero() + v*per)
		if x < c.l+6 {
			continue
		}
		out = append(
			out,
			plot.Line{X1: x, Y1: c.b, X2: x, Y2: c.b + 5, Style: ink},
			plot.Text{X: x, Y: c.b + 19, S: units.Fixed(v, 0), Class: "x-s x-c f-ink2"},
		)
	}
	return append(
		out,
		plot.Text{X: 0, Y: phTop - 10, S: p.Display.PressureUnit(), Class: "x-s f-ink2"},
		plot.Text{X: c.r, Y: c.b + 38, S: w.Enthalpy + ", " + p.Display.EnthalpyUnit(), Class: "x-s x-e f-ink2"},
	)
}

// PH draws the pressure–enthalpy diagram: the dome of the refrigerant, what was read as a solid cycle, the healthy one hatched.
func PH(p PHData) plot.Scene {
	w := text.Diagram(p.Lang)
	s := plot.Scene{ID: p.ID, W: ladderW, H: phH, Title: w.Title, Desc: p.describe(w)}
	if s.ID == "" {
		s.ID = "ph"
	}
	if p.Compact {
		s.H = phCompactH
	}
	if !p.Known() {
		return s
	}
	c := p.window()
	board := &board{c: c}

	thinLine := plot.Style{Class: "g-hair", Width: 1.2}
	dotted := plot.Style{Class: "g-rule", Width: 1.1, Dash: []float64{1.2, 4}}
	for _, iso := range p.Chart.Isotherms {
		s.Add(c.curve(iso.Points, thinLine)...)
	}
	for _, line := range p.Chart.Isentropes {
		s.Add(c.curve(line.Points, dotted)...)
	}
	s.Add(p.isothermLabels(c, board)...)
	if p.Healthy != nil {
		outer, inner := p.Healthy.courses(c)
		s.Add(p.Healthy.ring(outer, inner))
		board.soft = append(append(board.soft, along(outer)...), along(inner)...)
	}
	dome := plot.Style{Class: "g-ink", Width: 1.6}
	outline := append(slices.Clone(p.Chart.Bubble), reversed(p.Chart.Dew)...)
	s.Add(c.curve(outline, dome)...)
	for _, q := range outline {
		board.soft = append(board.soft, c.at(q.H, q.P))
	}
	s.Add(p.axes(c, w)...)

	// The cycle: levels of the gauges thin across the dome, what is known of the way thick over them.
	thick := plot.Style{Class: "g-ink", Width: 3.2}
	levels := p.levels()
	for _, l := range levels {
		s.Add(c.line([][2]float64{c.at(l.HBubble, l.P), c.at(l.HDew, l.P)}, plot.Style{Class: "g-ink", Width: 1.2})...)
	}
	for _, way := range p.ways() {
		xy := [][2]float64{c.at(way[0].H, way[0].P), c.at(way[1].H, way[1].P)}
		s.Add(c.line(xy, thick)...)
		board.way = append(board.way, along(xy)...)
	}
	for _, l := range levels {
		// Where the trade counts from: dew on the low side, bubble on the high side.
		h := l.HDew
		if l.high {
			h = l.HBubble
		}
		board.dots = append(board.dots, c.at(h, l.P))
		s.Add(plot.Circle{X: c.x(h), Y: c.y(l.P), R: 3.6, Style: plot.Style{Class: "f-sheet g-ink", Width: 1.6}})
	}
	for _, q := range p.Cycle.States {
		s.Add(dot(c.x(q.H), c.y(q.P), 5, "f-ink"))
		board.dots = append(board.dots, c.at(q.H, q.P))
	}
	s.Add(p.labels(c, board, w)...)
	return s
}

func reversed(points []refrigerant.ChartPoint) []refrigerant.ChartPoint {
	out := slices.Clone(points)
	slices.Reverse(out)
	return out
}

// level is a pressure of the drawing.
type level struct {
	*circuit.Level
	high bool
}

func (p PHData) levels() []level {
	var out []level
	if l := p.Cycle.Coil; l != nil {
		out = append(out, level{l, false})
	}
	if l := p.Cycle.Suction; l != nil && l != p.Cycle.Coil {
		out = append(out, level{l, false})
	}
	if l := p.Cycle.Head; l != nil {
		out = append(out, level{l, true})
	}
	return out
}

// ways are the parts of the cycle that are known, each from one state to the next. Where a line was not read, a part ends at saturation.
func (p PHData) ways() [][2]circuit.State {
	get := func(at circuit.Corner) (circuit.State, bool) { return p.Cycle.Find(at) }
	in, okIn := get(circuit.CoilIn)
	out, okOut := get(circuit.CoilOut)
	suction, okSuction := get(circuit.CompressorIn)
	discharge, okDischarge := get(circuit.CompressorOut)
	liquid, okLiquid := get(circuit.LiquidOut)
	var ways [][2]circuit.State
	if okLiquid && okIn {
		from := liquid
		if in.H != liquid.H { // an exchanger cools the liquid before it expands
			from = circuit.State{P: liquid.P, H: in.H}
			ways = append(ways, [2]circuit.State{liquid, from})
		}
		ways = append(ways, [2]circuit.State{from, in})
	}
	if l := p.Cycle.Coil; l != nil {
		dew := circuit.State{P: l.P, H: l.HDew}
		from, to := dew, dew
		if okIn {
			from = in
		}
		switch {
		case okOut:
			to = out
		case okSuction:
			to = suction
			ways = append(ways, [2]circuit.State{dew, suction})
			to = dew
		}
		if from.H != to.H {
			ways = append(ways, [2]circuit.State{from, to})
		}
	}
	if okOut && okSuction {
		ways = append(ways, [2]circuit.State{out, suction})
	}
	if okSuction && okDischarge {
		ways = append(ways, [2]circuit.State{suction, discharge})
	}
	if l := p.Cycle.Head; l != nil && (okDischarge || okLiquid) {
		from, to := circuit.State{P: l.P, H: l.HDew}, circuit.State{P: l.P, H: l.HBubble}
		if okDischarge {
			from = discharge
		}
		if okLiquid {
			to = liquid
		}
		ways = append(ways, [2]circuit.State{from, to})
	}
	return ways
}

// courses are the widest and the narrowest way round of a healthy machine, closed.
func (b *PHBand) courses(c plane) (outer, inner [][2]float64) {
	course := func(low, high, liquid, suction, discharge float64) [][2]float64 {
		high = math.Min(high, c.p1)
		return [][2]float64{c.at(liquid, high), c.at(discharge, high), c.at(suction, low), c.at(liquid, low), c.at(liquid, high)}
	}
	liquid := b.Liquid
	if in, ok := b.Rows[circuit.CoilIn]; ok {
		// Behind an exchanger the coil is fed with colder liquid than leaves the unit: the course goes round by that.
		liquid = [2]float64{math.Min(liquid[0], in.H[0]), math.Min(liquid[1], in.H[1])}
	}
	outer = course(b.Low[0], b.High[1], liquid[0], b.CompressorIn[1], b.Discharge[1])
	inner = course(b.Low[1], b.High[0], liquid[1], b.CompressorIn[0], b.Discharge[0])
	slices.Reverse(inner) // the other way round, so that it is a hole by either rule of filling
	return outer, inner
}

// ring is the healthy cycle as a hatched band: what lies between its widest and its narrowest course.
func (b *PHBand) ring(outer, inner [][2]float64) plot.Item {
	st := plot.Style{Class: "g-frost", Width: 1.4, Hatch: plot.Healthy}
	if b.Design {
		st.Dash = []float64{4, 3}
	}
	return plot.Path{D: append(plot.Polyline(outer[:4], true), plot.Polyline(inner[:4], true)...), EvenOdd: true, Style: st}
}

// isothermLabels stand where isotherms leave the window: above it, and at its foot.
func (p PHData) isothermLabels(c plane, b *board) []plot.Item {
	var out []plot.Item
	crossing := func(points []refrigerant.ChartPoint, y float64) (float64, bool) {
		for i := 1; i < len(points); i++ {
			a, q := c.at(points[i-1].H, points[i-1].P), c.at(points[i].H, points[i].P)
			if (a[1]-y)*(q[1]-y) <= 0 && a[1] != q[1] {
				return a[0] + (y-a[1])/(q[1]-a[1])*(q[0]-a[0]), true
			}
		}
		return 0, false
	}
	unit := tempUnit(p.Display)
	edge, free := c.l+9, c.r-plot.Width(unit, 14.5, false)-6
	last := edge
	foot := c.l
	for _, iso := range p.Chart.Isotherms {
		words := p.Display.TempNumber(units.Temp(iso.Value), 0)
		half := plot.Width(words, 14.5, false) / 2
		if x, ok := crossing(iso.Points, c.t+0.01); ok && x-half > edge && x+half < free {
			out = append(
				out,
				plot.Line{X1: x, Y1: c.t - 5, X2: x, Y2: c.t, Style: plot.Style{Class: "g-rule", Width: 1.2}},
				plot.Text{X: x, Y: c.t - 10, S: words, Class: "x-s x-c f-ink2"},
			)
			edge, last = x+half+9, x+half
		}
		if x, ok := crossing(iso.Points[max(0, iso.Dew):], c.b-1); ok && x-half > foot+10 && x+half < c.r-2 {
			out = append(
				out,
				plot.Rect{X: x - half - 1, Y: c.b - 17, W: 2*half + 2, H: 14, Style: plot.Style{Class: "f-sheet"}},
				plot.Text{X: x, Y: c.b - 5, S: words, Class: "x-s x-c f-ink2"},
			)
			foot = x + half
			b.boxes = append(b.boxes, [4]float64{x - half, c.b - 18, x + half, c.b - 2})
		}
	}
	if last > c.l+6 {
		out = append(out, plot.Text{X: last + 6, Y: c.t - 10, S: unit, Class: "x-s f-ink2"})
	}
	return out
}

// board knows what is taken, so that words find a free place.
type board struct {
	c     plane
	boxes [][4]float64
	dots  [][2]float64
	way   [][2]float64 // along the cycle and the leaders
	soft  [][2]float64 // along what may be covered if it must
}

// along is a point every few units of a line.
func along(xy [][2]float64) [][2]float64 {
	var out [][2]float64
	for i := 1; i < len(xy); i++ {
		n := math.Max(1, math.Ceil(math.Hypot(xy[i][0]-xy[i-1][0], xy[i][1]-xy[i-1][1])/4))
		for k := 0.0; k <= n; k++ {
			out = append(out, [2]float64{xy[i-1][0] + k/n*(xy[i][0]-xy[i-1][0]), xy[i-1][1] + k/n*(xy[i][1]-xy[i-1][1])})
		}
	}
	return out
}

// nearest is the point of a box nearest to q.
func nearest(q [2]float64, x, y, w, h float64) [2]float64 {
	return [2]float64{math.Max(x, math.Min(x+w, q[0])), math.Max(y, math.Min(y+h, q[1]))}
}

// place finds the left upper corner of a box w × h near a point: nothing under it that is written or drawn thick, not
// far, and on the side it belongs to.
func (b *board) place(q, side [2]float64, w, h float64) (x, y, least float64) {
	least = math.Inf(1)
	for _, r := range []float64{9, 16, 26, 38, 54, 74, 98, 125} {
		for k := range 24 {
			dx, dy := math.Cos(float64(k)*math.Pi/12), math.Sin(float64(k)*math.Pi/12)
			// The box touches the circle of radius r from outside.
			x0 := math.Max(b.c.l+3, math.Min(b.c.r-w, q[0]+dx*(r+w/2)-w/2))
			y0 := math.Max(b.c.t+3, math.Min(b.c.b-h-3, q[1]+dy*(r+h/2)-h/2))
			cost := 0.6*r - 8*(dx*side[0]+dy*side[1])
			for _, o := range b.boxes {
				ox := math.Min(x0+w, o[2]) - math.Max(x0, o[0])
				oy := math.Min(y0+h, o[3]) - math.Max(y0, o[1])
				if ox > -5 && oy > -3 {
					cost += 2000 + math.Max(0, ox)*math.Max(0, oy)
				}
			}
			if cost >= least {
				continue
			}
			near := func(p [2]float64, m float64) bool {
				return p[0] > x0-m && p[0] < x0+w+m && p[1] > y0-m && p[1] < y0+h+m
			}
			for _, p := range b.dots {
				if near(p, 6) {
					cost += 400
				}
			}
			for _, p := range b.way {
				if near(p, 3) {
					cost += 70
				}
			}
			for _, p := range b.soft {
				if near(p, 1) {
					cost += 5
				}
			}
			if cost >= least {
				continue
			}
			leader := along([][2]float64{q, nearest(q, x0, y0, w, h)})
			for i, p := range leader {
				for _, o := range b.boxes {
					if p[0] > o[0]-2 && p[0] < o[2]+2 && p[1] > o[1]-2 && p[1] < o[3]+2 {
						cost += 150
					}
				}
				for _, d := range b.dots {
					if i > 2 && d != q && math.Hypot(p[0]-d[0], p[1]-d[1]) < 7 {
						cost += 60
					}
				}
				for _, d := range b.way {
					if i > 2 && math.Abs(p[0]-d[0])+math.Abs(p[1]-d[1]) < 4 {
						cost += 15
						break
					}
				}
			}
			if cost < least {
				least, x, y = cost, x0, y0
			}
		}
	}
	b.boxes = append(b.boxes, [4]float64{x, y, x + w, y + h})
	return x, y, least
}

// says are the two lines at a state: name with its temperature, and what the trade counts there.
func (p PHData) says(q circuit.State, w text.DiagramWords) (first, second string) {
	d := p.Display
	first = w.Corner(q.At) + " " + tidy(d.TempNumber(units.Temp(q.T), 1))
	diff := func(word string, v float64) string {
		return word + " " + d.DiffNumber(units.TempDiff(v), 1) + " " + d.DiffUnit()
	}
	switch q.At {
	case circuit.CoilIn:
		second = units.Fixed(100*q.VapourMass, 0) + " % " + w.Vapour
	case circuit.CoilOut:
		second = diff(w.Superheat, q.T-p.Cycle.Coil.Dew)
	case circuit.CompressorIn:
		second = diff(w.Superheat, q.T-p.Cycle.Suction.Dew)
	case circuit.LiquidOut:
		if l := p.Cycle.Head; l != nil {
			second = diff(w.Subcooling, l.Bubble-q.T)
		}
	}
	return first, second
}

// sides is where the words of a state belong: away from the middle of the cycle.
var sides = []struct {
	at   circuit.Corner
	side [2]float64
}{
	{circuit.CompressorOut, [2]float64{0.3, -1}},
	{circuit.LiquidOut, [2]float64{-0.7, -0.7}},
	{circuit.CompressorIn, [2]float64{1, 0.6}},
	{circuit.CoilOut, [2]float64{-0.1, 1}},
	{circuit.CoilIn, [2]float64{-0.7, 0.7}},
}

// wide is how much wider than estimated a device's font may be.
const wide = 1.12

// label is the words of a state and where they stand.
type label struct {
	first, second string
	at, side      [2]float64
	x, y, w, h    float64
}

func (p PHData) labels(c plane, b *board, w text.DiagramWords) []plot.Item {
	var all []label
	for _, k := range sides {
		q, ok := p.Cycle.Find(k.at)
		if !ok {
			continue
		}
		l := label{at: c.at(q.H, q.P), side: k.side, h: 18}
		l.first, l.second = p.says(q, w)
		l.w = wide*plot.Width(l.first, 14.5, true) + 4
		if l.second != "" {
			l.w, l.h = math.Max(l.w, wide*plot.Width(l.second, 14.5, false)+4), 35
		}
		all = append(all, l)
	}
	// Where no line was read beside a gauge, its saturation is what there is to say.
	known := func(at ...circuit.Corner) bool {
		return slices.ContainsFunc(at, func(a circuit.Corner) bool { _, ok := p.Cycle.Find(a); return ok })
	}
	saturation := func(word string, T, h, P float64, side [2]float64) {
		l := label{first: word + " " + tidy(p.Display.TempNumber(units.Temp(T), 1)), at: c.at(h, P), side: side, h: 18}
		l.w = wide*plot.Width(l.first, 14.5, true) + 4
		all = append(all, l)
	}
	if l := p.Cycle.Coil; l != nil && !known(circuit.CoilOut, circuit.CompressorIn) {
		saturation(w.Dew, l.Dew, l.HDew, l.P, [2]float64{0.2, 1})
	}
	if l := p.Cycle.Head; l != nil && !known(circuit.LiquidOut) {
		saturation(w.Bubble, l.Bubble, l.HBubble, l.P, [2]float64{-0.7, -0.7})
	}
	// The first that is placed takes the best place; of several orders the one that suits all.
	var best []label
	least := math.Inf(1)
	for first := range 2 * len(all) {
		now, sum := slices.Clone(all), 0.0
		trial := *b
		trial.boxes, trial.way = slices.Clone(b.boxes), slices.Clone(b.way)
		for k := range now {
			i := (first + k) % len(now)
			if first >= len(all) {
				i = (first - k + len(now)) % len(now)
			}
			l, cost := &now[i], 0.0
			l.x, l.y, cost = trial.place(l.at, l.side, l.w, l.h)
			sum += cost
			trial.way = append(trial.way, along([][2]float64{l.at, nearest(l.at, l.x, l.y, l.w, l.h)})...)
		}
		if sum < least {
			least, best = sum, now
		}
	}
	var out, words []plot.Item
	for _, l := range best {
		// A leader where the words do not stand at their point.
		if end := nearest(l.at, l.x, l.y, l.w, l.h); math.Hypot(end[0]-l.at[0], end[1]-l.at[1]) > 12 {
			out = append(out, plot.Line{X1: l.at[0], Y1: l.at[1], X2: end[0], Y2: end[1], Style: plot.Style{Class: "g-ink", Width: 1.2}})
		}
		words = append(
			words,
			plot.Rect{X: l.x, Y: l.y, W: l.w, H: l.h, Style: plot.Style{Class: "f-sheet"}},
			plot.Text{X: l.x + 2, Y: l.y + 14, S: l.first, Class: "x-s x-b f-ink"},
		)
		if l.second != "" {
			words = append(words, plot.Text{X: l.x + 2, Y: l.y + 31, S: l.second, Class: "x-s f-ink2"})
		}
	}
	return append(out, words...)
}

func (p PHData) describe(w text.DiagramWords) string {
	if p.Chart == nil {
		return ""
	}
	out := p.Chart.Fit().Designation()
	for i, q := range p.Cycle.States {
		sep := "; "
		if i == 0 {
			sep = ": "
		}
		first, second := p.says(q, w)
		out += sep + first + " " + tempUnit(p.Display)
		if second != "" {
			out += ", " + second
		}
	}
	return out + "."
}

// Caption explains the drawing.
func (p PHData) Caption() string {
	w := text.Diagram(p.Lang)
	out := []string{w.Read}
	switch {
	case p.Healthy == nil:
	case p.Healthy.Design:
		out = append(out, w.BandDesign)
	default:
		out = append(out, w.Band)
	}
	if p.Compact {
		return strings.Join(append(out, w.LinesShort), " ")
	}
	out = append(out, w.Lines)
	switch {
	case celsius(p.Display):
		out = append(out, w.Counted)
	case p.Chart != nil && p.zero() != 0:
		out = append(out, w.CountedASHRAE)
	}
	return strings.Join(out, " ")
}

// Notes says what is left out, and why.
func (p PHData) Notes() []string { return text.Diagram(p.Lang).Notes(p.Cycle) }

// Section is the heading the diagram stands under.
func (p PHData) Section() string { return text.Diagram(p.Lang).Section }

// Table returns the same numbers: every state as read and as healthy, in the order of flow.
func (p PHData) Table() Table {
	w, d := text.Diagram(p.Lang), p.Display
	t := Table{Head: []string{w.State, d.PressureUnit(), tempUnit(d), d.EnthalpyUnit()}}
	if p.Chart == nil {
		return t
	}
	pressure := func(v float64) string { return tidy(d.PressureNumber(units.Pressure(v), p.Ambient)) }
	row := func(name string, P, T, h float64) {
		t.Rows = append(t.Rows, []string{name, pressure(P), tidy(d.TempNumber(units.Temp(T), 1)), d.EnthalpyNumber(h-p.zero(), 1)})
	}
	span := func(a, b string) string {
		if a == b {
			return a
		}
		return a + " " + w.To + " " + b
	}
	// A band is given in whole psi: it is not known better.
	rough := func(v float64) string {
		if d.PressureUnit() == "psig" {
			return units.Fixed(float64(units.Pressure(v).Gauge(p.Ambient))/units.Psi, 0)
		}
		return pressure(v)
	}
	for _, at := range circuit.Corners() {
		if q, ok := p.Cycle.Find(at); ok {
			_, second := p.says(q, w)
			name := w.Corner(at)
			if second != "" {
				name += ", " + second
			}
			row(name, q.P, q.T, q.H)
		}
		if p.Healthy == nil {
			continue
		}
		if r, ok := p.Healthy.Rows[at]; ok {
			whole := func(v float64) string { return d.TempNumber(units.Temp(v), 0) }
			t.Rows = append(t.Rows, []string{
				w.Corner(
					at,
				) + ", " + w.Healthy,
				span(rough(r.P[0]), rough(r.P[1])),
				span(whole(r.T[0]), whole(r.T[1])),
				span(p.enthalpy(r.H[0]), p.enthalpy(r.H[1])),
			})
		}
	}
	if l := p.Cycle.Coil; l != nil {
		row(w.DewAt, l.P, l.Dew, l.HDew)
	}
	if l := p.Cycle.Head; l != nil {
		row(w.BubbleAt, l.P, l.Bubble, l.HBubble)
	}
	change := func(name string, from, to circuit.Corner) {
		a, ok1 := p.Cycle.Find(from)
		b, ok2 := p.Cycle.Find(to)
		if ok1 && ok2 {
			t.Rows = append(t.Rows, []string{name, "", "", d.EnthalpyNumber(b.H-a.H, 1)})
		}
	}
	change(w.CoilHeat, circuit.CoilIn, circuit.CoilOut)
	change(w.Work, circuit.CompressorIn, circuit.CompressorOut)
	return t
}
