package text

import (
	"strings"

	"coldwright/machine/reading"
)

// PlaceWords are the words for a place of measurement.
type PlaceWords struct {
	Name    string `json:"name"`  // short, on drawings
	Label   string `json:"label"` // on forms and in tables
	Hint    string `json:"hint"`  // how to take it
	For     string `json:"for"`   // what it is for
	Minutes int    `json:"-"`     // what it costs in time
}

// placeMinutes and seenMinutes are what a reading or a look costs in time; common practice, no source.
var (
	placeMinutes = map[reading.Place]int{
		reading.SuctionPressure:   3,
		reading.CoilPressure:      5,
		reading.DischargePressure: 3,
		reading.LiquidPressure:    4,
		reading.StandingPressure:  20,
		reading.BoxAir:            2,
		reading.CoilAirOff:        2,
		reading.BoxDisplay:        1,
		reading.BoxWetBulb:        3,
		reading.BoxHumidity:       2,
		reading.Ambient:           1,
		reading.CondenserFaceAir:  2,
		reading.CondenserAirOff:   2,
		reading.CoilOutletLine:    3,
		reading.SuctionLine:       3,
		reading.DischargeLine:     3,
		reading.LiquidLine:        3,
		reading.DrierIn:           2,
		reading.DrierOut:          2,
		reading.Amps:              3,
		reading.Power:             5,
		reading.HeaterAmps:        4,
	}
	seenMinutes = map[string]int{
		"glass":               1,
		"condenser_dirt":      2,
		"coil_ice":            2,
		"coil_fans":           1,
		"condenser_fans":      1,
		"receiver_level":      3,
		"oil_marks":           3,
		"frost_on_compressor": 1,
		"door":                1,
		"bypass_frost":        1,
	}
)

// Place returns the words for a place, in English unless a language is given.
func Place(p reading.Place, lang ...Language) PlaceWords {
	w, ok := one(lang).words().Places[p.String()]
	if !ok {
		return PlaceWords{Name: plain(p.String()), Label: plain(p.String())}
	}
	w.Minutes = placeMinutes[p]
	return w
}

func plain(key string) string {
	s := strings.ReplaceAll(key, "_", " ")
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// Saturated is the short name of a pressure place when it stands as a temperature.
func Saturated(p reading.Place, lang ...Language) string {
	w := one(lang).words().Saturated
	if s, ok := w[p.String()]; ok {
		return s
	}
	return w[reading.SuctionPressure.String()]
}

// Answer is one choice: what is stored and what is shown.
type Answer struct {
	Value string `json:"value"`
	Label string `json:"label"`
}

// SeenWords are the words for something seen without instruments. Share says that the answer is a share of all.
type SeenWords struct {
	Name    string   `json:"name"`
	Label   string   `json:"label"`
	Hint    string   `json:"hint"`
	For     string   `json:"for"`
	Minutes int      `json:"-"`
	Answers []Answer `json:"answers"`
}

// Seen returns the words for something seen.
func Seen(key string, lang ...Language) SeenWords {
	w, ok := one(lang).words().Seen[key]
	if !ok {
		return SeenWords{Name: plain(key), Label: plain(key)}
	}
	w.Minutes = seenMinutes[key]
	return w
}

// SeenAnswer is the word for an answer: "Bubbling". An answer that is not on the list is shown as it is.
func SeenAnswer(key, value string, lang ...Language) string {
	for _, a := range Seen(key, lang...).Answers {
		if a.Value == value {
			return a.Label
		}
	}
	return value
}

// At is the short name of a place key, a seen key or a derived quantity.
func At(key string, lang ...Language) string {
	if p, err := reading.ParsePlace(key); err == nil {
		return Place(p, lang...).Name
	}
	if _, ok := seenMinutes[key]; ok {
		return Seen(key, lang...).Name
	}
	return Derived(key, lang...)
}

// Label is the full name of a place key, a seen key or a derived quantity.
func Label(key string, lang ...Language) string {
	if p, err := reading.ParsePlace(key); err == nil {
		return Place(p, lang...).Label
	}
	if _, ok := seenMinutes[key]; ok {
		return Seen(key, lang...).Label
	}
	return Derived(key, lang...)
}

// Instrument returns the words for an instrument.
func Instrument(i reading.Instrument, lang ...Language) string {
	if w, ok := one(lang).words().Instruments[i.String()]; ok {
		return w
	}
	return one(lang).say("instrument")
}

// DerivedKeys lists the derived quantities that have a name.
func DerivedKeys() []string { return keysOf(English.words().Derived) }

// Derived is the name of a derived quantity.
func Derived(key string, lang ...Language) string {
	if w, ok := one(lang).words().Derived[key]; ok {
		return w
	}
	for _, unit := range []string{"_k", "_pa", "_w", "_c"} {
		if s, ok := strings.CutSuffix(key, unit); ok {
			return plain(s)
		}
	}
	return plain(key)
}

// Application is the label of an application.
func Application(word string, lang ...Language) string {
	return saidOr(one(lang).words().Applications, word)
}

// Expansion is the label of an expansion device.
func Expansion(word string, lang ...Language) string {
	return saidOr(one(lang).words().Expansions, word)
}

// HeadControl is the label of a head-pressure control.
func HeadControl(word string, lang ...Language) string {
	return saidOr(one(lang).words().HeadControls, word)
}

// saidOr is the text for a code; a code without one is shown by its own name.
func saidOr(m map[string]string, code string) string {
	if w, ok := m[code]; ok {
		return w
	}
	return plain(code)
}
