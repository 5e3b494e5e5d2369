package text

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"coldwright/machine/reading"
	"coldwright/units"
)

// listed is which of a list a field is of; the words are the same for all of them.
var listed = regexp.MustCompile(`\[\d+\]`)

// AssumedList is each of what defaults filled in, in words; what is taken of several alike is said once.
func AssumedList(list []reading.Assumed, d units.Display, lang ...Language) (out []string) {
	for _, a := range list {
		if s := Assumed(a, d, lang...); !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// Assumed is what a default filled in, in words: "TD 10 °F".
func Assumed(a reading.Assumed, d units.Display, lang ...Language) string {
	l := one(lang)
	names, field := l.words().Assumed, listed.ReplaceAllString(strings.TrimPrefix(a.Field, "machine.plate."), "[]")
	name, ok := names[field]
	if !ok {
		name, ok = names["design."+field] // a plate in a document about its room holds the design point itself
	}
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
		case "share":
			return name + " " + units.Fixed(100*v, 0) + " %"
		}
		return name + " " + units.Fixed(v, 1)
	}
	return name + " " + fmt.Sprint(a.Value)
}
