package wire

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/internal/strictjson"
	"coldwright/machine/reading"
	"coldwright/units"
)

// The JSON form of a sheet. Temperatures end in _c, differences in _k; readings carry their unit in the text.
type (
	jsonSheet struct {
		Machine         *jsonMachine   `json:"machine"`
		Readings        []jsonReading  `json:"readings"`
		Seen            map[string]any `json:"seen,omitempty"`
		Reason          string         `json:"visit_reason,omitempty"`
		RunningMin      *float64       `json:"running_min,omitempty"`
		SinceDefrostMin *float64       `json:"since_defrost_min,omitempty"`
		HealthyVisits   []jsonSheet    `json:"healthy_visits,omitempty"`
		RoomLoad        *jsonRoomLoad  `json:"room_load,omitempty"`
		Learned         *jsonLearned   `json:"learned,omitempty"`
	}
	jsonLearned struct {
		Machines int         `json:"machines"`
		Here     int         `json:"here"`
		Usual    []jsonUsual `json:"usual"`
	}
	jsonUsual struct {
		Trait  string   `json:"trait"`
		Shift  *float64 `json:"shift"`
		Spread *float64 `json:"spread"`
	}
	jsonDesign struct {
		BoxC       *float64 `json:"box_c,omitempty"`
		AmbientC   *float64 `json:"ambient_c,omitempty"`
		TDK        *float64 `json:"td_k,omitempty"`
		SplitK     *float64 `json:"split_k,omitempty"`
		SuperheatK *float64 `json:"superheat_k,omitempty"`
		SubcoolK   *float64 `json:"subcooling_k,omitempty"`
	}
	jsonRoomLoad struct {
		Share *float64 `json:"share"`
		U     *float64 `json:"u"`
	}
	jsonReading struct {
		At         string `json:"at"`
		Value      string `json:"value"`
		U          string `json:"u,omitempty"`
		Instrument string `json:"instrument,omitempty"`
	}
)

// jsonMachine is the machine of a sheet as it is written; other documents hold one as well.
type jsonMachine struct {
	Refrigerant string      `json:"refrigerant"`
	Application string      `json:"application,omitempty"`
	Expansion   string      `json:"expansion,omitempty"`
	Receiver    *bool       `json:"receiver,omitempty"`
	HeadControl string      `json:"head_control,omitempty"`
	HeadSetC    *float64    `json:"head_set_c,omitempty"`
	Design      *jsonDesign `json:"design,omitempty"`
	AltitudeM   *float64    `json:"altitude_m,omitempty"`
	Barometer   *float64    `json:"barometer_kpa,omitempty"`
	RatedAmps   *float64    `json:"rated_amps,omitempty"`
	LockedAmps  *float64    `json:"locked_rotor_amps,omitempty"`
	RatedPower  *float64    `json:"rated_power_w,omitempty"`
	RatedCold   *float64    `json:"rated_capacity_w,omitempty"`
	LineLength  *float64    `json:"line_length_m,omitempty"`
	Lift        *float64    `json:"lift_m,omitempty"`
	Accumulator *bool       `json:"accumulator,omitempty"`
	Exchanger   *float64    `json:"exchanger_effectiveness,omitempty"`
	Crankcase   *float64    `json:"crankcase_regulator_kpa,omitempty"`
	Evaporator  *float64    `json:"evaporator_regulator_kpa,omitempty"`
}

// ReadSheet reads a sheet strictly: unknown keys, missing units and impossible values are errors that name their place.
//
//   - in: JSON of at most 1 MB
//   - out: the sheet in SI
//   - errors: [*fail.Error] with field, value, allowed range and hint
//   - source: definition
func ReadSheet(text []byte) (reading.Sheet, error) {
	var j jsonSheet
	if err := strictjson.Decode(text, &j); err != nil {
		return reading.Sheet{}, err
	}
	s, err := j.sheet(&jsonMachine{}, 0)
	if err != nil {
		return reading.Sheet{}, strictjson.Locate(text, err)
	}
	return s, nil
}

const maxMinutes = 60 * 24 * 60 // 60 days

func minutes(name string, v *float64) error {
	if v != nil && !(*v >= 0 && *v <= maxMinutes) {
		return fail.Of(fail.Range, name, "reading.minutes", fail.Args{"minutes": *v})
	}
	return nil
}

