package figure

import (
	"math"
	"strings"

	"coldwright/machine/reading"
	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
)

// Show is what one cause would show at the next reading: 5 to 95 % in SI, or a word for something seen.
type Show struct {
	Name           string
	Low, Mid, High float64
	Word           string
}

// NextData is what the next reading would show for each suspect, on one scale. Difference says the values
// are temperature differences.
type NextData struct {
	ID         string // "" is "nxt"
	At         string // key of the place, of something seen, or of a derived quantity
	Shows      []Show
	Difference bool
	Share      bool   // values are shares, shown in %
	Answer     string // for something seen: the answer whose probability the values are
	Display    units.Display
	Ambient    units.Pressure
}

const slabW = 326

// convert gives the function from SI to the number shown, its decimals and its unit.
func (n NextData) convert() (f func(float64) float64, decimals int, unit string) {
	kind := reading.KindUnknown
	if p, err := reading.ParsePlace(n.At); err == nil {
		kind = p.Kind()
	}
	if n.Difference || kind == reading.KindUnknown && strings.HasSuffix(n.At, "_k") {
		if celsius(n.Display) {
			return func(v float64) float64 { return v }, 0, "K"
		}
		return func(v float64) float64 { return units.TempDiff(v).F() }, 0, "°F"
	}
	if n.Share {
		return func(v float64) float64 { return 100 * v }, 0, "%"
	}
	switch kind {
	case reading.KindTemperature:
		return func(v float64) float64 { return num(n.Display, units.Temp(v)) }, 0, TempUnit(n.Display)
	case reading.KindPressure:
		switch n.Display.PressureUnit() {
		case "bar(g)":
			return func(v float64) float64 { return float64(units.Pressure(v).Gauge(n.Ambient)) / units.Bar }, 1, "bar(g)"
		case "kPa(a)":
			return func(v float64) float64 { return v / units.Kilo }, 0, "kPa(a)"
		}
		return func(v float64) float64 { return float64(units.Pressure(v).Gauge(n.Ambient)) / units.Psi }, 0, "psig"
	case reading.KindCurrent:
		return func(v float64) float64 { return v }, 1, "A"
	case reading.KindPower:
		return func(v float64) float64 { return v / units.Kilo }, 1, "kW"
	}
	return func(v float64) float64 { return 100 * v }, 0, "%"
}

func (n NextData) span(s Show) string {
	if s.Word != "" {
		return text.SeenAnswer(n.At, s.Word)
	}
	if n.Answer != "" {
		return text.HundredWord(s.Mid)
	}
	f, dec, unit := n.convert()
	a, b := units.Fixed(f(s.Low), dec), units.Fixed(f(s.High), dec)
	if a == b {
		return a + " " + unit
	}
	return a + " to " + b + " " + unit
}

// ticks chooses a round step so that there are at most n of them between lo and hi.
func ticks(lo, hi float64, n int) (first, step float64) {
	span := math.Max(hi-lo, 1e-6)
	step = math.Pow(10, math.Floor(math.Log10(span/float64(n))))
	for _, m := range []float64{1, 2, 5, 10} {
		if span/(step*m) <= float64(n) {
			step *= m
			break
		}
	}
	return math.Ceil(lo/step-1e-9) * step, step
}

