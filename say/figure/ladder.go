package figure

import (
	"math"
	"slices"
	"strings"

	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
)

// LadderData is what the ladder shows.
type LadderData struct {
	ID      string // unique on the page; "" is "lad"
	Title   string
	Marks   []Mark
	Display units.Display
	Compact bool // lower, for paper
	Lang    text.Language
}

const (
	ladderW       = 358
	staffX        = 154
	staffW        = 32
	labelLeft     = 25.0 // height of a label left
	labelIn       = 22.0
	labelRoom     = 131.0 // for name and number left of the staff
	labelOff      = 48.0
	ladderDegree  = 4.1 // units per °F
	proofDegree   = 3.55
	proofCompact  = 2.6
	proofStaffX   = 163
	proofLabelOff = 42.0
	proofLabel    = 38.0
)

func laneX(l Lane) float64 {
	switch l {
	case LaneAir:
		return 222
	case LaneLine:
		return 242
	}
	return 202
}

// Ladder draws one staff of temperature for the machine: left what was read, right the healthy bands and the gaps.
func Ladder(l LadderData) plot.Scene {
	d, marks := l.Display, valid(l.Marks)
	s := plot.Scene{ID: l.ID, W: ladderW, Title: l.Title, Desc: describe(marks, d, l.Lang)}
	if s.ID == "" {
		s.ID = "lad"
	}
	if s.Title == "" {
		s.Title = text.Figure("ladder", l.Lang)
	}
	needLeft, needRight := 0.0, 0.0
	for _, m := range marks {
		needLeft += labelLeft + 1
		if m.Band != nil {
			if kind, _ := Verdict(m.Read, *m.Band, d); kind == In {
				needRight += labelIn + 4
			} else {
				needRight += labelOff + 4
			}
		}
	}
	degree := ladderDegree
	if l.Compact {
		degree = proofCompact
	}
	sc := newScale(values(d, marks), d, 8, degree, math.Max(math.Max(needLeft, needRight), 120))
	s.H = math.Ceil((sc.hi-sc.lo)*sc.k + sc.top + 10)

	for t := sc.lo; t <= sc.hi; t += sc.step {
		y := sc.y(t)
		s.Add(plot.Line{X1: staffX + staffW, Y1: y, X2: ladderW, Y2: y, Style: plot.Style{Class: "g-hair", Width: 1}})
	}

	var want, height []float64
	var banded []Mark
	for _, m := range marks {
		if m.Band == nil {
			continue
		}
		yr, ym := sc.y(num(d, m.Read)), sc.y(num(d, m.Band.Mid))
		if kind, _ := Verdict(m.Read, *m.Band, d); kind == In {
			want, height = append(want, yr), append(height, labelIn)
		} else {
			want, height = append(want, (yr+ym)/2), append(height, labelOff)
		}
		banded = append(banded, m)
	}
	right := plot.Spread(want, height, 4, 0, s.H)
	var labels []plot.Item
	for i, m := range banded {
		kind, n := Verdict(m.Read, *m.Band, d)
		x, y := laneX(m.Lane), right[i]
		yr, ym := sc.y(num(d, m.Read)), sc.y(num(d, m.Band.Mid))
		s.Add(bandBox(x, 16, 20, *m.Band, d, sc)...)
		line, lead, ya, yl := "g-ink", "g-frost", yr, y
		if kind != In {
			line, lead, ya, yl = "g-ember", "g-ember", (yr+ym)/2, y-11
		}
		s.Add(
			plot.Line{X1: staffX + staffW, Y1: yr, X2: x, Y2: yr, Style: plot.Style{Class: line, Width: 1.5}},
			plot.Path{
				D:     plot.D("M%.2f %.2fL%.2f %.2fL256 %.2f", x+9, ya, math.Max(x+9, 250), ya, yl),
				Style: plot.Style{Class: lead + " f-none", Width: 1.2},
			},
		)
		if kind == In {
			s.Add(dot(x, yr, 5, "f-ink"))
			words := text.Figure(In, l.Lang) + ", " + m.Band.span(d, l.Lang)
			if plot.Width(words, 14.5, false) > ladderW-260 {
				words = m.Band.span(d, l.Lang) // the dot on the band says it too, and the table in words
			}
			labels = append(
				labels,
				plot.Rect{X: 257, Y: y - 9, W: 101, H: 18, Style: plot.Style{Class: "f-sheet"}},
				plot.Text{X: 260, Y: y + 5, S: words, Class: "x-s f-frost"},
			)
			continue
		}
		s.Add(dimension(x, yr, ym)...)
		s.Add(triangle(x, yr, 7, kind))
		labels = append(
			labels,
			plot.Rect{X: 258, Y: y + 2, W: 100, H: 20, Style: plot.Style{Class: "f-sheet"}},
			plot.Rect{X: 258, Y: y - 23, W: 99, H: 25, R: 2, Style: plot.Style{Class: "f-emberw g-ember", Width: 2}},
			triangle(269, y-10.5, 5.5, kind),
			plot.Text{X: 279, Y: y - 5, S: off(n, kind, l.Lang), Class: "x-m x-b f-ember"},
			plot.Text{X: 260, Y: y + 18, S: m.Band.span(d, l.Lang), Class: "x-s f-ink2"},
		)
	}
	s.Add(labels...)
	s.Add(sc.staff(staffX, staffW)...)

	want, height = nil, nil
	for _, m := range marks {
		want, height = append(want, sc.y(num(d, m.Read))), append(height, labelLeft)
	}
	for i, y := range plot.Spread(want, height, 1, 0, s.H) {
		m := marks[i]
		yt := sc.y(num(d, m.Read))
		value := units.Whole(d.TempNumber(m.Read, 1))
		if 1.1*(plot.Width(m.Name, 14.5, false)+plot.Width(value, 15, true)) > labelRoom {
			// A long number beside a long name, perhaps in a wide font: whole degrees here, the tenth stands in the table.
			value = d.TempNumber(m.Read, 0)
		}
		s.Add(
			plot.Path{D: plot.D("M134 %.2fL139 %.2fL145 %.2f", y, y, yt), Style: plot.Style{Class: "g-ink f-none", Width: 1.2}},
			plot.Path{D: plot.D("M144 %.2fv10l10 -5z", yt-5), Style: plot.Style{Class: "f-ink"}},
			plot.Text{X: 0, Y: y + 5, S: fit(m.Name, 14.5, false, labelRoom-2-plot.Width(value, 15, true)), Class: "x-s f-ink2"},
			plot.Text{X: 131, Y: y + 5.5, S: value, Class: "x-m x-b x-e f-ink"},
		)
	}
	return s
}

