package boxload

import (
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Machine is what is known of the machine that carries the room.
type Machine struct {
	Capacity, RelU      float64 // W, as stated; relative standard uncertainty, 10 % where nobody says
	Map                 string
	Plate               *reading.Machine // with PlateCapacity at its design point
	PlateCapacity       float64
	Ambient             units.Temp
	TD, Split           units.TempDiff
	Superheat           units.TempDiff
	Suction, Liquid     units.Temp // zero where nobody measured
	Measured, MeasuredU float64    // W
}

// Job is a room with the machine on it.
type Job struct {
	Room    Room
	Machine *Machine
	Assumed []reading.Assumed // what was not said and taken
}

// FromMap returns what a machine with a compressor map gives today at its TD and split.
//
//   - in: the room's temperature; the machine with Map, TD, Split, Ambient
//   - out: the capacity, with the relative uncertainty stated (10 % where nobody says, judgement: the map is good to
//     5 %, TD and split are guesses)
//   - errors: [*fail.Error] for a map not on file; as [Map.At]
//   - assumes: suction gas at the coil outlet and liquid 2 K below bubble where nobody measured
//   - source: [Map.At]
func (m *Machine) FromMap(room units.Temp) (Capacity, Performance, error) {
	list, err := Maps()
	if err != nil {
		return Capacity{}, Performance{}, err
	}
	var keys []string
	for _, one := range list {
		keys = append(keys, one.Key)
		if one.Key != m.Map {
			continue
		}
		r, err := refrigerant.Load(one.Refrigerant)
		if err != nil {
			return Capacity{}, Performance{}, err
		}
		d := Duty{S: room.Add(-m.TD), D: m.Ambient.Add(m.Split), Suction: m.Suction, Liquid: m.Liquid}
		d.Coil = d.S.Add(m.Superheat)
		if d.Suction == 0 {
			d.Suction = d.Coil
		}
		if d.Liquid == 0 {
			d.Liquid = d.D - 2
		}
		p, err := one.At(r, d)
		if err != nil {
			return Capacity{}, Performance{}, fail.Of(fail.NoAnswer, "machine.map", "boxload.map_fails", fail.Args{"why": err})
		}
		return Capacity{
			Expected:     p.Capacity,
			ExpectedU:    m.RelU * p.Capacity,
			Measured:     m.Measured,
			MeasuredU:    m.MeasuredU,
			Extrapolated: p.Extrapolated,
		}, p, nil
	}
	return Capacity{}, Performance{}, fail.Of(fail.NotFound, "machine.map", "boxload.no_map", fail.Args{"map": m.Map, "keys": keys})
}
