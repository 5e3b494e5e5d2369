package figure

import (
	"fmt"
	"slices"

	"coldwright/machine/reading"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
)

// Tag is one place of the circuit: read, seen, or still open.
type Tag struct {
	Key     string         // key of a place, or of something seen
	Value   *float64       // SI; nil when not read
	Word    string         // answer of something seen; "" when nobody looked
	Off     units.TempDiff // distance from the middle of its band, over is positive; 0 when in band or not judged
	OffName string         // what is off when it is not the reading itself: "SH"
	Next    bool           // the reading to take next
	Href    string         // "" leads to "#e-" and the key
}

// CircuitData is the machine's own circuit and what was read on it. Tags that are not handed in are not drawn.
type CircuitData struct {
	ID          string // "" is "cir"
	Receiver    bool
	Expansion   reading.Expansion
	HeadControl reading.HeadControl
	Glass       reading.Glass
	Outside     string // where the condenser stands; "" is "Outside"
	Tags        []Tag
	Display     units.Display
	Ambient     units.Pressure // atmospheric pressure at the site, for gauge readings
}

const (
	pipeL, pipeR = 34.0, 324.0
	tagW, tagH   = 112.0, 58.0
	circuitH     = 712.0
)

// spot is where a tag stands and the point it reads.
type spot struct{ x, y, px, py float64 }

var spots = map[string]spot{
	"ambient":            {63, 98, 124, 84},
	"liquid_line":        {63, 178, pipeL, 200},
	"drier_out":          {63, 258, pipeL, 284},
	"glass":              {63, 338, 44, 324},
	"discharge_pressure": {183, 98, pipeR, 126},
	"discharge_line":     {183, 180, pipeR, 196},
	"suction_pressure":   {183, 262, pipeR, 290},
	"suction_line":       {183, 352, pipeR, 390},
	"coil_air_off":       {63, 474, 140, 560},
	"coil_outlet_line":   {183, 462, pipeR, 536},
	"box_air":            {44, 616, 120, 608},
	"box_display":        {208, 616, 0, 0},
}

