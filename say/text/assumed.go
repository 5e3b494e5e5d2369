package text

import (
	"fmt"

	"coldwright/machine/reading"
	"coldwright/units"
)

// Assumed is what a default filled in, in words: "TD 10 °F".
func Assumed(a reading.Assumed, d units.Display, lang ...Language) string {
	l := one(lang)
	name, ok := l.words().Assumed[a.Field]
	if !ok {
		name = LowerFirst(plain(a.Field))
	}
	switch v := a.Value.(type) {
	case bool:
		if v {
			return name + " " + l.say("assumed.yes")
		}
		return name + " " + l.say("assumed.no")
	case string:
		if v == "" {
			v = "none"
		}
		if w, ok := l.words().AssumedValues[v]; ok {
			return name + " " + w
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
