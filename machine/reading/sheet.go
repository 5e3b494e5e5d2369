package reading

import (
	"coldwright/fail"
	"coldwright/units"
)

// Reading is one value at one place. U is its standard uncertainty in SI, 0 for the instrument's default.
type Reading struct {
	At         Place
	Value      float64
	U          float64
	Instrument Instrument
	Text       string // as typed
}

// Uncertainty returns the standard uncertainty in SI.
func (r Reading) Uncertainty() float64 {
	if r.U > 0 {
		return r.U
	}
	u := r.Instrument.U(r.At)
	if k := r.At.Kind(); k == KindCurrent || k == KindPower {
		return u * r.Value
	}
	return u
}

// word is an enumeration whose stored form is its word and whose zero is "not said".
type word interface{ ~int }

func parseWord[T word](field, s string, words []string) (T, error) {
	if s == "" {
		return 0, nil
	}
	for i, w := range words {
		if i > 0 && w == s {
			return T(i), nil
		}
	}
	return 0, fail.Of(fail.BadValue, field, "reading.no_answer", fail.Args{"text": s, "words": words[1:]})
}

// The things seen.
type (
	Glass int
	Level int
	Mark  int
	Door  int
)

// Answers.
const (
	GlassUnknown Glass = iota
	Clear
	Bubbling
	Empty
)

// Levels of dirt and ice.
const (
	LevelUnknown Level = iota
	None
	Some
	Heavy
)

// Marks that are there or not.
const (
	MarkUnknown Mark = iota
	NotSeen
	SeenMark
)

// What the box's door did in the last quarter of an hour.
const (
	DoorUnknown Door = iota
	DoorShut
	DoorUsed // opened as one works
	DoorOpen // stood open
)

var (
	doorWords  = []string{"", "shut", "used", "open"}
	glassWords = []string{"", "clear", "bubbling", "empty"}
	levelWords = []string{"", "none", "some", "heavy"}
	markWords  = []string{"", "none", "seen"}
)

func (g Glass) String() string { return glassWords[g] }
func (l Level) String() string { return levelWords[l] }
func (m Mark) String() string  { return markWords[m] }
func (d Door) String() string  { return doorWords[d] }

// Seen is what was seen without instruments. Shares are nil when nobody looked.
type Seen struct {
	Glass                                    Glass
	CondenserDirt, CoilIce                   Level
	CoilFans, CondenserFans, ReceiverLevel   *float64
	OilMarks, FrostOnCompressor, BypassFrost Mark
	Door                                     Door
}

// SeenKeys lists the keys of things seen, in the order in which one looks.
func SeenKeys() []string {
	return []string{
		"glass",
		"condenser_dirt",
		"coil_ice",
		"coil_fans",
		"condenser_fans",
		"receiver_level",
		"oil_marks",
		"frost_on_compressor",
		"bypass_frost",
		"door",
	}
}

// Set stores one thing seen by its key and word (or share).
func (s *Seen) Set(key, value string) (err error) {
	switch key {
	case "glass":
		s.Glass, err = parseWord[Glass](key, value, glassWords)
	case "condenser_dirt":
		s.CondenserDirt, err = parseWord[Level](key, value, levelWords)
	case "coil_ice":
		s.CoilIce, err = parseWord[Level](key, value, levelWords)
	case "oil_marks":
		s.OilMarks, err = parseWord[Mark](key, value, markWords)
	case "frost_on_compressor":
		s.FrostOnCompressor, err = parseWord[Mark](key, value, markWords)
	case "bypass_frost":
		s.BypassFrost, err = parseWord[Mark](key, value, markWords)
	case "door":
		s.Door, err = parseWord[Door](key, value, doorWords)
	case "coil_fans", "condenser_fans", "receiver_level":
		var p *float64
		if value != "" {
			v, perr := units.ParseFraction(value)
			if perr != nil {
				if e, ok := perr.(*fail.Error); ok {
					return e.At(key)
				}
				return perr
			}
			p = &v
		}
		switch key {
		case "coil_fans":
			s.CoilFans = p
		case "condenser_fans":
			s.CondenserFans = p
		default:
			s.ReceiverLevel = p
		}
	default:
		return fail.Of(fail.BadValue, "seen", "reading.no_seen", fail.Args{"text": key})
	}
	return err
}

