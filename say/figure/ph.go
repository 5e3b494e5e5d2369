package figure

import (
	"math"
	"slices"

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
	space := &labelSpace{c: c}

	thinLine := plot.Style{Class: "g-hair", Width: 1.2}
	dotted := plot.Style{Class: "g-rule", Width: 1.1, Dash: []float64{1.2, 4}}
	for _, iso := range p.Chart.Isotherms {
		s.Add(c.curve(iso.Points, thinLine)...)
	}
	for _, line := range p.Chart.Isentropes {
		s.Add(c.curve(line.Points, dotted)...)
	}
	s.Add(p.isothermLabels(c, space)...)
	if p.Healthy != nil {
		outer, inner := p.Healthy.loops(c)
		s.Add(p.Healthy.ring(outer, inner))
		space.coverable = append(append(space.coverable, sampled(outer)...), sampled(inner)...)
	}
	dome := plot.Style{Class: "g-ink", Width: 1.6}
	outline := append(slices.Clone(p.Chart.Bubble), reversed(p.Chart.Dew)...)
	s.Add(c.curve(outline, dome)...)
	for _, q := range outline {
		space.coverable = append(space.coverable, c.at(q.H, q.P))
	}
	s.Add(p.axes(c, w)...)

	// The cycle: levels of the gauges thin across the dome, what is known of the way thick over them.
	thick := plot.Style{Class: "g-ink", Width: 3.2}
	levels := p.levels()
	for _, l := range levels {
		s.Add(c.line([][2]float64{c.at(l.HBubble, l.P), c.at(l.HDew, l.P)}, plot.Style{Class: "g-ink", Width: 1.2})...)
	}
	for _, way := range p.segments() {
		xy := [][2]float64{c.at(way[0].H, way[0].P), c.at(way[1].H, way[1].P)}
		s.Add(c.line(xy, thick)...)
		space.cycle = append(space.cycle, sampled(xy)...)
	}
	for _, l := range levels {
		// Where the trade counts from: dew on the low side, bubble on the high side.
		h := l.HDew
		if l.high {
			h = l.HBubble
		}
		space.dots = append(space.dots, c.at(h, l.P))
		s.Add(plot.Circle{X: c.x(h), Y: c.y(l.P), R: 3.6, Style: plot.Style{Class: "f-sheet g-ink", Width: 1.6}})
	}
	for _, q := range p.Cycle.States {
		s.Add(dot(c.x(q.H), c.y(q.P), 5, "f-ink"))
		space.dots = append(space.dots, c.at(q.H, q.P))
	}
	s.Add(p.labels(c, space, w)...)
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

// segments are the parts of the cycle that are known, each from one state to the next. Where a line was not read, a
// part ends at saturation.
func (p PHData) segments() [][2]circuit.State {
	get := func(at circuit.Corner) (circuit.State, bool) { return p.Cycle.Find(at) }
	in, okIn := get(circuit.CoilIn)
	out, okOut := get(circuit.CoilOut)
	suction, okSuction := get(circuit.CompressorIn)
	discharge, okDischarge := get(circuit.CompressorOut)
	liquid, okLiquid := get(circuit.LiquidOut)
	var segments [][2]circuit.State
	if okLiquid && okIn {
		from := liquid
		if in.H != liquid.H { // an exchanger cools the liquid before it expands
			from = circuit.State{P: liquid.P, H: in.H}
			segments = append(segments, [2]circuit.State{liquid, from})
		}
		segments = append(segments, [2]circuit.State{from, in})
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
			segments = append(segments, [2]circuit.State{dew, suction})
			to = dew
		}
		if from.H != to.H {
			segments = append(segments, [2]circuit.State{from, to})
		}
	}
	if okOut && okSuction {
		segments = append(segments, [2]circuit.State{out, suction})
	}
	if okSuction && okDischarge {
		segments = append(segments, [2]circuit.State{suction, discharge})
	}
	if l := p.Cycle.Head; l != nil && (okDischarge || okLiquid) {
		from, to := circuit.State{P: l.P, H: l.HDew}, circuit.State{P: l.P, H: l.HBubble}
		if okDischarge {
			from = discharge
		}
		if okLiquid {
			to = liquid
		}
		segments = append(segments, [2]circuit.State{from, to})
	}
	return segments
}

// loops are the widest and the narrowest way round of a healthy machine, closed.
func (b *PHBand) loops(c plane) (outer, inner [][2]float64) {
	loop := func(low, high, liquid, suction, discharge float64) [][2]float64 {
		high = math.Min(high, c.p1)
		return [][2]float64{c.at(liquid, high), c.at(discharge, high), c.at(suction, low), c.at(liquid, low), c.at(liquid, high)}
	}
	liquid := b.Liquid
	if in, ok := b.Rows[circuit.CoilIn]; ok {
		// Behind an exchanger the coil is fed with colder liquid than leaves the unit: the course goes round by that.
		liquid = [2]float64{math.Min(liquid[0], in.H[0]), math.Min(liquid[1], in.H[1])}
	}
	outer = loop(b.Low[0], b.High[1], liquid[0], b.CompressorIn[1], b.Discharge[1])
	inner = loop(b.Low[1], b.High[0], liquid[1], b.CompressorIn[0], b.Discharge[0])
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
