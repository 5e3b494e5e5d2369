package text

import (
	"strings"

	"coldwright/diagnose"
	"coldwright/machine/reading"
	"coldwright/units"
	"coldwright/verdict"
)

// Misfit says which reading cannot belong where nothing fits, what else its number may be, and what to check; empty
// where something fits, or nobody asked.
func Misfit(j *verdict.Judgement, d units.Display, ambient units.Pressure, l Language) string {
	if j == nil || j.Misfit == nil {
		return ""
	}
	m := j.Misfit
	var out []string
	add := func(s string) { out = append(out, s) }
	switch m.Rule {
	case diagnose.MisfitOne:
		x := m.Odd[0]
		name := UpperFirst(nameOf(x.At, l))
		add(l.misfit("one", name, shows(x.At, x.Shows, d, ambient), rest(x, d, ambient, l), without(x.Without, l)))
		if len(x.Fits) > 0 {
			add(fits("fits.", x.Fits[0], l))
		} else if len(m.All) > 0 {
			add(all(m.All[0], l))
		}
		add(check(x.At, l))
	case diagnose.MisfitSome:
		var names []string
		for _, x := range m.Odd {
			names = append(names, l.misfit(
				"item", LowerFirst(nameOf(x.At, l)), shows(x.At, x.Shows, d, ambient), rest(x, d, ambient, l), without(x.Without, l),
			))
		}
		add(l.misfit("some", strings.Join(names, "; ")))
		for _, x := range m.Odd {
			if len(x.Fits) > 0 {
				add(UpperFirst(nameOf(x.At, l)) + ": " + LowerFirst(fits("fits.", x.Fits[0], l)))
			}
		}
		if len(m.All) > 0 {
			add(all(m.All[0], l))
		}
		add(check(m.Odd[0].At, l))
	case diagnose.MisfitAll:
		for _, r := range m.All {
			add(all(r, l))
		}
		add(l.misfit("check.all"))
	default:
		add(l.misfit("none"))
		add(l.misfit("check.all"))
	}
	return strings.Join(out, " ")
}

// nameOf is the short name of a place, as in the reason under the headline.
func nameOf(at reading.Place, l Language) string {
	name, _, _ := strings.Cut(At(at.String(), l), ", ")
	return name
}

// shows is a value as people read it.
func shows(at reading.Place, v float64, d units.Display, ambient units.Pressure) string {
	switch at.Kind() {
	case reading.KindPressure:
		return d.FormatPressure(units.Pressure(v), ambient)
	case reading.KindTemperature:
		return d.FormatTemp(units.Temp(v), 0)
	case reading.KindCurrent:
		return units.Fixed(v, 1) + " A"
	case reading.KindShare:
		return units.Fixed(100*v, 0) + " %"
	}
	return units.Fixed(v, 0) + " W"
}

// rest is what the other readings expect.
func rest(x diagnose.Odd, d units.Display, ambient units.Pressure, l Language) string {
	number := func(v float64) string {
		switch x.At.Kind() {
		case reading.KindPressure:
			return d.PressureNumber(units.Pressure(v), ambient)
		case reading.KindTemperature:
			return d.TempNumber(units.Temp(v), 0)
		case reading.KindCurrent:
			return units.Fixed(v, 1)
		case reading.KindShare:
			return units.Fixed(100*v, 0)
		}
		return units.Fixed(v, 0)
	}
	return number(x.Rest.Low) + l.to() + shows(x.At, x.Rest.High, d, ambient)
}

// without are the first answers where one reading is left out, or all of a kind mean something else.
func without(list []diagnose.Marginal, l Language) string {
	var out []string
	for _, c := range list {
		out = append(out, Fault(c.Fault.String(), l).Noun+" "+HundredWord(c.Probability, l))
	}
	return strings.Join(out, ", ")
}

func fits(key string, r diagnose.Reread, l Language, more ...string) string {
	return l.misfit(key+r.How, append([]string{r.Is, r.Was}, more...)...)
}

func all(r diagnose.Reread, l Language) string {
	if key := "all." + kindKey(r.At[0]); r.How != diagnose.FitsRefrigerant {
		return l.misfit(key) + " " + fits("meaning.", r, l) + ": " + without(r.Then, l) + "."
	}
	return fits("all.", r, l, without(r.Then, l))
}

func check(at reading.Place, l Language) string { return l.misfit("check." + kindKey(at)) }

func kindKey(at reading.Place) string {
	switch at.Kind() {
	case reading.KindPressure:
		return "pressure"
	case reading.KindTemperature:
		return "temperature"
	}
	return "electrical"
}

// misfit is a sentence of this file with its arguments.
func (l Language) misfit(key string, args ...string) string {
	return put(l.words().Misfit[key], args...)
}
