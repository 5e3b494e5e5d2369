package plot

import (
	"math"
	"strings"

	"codeberg.org/go-fonts/dejavu/dejavusanscondensed"
	"codeberg.org/go-fonts/dejavu/dejavusanscondensedbold"
	"codeberg.org/go-pdf/fpdf"
)

// Family is the font family that AddFonts registers: regular and bold.
const Family = "Sans"

// AddFonts registers the fonts of drawings and documents; only the glyphs used are embedded.
func AddFonts(pdf *fpdf.Fpdf) {
	pdf.AddUTF8FontFromBytes(Family, "", dejavusanscondensed.TTF)
	pdf.AddUTF8FontFromBytes(Family, "B", dejavusanscondensedbold.TTF)
}

type rgb [3]int

// Print colours: black first; the two meanings keep a trace of their hue, as in the print style of the pages.
var (
	black, white = rgb{0, 0, 0}, rgb{255, 255, 255}
	grey2        = rgb{0x22, 0x22, 0x22}
	ruleGrey     = rgb{0x55, 0x55, 0x55}
	hairGrey     = rgb{0xbb, 0xbb, 0xbb}
	frost, ember = rgb{0x05, 0x3f, 0x47}, rgb{0x5e, 0x18, 0x00}
)

func fillOf(class string) (rgb, bool) {
	switch class {
	case "f-ink", "s-slab":
		return black, true
	case "f-ink2", "s-slab2":
		return grey2, true
	case "f-sheet", "f-inset", "f-frostw", "f-emberw", "f-slab":
		return white, true
	case "f-frost":
		return frost, true
	case "f-ember":
		return ember, true
	case "f-rule":
		return ruleGrey, true
	case "f-hair":
		return hairGrey, true
	}
	return black, false
}

func strokeOf(class string) (rgb, bool) {
	switch class {
	case "g-ink", "gs-slab":
		return black, true
	case "gs-slab2":
		return grey2, true
	case "g-rule", "gs-rule":
		return ruleGrey, true
	case "g-hair":
		return hairGrey, true
	case "g-sheet", "gs-sheet":
		return white, true
	case "g-frost":
		return frost, true
	case "g-ember":
		return ember, true
	}
	return black, false
}

// look is how a shape is drawn on paper.
type look struct {
	fill, stroke     rgb
	filled, stroked  bool
	width            float64
	dash             []float64
	round            bool
	hatch            Hatch
	hatched, evenOdd bool
}

// resolve turns a style into a look; link is the class of the link around it.
func resolve(s Style, link string) look {
	l := look{fill: black, filled: true, width: s.Width, dash: s.Dash, hatch: s.Hatch}
	for c := range strings.FieldsSeq(s.Class) {
		if v, ok := fillOf(c); ok {
			l.fill = v
		}
		if v, ok := strokeOf(c); ok {
			l.stroke, l.stroked = v, true
		}
		switch c {
		case "f-none":
			l.filled = false
		case "pipe-out":
			l = look{stroked: true, width: 9, round: true}
		case "pipe-in":
			l = look{stroke: white, stroked: true, width: 5, round: true}
		case "pipe-dots":
			l = look{stroked: true, width: 4, round: true, dash: []float64{0.1, 8}}
		case "face":
			l = look{fill: white, filled: true, stroked: true, width: 2}
			switch {
			case has(link, "todo"):
				l.stroke, l.dash = ruleGrey, []float64{5, 4}
			case has(link, "off"):
				l.stroke, l.width = ember, 3
			}
		}
	}
	if l.hatch != HatchUnknown {
		l.filled, l.hatched = false, true
	}
	if l.stroked && l.width == 0 {
		l.width = 1
	}
	return l
}

type printer struct {
	pdf  *fpdf.Fpdf
	x, y float64
	k    float64 // millimetres per unit of the scene
}

// Draw draws the scene with its left upper corner at x, y and the width w, in the document's unit (millimetres).
// Links are not carried over.
func Draw(pdf *fpdf.Fpdf, s Scene, x, y, w float64) {
	p := printer{pdf, x, y, w / s.W}
	p.items(s.Items, "")
	pdf.SetDashPattern(nil, 0)
	pdf.SetLineCapStyle("butt")
	pdf.SetLineJoinStyle("miter")
	pdf.SetTextColor(0, 0, 0)
	pdf.SetDrawColor(0, 0, 0)
}

func (p printer) at(x, y float64) (float64, float64) { return p.x + x*p.k, p.y + y*p.k }

