package text

import (
	"strings"

	"coldwright/machine/reading"
)

// PlaceWords are the words for a place of measurement.
type PlaceWords struct {
	Name    string // short, on drawings
	Label   string // on forms and in tables
	Hint    string // how to take it
	For     string // what it is for
	Minutes int    // what it costs in time; common practice, no source
}

var places = map[reading.Place]PlaceWords{
	reading.SuctionPressure: {
		"Suction",
		"Suction, at the compressor",
		"Gauge on the low side, machine running 15 minutes.",
		"Says how cold the coil boils.",
		3,
	},
	reading.CoilPressure: {
		"Coil pressure",
		"Suction, at the coil outlet",
		"Service port beside the coil.",
		"Shows what is lost between coil and compressor.",
		5,
	},
	reading.DischargePressure: {
		"Head",
		"Head, at the compressor",
		"Gauge on the high side, machine running 15 minutes.",
		"Says how hot the condenser works.",
		3,
	},
	reading.LiquidPressure: {
		"Liquid press.",
		"Liquid line pressure, after the drier",
		"Service port after the drier.",
		"Shows a pressure loss ahead of the valve.",
		4,
	},
	reading.StandingPressure: {
		"Standing",
		"Standing pressure, machine off",
		"Off until pressures stand equal; liquid solenoid open.",
		"Tells if enough is left to search, and what refrigerant it is.",
		20,
	},
	reading.BoxAir: {
		"Box air",
		"Box air, entering the coil",
		"Probe in the air that goes into the coil, not near the door.",
		"Where the box stands, and what everything else is counted from.",
		2,
	},
	reading.CoilAirOff: {
		"Air off coil",
		"Air leaving the coil",
		"Probe in the air stream, a hand's width from the coil.",
		"Shows if the coil gets its air.",
		2,
	},
	reading.BoxDisplay: {
		"Box display",
		"The box's own thermometer",
		"Read it as it stands.",
		"Compared with your probe: people trust it for food.",
		1,
	},
	reading.Ambient: {
		"Air in",
		"Air entering the condenser",
		"In the shade, clear of its own warm air.",
		"What head is counted from.",
		1,
	},
	reading.CondenserFaceAir: {
		"Air at face",
		"Air right at the condenser's face",
		"A hand's width in front of the fins.",
		"Shows warm air drawn back.",
		2,
	},
	reading.CondenserAirOff: {
		"Air off cond.",
		"Air leaving the condenser",
		"In the air stream behind the fan.",
		"Shows if the condenser gets its air.",
		2,
	},
	reading.CoilOutletLine: {
		"Coil outlet",
		"Suction line, at the coil outlet",
		"Clamp on clean pipe beside the bulb, insulated.",
		"With suction it gives the superheat the valve works to.",
		3,
	},
	reading.SuctionLine: {
		"Suction line",
		"Suction line, at the compressor",
		"Clamp a hand's width from the compressor, insulated.",
		"Shows heat picked up on the way, or liquid coming back.",
		3,
	},
	reading.DischargeLine: {
		"Discharge",
		"Discharge line, near the compressor",
		"Clamp a hand's width from the compressor. It is hot.",
		"Shows how hard the compressor works, and if liquid comes back.",
		3,
	},
	reading.LiquidLine: {
		"Liquid line",
		"Liquid line, leaving the unit",
		"Clamp on the liquid line after condenser or receiver.",
		"With head it gives the subcooling.",
		3,
	},
	reading.DrierIn: {
		"Before drier",
		"Liquid line, before the drier",
		"Clamp close to the inlet.",
		"Half of the drop across the drier.",
		2,
	},
	reading.DrierOut: {
		"After drier",
		"Liquid line, after the drier",
		"Clamp close to the outlet. Compare with before it.",
		"A drop here means the drier holds back liquid.",
		2,
	},
	reading.Amps: {
		"Amps",
		"Compressor current",
		"One phase, running 15 minutes. Lock out before you open the box.",
		"Shows how much the compressor moves.",
		3,
	},
	reading.Power: {"Power", "Compressor power", "All phases, running 15 minutes.", "Counts beside the power of an earlier healthy visit.", 5},
}