// Circuit draws the circuit with its tags as links.
func Circuit(c CircuitData) plot.Scene {
	s := plot.Scene{
		ID:    c.ID,
		W:     ladderW,
		H:     circuitH,
		Links: true,
		Title: "The circuit of this machine",
		Desc:  "Tap the place you measured.",
	}
	if s.ID == "" {
		s.ID = "cir"
	}
	ink := func(class string, width float64) plot.Style { return plot.Style{Class: class + " g-ink", Width: width} }
	path := func(class string, width float64, format string, args ...any) plot.Path {
		return plot.Path{D: plot.D(format, args...), Style: ink(class, width)}
	}
	outside := c.Outside
	if outside == "" {
		outside = "Outside"
	}
	s.Add(
		plot.Rect{X: 2, Y: 2, W: 354, H: 426, Style: plot.Style{Class: "f-none g-rule", Width: 1.5, Dash: []float64{14, 5, 3, 5}}},
		plot.Path{
			D:       plot.D("M2 444h354v266h-354zM12 454v246h334v-246z"),
			EvenOdd: true,
			Style:   plot.Style{Class: "g-ink", Width: 1.5, Hatch: plot.Wall},
		},
		plot.Text{X: 12, Y: 22, S: fit(outside, 14.5, false, 150), Class: "x-s f-ink2"},
		plot.Text{X: 338, Y: 610, S: "In the box", Class: "x-s f-ink2 x-e"},
	)
	after := "liquid"
	if c.Glass == reading.Bubbling || c.Glass == reading.Empty {
		after = "both"
	}
	valveY := 492.0
	if c.HeadControl == reading.Flooding {
		// The condenser is passed by; hot gas and liquid meet at the head valve.
		s.Add(path("f-none", 2.2, "M300 64V91H52"))
	}
	s.Add(pipe("vapour", "M%v 238V584H262", pipeR)...)
	s.Add(pipe("vapour", "M%v 214V60H256", pipeR)...)
	s.Add(pipe("liquid", "M104 60H%vV314", pipeL)...)
	s.Add(pipe(after, "M%v 310V480", pipeL)...)
	s.Add(pipe("both", "M%v 480V584H96", pipeL)...)

	// Condenser and fan.
	s.Add(
		plot.Rect{X: 104, Y: 36, W: 152, H: 48, Style: ink("f-sheet", 2.2)},
		path("f-none", 2.2, "M256 60h-14l-9 -15 -18 30 -18 -30 -18 30 -18 -30 -18 30 -9 -15h-30"),
	)
	s.Add(fan(180, 22, 13)...)
	switch c.HeadControl {
	case reading.FanCycling:
		s.Add(plot.Text{X: 200, Y: 22, S: "fan cycles", Class: "x-s f-ink2"})
	case reading.VariableFan:
		s.Add(plot.Text{X: 200, Y: 22, S: "fan speed varies", Class: "x-s f-ink2"})
	case reading.Flooding:
		s.Add(
			path("f-sheet", 2.2, "M%v 77h24L%v 91z", pipeL-12, pipeL),
			path("f-sheet", 2.2, "M%v 105h24L%v 91z", pipeL-12, pipeL),
			path("f-sheet", 2.2, "M%v 79v24L%v 91z", pipeL+14, pipeL),
		)
	}
	if c.Receiver {
		s.Add(
			path("f-sheet", 2.2, "M%v 140a18 14 0 0 1 36 0v34a18 14 0 0 1 -36 0z", pipeL-18),
			path("f-ink", 1, "M%v 168h34v6a17 13 0 0 1 -34 0z", pipeL-17),
		)
	}
	// Drier.
	s.Add(
		plot.Rect{X: pipeL - 15, Y: 224, W: 30, H: 38, Style: ink("f-sheet", 2.2)},
		plot.Line{X1: pipeL - 15, Y1: 243, X2: pipeL + 15, Y2: 243, Style: plot.Style{Class: "g-ink", Width: 2.2, Dash: []float64{5, 4}}},
		dot(pipeL-6, 252, 1.8, "f-ink"), dot(pipeL+2, 255, 1.8, "f-ink"), dot(pipeL+8, 250, 1.8, "f-ink"),
	)
	if c.hasGlass() {
		s.Add(
			plot.Circle{X: pipeL, Y: 310, R: 17, Style: ink("f-sheet", 2.2)},
			plot.Circle{X: pipeL, Y: 310, R: 11, Style: ink("f-none", 1.5)},
		)
		switch c.Glass {
		case reading.Bubbling:
			s.Add(
				dot(pipeL-4, 313, 2.8, "f-ink"),
				dot(pipeL+4, 308, 2.2, "f-ink"),
				dot(pipeL, 304, 1.8, "f-ink"),
				dot(pipeL+4, 315, 1.6, "f-ink"),
			)
		case reading.Clear:
			s.Add(dot(pipeL, 310, 10, "f-ink"))
		}
	}
	// Expansion device.
	switch c.Expansion {
	case reading.Capillary:
		s.Add(
			plot.Rect{X: pipeL - 12, Y: valveY - 24, W: 24, H: 48, Style: plot.Style{Class: "f-sheet"}},
			path("f-none", 2, "M%v %vv6l-11 4 22 6 -22 6 22 6 -22 6 22 6 -11 4v4", pipeL, valveY-24),
		)
	case reading.Orifice:
		s.Add(
			path("f-sheet", 2.2, "M%v %vh24v24h-24z", pipeL-12, valveY-12),
			path(
				"f-ink",
				1,
				"M%v %vh9l-9 9zM%v %vh-9l9 9zM%v %vh9l-9 -9zM%v %vh-9l9 -9z",
				pipeL-12,
				valveY-11,
				pipeL+12,
				valveY-11,
				pipeL-12,
				valveY+11,
				pipeL+12,
				valveY+11,
			),
		)
	default:
		s.Add(
			path("f-sheet", 2.2, "M%v %vh24L%v %vz", pipeL-12, valveY-14, pipeL, valveY),
			path("f-ink", 2.2, "M%v %vh24L%v %vz", pipeL-12, valveY+14, pipeL, valveY),
		)
		if c.Expansion == reading.ElectronicValve {
			s.Add(
				plot.Line{X1: pipeL, Y1: valveY, X2: pipeL + 12, Y2: valveY, Style: plot.Style{Class: "g-ink", Width: 2}},
				plot.Rect{X: pipeL + 12, Y: valveY - 7, W: 14, H: 14, Style: ink("f-sheet", 2)},
				path("f-none", 1.4, "M%v %vl4 -8 4 8", pipeL+15, valveY+4),
			)
		} else {
			// Capillary to the bulb on the coil outlet.
			bulb := path("f-none", 1.4, "M%v %vC70 %v 52 546 84 546L276 546C284 546 286 552 286 568", pipeL+3, valveY, valveY)
			bulb.Dash = []float64{2, 3}
			s.Add(bulb, plot.Rect{X: 274, Y: 567, W: 24, H: 9, R: 4, Style: plot.Style{Class: "f-ink"}})
		}
	}
	// Coil and fan.
	s.Add(
		plot.Rect{X: 96, Y: 560, W: 166, H: 48, Style: ink("f-sheet", 2.2)},
		path("f-none", 2.2, "M96 584h14l9 -15 18 30 18 -30 18 30 18 -30 18 30 18 -30 9 15h26"),
	)
	s.Add(fan(179, 622, 13)...)
	// Compressor.
	s.Add(
		plot.Circle{X: pipeR, Y: 238, R: 27, Style: ink("f-sheet", 2.4)},
		path("f-none", 2.2, "M%v 253L%v 213M%v 253L%v 213", pipeR-22, pipeR-10, pipeR+22, pipeR+10),
	)
	for _, f := range []struct{ x, y, vx, vy float64 }{
		{pipeR, 152, 0, -1},
		{290, 60, -1, 0},
		{66, 60, -1, 0},
		{pipeL, 416, 0, 1},
		{66, 584, 1, 0},
		{pipeR, 436, 0, -1},
	} {
		px, py := -f.vy, f.vx
		s.Add(plot.Path{
			D: plot.D(
				"M%v %vL%v %vL%v %vz",
				f.x+9*f.vx,
				f.y+9*f.vy,
				f.x-6*f.vx+8*px,
				f.y-6*f.vy+8*py,
				f.x-6*f.vx-8*px,
				f.y-6*f.vy-8*py,
			),
			Style: plot.Style{Class: "f-ink g-sheet", Width: 1.5},
		})
	}

	var placed, rest []Tag
	for _, t := range c.Tags {
		if _, ok := spots[t.Key]; ok {
			placed = append(placed, t)
		} else {
			rest = append(rest, t)
		}
	}
	for _, t := range placed {
		p := spots[t.Key]
		if p.px == 0 {
			continue
		}
		ex, ey := p.px, p.y+tagH/2
		switch {
		case p.px < p.x:
			ex = p.x
		case p.px > p.x+tagW:
			ex = p.x + tagW
		case p.py < p.y:
			ey = p.y
		default:
			ey = p.y + tagH
		}
		s.Add(
			plot.Line{X1: ex, Y1: ey, X2: p.px, Y2: p.py, Style: plot.Style{Class: "g-ink", Width: 1.6}},
			plot.Circle{X: p.px, Y: p.py, R: 4.5, Style: ink("f-sheet", 2)},
		)
	}
	for _, t := range placed {
		p := spots[t.Key]
		s.Add(c.tag(t, p.x, p.y))
	}
	if len(rest) > 0 {
		y := circuitH + 10
		for i := 0; i < len(rest); i += 3 {
			row := rest[i:min(i+3, len(rest))]
			h := tagH
			for j, t := range row {
				s.Add(c.tag(t, 2+float64(j)*121, y))
				if t.Off != 0 {
					h = tagH + 20
				}
			}
			y += h + 8
		}
		s.H = y
	}
	return s
}

