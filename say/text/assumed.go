package text

import (
	"fmt"

	"coldwright/machine/reading"
	"coldwright/units"
)

var assumedNames = map[string]string{
	"application": "application", "expansion": "expansion", "receiver": "receiver", "head_control": "head control",
	"design.box": "design box", "design.ambient": "design outside air", "design.td": "TD", "design.split": "split",
	"design.superheat": "superheat", "design.subcooling": "subcooling", "head_set": "head held at",
	"exchanger_effectiveness": "liquid to suction exchange",
}

// Assumed is what a default filled in, in words: "TD 10 °F".
func Assumed(a reading.Assumed, d units.Display, lang ...Language) string {
	l := one(lang)
	name, ok := lexicons[l].assumed[a.Field]
	if !ok {
		name, ok = assumedNames[a.Field]
	}
	if !ok {
		name = LowerFirst(plain(a.Field))
	}
	switch v := a.Value.(type) {
	case bool:
		if v {
			return name + " " + l.in(phrase{"yes", "sí"})
		}
		return name + " " + l.in(phrase{"no", "no"})
	case string:
		if v == "" {
			v = "none"
		}
		for _, words := range []map[string]string{lexicons[l].applications, lexicons[l].expansions, lexicons[l].headControls} {
			if w, ok := words[v]; ok {
				return name + " " + LowerFirst(w)
			}
		}
		return name + " " + v
	case float64:
		switch a.Unit {
		case "C":
			return name + " " + d.FormatTemp(units.Celsius(v), 0)
		case "K":
			return name + " " + d.FormatDiff(units.TempDiff(v), 0)
		}
		return name + " " + units.Fixed(v, 1)
	}
	return name + " " + fmt.Sprint(a.Value)
}