// Place returns the words for a place, in English unless a language is given.
func Place(p reading.Place, lang ...Language) PlaceWords {
	if w, ok := lexicons[one(lang)].places[p]; ok {
		w.Minutes = places[p].Minutes
		return w
	}
	if w, ok := places[p]; ok {
		return w
	}
	return PlaceWords{Name: plain(p.String()), Label: plain(p.String())}
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
	if w, ok := lexicons[one(lang)].saturated[p]; ok {
		return w
	}
	switch p {
	case reading.DischargePressure:
		return "Head, sat."
	case reading.CoilPressure:
		return "Coil, sat."
	case reading.LiquidPressure:
		return "Liquid, sat."
	case reading.StandingPressure:
		return "Standing, sat."
	}
	return "Suction, sat."
}

// Answer is one choice: what is stored and what is shown.
type Answer struct{ Value, Label string }

// SeenWords are the words for something seen without instruments. Share says that the answer is a share of all.
type SeenWords struct {
	Name, Label, Hint, For string
	Minutes                int
	Answers                []Answer
}

var (
	levels = []Answer{{"none", "None"}, {"some", "Some"}, {"heavy", "Heavy"}}
	marks  = []Answer{{"none", "None"}, {"seen", "Seen"}}
	fans   = []Answer{{"1", "All turn"}, {"0.5", "Some stopped"}, {"0", "None"}}
)

var seen = map[string]SeenWords{
	"glass": {
		"Sight glass",
		"Sight glass",
		"After 10 minutes of running.",
		"Bubbles mean the liquid supply is short.",
		1,
		[]Answer{{"clear", "Clear"}, {"bubbling", "Bubbling"}, {"empty", "Empty"}},
	},
	"condenser_dirt": {
		"Condenser dirt",
		"Dirt on the condenser",
		"Look through the fins with a lamp.",
		"Dirt takes the condenser's air.",
		2,
		levels,
	},
	"coil_ice":  {"Coil ice", "Ice on the coil", "Look behind it too.", "Ice takes the coil's air.", 2, levels},
	"coil_fans": {"Coil fans", "Coil fans", "Count those that turn.", "A stopped fan takes the coil's air.", 1, fans},
	"condenser_fans": {
		"Condenser fans",
		"Condenser fans",
		"Count those that turn, and which way.",
		"A stopped fan takes the condenser's air.",
		1,
		fans,
	},
	"receiver_level": {
		"Receiver level",
		"Receiver level",
		"Wet cloth or lamp; share of its height.",
		"Shows how much reserve is left.",
		3,
		[]Answer{{"0", "Empty"}, {"0.3", "About a third"}, {"0.6", "More than half"}, {"0.9", "Nearly full"}},
	},
	"oil_marks": {
		"Oil marks",
		"Oil marks on joints",
		"Flares, U-bends, valve stems, clamps.",
		"Oil shows where refrigerant goes out.",
		3,
		marks,
	},
	"frost_on_compressor": {
		"Compressor frost",
		"Frost on the compressor",
		"On the body, not on the suction valve.",
		"Frost there means liquid comes back.",
		1,
		marks,
	},
	"door": {
		"Box door",
		"The box's door",
		"In the last quarter of an hour.",
		"Warm air from the door blurs every reading in the box.",
		1,
		[]Answer{{"shut", "Kept shut"}, {"used", "Used"}, {"open", "Stood open"}},
	},
	"bypass_frost": {
		"Bypass frost",
		"Frost on the bypass",
		"On the line past the condenser.",
		"Shows the head control passing liquid.",
		1,
		marks,
	},
}

// Seen returns the words for something seen.
func Seen(key string, lang ...Language) SeenWords {
	if w, ok := lexicons[one(lang)].seen[key]; ok {
		w.Minutes = seen[key].Minutes
		return w
	}
	if w, ok := seen[key]; ok {
		return w
	}
	return SeenWords{Name: plain(key), Label: plain(key)}
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
	if _, ok := seen[key]; ok {
		return Seen(key, lang...).Name
	}
	return Derived(key, lang...)
}

// Label is the full name of a place key, a seen key or a derived quantity.
func Label(key string, lang ...Language) string {
	if p, err := reading.ParsePlace(key); err == nil {
		return Place(p, lang...).Label
	}
	if _, ok := seen[key]; ok {
		return Seen(key, lang...).Label
	}
	return Derived(key, lang...)
}