func (c CircuitData) hasGlass() bool {
	return c.Glass != reading.GlassUnknown || slices.ContainsFunc(c.Tags, func(t Tag) bool { return t.Key == "glass" })
}

func pipe(state, format string, args ...any) []plot.Item {
	d := plot.D(format, args...)
	out := []plot.Item{plot.Path{D: d, Style: plot.Style{Class: "pipe-out"}}}
	if state != "liquid" {
		out = append(out, plot.Path{D: d, Style: plot.Style{Class: "pipe-in"}})
	}
	if state == "both" {
		out = append(out, plot.Path{D: d, Style: plot.Style{Class: "pipe-dots"}})
	}
	return out
}

func fan(x, y, r float64) []plot.Item {
	return []plot.Item{
		plot.Circle{X: x, Y: y, R: r, Style: plot.Style{Class: "f-sheet g-ink", Width: 2}},
		plot.Path{
			D:     plot.D("M%v %vc-3 -5 -4 -9 0 -%vc4 3 4 8 0 %vc3 5 4 9 0 %vc-4 -3 -4 -8 0 -%vz", x, y, r-3, r-3, r-3, r-3),
			Style: plot.Style{Class: "f-ink"},
		},
	}
}

// words gives a tag's name, value and unit.
func (c CircuitData) words(t Tag) (name, value, unit string, read bool) {
	name = text.At(t.Key)
	p, err := reading.ParsePlace(t.Key)
	if err != nil {
		return name, text.SeenAnswer(t.Key, t.Word), "", t.Word != ""
	}
	if t.Value == nil || bad(*t.Value) {
		return name, "", "", false
	}
	v := *t.Value
	switch p.Kind() {
	case reading.KindPressure:
		return name, units.Whole(c.Display.PressureNumber(units.Pressure(v), c.Ambient)), c.Display.PressureUnit(), true
	case reading.KindTemperature:
		return name, units.Whole(c.Display.TempNumber(units.Temp(v), 1)), TempUnit(c.Display), true
	case reading.KindCurrent:
		return name, units.Whole(units.Fixed(v, 1)), "A", true
	case reading.KindShare:
		return name, units.Fixed(100*v, 0), "%", true
	}
	return name, units.Fixed(v/units.Kilo, 2), "kW", true
}

