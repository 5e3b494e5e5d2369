package boxload

import (
	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

func (m *jsonMachine) machine(q *units.Fields) *Machine {
	out := &Machine{
		Capacity: q.Opt(
			"capacity",
			m.Capacity,
			units.ParsePower,
		),
		RelU:    q.Opt("uncertainty", m.Uncertainty, units.FractionValue),
		Map:     m.Map,
		Ambient: units.Temp(q.Opt("ambient", m.Ambient, units.TempValue)),
		TD: units.TempDiff(
			q.Opt("td", m.TD, units.DiffValue),
		),
		Split:     units.TempDiff(q.Opt("split", m.Split, units.DiffValue)),
		Superheat: units.TempDiff(q.Opt("superheat", m.Superheat, units.DiffValue)),
		Suction: units.Temp(
			q.Opt("suction_line", m.Suction, units.TempValue),
		),
		Liquid:   units.Temp(q.Opt("liquid_line", m.Liquid, units.TempValue)),
		Measured: q.Opt("measured", m.Measured, units.ParsePower),
	}
	if out.RelU == 0 {
		out.RelU = 0.10
	}
	if out.Measured > 0 {
		rel := 0.15 // an air-side or refrigerant-side measurement in the field: judgement
		if m.MeasuredUncertainty != "" {
			rel = q.Opt("measured_uncertainty", m.MeasuredUncertainty, units.FractionValue)
		}
		out.MeasuredU = rel * out.Measured
	}
	given := 0
	for _, b := range []bool{m.Capacity != "", m.Map != "", m.Plate != nil} {
		if b {
			given++
		}
	}
	if given != 1 {
		q.Fail(
			"capacity",
			fail.Of(fail.Required, "", "boxload.capacity_sources", nil),
		)
		return out
	}
	if m.Map != "" || m.Plate != nil {
		if m.Ambient == "" {
			q.Fail("ambient", fail.Of(fail.Required, "", "boxload.ambient_missing", nil))
		}
	}
	if m.Map != "" {
		for _, d := range []struct {
			field, text string
			v           units.TempDiff
		}{{"td", m.TD, out.TD}, {"split", m.Split, out.Split}} {
			if d.text == "" {
				q.Fail(
					d.field,
					fail.Of(fail.Required, "", "boxload.td_missing", nil),
				)
			}
			q.Within(d.field, float64(d.v), 1, 45, "K")
		}
		if m.Superheat == "" {
			out.Superheat = units.TempDiff(0.7) * out.TD // common practice, no source
		}
		q.Within("superheat", float64(out.Superheat), 0, float64(out.TD), " K (no more than the TD)")
	}
	if pl := m.Plate; pl != nil {
		pq := q.Under("plate")
		out.PlateCapacity = pq.Must("capacity", pl.Capacity, fail.Of(fail.Required, "", "boxload.plate_capacity_missing", nil), units.ParsePower)
		app, err := reading.ParseApplication(pl.Application)
		if err != nil {
			pq.Fail("application", err)
		}
		if pl.Refrigerant == "" {
			pq.Fail("refrigerant", fail.Of(fail.Required, "", "boxload.refrigerant_missing", nil))
		}
		out.Plate = &reading.Machine{Refrigerant: pl.Refrigerant, Application: app}
		set := func(field, text string) *units.Temp {
			if text == "" {
				return nil
			}
			t := units.Temp(pq.Opt(field, text, units.TempValue))
			return &t
		}
		gap := func(field, text string) *units.TempDiff {
			if text == "" {
				return nil
			}
			d := units.TempDiff(pq.Opt(field, text, units.DiffValue))
			pq.Within(field, float64(d), 1, 45, "K")
			return &d
		}
		out.Plate.Design = reading.Design{
			Box:     set("box", pl.Box),
			Ambient: set("ambient", pl.Ambient),
			TD:      gap("td", pl.TD),
			Split:   gap("split", pl.Split),
		}
		q.Take(pq)
	}
	return out
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
