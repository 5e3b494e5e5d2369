package figure

import (
	"strings"

	"coldwright/machine/circuit"
	"coldwright/say/text"
	"coldwright/units"
)

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
		first, second := p.stateWords(q, w)
		out += sep + first + " " + TempUnit(p.Display)
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
	t := Table{Head: []string{w.State, d.PressureUnit(), TempUnit(d), d.EnthalpyUnit()}}
	if p.Chart == nil {
		return t
	}
	pressure := func(v float64) string { return units.Whole(d.PressureNumber(units.Pressure(v), p.Ambient)) }
	row := func(name string, P, T, h float64) {
		t.Rows = append(t.Rows, []string{name, pressure(P), units.Whole(d.TempNumber(units.Temp(T), 1)), d.EnthalpyNumber(h-p.zero(), 1)})
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
			_, second := p.stateWords(q, w)
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
				w.Corner(at) + ", " + w.Healthy,
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