// sheet reads what was written; an earlier visit that names no machine has that of the sheet.
func (j *jsonSheet) sheet(machine *jsonMachine, depth int) (reading.Sheet, error) {
	if j.Machine != nil {
		machine = j.Machine
	}
	m, err := machine.machine()
	if err != nil {
		return reading.Sheet{}, at(err, "machine")
	}
	s := reading.Sheet{Machine: m, RunningMin: j.RunningMin, SinceDefrostMin: j.SinceDefrostMin}
	if s.Reason, err = reading.ParseReason(j.Reason); err != nil {
		return reading.Sheet{}, err
	}
	for i, v := range []*float64{j.RunningMin, j.SinceDefrostMin} {
		if err := minutes([]string{"running_min", "since_defrost_min"}[i], v); err != nil {
			return reading.Sheet{}, err
		}
	}
	if l := j.RoomLoad; l != nil {
		if err := l.check(); err != nil {
			return reading.Sheet{}, at(err, "room_load")
		}
		s.RoomLoad = &reading.RoomLoad{Share: *l.Share, U: *l.U}
	}
	if s.Learned, err = j.Learned.learned(); err != nil {
		return reading.Sheet{}, at(err, "learned")
	}
	if len(j.Readings) > 200 {
		return reading.Sheet{}, fail.Of(fail.Range, "readings", "sheet.too_many", fail.Args{"count": len(j.Readings)})
	}
	for i, r := range j.Readings {
		v, err := r.reading(m.AmbientPressure())
		if err != nil {
			return reading.Sheet{}, at(err, fmt.Sprintf("readings[%d]", i))
		}
		s.Readings = append(s.Readings, v)
	}
	for _, key := range slices.Sorted(maps.Keys(j.Seen)) {
		v := j.Seen[key]
		var word string
		switch v := v.(type) {
		case string:
			word = v
		case float64:
			word = strconv.FormatFloat(v, 'g', -1, 64)
		case nil:
		default:
			return reading.Sheet{}, fail.Of(fail.BadValue, "seen."+key, "sheet.seen_kind", nil)
		}
		if err := s.Seen.Set(key, word); err != nil {
			return reading.Sheet{}, at(err, "seen")
		}
	}
	if depth > 0 && len(j.HealthyVisits) > 0 {
		return reading.Sheet{}, fail.Of(fail.BadData, "healthy_visits", "sheet.nested_visits", nil)
	}
	if depth == 0 {
		for i := range j.HealthyVisits {
			h, err := j.HealthyVisits[i].sheet(machine, 1)
			if err != nil {
				return reading.Sheet{}, at(err, fmt.Sprintf("healthy_visits[%d]", i))
			}
			s.HealthyVisits = append(s.HealthyVisits, h)
		}
	}
	return s, nil
}

func at(err error, place string) error {
	var e *fail.Error
	if errors.As(err, &e) {
		return e.At(place)
	}
	return err
}

func inRange(field string, v *float64, lo, hi float64) error {
	if v != nil && !(*v >= lo && *v <= hi) {
		return fail.Of(fail.Range, field, "reading.outside_si", fail.Args{"value": *v, "min": lo, "max": hi})
	}
	return nil
}

