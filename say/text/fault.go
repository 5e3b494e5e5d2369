package text

import (
	"math"
	"strings"
	"unicode"

	"coldwright/units"
	"coldwright/verdict"
)

// Words are a fault's names and sentences.
type Words struct {
	Name     string `json:"name"`     // for the mechanic
	Short    string `json:"short"`    // one sentence: what it is
	Customer string `json:"customer"` // for the customer, in a sentence that starts with "The"
	Check    string `json:"check"`    // what to check by hand before acting
	Severity string `json:"severity"` // what its severity counts
	Noun     string `json:"noun"`     // inside a sentence: "a plugged drier"
	Act      string `json:"act"`      // what to do once it is certain
}

// FaultCodes lists every code that has words, sorted.
func FaultCodes() []string { return keysOf(English.words().Faults) }

// Fault returns the words of a fault, or of a pair written a+b, in English unless a language is given. An unknown
// code keeps itself as its name.
func Fault(code string, lang ...Language) Words {
	l := one(lang)
	if w, ok := l.words().Faults[code]; ok {
		return w
	}
	parts := strings.Split(code, "+")
	if len(parts) == 1 {
		name := plain(code)
		return Words{Name: name, Noun: LowerFirst(name)}
	}
	var out Words
	for i, p := range parts {
		w := Fault(p, l)
		if i == 0 {
			out = w
			out.Severity = ""
			continue
		}
		out.Name += and(l, w.Name) + LowerFirst(w.Name)
		out.Short = strings.TrimSpace(out.Short + " " + w.Short)
		out.Customer = strings.TrimSpace(out.Customer + " " + w.Customer)
		out.Check = strings.TrimSpace(out.Check + " " + w.Check)
		out.Noun += and(l, w.Noun) + w.Noun
		out.Act = strings.TrimSpace(out.Act + " " + w.Act)
	}
	return out
}

// and joins two names; Spanish says e before the sound i.
func and(l Language, next string) string {
	if strings.HasPrefix(strings.ToLower(next), "i") {
		return l.say("and_before_i")
	}
	return l.say("and")
}

// LowerFirst begins without a capital, unless the first word is written in capitals, such as RTU.
func LowerFirst(s string) string {
	r := []rune(s)
	if len(r) == 0 || len(r) > 1 && unicode.IsUpper(r[1]) || !unicode.IsLetter(r[0]) {
		return s
	}
	return strings.ToLower(string(r[0])) + string(r[1:])
}

// Probability is the word for a probability, see [verdict.LevelOf].
func Probability(p float64, lang ...Language) string { return Level(verdict.LevelOf(p), lang...) }

// Level is the word for how sure something is.
func Level(v verdict.Level, lang ...Language) string { return one(lang).words().Levels[v.String()] }

// Hundred is the figure before "in 100": "79", "under 1", "over 99".
func Hundred(p float64, lang ...Language) string {
	switch f := verdict.FigureOf(p); {
	case math.IsNaN(p):
		return "–"
	case f.Under1:
		return one(lang).say("hundred.under_1")
	case f.Over99:
		return one(lang).say("hundred.over_99")
	default:
		return units.Fixed(float64(f.Hundredths), 0)
	}
}

// HundredWord is "79 in 100".
func HundredWord(p float64, lang ...Language) string {
	return Hundred(p, lang...) + one(lang).say("hundred_word")
}

// Severity is a severity in words: "about 19 % (11 to 32) of the charge is missing". unit is "share", "K", "Pa" or
// "bar"; values are SI (bar as bar).
func Severity(code string, low, mid, high float64, unit string, d units.Display, lang ...Language) string {
	l := one(lang)
	w := Fault(code, l).Severity
	if w == "" || math.IsNaN(mid) {
		return ""
	}
	num, suffix := "", ""
	span := func(f func(float64) string) {
		a, b := f(low), f(high)
		num = f(mid)
		if a != b {
			num += suffix + " (" + a + l.to() + b + ")"
			return
		}
		num += suffix
	}
	switch unit {
	case "share", "":
		suffix = " %"
		span(func(v float64) string { return units.Fixed(100*v, 0) })
	case "K":
		suffix = " " + d.DiffUnit()
		span(func(v float64) string { return d.DiffNumber(units.TempDiff(v), 0) })
	case "bar", "Pa", "psi":
		pa := func(v float64) float64 {
			switch unit {
			case "bar":
				return v * units.Bar
			case "psi":
				return v * units.Psi
			}
			return v
		}
		u, per, n := "psi", float64(units.Psi), 0
		switch d.Pressure {
		case "bar(g)":
			u, per, n = "bar", units.Bar, 1
		case "kPa(a)":
			u, per, n = "kPa", units.Kilo, 0
		}
		suffix = " " + u
		span(func(v float64) string { return units.Fixed(pa(v)/per, n) })
	default:
		return ""
	}
	return l.say("severity") + num + " " + w + "."
}