// Get returns the word (or share as text) of one thing seen, "" when nobody looked.
func (s Seen) Get(key string) string {
	share := func(p *float64) string {
		if p == nil {
			return ""
		}
		return trimFloat(*p)
	}
	switch key {
	case "glass":
		return s.Glass.String()
	case "condenser_dirt":
		return s.CondenserDirt.String()
	case "coil_ice":
		return s.CoilIce.String()
	case "coil_fans":
		return share(s.CoilFans)
	case "condenser_fans":
		return share(s.CondenserFans)
	case "receiver_level":
		return share(s.ReceiverLevel)
	case "oil_marks":
		return s.OilMarks.String()
	case "frost_on_compressor":
		return s.FrostOnCompressor.String()
	case "bypass_frost":
		return s.BypassFrost.String()
	case "door":
		return s.Door.String()
	}
	return ""
}

// Application, Expansion and HeadControl describe a machine.
type (
	Application int
	Expansion   int
	HeadControl int
)

// Applications.
const (
	ApplicationUnknown Application = iota
	WalkInCooler
	WalkInFreezer
	ReachInCooler
	ReachInFreezer
	PrepTable
	DisplayCase
	IceMachine
	AirConditioning
	Other
)

// Expansion devices.
const (
	ExpansionUnknown Expansion = iota
	Valve
	ElectronicValve
	Orifice
	Capillary
	Overfeed // by pump or gravity: known, not modelled
)

// Head-pressure controls.
const (
	HeadUnknown HeadControl = iota
	HeadNone
	Flooding
	FanCycling
	VariableFan
)

var (
	applicationWords = []string{
		"",
		"walk-in cooler",
		"walk-in freezer",
		"reach-in cooler",
		"reach-in freezer",
		"prep table",
		"display case",
		"ice machine",
		"air conditioning",
		"other",
	}
	expansionWords = []string{"", "valve", "electronic valve", "orifice", "capillary", "liquid overfeed"}
	headWords      = []string{"", "none", "flooding", "fan cycling", "variable fan"}
)

func (a Application) String() string { return applicationWords[a] }
func (e Expansion) String() string   { return expansionWords[e] }
func (h HeadControl) String() string { return headWords[h] }

// ApplicationWords, ExpansionWords and HeadControlWords list the answers a form offers.
func ApplicationWords() []string { return applicationWords[1:] }

// ExpansionWords lists the expansion devices.
func ExpansionWords() []string { return expansionWords[1:] }

// HeadControlWords lists the head-pressure controls.
func HeadControlWords() []string { return headWords[1:] }

// ParseApplication reads the word of an application.
func ParseApplication(s string) (Application, error) {
	return parseWord[Application]("application", s, applicationWords)
}

// ParseExpansion reads the word of an expansion device.
func ParseExpansion(s string) (Expansion, error) {
	return parseWord[Expansion]("expansion", s, expansionWords)
}

// ParseHeadControl reads the word of a head-pressure control.
func ParseHeadControl(s string) (HeadControl, error) {
	return parseWord[HeadControl]("head_control", s, headWords)
}

// Frozen reports whether the application holds frozen goods.
func (a Application) Frozen() bool { return a == WalkInFreezer || a == ReachInFreezer }

// Design is what the plate, the maker or the mechanic states; nil where nobody says.
type Design struct {
	Box, Ambient         *units.Temp
	TD, Split, Superheat *units.TempDiff
	Subcooling           *units.TempDiff // of a machine without receiver
}

// What lines between unit and coil can be, m. Common practice, no source: beyond, a digit has slipped.
const (
	ShortestLine, LongestLine = 0.5, 200.0
	MostLift                  = 50.0
)

// Machine is a machine as far as a judgement needs it.
type Machine struct {
	Refrigerant string
	Application Application
	Expansion   Expansion
	Receiver    *bool
	HeadControl HeadControl
	HeadSet     *units.Temp // condensing temperature held by the head control
	Design      Design
	AltitudeM   float64
	Barometer   *units.Pressure
	RatedAmps   *float64
	// What else the plate says of the compressor; nil where it does not.
	LockedAmps    *float64 // rotor held, A
	RatedPower    *float64 // W drawn
	RatedCapacity *float64 // W of cold
	// The lines between unit and coil, one way; nil: not said.
	LineLength *float64 // m
	Lift       *float64 // m from the unit up to the coil; below zero where the coil stands lower
	// Options between coil and compressor; nil: none, or the application's usual.
	Exchanger           *float64        // effectiveness of the liquid–suction exchanger; 0: there is none
	CrankcaseRegulator  *units.Pressure // above it the compressor gets no more
	EvaporatorRegulator *units.Pressure // below it the coil is held
	Accumulator         *bool           // a vessel in the suction line that catches liquid
}