// machine reads what was written.
func (j *jsonMachine) machine() (m reading.Machine, err error) {
	if strings.TrimSpace(j.Refrigerant) == "" {
		return m, fail.Of(fail.Required, "refrigerant", "machine.refrigerant_missing", nil)
	}
	m.Refrigerant = j.Refrigerant
	if m.Application, err = reading.ParseApplication(j.Application); err != nil {
		return m, err
	}
	if m.Expansion, err = reading.ParseExpansion(j.Expansion); err != nil {
		return m, err
	}
	if m.HeadControl, err = reading.ParseHeadControl(j.HeadControl); err != nil {
		return m, err
	}
	m.Receiver, m.RatedAmps = j.Receiver, j.RatedAmps
	m.LineLength, m.Lift, m.Accumulator = j.LineLength, j.Lift, j.Accumulator
	m.LockedAmps, m.RatedPower, m.RatedCapacity = j.LockedAmps, j.RatedPower, j.RatedCold
	d := jsonDesign{}
	if j.Design != nil {
		d = *j.Design
	}
	for _, c := range []struct {
		f      string
		v      *float64
		lo, hi float64
	}{
		{"head_set_c", j.HeadSetC, -10, 60},
		{"design.box_c", d.BoxC, -60, 40},
		{"design.ambient_c", d.AmbientC, -20, 60},
		{"design.td_k", d.TDK, 1, 40},
		{"design.split_k", d.SplitK, 2, 40},
		{"design.superheat_k", d.SuperheatK, 0.5, 25},
		{"design.subcooling_k", d.SubcoolK, 0.5, 20},
		{"altitude_m", j.AltitudeM, -500, 9000},
		{"barometer_kpa", j.Barometer, 30, 110},
		{"rated_amps", j.RatedAmps, 0.1, 2000},
		{"locked_rotor_amps", j.LockedAmps, 0.5, 20000},
		{"rated_power_w", j.RatedPower, 10, 1e6},
		{"rated_capacity_w", j.RatedCold, 10, 5e6},
		{"line_length_m", j.LineLength, reading.ShortestLine, reading.LongestLine},
		{"lift_m", j.Lift, -reading.MostLift, reading.MostLift},
		{"exchanger_effectiveness", j.Exchanger, 0, 0.9},
		{"crankcase_regulator_kpa", j.Crankcase, 20, 2000},
		{"evaporator_regulator_kpa", j.Evaporator, 20, 2000},
	} {
		if err := inRange(c.f, c.v, c.lo, c.hi); err != nil {
			return m, err
		}
	}
	temp := func(v *float64) *units.Temp {
		if v == nil {
			return nil
		}
		t := units.Celsius(*v)
		return &t
	}
	diff := func(v *float64) *units.TempDiff {
		if v == nil {
			return nil
		}
		t := units.TempDiff(*v)
		return &t
	}
	m.HeadSet = temp(j.HeadSetC)
	m.Design = reading.Design{
		Box:        temp(d.BoxC),
		Ambient:    temp(d.AmbientC),
		TD:         diff(d.TDK),
		Split:      diff(d.SplitK),
		Superheat:  diff(d.SuperheatK),
		Subcooling: diff(d.SubcoolK),
	}
	if j.AltitudeM != nil {
		m.AltitudeM = *j.AltitudeM
	}
	pressure := func(v *float64) *units.Pressure {
		if v == nil {
			return nil
		}
		p := units.Pressure(*v * units.Kilo)
		return &p
	}
	m.Barometer, m.Exchanger = pressure(j.Barometer), j.Exchanger
	m.CrankcaseRegulator, m.EvaporatorRegulator = pressure(j.Crankcase), pressure(j.Evaporator)
	return m, nil
}

// check refuses what no room has.
func (j jsonRoomLoad) check() error {
	for _, c := range []struct {
		field string
		v     *float64
		lo    float64
	}{{"share", j.Share, 0}, {"u", j.U, 0.01}} {
		switch {
		case c.v == nil && c.field == "share":
			return fail.Of(fail.Required, c.field, "sheet.share_missing", nil)
		case c.v == nil:
			return fail.Of(fail.Required, c.field, "sheet.share_u_missing", nil)
		case *c.v >= c.lo && *c.v <= 5:
		case c.field == "share":
			return fail.Of(fail.Range, c.field, "sheet.share", fail.Args{"value": *c.v})
		default:
			return fail.Of(fail.Range, c.field, "sheet.share_u", fail.Args{"value": *c.v})
		}
	}
	return nil
}

// learned reads what other machines taught; nil of nothing.
func (j *jsonLearned) learned() (*reading.Learned, error) {
	if j == nil {
		return nil, nil
	}
	machines, here := float64(j.Machines), float64(j.Here)
	if err := inRange("machines", &machines, 1, 1e6); err != nil {
		return nil, err
	}
	if err := inRange("here", &here, 0, machines); err != nil {
		return nil, err
	}
	out := &reading.Learned{Machines: j.Machines, Here: j.Here}
	for i, u := range j.Usual {
		place := fmt.Sprintf("usual[%d]", i)
		t, err := reading.ParseTrait(u.Trait)
		if err != nil {
			return nil, at(err, place)
		}
		for _, c := range []struct {
			field  string
			v      *float64
			lo, hi float64
		}{{"shift", u.Shift, -3, 3}, {"spread", u.Spread, 0.01, 3}} {
			if c.v == nil {
				return nil, fail.Of(fail.Required, place+"."+c.field, "sheet.usual_missing", nil)
			}
			if err := inRange(c.field, c.v, c.lo, c.hi); err != nil {
				return nil, at(err, place)
			}
		}
		out.Of[t] = reading.Usual{Shift: *u.Shift, Spread: *u.Spread}
	}
	return out, nil
}

func (j jsonReading) reading(ambient units.Pressure) (r reading.Reading, err error) {
	if r.At, err = reading.ParsePlace(j.At); err != nil {
		return r, err
	}
	r.Text = j.Value
	if r.Value, err = r.At.Parse(j.Value, "", ambient); err != nil {
		return r, at(err, "value")
	}
	if r.Instrument, err = reading.ParseInstrument(j.Instrument); err != nil {
		return r, err
	}
	if j.U != "" {
		if r.U, err = r.At.ParseU(j.U, ""); err != nil {
			return r, at(err, "u")
		}
	}
	return r, nil
}
