package figure

import (
	"math"

	"coldwright/say/plot"
	"coldwright/say/text"
	"coldwright/units"
)

// ProofData is both ends of a visit: before and after, each with the bands of its own box and outside temperature.
type ProofData struct {
	ID                    string // "" is "prf"
	Before, After         []Mark
	BeforeHead, AfterHead string // "" names box and outside from the marks
	Display               units.Display
	Compact               bool // lower, for paper
	Lang                  text.Language
}

// Proof draws both on one staff: before to the left, after to the right.
func Proof(p ProofData) plot.Scene {
	d := p.Display
	before, after := valid(p.Before), valid(p.After)
	s := plot.Scene{
		ID:    p.ID,
		W:     ladderW,
		Title: text.Figure("proof", p.Lang),
		Desc:  text.Figure("proof_desc", p.Lang, p.side(before), p.side(after)),
	}
	if s.ID == "" {
		s.ID = "prf"
	}
	heightOf := func(m Mark) float64 {
		if m.Band != nil {
			if kind, _ := Verdict(m.Read, *m.Band, d); kind != In {
				return proofLabelOff
			}
		}
		return proofLabel
	}
	need := 120.0
	for _, list := range [][]Mark{before, after} {
		sum := 6.0
		for _, m := range list {
			sum += heightOf(m) + 3
		}
		need = math.Max(need, sum)
	}
	const top = 46
	degree := proofDegree
	if p.Compact {
		degree = proofCompact
	}
	sc := newScale(values(d, before, after), d, top, degree, need)
	s.H = math.Ceil((sc.hi-sc.lo)*sc.k + top + 10)

	for _, side := range []struct {
		marks       []Mark
		head, words string
		sign        float64
		lane        map[Lane]float64
		label, edge float64
		end         string
	}{
		{
			before, text.Figure("before", p.Lang), p.BeforeHead, -1,
			map[Lane]float64{LaneSaturation: 149, LaneAir: 132, LaneLine: 115},
			100,
			proofStaffX, " x-e",
		},
		{
			after, text.Figure("after", p.Lang), p.AfterHead, 1,
			map[Lane]float64{LaneSaturation: 209, LaneAir: 226, LaneLine: 243},
			258,
			proofStaffX + staffW, "",
		},
	} {
		x, end := 0.0, ""
		if side.sign > 0 {
			x, end = ladderW, " x-e"
		}
		words := side.words
		if words == "" {
			words = given(side.marks, d, p.Lang)
		}
		s.Add(plot.Text{X: x, Y: 18, S: side.head, Class: "x-l x-b f-ink" + end})
		if words != "" {
			s.Add(plot.Text{X: x, Y: 36, S: fit(words, 14.5, false, 158), Class: "x-s f-ink2" + end})
		}
		var want, height []float64
		for _, m := range side.marks {
			y := sc.y(num(d, m.Read))
			if heightOf(m) == proofLabelOff {
				y = (y + sc.y(num(d, m.Band.Mid))) / 2
			}
			want, height = append(want, y), append(height, heightOf(m))
		}
		var labels []plot.Item
		for i, y := range plot.Spread(want, height, 3, top-6, s.H-2) { // a finding's box reaches 2 below its share
			m := side.marks[i]
			yr := sc.y(num(d, m.Read))
			lx, ok := side.lane[m.Lane]
			if !ok {
				lx = side.lane[LaneSaturation]
			}
			kind, n, ya := "", 0, yr
			if m.Band != nil {
				kind, n = Verdict(m.Read, *m.Band, d)
				s.Add(bandBox(lx, 11, 14, *m.Band, d, sc)...)
			}
			line, lead := "g-ink", "g-rule"
			if n > 0 {
				line, lead, ya = "g-ember", "g-ember", (yr+sc.y(num(d, m.Band.Mid)))/2
			}
			s.Add(
				plot.Line{X1: side.edge, Y1: yr, X2: lx, Y2: yr, Style: plot.Style{Class: line, Width: 1.5}},
				plot.Path{
					D:     plot.D("M%.2f %.2fL%.2f %.2fL%.2f %.2f", lx+side.sign*7, ya, lx+side.sign*9, ya, side.label-side.sign*4, y-4),
					Style: plot.Style{Class: lead + " f-none", Width: 1.2},
				},
			)
			labels = append(labels, plot.Text{X: side.label, Y: y - 3, S: fit(m.Name, 14.5, false, 98), Class: "x-s f-ink2" + side.end})
			if n == 0 {
				s.Add(dot(lx, yr, 4.5, "f-ink"))
				value := units.Whole(d.TempNumber(m.Read, 1))
				if kind == In {
					value += ", " + text.Figure(In, p.Lang)
				}
				labels = append(labels, plot.Text{X: side.label, Y: y + 14, S: value, Class: "x-m x-b f-ink" + side.end})
				continue
			}
			s.Add(dimension(lx, yr, sc.y(num(d, m.Band.Mid)))...)
			s.Add(triangle(lx, yr, 6.5, kind))
			bx := side.label
			if side.sign < 0 {
				bx -= 98
			}
			labels = append(
				labels,
				plot.Rect{X: bx, Y: y + 1, W: 98, H: 22, R: 2, Style: plot.Style{Class: "f-emberw g-ember", Width: 2}},
				triangle(bx+11, y+12, 5, kind),
				plot.Text{X: bx + 20, Y: y + 17, S: off(n, kind, p.Lang), Class: "x-m x-b f-ember"},
			)
		}
		s.Add(labels...)
	}
	s.Add(sc.staff(proofStaffX, staffW)...)
	return s
}