// describe says in words what the drawing shows.
func describe(marks []Mark, d units.Display, l text.Language) string {
	var off, in []string
	for _, m := range marks {
		if m.Band == nil {
			continue
		}
		if kind, _ := Verdict(m.Read, *m.Band, d); kind == In {
			in = append(in, m.Name)
		} else {
			off = append(off, m.Name+" "+units.Whole(d.TempNumber(m.Read, 1))+", "+Off(m.Read, *m.Band, d, l))
		}
	}
	out := text.Figure("ladder_desc", l, TempUnit(d))
	if len(off) > 0 {
		out += " " + strings.Join(off, "; ") + "."
	}
	if len(in) > 0 {
		out += " " + text.Figure("ladder_in", l, strings.Join(in, ", "))
	}
	return out
}

// Caption explains the drawing. It says so when a band comes from the design only.
func (l LadderData) Caption() string {
	for _, m := range l.Marks {
		if m.Band != nil && m.Band.Design {
			return text.Figure("ladder_plan", l.Lang)
		}
	}
	return text.Figure("ladder_learn", l.Lang)
}

// Table returns the same numbers, hottest first.
func (l LadderData) Table() Table {
	t := Table{
		Head: []string{TempUnit(l.Display), text.Figure("read", l.Lang), text.Figure("today", l.Lang), text.Figure("finding", l.Lang)},
	}
	marks := slices.Clone(valid(l.Marks))
	slices.SortStableFunc(marks, func(a, b Mark) int {
		switch {
		case a.Read > b.Read:
			return -1
		case a.Read < b.Read:
			return 1
		}
		return 0
	})
	for _, m := range marks {
		row := []string{m.Name, units.Whole(l.Display.TempNumber(m.Read, 1)), "", text.Figure("given", l.Lang)}
		if m.Band != nil {
			row[2], row[3] = m.Band.span(l.Display, l.Lang), Off(m.Read, *m.Band, l.Display, l.Lang)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}