// AmbientPressure returns the barometer, or the standard atmosphere at the site's altitude.
func (m Machine) AmbientPressure() units.Pressure {
	if m.Barometer != nil {
		return *m.Barometer
	}
	p, err := units.Atmosphere(m.AltitudeM)
	if err != nil {
		return units.Atm
	}
	return p
}

// Assumed says what a default filled in.
type Assumed struct {
	Field string `json:"field"`
	Value any    `json:"value"`
	Unit  string `json:"unit,omitempty"`
	Why   string `json:"why"`
}

// Resolved is a machine with every value filled.
type Resolved struct {
	Refrigerant          string
	Application          Application
	Expansion            Expansion
	Receiver             bool
	HeadControl          HeadControl
	HeadSet              units.Temp
	Box, Ambient         units.Temp
	TD, Split, Superheat units.TempDiff
	TDKnown, SplitKnown  bool           // stated, not a default
	Subcooling           units.TempDiff // 0: with a receiver, or not stated
	AmbientPressure      units.Pressure
	RatedAmps            float64 // 0: unknown, so the next three
	LockedAmps           float64
	RatedPower           float64
	RatedCapacity        float64
	Exchanger            float64 // 0: none
	LineLength           float64 // m, 0: not said
	Lift                 *float64
	Accumulator          bool
	CrankcaseRegulator   units.Pressure
	EvaporatorRegulator  units.Pressure // both absolute, 0: none
}

type defaults struct {
	box, ambient      units.Temp
	td, split, sh, sc units.TempDiff
	expansion         Expansion
	receiver          bool
	exchanger         float64
}

// Defaults per application: common practice, no source, unless named. Walk-ins TD 10 °F, reach-ins and prep tables
// 17.5 °F; split 30 °F for compact units, 25 °F for walk-in coolers' machines; superheat 70 % of TD for valves on
// walk-ins, 8 to 10 °F elsewhere. Hermetic reach-ins and prep tables have a capillary soldered to the suction line
// and no receiver. Ice machines: water at 34 °F over the plate in mid-freeze, evaporating at 12 °F, in 90 °F air (the
// rating air of AHRI 810, from memory). Air conditioning: 80 °F return and 95 °F outside (rating point A of AHRI
// 210/240, from memory), evaporating at 45 °F, 10 °F of subcooling.
func (a Application) defaults() defaults {
	f, d := units.Fahrenheit, units.FahrenheitDiff
	switch a {
	case WalkInFreezer:
		return defaults{f(-5), f(90), d(10), d(30), d(7), 0, Valve, true, 0}
	case ReachInFreezer:
		return defaults{f(-2), f(90), d(15), d(30), d(8), 0, Capillary, false, soldered}
	case ReachInCooler, PrepTable:
		return defaults{f(37), f(90), d(17.5), d(30), d(10), 0, Capillary, false, soldered}
	case DisplayCase:
		return defaults{f(36), f(90), d(12), d(25), d(8), 0, Valve, true, 0}
	case IceMachine:
		return defaults{f(34), f(90), d(22), d(28), d(8), 0, Valve, false, 0}
	case AirConditioning:
		return defaults{f(80), f(95), d(35), d(25), d(10), d(10), Valve, false, 0}
	}
	return defaults{f(36), f(90), d(10), d(25), d(7), 0, Valve, true, 0}
}

// soldered is the effectiveness of a capillary soldered along the suction line. Common practice, no source.
const soldered = 0.5