// NextBars draws one bar per suspect, on the slab.
func NextBars(n NextData) plot.Scene {
	s := plot.Scene{ID: n.ID, W: slabW, Title: "What each suspect would show"}
	if s.ID == "" {
		s.ID = "nxt"
	}
	var said []string
	var shows []Show
	lo, hi := math.Inf(1), math.Inf(-1)
	f, dec, _ := n.convert()
	for _, sh := range n.Shows {
		if sh.Word == "" && (bad(sh.Low) || bad(sh.High)) {
			continue
		}
		said = append(said, sh.Name+": "+n.span(sh))
		if n.Answer != "" {
			sh.Low, sh.High = 0, sh.Mid
			lo, hi = 0, 100
		}
		if sh.Word == "" {
			lo, hi = math.Min(lo, f(sh.Low)), math.Max(hi, f(sh.High))
		}
		shows = append(shows, sh)
	}
	s.Desc = strings.Join(said, "; ")
	if n.Answer != "" {
		s.Title = "How likely each suspect shows " + strings.ToLower(text.SeenAnswer(n.At, n.Answer))
	}
	numeric := lo <= hi
	// Where a name and its range do not fit beside each other, they stand one above the other. A wider font than estimated is allowed for.
	row, second := 38, 0.0
	for _, sh := range shows {
		if 1.15*(plot.Width(sh.Name, 14.5, false)+plot.Width(n.span(sh), 14.5, true)) > slabW {
			row, second = 56, 18
		}
	}
	s.H = float64(row*len(shows)) + 22
	if !numeric {
		s.H = float64(26*len(shows)) + 4
		for i, sh := range shows {
			y := float64(26*i) + 18
			w := n.span(sh)
			s.Add(
				plot.Text{X: 0, Y: y, S: fit(sh.Name, 14.5, false, slabW-12-plot.Width(w, 14.5, true)), Class: "x-s s-slab"},
				plot.Text{X: slabW, Y: y, S: w, Class: "x-s x-b s-slab x-e"},
				plot.Line{X1: 0, Y1: y + 8, X2: slabW, Y2: y + 8, Style: plot.Style{Class: "gs-rule", Width: 1}},
			)
		}
		return s
	}
	// At least four of the smallest steps that are shown, so that neighbouring ticks never read the same.
	if least := 4 * math.Pow(10, -float64(dec)); hi-lo < least {
		lo, hi = (lo+hi-least)/2, (lo+hi+least)/2
	}
	first, step := ticks(lo, hi, 6)
	if first > lo {
		first -= step
	}
	last := first
	for last < hi-1e-9 {
		last += step
	}
	if last == first {
		last += step
	}
	x := func(v float64) float64 { return 2 + (v-first)/(last-first)*(slabW-4) }
	marks := int(math.Round((last - first) / step))
	for i, sh := range shows {
		y := float64(i*row) + 14 + second
		d := plot.D("M%.2f %.2fH%.2f", x(first), y+12.5, x(last))
		for k := 0; k <= marks; k++ {
			d = append(d, plot.D("M%.2f %.2fv9", x(first+float64(k)*step), y+8)...)
		}
		room, wordsX, end := slabW-10-plot.Width(n.span(sh), 14.5, true), float64(slabW), " x-e"
		if second > 0 {
			room, wordsX, end = slabW/1.15, 0, "" // the sun look is bolder
		}
		s.Add(
			plot.Path{D: d, Style: plot.Style{Class: "gs-rule f-none", Width: 1}},
			plot.Text{X: 0, Y: y - second, S: fit(sh.Name, 14.5, false, room), Class: "x-s s-slab"},
			plot.Text{X: wordsX, Y: y, S: n.span(sh), Class: "x-s x-b s-slab" + end},
		)
		if sh.Word == "" {
			a, b := x(f(sh.Low)), x(f(sh.High))
			s.Add(plot.Rect{X: math.Min(a, x(last)-4), Y: y + 7, W: math.Max(4, b-a), H: 11, Style: plot.Style{Class: "s-slab"}})
		}
	}
	for k := 0; k <= marks; k++ {
		v := first + float64(k)*step
		class := "x-s s-slab2"
		switch k {
		case 0:
		case marks:
			class += " x-e"
		default:
			class += " x-c"
		}
		s.Add(plot.Text{X: x(v), Y: s.H - 3, S: units.Fixed(v, dec), Class: class})
	}
	return s
}

// Table returns the same numbers.
func (n NextData) Table() Table {
	t := Table{Head: []string{"Suspect", "Would show"}}
	if n.Answer != "" {
		t.Head[1] = "Would show “" + text.SeenAnswer(n.At, n.Answer) + "”"
	}
	for _, s := range n.Shows {
		if s.Word == "" && (bad(s.Low) || bad(s.High)) {
			continue
		}
		t.Rows = append(t.Rows, []string{s.Name, n.span(s)})
	}
	return t
}

// SuspectBar draws how likely one suspect is. The figure stands beside it in words, so it is hidden from readers.
func SuspectBar(p float64) plot.Scene {
	if bad(p) {
		p = 0
	}
	p = math.Min(1, math.Max(0, p))
	return plot.Scene{ID: "bar", W: 300, H: 14, Class: "bar-s", Stretch: true, Items: []plot.Item{
		plot.Rect{Y: 6, W: 300, H: 2, Style: plot.Style{Class: "f-rule"}},
		plot.Rect{W: 300 * p, H: 14, Style: plot.Style{Class: "f-ink"}},
	}}
}

// Worst draws one machine in a list: its band and how far its worst reading stands from the middle, or that nothing is known.
func Worst(id string, off units.TempDiff, known bool, d units.Display) plot.Scene {
	const x0 = 60.0
	s := plot.Scene{ID: id, W: 120, H: 26, Class: "gap"}
	if !known || bad(float64(off)) {
		s.Title = "not known"
		s.Add(plot.Rect{X: x0 - 24, Y: 6, W: 48, H: 14, Style: plot.Style{Class: "f-none g-rule", Width: 1.6, Dash: []float64{4, 3}}})
		return s
	}
	s.Add(
		plot.Rect{X: x0 - 14, Y: 6, W: 28, H: 14, Style: plot.Style{Class: "g-frost", Width: 1.4, Hatch: plot.Healthy}},
		plot.Line{X1: x0, Y1: 3, X2: x0, Y2: 23, Style: plot.Style{Class: "g-frost", Width: 3}},
	)
	kind, words := CircuitData{Display: d}.flag(Tag{Off: off})
	if words == "" {
		s.Title = "in band"
		s.Add(dot(x0+5, 13, 5, "f-ink"))
		return s
	}
	s.Title = words
	x := math.Max(6, math.Min(114, x0+off.F()*2.9))
	if math.Abs(x-x0) < 14 {
		x = x0 + math.Copysign(14, x-x0)
	}
	head := -9.0
	if kind == Under {
		head = 9
	}
	s.Add(
		plot.Line{X1: x0, Y1: 13, X2: x + head, Y2: 13, Style: plot.Style{Class: "g-ember", Width: 2.4}},
		plot.Path{D: plot.D("M%.2f 13l%.2f -6v12z", x, head), Style: plot.Style{Class: "f-ember"}},
	)
	return s
}
