package plot

import (
	"html/template"
	"math"
	"strconv"
	"strings"
)

// HTML returns the scene as an svg element for a page. Every text in it is escaped here.
func HTML(s Scene) template.HTML { return template.HTML(markup(s)) }

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;")

// escape also drops what XML does not allow at all.
func escape(s string) string {
	return escaper.Replace(strings.Map(func(r rune) rune {
		if r < ' ' && r != '\t' && r != '\n' || r == 0xfffe || r == 0xffff {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD")))
}

// num prints a coordinate: two decimals at most, and never an exponent.
func num(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		panic("plot: coordinate is not a number")
	}
	s := strconv.FormatFloat(v, 'f', 2, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

type writer struct {
	strings.Builder
	id string
}

func (w *writer) attr(name, value string) {
	w.WriteByte(' ')
	w.WriteString(name)
	w.WriteString(`="`)
	w.WriteString(escape(value))
	w.WriteByte('"')
}

func (w *writer) nums(pairs ...any) {
	for i := 0; i < len(pairs); i += 2 {
		w.attr(pairs[i].(string), num(pairs[i+1].(float64)))
	}
}

func (w *writer) style(s Style) {
	if s.Hatch != HatchUnknown {
		w.attr("fill", "url(#"+w.id+hatchSuffix[s.Hatch]+")")
	}
	if s.Class != "" {
		w.attr("class", s.Class)
	}
	if s.Width > 0 {
		w.nums("stroke-width", s.Width)
	}
	if len(s.Dash) > 0 {
		var d []string
		for _, v := range s.Dash {
			d = append(d, num(v))
		}
		w.attr("stroke-dasharray", strings.Join(d, " "))
	}
}

var hatchSuffix = [...]string{"", "-h", "-l", "-w"}

// hatchStep and hatchWidth describe the hatchings: distance of the lines and their width.
var (
	hatchStep  = [...]float64{0, 6, 8, 7}
	hatchWidth = [...]float64{0, 2.4, 1.5, 2}
)

func markup(s Scene) string {
	w := &writer{id: s.ID}
	role := "img"
	if s.Links {
		role = "group"
	}
	w.WriteString(`<svg xmlns="http://www.w3.org/2000/svg"`)
	w.attr("viewBox", "0 0 "+num(s.W)+" "+num(s.H))
	if s.Class != "" {
		w.attr("class", s.Class)
	}
	if s.Stretch {
		w.attr("preserveAspectRatio", "none")
	}
	if s.Title == "" {
		w.attr("aria-hidden", "true")
	} else {
		w.attr("role", role)
		by := s.ID + "-t"
		if s.Desc != "" {
			by += " " + s.ID + "-d"
		}
		w.attr("aria-labelledby", by)
	}
	w.WriteByte('>')
	if s.Title != "" {
		w.WriteString(`<title`)
		w.attr("id", s.ID+"-t")
		w.WriteString(`>` + escape(s.Title) + `</title>`)
	}
	if s.Title != "" && s.Desc != "" {
		w.WriteString(`<desc`)
		w.attr("id", s.ID+"-d")
		w.WriteString(`>` + escape(s.Desc) + `</desc>`)
	}
	used := map[Hatch]bool{}
	Walk(s.Items, func(i Item) {
		switch v := i.(type) {
		case Rect:
			used[v.Hatch] = true
		case Path:
			used[v.Hatch] = true
		case Circle:
			used[v.Hatch] = true
		}
	})
	for _, h := range []Hatch{Healthy, Loose, Wall} {
		if !used[h] {
			continue
		}
		step := hatchStep[h]
		w.WriteString(`<defs><pattern`)
		w.attr("id", s.ID+hatchSuffix[h])
		w.nums("width", step, "height", step)
		w.attr("patternUnits", "userSpaceOnUse")
		w.attr("patternTransform", "rotate(45)")
		w.WriteByte('>')
		class := "g-rule"
		if h != Wall {
			class = "g-frost"
			w.WriteString(`<rect`)
			w.nums("width", step, "height", step)
			w.WriteString(` class="f-frostw"/>`)
		}
		w.WriteString(`<line`)
		w.nums("x1", 0.0, "y1", 0.0, "x2", 0.0, "y2", step)
		w.attr("class", class)
		w.nums("stroke-width", hatchWidth[h])
		w.WriteString(`/></pattern></defs>`)
	}
	w.items(s.Items)
	w.WriteString(`</svg>`)
	return w.String()
}

func (w *writer) items(items []Item) {
	for _, i := range items {
		switch v := i.(type) {
		case Line:
			w.WriteString("<line")
			w.nums("x1", v.X1, "y1", v.Y1, "x2", v.X2, "y2", v.Y2)
			w.style(v.Style)
			w.WriteString("/>")
		case Rect:
			w.WriteString("<rect")
			w.nums("x", v.X, "y", v.Y, "width", math.Max(0, v.W), "height", math.Max(0, v.H))
			if v.R > 0 {
				w.nums("rx", v.R)
			}
			w.style(v.Style)
			w.WriteString("/>")
		case Circle:
			w.WriteString("<circle")
			w.nums("cx", v.X, "cy", v.Y, "r", v.R)
			w.style(v.Style)
			w.WriteString("/>")
		case Path:
			w.WriteString("<path")
			w.attr("d", data(v.D))
			if v.EvenOdd {
				w.attr("fill-rule", "evenodd")
			}
			w.style(v.Style)
			if v.Round {
				w.attr("stroke-linejoin", "round")
				w.attr("stroke-linecap", "round")
			}
			w.WriteString("/>")
		case Text:
			w.WriteString("<text")
			w.nums("x", v.X, "y", v.Y)
			w.attr("class", v.Class)
			w.WriteString(">" + escape(v.S))
			if v.Tail != "" {
				w.WriteString("<tspan")
				w.attr("class", v.TailClass)
				w.WriteString("> " + escape(v.Tail) + "</tspan>") // the space is as wide as tailGap
			}
			w.WriteString("</text>")
		case Group:
			w.WriteString("<g")
			if v.Class != "" {
				w.attr("class", v.Class)
			}
			w.WriteByte('>')
			w.items(v.Items)
			w.WriteString("</g>")
		case Link:
			w.WriteString("<a")
			w.attr("href", v.Href)
			if v.Class != "" {
				w.attr("class", v.Class)
			}
			w.attr("aria-label", v.Label)
			w.WriteByte('>')
			for i := range v.Items {
				if _, words := v.Items[i].(Text); words && i > 0 {
					w.WriteByte('\n') // the words of a link are read one after the other, not as one
				}
				w.items(v.Items[i : i+1])
			}
			w.WriteString("</a>")
		}
	}
}

func data(d []Cmd) string {
	var b strings.Builder
	for _, c := range d {
		b.WriteByte(byte(c.Op))
		n := 2
		switch c.Op {
		case Close:
			n = 0
		case Curve:
			n = 6
		}
		for i := range n {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(num(c.P[i]))
		}
	}
	return b.String()
}