// flag is the distance in words: "11 °F under", "SH 14 over".
func (c CircuitData) flag(t Tag) (kind, words string) {
	if t.Off == 0 || bad(float64(t.Off)) {
		return In, ""
	}
	kind, by := Over, t.Off
	if by < 0 {
		kind, by = Under, -by
	}
	n := c.Display.DiffNumber(by, 0)
	if n == "0" {
		return In, ""
	}
	if t.OffName != "" {
		return kind, t.OffName + " " + n + " " + kind
	}
	return kind, n + " " + c.Display.DiffUnit() + " " + kind
}

func (c CircuitData) tag(t Tag, x, y float64) plot.Item {
	name, value, unit, read := c.words(t)
	kind, flag := c.flag(t)
	link := plot.Link{Href: t.Href, Class: "tap"}
	if link.Href == "" {
		link.Href = "#e-" + t.Key
	}
	// What is spoken begins with what is seen, so that who speaks to the phone can name it.
	link.Label = name + " + tap to enter, not read yet"
	if t.Next {
		link.Label = name + " + next to read, tap to enter"
	}
	if read {
		link.Label = name + ": " + value
		if unit != "" {
			link.Label += " " + unit
		}
	} else {
		link.Class += " todo"
	}
	if flag != "" {
		link.Label += ", " + flag
		link.Class += " off"
	}
	link.Items = append(
		link.Items,
		plot.Rect{X: x, Y: y, W: tagW, H: tagH, R: 3, Style: plot.Style{Class: "face"}},
		plot.Text{X: x + 9, Y: y + 20, S: fit(name, 14.5, false, tagW-12), Class: "x-s f-ink2"},
	)
	switch {
	case read:
		link.Items = append(
			link.Items,
			plot.Text{X: x + 9, Y: y + 46, S: value, Class: "x-l x-b f-ink", Tail: unit, TailClass: "x-s f-ink2"},
		)
	case t.Next:
		link.Items = append(
			link.Items,
			plot.Text{X: x + 9, Y: y + 45, S: "+ next", Class: "x-l x-b f-ink"},
			plot.Rect{X: x, Y: y, W: 5, H: tagH, Style: plot.Style{Class: "f-ink"}},
		)
	default:
		link.Items = append(link.Items, plot.Text{X: x + 9, Y: y + 45, S: "+ tap", Class: "x-l x-b f-ink"})
	}
	if flag != "" {
		link.Items = append(
			link.Items,
			plot.Rect{X: x, Y: y + 56, W: tagW, H: 22, Style: plot.Style{Class: "f-emberw g-ember", Width: 2}},
			triangle(x+9, y+67, 5, kind),
			plot.Text{X: x + 17, Y: y + 72, S: flag, Class: "x-s x-b f-ember"},
		)
	}
	return link
}

// Caption explains the drawing.
func (c CircuitData) Caption() string {
	return "Full pipe: liquid. Hollow pipe: vapour. Dotted: both. Dashed tag: not read."
}

// Parts names what is drawn, for those who do not know the symbols.
func (c CircuitData) Parts() string {
	left := "filter-drier"
	if c.Receiver {
		left = "receiver, filter-drier"
	}
	device := map[reading.Expansion]string{
		reading.Capillary: "capillary tube", reading.Orifice: "fixed orifice", reading.ElectronicValve: "electronic valve",
	}[c.Expansion]
	if device == "" {
		device = "expansion valve with its bulb"
	}
	if c.hasGlass() {
		left += ", sight glass"
	}
	out := fmt.Sprintf("Left, from the top: %s, %s. Right: compressor. Top: condenser. Bottom: evaporator coil.", left, device)
	if c.HeadControl == reading.Flooding {
		out += " Thin line with three triangles: head valve and its bypass."
	}
	return out
}

// Table returns the tags as rows.
func (c CircuitData) Table() Table {
	t := Table{Head: []string{"Place", "Read", "Finding"}}
	for _, tag := range c.Tags {
		_, value, unit, read := c.words(tag)
		cell := "not read"
		if read {
			cell = value
			if unit != "" {
				cell += " " + unit
			}
		}
		_, flag := c.flag(tag)
		t.Rows = append(t.Rows, []string{text.Label(tag.Key), cell, flag})
	}
	return t
}
