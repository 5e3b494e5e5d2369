package text

import (
	"slices"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/units"
)

// Language is the language of words.
type Language string

// The languages.
const (
	English Language = "en"
	Spanish Language = "es"
	French  Language = "fr"
)

// Languages lists them.
func Languages() []Language { return []Language{English, Spanish, French} }

// ParseLanguage reads the code of a language, such as "en"; empty is English.
func ParseLanguage(s string) (Language, error) {
	if s == "" {
		return English, nil
	}
	if l := Language(s); slices.Contains(Languages(), l) {
		return l, nil
	}
	return "", fail.Of(fail.BadValue, "language", "language.unknown", fail.Args{"text": s, "languages": Languages()})
}

// one is the language asked for; none is English.
func one(lang []Language) Language {
	if len(lang) > 0 && lang[0] != "" {
		return lang[0]
	}
	return English
}

// put puts texts in the places {1}, {2} … of a text.
func put(s string, args ...string) string {
	if len(args) == 0 {
		return s
	}
	var list []string
	for i, a := range args {
		list = append(list, "{"+strconv.Itoa(i+1)+"}", a)
	}
	return strings.NewReplacer(list...).Replace(s)
}

// to stands between the ends of a range.
func (l Language) to() string { return l.say("range") }

// Power prints a power for people: Btu/h beside °F, W beside °C.
func Power(w float64, d units.Display) string {
	if d.Temp == "°C" {
		return units.Fixed(w, 0)
	}
	return units.Fixed(w/units.BtuPerH, 0)
}

// PowerUnit is the unit of [Power].
func PowerUnit(d units.Display) string {
	if d.Temp == "°C" {
		return "W"
	}
	return "Btu/h"
}

// Word is a short word for a code of a load or a charge, such as a kind of item. A code without a word is shown by its own name.
func Word(l Language, code string) string {
	return saidOr(l.words().LoadWords, code)
}

// Say is the sentence for a finding in a language; with its numbers in the units asked for.
func Say(l Language, f reading.Finding, d units.Display, ambient units.Pressure) string {
	if s, ok := l.words().Sentences[f.Code]; ok {
		return strings.TrimSpace(fill(s, f, l, d, ambient))
	}
	return Finding(f, d, ambient, l)
}

// Sentence is a sentence for a code without arguments.
func Sentence(l Language, code string) string {
	return Say(l, reading.Finding{Code: code}, units.US(), units.Atm)
}

// SayCodes lists every code that has a sentence in both languages, sorted; WordCodes every code with a word.
func SayCodes() []string { return keysOf(English.words().Sentences) }

// WordCodes lists every code with a word in both languages, sorted.
func WordCodes() []string { return keysOf(English.words().LoadWords) }
