package verdict

import (
	"slices"

	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// Instrument is an instrument proven wrong: by which rule, at which place, and how far off it reads. A probability alone
// proves none.
type Instrument struct {
	Fault fault.Code
	At    reading.Place
	Rule  InstrumentRule
	Off   float64 // what it shows less what is true, SI of the reading
}

// InstrumentRule names what proves an instrument wrong.
type InstrumentRule string

// The rules: two thermometers in one air, one of them a probe of the mechanic's, differ by more than a sound pair does
// ([reading.BoxDisagrees]).
const TwoInOneAir InstrumentRule = "two_thermometers_in_one_air"

// InstrumentRules lists them.
func InstrumentRules() []InstrumentRule { return []InstrumentRule{TwoInOneAir} }

func instruments(s reading.Sheet) []Instrument {
	var out []Instrument
	for _, f := range s.Check() {
		if f.Code == reading.BoxDisagrees {
			out = append(out, Instrument{fault.BoxThermometer, reading.BoxDisplay, TwoInOneAir, f.Args["difference_k"]})
		}
	}
	return out
}

func proven(wrong []Instrument, c fault.Code) bool {
	return slices.ContainsFunc(wrong, func(i Instrument) bool { return i.Fault == c })
}

func takenOut(wrong []Instrument, at string) bool {
	return slices.ContainsFunc(wrong, func(i Instrument) bool { return i.At.String() == at })
}