// given names what was given that day: "box 44, outside 86".
func given(marks []Mark, d units.Display, l text.Language) string {
	out := ""
	for _, g := range []struct{ key, word string }{{"box_air", "given_box"}, {"ambient", "given_outside"}} {
		for _, m := range marks {
			if m.Key == g.key {
				if out != "" {
					out += ", "
				}
				out += text.Figure(g.word, l, units.Whole(d.TempNumber(m.Read, 1)))
				break
			}
		}
	}
	return out
}

func (p ProofData) side(marks []Mark) string {
	out, in := "", 0
	for _, m := range marks {
		if m.Band == nil {
			continue
		}
		if kind, n := Verdict(m.Read, *m.Band, p.Display); kind == In {
			in++
		} else {
			out += m.Name + " " + off(n, kind, p.Lang) + ", "
		}
	}
	return out + text.Figure("count_in", p.Lang, units.Fixed(float64(in), 0))
}

// Caption explains the drawing.
func (p ProofData) Caption() string {
	return text.Figure("proof_caption", p.Lang)
}

// Table returns the same numbers.
func (p ProofData) Table() Table {
	healthy := text.Figure("healthy_then", p.Lang)
	t := Table{Head: []string{TempUnit(p.Display), text.Figure("before", p.Lang), healthy, text.Figure("after", p.Lang), healthy}}
	key := func(m Mark) string {
		if m.Key != "" {
			return m.Key
		}
		return m.Name
	}
	index := map[string]int{}
	for n, list := range [][]Mark{valid(p.Before), valid(p.After)} {
		for _, m := range list {
			i, ok := index[key(m)]
			if !ok {
				i = len(t.Rows)
				index[key(m)] = i
				t.Rows = append(t.Rows, []string{m.Name, "", "", "", ""})
			}
			cell := units.Whole(p.Display.TempNumber(m.Read, 1))
			if m.Band != nil {
				cell += ", " + Off(m.Read, *m.Band, p.Display, p.Lang)
				t.Rows[i][2+2*n] = m.Band.span(p.Display, p.Lang)
			}
			t.Rows[i][1+2*n] = cell
		}
	}
	return t
}