var instruments = map[reading.Instrument]string{
	reading.DialGauge:      "Dial gauge",
	reading.DigitalGauge:   "Digital gauge",
	reading.Clamp:          "Clamp, insulated",
	reading.BareClamp:      "Clamp or bead, bare",
	reading.AirProbe:       "Air probe",
	reading.BoxThermometer: "Box thermometer",
	reading.ClampMeter:     "Clamp meter",
	reading.ByHand:         "Rough, by hand",
}

// Instrument returns the words for an instrument.
func Instrument(i reading.Instrument, lang ...Language) string {
	if w, ok := lexicons[one(lang)].instruments[i]; ok {
		return w
	}
	if w, ok := instruments[i]; ok {
		return w
	}
	return one(lang).in(phrase{"Not said", "Sin indicar"})
}

var derived = map[string]string{
	"superheat_k":              "Superheat, coil",
	"coil_superheat_k":         "Superheat, coil",
	"suction_superheat_k":      "Superheat, compressor",
	"total_superheat_k":        "Superheat, compressor",
	"discharge_superheat_k":    "Superheat, discharge",
	"subcooling_k":             "Subcooling",
	"liquid_subcooling_k":      "Subcooling",
	"td_k":                     "TD",
	"split_k":                  "Split",
	"compression_ratio":        "Compression ratio",
	"coil_air_drop_k":          "Air drop across the coil",
	"air_drop_k":               "Air drop across the coil",
	"condenser_air_rise_k":     "Air rise across the condenser",
	"drier_drop_k":             "Drop across the drier",
	"recirculation_k":          "Warm air at the face",
	"suction_drop_k":           "Loss in the suction line",
	"suction_pressure_drop_pa": "Loss in the suction line",
	"approach_k":               "Liquid above outside air",
	"amps_ratio":               "Amps against rated",
	"box_display_error_k":      "Box display against probe",
	"suction_dew":              "Suction, sat.",
	"suction_dew_k":            "Suction, sat.",
	"coil_dew_k":               "Coil, sat.",
	"discharge_dew_k":          "Head, sat.",
	"discharge_bubble_k":       "Head, sat.",
	"room_load":                "Room load",
	"standing_over_k":          "Standing above the plate's refrigerant",
}

// DerivedKeys lists the derived quantities that have a name.
func DerivedKeys() []string { return keysOf(derived) }

// Derived is the name of a derived quantity.
func Derived(key string, lang ...Language) string {
	if w, ok := lexicons[one(lang)].derived[key]; ok {
		return w
	}
	if w, ok := derived[key]; ok {
		return w
	}
	for _, unit := range []string{"_k", "_pa", "_w", "_c"} {
		if s, ok := strings.CutSuffix(key, unit); ok {
			return plain(s)
		}
	}
	return plain(key)
}

var applications = map[string]string{
	"walk-in cooler":   "Walk-in cooler",
	"walk-in freezer":  "Walk-in freezer",
	"reach-in cooler":  "Reach-in cooler",
	"reach-in freezer": "Reach-in freezer",
	"prep table":       "Prep table",
	"display case":     "Display case",
	"ice machine":      "Ice machine",
	"air conditioning": "Air conditioning",
	"other":            "Other",
}

// Application is the label of an application.
func Application(word string, lang ...Language) string {
	return labelledIn(lexicons[one(lang)].applications, applications, word)
}

var expansions = map[string]string{
	"valve": "Expansion valve", "electronic valve": "Electronic valve", "orifice": "Fixed orifice", "capillary": "Capillary tube",
}

// Expansion is the label of an expansion device.
func Expansion(word string, lang ...Language) string {
	return labelledIn(lexicons[one(lang)].expansions, expansions, word)
}

var headControls = map[string]string{
	"none": "None", "flooding": "Floods the condenser", "fan cycling": "Fans cycle", "variable fan": "Fans change speed",
}

// HeadControl is the label of a head-pressure control.
func HeadControl(word string, lang ...Language) string {
	return labelledIn(lexicons[one(lang)].headControls, headControls, word)
}

// labelledIn looks in the tables of a language first, then in the English one.
func labelledIn(first, english map[string]string, word string) string {
	if w, ok := first[word]; ok {
		return w
	}
	return labelled(english, word)
}

func labelled(m map[string]string, word string) string {
	if w, ok := m[word]; ok {
		return w
	}
	return plain(word)
}
