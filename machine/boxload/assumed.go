package boxload

import (
	"regexp"

	"coldwright/machine/reading"
)

// What is taken of a room where nobody says it.
const (
	RoomRH      = 0.9  // air over a wet coil and goods: common practice, no source
	OutsideRH   = 0.55 // common practice, no source
	GroundC     = 13.0 // under an insulated floor, 55 °F: a maker's design figure
	FreezingC   = -2.0 // of fresh food; most begin to freeze between −3 and −0.5 °C: from memory
	Margin      = 0.10 // safety on the machine to be bought: usual, from memory
	CoilBelowK  = 5.6  // coil surface under the room: a usual TD of 10 °F, no source
	CapacityRel = 0.10 // a capacity stated, of a plate or of a map: judgement
	MeasuredRel = 0.15 // one measured in the field, by air or by refrigerant: judgement
)

// assumedWhys are the places of [Assume] with unit and reason; whatever stands in a list is taken by any number of it.
var assumedWhys = map[string][2]string{
	"room.rh":                      {"share", "not said; common practice, no source"},
	"outside.rh":                   {"share", "not said; common practice, no source"},
	"doors[].beyond.rh":            {"share", "not said; common practice, no source"},
	"air_changes.beyond.rh":        {"share", "not said; common practice, no source"},
	"box.under":                    {"C", "not said; ground under an insulated floor, a maker's design figure"},
	"products[].freezing":          {"C", "not said; usual of fresh food, from memory"},
	"coil":                         {"C", "not said; a usual TD below the room, common practice, no source"},
	"margin":                       {"share", "not said; usual, from memory"},
	"machine.superheat":            {"K", "not said; 70 % of TD, common practice, no source"},
	"machine.uncertainty":          {"share", "not said; judgement"},
	"machine.measured_uncertainty": {"share", "not said; judgement"},
}

var number = regexp.MustCompile(`\[\d+\]`)

// Assume is what is taken at a place where nobody said it: °C, K or a share.
func Assume(field string, v float64) reading.Assumed {
	why := assumedWhys[number.ReplaceAllString(field, "[]")]
	return reading.Assumed{Field: field, Value: v, Unit: why[0], Why: why[1]}
}
