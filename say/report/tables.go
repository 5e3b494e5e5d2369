package report

import (
	"math"
	"strings"

	"coldwright/machine/circuit"
	"coldwright/machine/reading"
	"coldwright/say/figure"
	"coldwright/say/text"
	"coldwright/units"
)

// derivedRows are the derived quantities of the table, differences in K.
var derivedRows = []string{circuit.Superheat, circuit.Subcooling, circuit.TD, circuit.Split, circuit.DrierDrop}

func readings(d Data) Table {
	t := Table{
		Title: d.say("readings"),
		Table: figure.Table{
			Head: []string{d.say("unless_stated", figure.TempUnit(d.Display)), d.say("before"), d.say("after"), d.say("healthy_then")},
		},
	}
	cell := func(p Phase, at reading.Place) string {
		r, ok := p.Sheet.Find(at)
		if !ok {
			return ""
		}
		switch at.Kind() {
		case reading.KindPressure:
			return d.Display.PressureNumber(units.Pressure(r.Value), p.Sheet.Machine.AmbientPressure())
		case reading.KindTemperature:
			return d.Display.TempNumber(units.Temp(r.Value), 1)
		case reading.KindCurrent:
			return units.Fixed(r.Value, 1)
		case reading.KindShare:
			return units.Fixed(100*r.Value, 0)
		}
		return units.Fixed(r.Value/units.Kilo, 2)
	}
	healthy := func(p Phase, at reading.Place) string {
		if p.Posterior == nil {
			return ""
		}
		for _, e := range p.Posterior.Expected {
			if e.At != at || !e.Read {
				continue
			}
			b := e.Band
			switch at.Kind() {
			case reading.KindPressure:
				amb := p.Sheet.Machine.AmbientPressure()
				return d.say(
					"from_to",
					d.Display.PressureNumber(units.Pressure(b.Low), amb),
					d.Display.PressureNumber(units.Pressure(b.High), amb),
				)
			case reading.KindTemperature:
				return d.say("from_to", d.Display.TempNumber(units.Temp(b.Low), 0), d.Display.TempNumber(units.Temp(b.High), 0))
			case reading.KindCurrent:
				return d.say("from_to", units.Fixed(b.Low, 1), units.Fixed(b.High, 1))
			case reading.KindPower:
				return d.say("from_to", units.Fixed(b.Low/units.Kilo, 2), units.Fixed(b.High/units.Kilo, 2))
			}
		}
		return ""
	}
	for _, at := range reading.Places() {
		b, a := cell(d.Before, at), cell(d.After, at)
		if b == "" && a == "" {
			continue
		}
		name := text.Place(at, d.Lang).Name
		switch at.Kind() {
		case reading.KindPressure:
			name += ", " + d.Display.PressureUnit()
		case reading.KindCurrent:
			name += ", A"
		case reading.KindPower:
			name += ", kW"
		case reading.KindShare:
			name += ", %"
		}
		h := healthy(d.After, at)
		if h == "" {
			h = healthy(d.Before, at)
		}
		t.Rows = append(t.Rows, []string{name, b, a, h})
	}
	derived := func(p Phase, key string) string {
		if p.Posterior == nil {
			return ""
		}
		q, ok := p.Posterior.Analysis.Find(key)
		if !ok {
			return ""
		}
		return d.Display.DiffNumber(units.TempDiff(q.Value), 1)
	}
	for _, key := range derivedRows {
		if b, a := derived(d.Before, key), derived(d.After, key); b != "" || a != "" {
			name := text.Derived(key, d.Lang)
			if figure.TempUnit(d.Display) == "°C" {
				name += ", K"
			}
			t.Rows = append(t.Rows, []string{name, b, a, ""})
		}
	}
	for _, key := range reading.SeenKeys() {
		b, a := d.Before.Sheet.Seen.Get(key), d.After.Sheet.Seen.Get(key)
		if b == "" && a == "" {
			continue
		}
		word := func(s string) string { return strings.ToLower(text.SeenAnswer(key, s, d.Lang)) }
		t.Rows = append(t.Rows, []string{text.Seen(key, d.Lang).Name, word(b), word(a), ""})
	}
	return t
}

func moved(d Data) *Table {
	if len(d.Moves) == 0 {
		return nil
	}
	title := d.say("refrigerant")
	if d.Refrigerant != "" {
		title += " " + d.Refrigerant
	}
	t := &Table{Title: title, Table: figure.Table{Head: []string{d.say("cylinder"), d.say("out_of"), d.say("into")}}, Last: true}
	mass := func(m units.Mass) string {
		if m == 0 {
			return ""
		}
		return d.Display.FormatMass(m)
	}
	for _, m := range d.Moves {
		name := m.Cylinder
		if name == "" {
			name = d.say("not_named")
		}
		t.Rows = append(t.Rows, []string{name, mass(m.Out), mass(m.In)})
	}
	in, out := sums(d)
	net := in - out
	row := []string{d.say("more_in"), "", mass(net)}
	if net < 0 {
		row = []string{d.say("more_out"), mass(-net), ""}
	}
	if math.Abs(float64(net)) < 0.0005 {
		row = []string{d.say("as_much"), "", ""}
	}
	t.Rows = append(t.Rows, row)
	if net > 0.0005 {
		t.Note = d.say("more_went_in", units.Fixed(float64(net), 2))
		if d.GWP > 0 {
			gwp := units.Fixed(d.GWP, 0)
			if d.GWPEdition != "" {
				gwp += ", " + d.GWPEdition
			}
			t.Note += " " + d.say("warms_like", units.Fixed(float64(net)*d.GWP/units.Kilo, 1), gwp)
		}
	}
	return t
}