func (p printer) items(items []Item, link string) {
	for _, i := range items {
		switch v := i.(type) {
		case Line:
			l := resolve(v.Style, link)
			l.filled, l.hatched = false, false
			p.path(D("M%.4f %.4fL%.4f %.4f", v.X1, v.Y1, v.X2, v.Y2), l)
		case Rect:
			if v.W <= 0 || v.H <= 0 {
				continue
			}
			d := D("M%.4f %.4fh%.4fv%.4fh%.4fz", v.X, v.Y, v.W, v.H, -v.W)
			if v.R > 0 {
				r := math.Min(v.R, math.Min(v.W, v.H)/2)
				d = D(
					"M%.4f %.4fh%.4fa%[5]f %[5]f 0 0 1 %[5]f %[5]fv%.4[4]fa%[5]f %[5]f 0 0 1 %[6]f %[5]fh%[7]fa%[5]f %[5]f 0 0 1 %[6]f "+
						"%[6]fv%[8]fa%[5]f %[5]f 0 0 1 %[5]f %[6]fz",
					v.X+r,
					v.Y,
					v.W-2*r,
					v.H-2*r,
					r,
					-r,
					2*r-v.W,
					2*r-v.H,
				)
			}
			p.path(d, resolve(v.Style, link))
		case Circle:
			p.path(
				D("M%.4f %.4fa%[3]f %[3]f 0 0 1 %[4]f 0a%[3]f %[3]f 0 0 1 %[5]f 0z", v.X-v.R, v.Y, v.R, 2*v.R, -2*v.R),
				resolve(v.Style, link),
			)
		case Path:
			l := resolve(v.Style, link)
			l.evenOdd, l.round = v.EvenOdd, l.round || v.Round
			p.path(v.D, l)
		case Text:
			p.text(v)
		case Group:
			p.items(v.Items, link)
		case Link:
			p.items(v.Items, v.Class)
		}
	}
}

func (p printer) trace(d []Cmd) {
	for _, c := range d {
		x, y := p.at(c.P[0], c.P[1])
		switch c.Op {
		case Move:
			p.pdf.MoveTo(x, y)
		case LineTo:
			p.pdf.LineTo(x, y)
		case Curve:
			x2, y2 := p.at(c.P[2], c.P[3])
			x3, y3 := p.at(c.P[4], c.P[5])
			p.pdf.CurveBezierCubicTo(x, y, x2, y2, x3, y3)
		case Close:
			p.pdf.ClosePath()
		}
	}
}

func (p printer) path(d []Cmd, l look) {
	if len(d) == 0 {
		return
	}
	pdf := p.pdf
	join, ends := "miter", "butt"
	if l.round {
		join, ends = "round", "round"
	}
	pdf.SetLineJoinStyle(join)
	pdf.SetLineCapStyle(ends)
	if l.hatched {
		if l.hatch != Wall {
			pdf.SetFillColor(255, 255, 255)
			p.trace(d)
			pdf.DrawPath("F")
			pdf.SetDrawColor(frost[0], frost[1], frost[2])
		} else {
			pdf.SetDrawColor(ruleGrey[0], ruleGrey[1], ruleGrey[2])
		}
		pdf.SetDashPattern(nil, 0)
		pdf.SetLineWidth(hatchWidth[l.hatch] * p.k * 0.6)
		for _, s := range hatchLines(flatten(d), hatchStep[l.hatch]) {
			x1, y1 := p.at(s[0], s[1])
			x2, y2 := p.at(s[2], s[3])
			pdf.Line(x1, y1, x2, y2)
		}
	}
	mode := ""
	if l.filled {
		pdf.SetFillColor(l.fill[0], l.fill[1], l.fill[2])
		mode = "F"
		if l.evenOdd {
			mode = "f*"
		}
	}
	if l.stroked {
		pdf.SetDrawColor(l.stroke[0], l.stroke[1], l.stroke[2])
		pdf.SetLineWidth(l.width * p.k)
		var dash []float64
		for _, v := range l.dash {
			dash = append(dash, v*p.k)
		}
		pdf.SetDashPattern(dash, 0)
		switch {
		case !l.filled:
			mode = "D"
		case l.evenOdd:
			mode = "B*"
		default:
			mode = "FD"
		}
	}
	if mode != "" {
		p.trace(d)
		pdf.DrawPath(mode)
	}
}

// ptPerMM is points per millimetre, by definition 72/25.4.
const ptPerMM = 72 / 25.4

func (p printer) text(t Text) {
	set := func(class string, bold bool) {
		style := ""
		if bold {
			style = "B"
		}
		p.pdf.SetFont(Family, style, Text{Class: class}.FontSize()*p.k*ptPerMM)
		c := black
		for w := range strings.FieldsSeq(class) {
			if v, ok := fillOf(w); ok {
				c = v
			}
		}
		p.pdf.SetTextColor(c[0], c[1], c[2])
	}
	set(t.Class, t.Bold())
	w := p.pdf.GetStringWidth(t.S)
	total := w
	if t.Tail != "" {
		set(t.TailClass, t.Bold())
		total += tailGap*p.k + p.pdf.GetStringWidth(t.Tail)
		set(t.Class, t.Bold())
	}
	x, y := p.at(t.X, t.Y)
	switch {
	case has(t.Class, "x-e"):
		x -= total
	case has(t.Class, "x-c"):
		x -= total / 2
	}
	p.pdf.Text(x, y, t.S)
	if t.Tail != "" {
		set(t.TailClass, t.Bold())
		p.pdf.Text(x+w+tailGap*p.k, y, t.Tail)
	}
}