// Resolve fills what is missing with the defaults of the application and lists what it assumed.
func (m Machine) Resolve() (Resolved, []Assumed) {
	var as []Assumed
	say := func(field string, value any, unit string) {
		as = append(as, Assumed{field, value, unit, "default of the application; common practice, no source"})
	}
	r := Resolved{
		Refrigerant:     m.Refrigerant,
		Application:     m.Application,
		Expansion:       m.Expansion,
		HeadControl:     m.HeadControl,
		AmbientPressure: m.AmbientPressure(),
	}
	if r.Application == ApplicationUnknown {
		r.Application = Other
		say("application", r.Application.String(), "")
	}
	d := r.Application.defaults()
	if r.Expansion == ExpansionUnknown {
		r.Expansion = d.expansion
		say("expansion", r.Expansion.String(), "")
	}
	if m.Receiver != nil {
		r.Receiver = *m.Receiver
	} else {
		r.Receiver = d.receiver && (r.Expansion == Valve || r.Expansion == ElectronicValve)
		say("receiver", r.Receiver, "")
	}
	if r.HeadControl == HeadUnknown {
		r.HeadControl = HeadNone
		say("head_control", "none", "")
	}
	temp := func(p *units.Temp, dflt units.Temp, field string) units.Temp {
		if p != nil {
			return *p
		}
		say(field, dflt.C(), "C")
		return dflt
	}
	diff := func(p *units.TempDiff, dflt units.TempDiff, field string) units.TempDiff {
		if p != nil {
			return *p
		}
		say(field, float64(dflt), "K")
		return dflt
	}
	r.Box = temp(m.Design.Box, d.box, "design.box")
	r.Ambient = temp(m.Design.Ambient, d.ambient, "design.ambient")
	r.TD = diff(m.Design.TD, d.td, "design.td")
	r.Split = diff(m.Design.Split, d.split, "design.split")
	sh := d.sh
	if sh > 0.8*r.TD {
		sh = 0.7 * r.TD
	}
	r.Superheat = diff(m.Design.Superheat, sh, "design.superheat")
	if !r.Receiver && (m.Design.Subcooling != nil || d.sc > 0) {
		r.Subcooling = diff(m.Design.Subcooling, d.sc, "design.subcooling")
	}
	switch {
	case m.Exchanger != nil:
		r.Exchanger = *m.Exchanger
	case d.exchanger > 0 && r.Expansion == Capillary:
		r.Exchanger = d.exchanger
		say("exchanger_effectiveness", r.Exchanger, "")
	}
	if m.CrankcaseRegulator != nil {
		r.CrankcaseRegulator = *m.CrankcaseRegulator
	}
	if m.EvaporatorRegulator != nil {
		r.EvaporatorRegulator = *m.EvaporatorRegulator
	}
	r.TDKnown, r.SplitKnown = m.Design.TD != nil, m.Design.Split != nil
	if r.HeadControl != HeadNone {
		r.HeadSet = temp(m.HeadSet, units.Fahrenheit(90), "head_set")
	}
	if m.LineLength != nil {
		r.LineLength = *m.LineLength
	}
	r.Lift = m.Lift
	r.Accumulator = m.Accumulator != nil && *m.Accumulator
	for _, p := range []struct {
		of *float64
		to *float64
	}{
		{m.RatedAmps, &r.RatedAmps},
		{m.LockedAmps, &r.LockedAmps},
		{m.RatedPower, &r.RatedPower},
		{m.RatedCapacity, &r.RatedCapacity},
	} {
		if p.of != nil {
			*p.to = *p.of
		}
	}
	return r, as
}

// Reason says why somebody came.
type Reason int

// Reasons.
const (
	ReasonUnknown Reason = iota
	Complaint            // something does not work as it should
	Planned              // the visit was due, or follows a repair
)

var reasonWords = []string{"", "complaint", "planned"}

func (r Reason) String() string { return reasonWords[r] }

// ReasonWords lists the reasons of a visit.
func ReasonWords() []string { return reasonWords[1:] }

// ParseReason reads the word of a reason.
func ParseReason(s string) (Reason, error) { return parseWord[Reason]("visit_reason", s, reasonWords) }

// Sheet is everything that was read and seen at one visit.
type Sheet struct {
	Reason          Reason
	Machine         Machine
	Readings        []Reading
	Seen            Seen
	RunningMin      *float64
	SinceDefrostMin *float64
	HealthyVisits   []Sheet
	RoomLoad        *RoomLoad // nil: nobody measured the room
	Learned         *Learned  // of other machines like this one; nil: none taught
}

// RoomLoad is the heat that comes into the room as a share of what a sound machine carries around the clock, with its standard uncertainty.
type RoomLoad struct{ Share, U float64 }

// Find returns the reading at a place; of several the last one.
func (s Sheet) Find(p Place) (Reading, bool) {
	for i := len(s.Readings) - 1; i >= 0; i-- {
		if s.Readings[i].At == p {
			return s.Readings[i], true
		}
	}
	return Reading{}, false
}
