package figure

import (
	"coldwright/machine/reading"
	numeric "coldwright/num"
	"coldwright/practice"
	"coldwright/say/text"
	"coldwright/units"
)

// z95 of a standard normal: 9 of 10 readings fall within.
const z95 = numeric.Normal90

// BenchMarks takes the ladder's marks from an exercise: what was read, and this same machine with nothing wrong as
// its instruments would show it. Box and outside air are given; a machine at rest and currents are not on the ladder.
func BenchMarks(e *practice.Exercise, list []practice.Against) []Mark {
	var out []Mark
	for _, a := range list {
		m := Mark{Key: a.At.String(), Name: text.Place(a.At).Name, Lane: laneOf(a.At)}
		read := func(v float64) units.Temp { return units.Temp(v) }
		switch {
		case a.At == reading.StandingPressure, a.At.Kind() == reading.KindCurrent:
			continue
		case a.At.Kind() == reading.KindPressure:
			m.Name, read = text.Saturated(a.At), e.Dew
		}
		m.Read = read(a.Read)
		if a.At != reading.BoxAir && a.At != reading.Ambient {
			m.Band = &Band{Low: read(a.Healthy - z95*a.U), Mid: read(a.Healthy), High: read(a.Healthy + z95*a.U)}
		}
		out = append(out, m)
	}
	return out
}
