package text

import (
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"coldwright/diagnose"
	"coldwright/machine/reading"
	"coldwright/units"
)

var argument = regexp.MustCompile(`\{(\w+):(\w+)\}`)

// fill puts the arguments of a finding in their places: {key:how} stands for an argument in the units asked for, how
// being mass, temp, diff, gap (a difference without its sign), pressure, percent, power or a number of decimals;
// {n:place} and {n:inside} for the name of the n-th place, at the beginning of a sentence and inside it. {35f:temp} is
// 35 °F as it stands.
func fill(s string, f reading.Finding, l Language, d units.Display, ambient units.Pressure) string {
	return argument.ReplaceAllStringFunc(s, func(m string) string {
		part := argument.FindStringSubmatch(m)
		v, ok := f.Args[part[1]]
		if fixed, isFixed := strings.CutSuffix(part[1], "f"); isFixed && !ok {
			if x, err := strconv.ParseFloat(fixed, 64); err == nil {
				v = float64(units.Fahrenheit(x))
			}
		}
		switch part[2] {
		case "place":
			return placeOf(f, part[1], l)
		case "inside":
			return LowerFirst(placeOf(f, part[1], l))
		case "mass":
			return d.FormatMass(units.Mass(v))
		case "temp":
			return d.FormatTemp(units.Temp(v), 0)
		case "diff":
			return d.FormatDiff(units.TempDiff(v), 0)
		case "gap":
			return d.FormatDiff(units.TempDiff(math.Abs(v)), 0)
		case "pressure":
			return d.FormatPressure(units.Pressure(v), ambient)
		case "percent":
			return units.Fixed(100*v, 0) + " %"
		case "power":
			return Power(v, d) + " " + PowerUnit(d)
		case "1":
			return units.Fixed(v, 1)
		}
		return units.Fixed(v, 0)
	})
}

// placeOf is the full name of the n-th place of a finding, counted from 1.
func placeOf(f reading.Finding, n string, l Language) string {
	if i, err := strconv.Atoi(n); err == nil && i <= len(f.At) {
		return Label(f.At[i-1], l)
	}
	return l.say("finding.this_reading")
}

// findingKey is the key of a finding's sentence: its code, and where one code has two sentences which of them.
func findingKey(f reading.Finding) string {
	switch {
	case f.Code == reading.BoxDisagrees && f.Args["difference_k"] < 0:
		return f.Code + ".low"
	case f.Code == diagnose.NotCompared && slices.Contains(f.At, reading.Power.String()):
		return f.Code + ".power"
	case f.Code == diagnose.NotCompared && slices.Contains(f.At, reading.BoxWetBulb.String()):
		return f.Code + ".wet_bulb" + whyNoHumidity(f)
	case f.Code == diagnose.NotCompared && slices.Contains(f.At, reading.BoxHumidity.String()):
		return f.Code + ".humidity" + whyNoHumidity(f)
	case f.Code == diagnose.NotCompared && slices.Contains(f.At, reading.HeaterAmps.String()):
		return f.Code + ".heater"
	}
	return f.Code
}

// whyNoHumidity is why a humidity did not count: nothing to count it from, a coil without water, or a wet bulb that is not
// of this air.
func whyNoHumidity(f reading.Finding) string {
	switch {
	case f.Args["box_missing"] != 0:
		return "_no_box"
	case f.Args["coil_dry"] != 0:
		return "_dry"
	}
	return ""
}

// FindingCodes lists every code that has a sentence, sorted.
func FindingCodes() []string {
	var out []string
	for _, key := range keysOf(English.words().Findings) {
		if !strings.Contains(key, ".") {
			out = append(out, key)
		}
	}
	return out
}

// Finding is the sentence for a finding, in English unless a language is given. A code without a sentence is shown by
// its own name, so that nothing is hidden.
func Finding(f reading.Finding, d units.Display, ambient units.Pressure, lang ...Language) string {
	l := one(lang)
	if s, ok := l.words().Findings[findingKey(f)]; ok {
		return fill(s, f, l, d, ambient)
	}
	out := plain(f.Code)
	if len(f.At) > 0 {
		var at []string
		for _, a := range f.At {
			at = append(at, LowerFirst(Label(a, l)))
		}
		out += ": " + strings.Join(at, ", ")
	}
	return out + "."
}
