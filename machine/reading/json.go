package reading

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"coldwright/fail"
	"coldwright/internal/strictjson"
	"coldwright/units"
)

// The JSON form of a sheet. Temperatures end in _c, differences in _k; readings carry their unit in the text.
type (
	jsonSheet struct {
		Machine         *JSONMachine   `json:"machine"`
		Readings        []jsonReading  `json:"readings"`
		Seen            map[string]any `json:"seen,omitempty"`
		RunningMin      *float64       `json:"running_min,omitempty"`
		SinceDefrostMin *float64       `json:"since_defrost_min,omitempty"`
		HealthyVisits   []jsonSheet    `json:"healthy_visits,omitempty"`
		RoomLoad        *jsonRoomLoad  `json:"room_load,omitempty"`
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

// JSONMachine is the machine of a sheet as it is written; other documents hold one as well.
type JSONMachine struct {
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
	Exchanger   *float64    `json:"exchanger_effectiveness,omitempty"`
	Crankcase   *float64    `json:"crankcase_regulator_kpa,omitempty"`
	Evaporator  *float64    `json:"evaporator_regulator_kpa,omitempty"`
}

// ParseSheet reads a sheet strictly: unknown keys, missing units and impossible values are errors that name their place.
//
//   - in: JSON of at most 1 MB
//   - out: the sheet in SI
//   - errors: [*fail.Error] with field, value, allowed range and hint
//   - source: definition
func ParseSheet(text []byte) (Sheet, error) {
	var j jsonSheet
	if err := strictjson.Decode(text, &j); err != nil {
		return Sheet{}, err
	}
	s, err := j.sheet(&JSONMachine{}, 0)
	if err != nil {
		return Sheet{}, strictjson.Locate(text, err)
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
func (j *jsonSheet) sheet(machine *JSONMachine, depth int) (Sheet, error) {
	if j.Machine != nil {
		machine = j.Machine
	}
	m, err := machine.Machine()
	if err != nil {
		return Sheet{}, at(err, "machine")
	}
	s := Sheet{Machine: m, RunningMin: j.RunningMin, SinceDefrostMin: j.SinceDefrostMin}
	for i, v := range []*float64{j.RunningMin, j.SinceDefrostMin} {
		if err := minutes([]string{"running_min", "since_defrost_min"}[i], v); err != nil {
			return Sheet{}, err
		}
	}
	if l := j.RoomLoad; l != nil {
		if err := l.check(); err != nil {
			return Sheet{}, at(err, "room_load")
		}
		s.RoomLoad = &RoomLoad{*l.Share, *l.U}
	}
	if len(j.Readings) > 200 {
		return Sheet{}, fail.Of(fail.Range, "readings", "sheet.too_many", fail.Args{"count": len(j.Readings)})
	}
	for i, r := range j.Readings {
		v, err := r.reading(m.AmbientPressure())
		if err != nil {
			return Sheet{}, at(err, fmt.Sprintf("readings[%d]", i))
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
			word = trimFloat(v)
		case nil:
		default:
			return Sheet{}, fail.Of(fail.BadValue, "seen."+key, "sheet.seen_kind", nil)
		}
		if err := s.Seen.Set(key, word); err != nil {
			return Sheet{}, at(err, "seen")
		}
	}
	if depth > 0 && len(j.HealthyVisits) > 0 {
		return Sheet{}, fail.Of(fail.BadData, "healthy_visits", "sheet.nested_visits", nil)
	}
	if depth == 0 {
		for i := range j.HealthyVisits {
			h, err := j.HealthyVisits[i].sheet(machine, 1)
			if err != nil {
				return Sheet{}, at(err, fmt.Sprintf("healthy_visits[%d]", i))
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

// Machine reads what was written.
//
//   - out: the machine in SI
//   - errors: [*fail.Error] with field, value and allowed range
//   - source: definition
func (j *JSONMachine) Machine() (m Machine, err error) {
	if strings.TrimSpace(j.Refrigerant) == "" {
		return m, fail.Of(fail.Required, "refrigerant", "machine.refrigerant_missing", nil)
	}
	m.Refrigerant = j.Refrigerant
	if m.Application, err = ParseApplication(j.Application); err != nil {
		return m, err
	}
	if m.Expansion, err = ParseExpansion(j.Expansion); err != nil {
		return m, err
	}
	if m.HeadControl, err = ParseHeadControl(j.HeadControl); err != nil {
		return m, err
	}
	m.Receiver, m.RatedAmps = j.Receiver, j.RatedAmps
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
	m.Design = Design{
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

func (j jsonReading) reading(ambient units.Pressure) (r Reading, err error) {
	if r.At, err = ParsePlace(j.At); err != nil {
		return r, err
	}
	r.Text = j.Value
	if r.Value, err = r.At.Parse(j.Value, "", ambient); err != nil {
		return r, at(err, "value")
	}
	if r.Instrument, err = ParseInstrument(j.Instrument); err != nil {
		return r, err
	}
	if j.U != "" {
		if r.U, err = r.At.ParseU(j.U, ""); err != nil {
			return r, at(err, "u")
		}
	}
	return r, nil
}

// ParseU reads an uncertainty at this place: a difference, never a temperature ("1 F" is one Fahrenheit degree).
func (p Place) ParseU(text, fallback string) (float64, error) {
	var u float64
	switch p.Kind() {
	case KindTemperature:
		d, err := units.ParseTempDiff(text, fallback)
		if err != nil {
			return 0, err
		}
		u = float64(d)
	case KindPressure:
		// A pressure difference has no gauge or absolute: psi and bar are enough here.
		t := strings.TrimSpace(text)
		for _, s := range []string{"psi", "bar"} {
			if strings.HasSuffix(t, s) {
				t += "(a)"
			}
		}
		t = strings.NewReplacer("psig", "psia", "(g)", "(a)").Replace(t)
		e, err := units.ParsePressure(t, strings.NewReplacer("psig", "psia", "(g)", "(a)").Replace(fallback))
		if err != nil {
			return 0, err
		}
		u = e.Pa
	default:
		v, err := p.Parse(text, fallback, units.Atm)
		if err != nil {
			return 0, err
		}
		u = v
	}
	if lo, hi := p.Range(); !(u > 0 && u < hi-lo) {
		return 0, fail.Of(fail.Range, "", "reading.uncertainty", fail.Args{"text": text})
	}
	return u, nil
}

// MarshalJSON writes the sheet so that [ParseSheet] reads the same values back.
func (s Sheet) MarshalJSON() ([]byte, error) { return json.Marshal(s.written()) }

func (s *Sheet) written() jsonSheet {
	m := s.Machine
	c := func(t *units.Temp) *float64 {
		if t == nil {
			return nil
		}
		v := t.C()
		return &v
	}
	k := func(t *units.TempDiff) *float64 {
		if t == nil {
			return nil
		}
		v := float64(*t)
		return &v
	}
	j := jsonSheet{RunningMin: s.RunningMin, SinceDefrostMin: s.SinceDefrostMin, Readings: []jsonReading{}}
	if l := s.RoomLoad; l != nil {
		j.RoomLoad = &jsonRoomLoad{&l.Share, &l.U}
	}
	j.Machine = &JSONMachine{
		Refrigerant: m.Refrigerant, Application: m.Application.String(), Expansion: m.Expansion.String(), Receiver: m.Receiver,
		HeadControl: m.HeadControl.String(), HeadSetC: c(m.HeadSet), RatedAmps: m.RatedAmps,
	}
	if m.Design != (Design{}) {
		j.Machine.Design = &jsonDesign{
			c(m.Design.Box),
			c(m.Design.Ambient),
			k(m.Design.TD),
			k(m.Design.Split),
			k(m.Design.Superheat),
			k(m.Design.Subcooling),
		}
	}
	if m.AltitudeM != 0 {
		j.Machine.AltitudeM = &m.AltitudeM
	}
	kpa := func(p *units.Pressure) *float64 {
		if p == nil {
			return nil
		}
		v := float64(*p) / units.Kilo
		return &v
	}
	j.Machine.Barometer, j.Machine.Exchanger = kpa(m.Barometer), m.Exchanger
	j.Machine.Crankcase, j.Machine.Evaporator = kpa(m.CrankcaseRegulator), kpa(m.EvaporatorRegulator)
	for _, r := range s.Readings {
		q := jsonReading{At: r.At.String(), Value: siText(r.At, r.Value), Instrument: ""}
		if r.Instrument != InstrumentUnknown {
			q.Instrument = r.Instrument.String()
		}
		if r.U > 0 {
			q.U = siDiff(r.At, r.U)
		}
		j.Readings = append(j.Readings, q)
	}
	for _, key := range SeenKeys() {
		if w := s.Seen.Get(key); w != "" {
			if j.Seen == nil {
				j.Seen = map[string]any{}
			}
			j.Seen[key] = w
		}
	}
	for _, h := range s.HealthyVisits {
		h.HealthyVisits = nil
		j.HealthyVisits = append(j.HealthyVisits, h.written())
	}
	return j
}

func siText(p Place, v float64) string {
	switch p.Kind() {
	case KindPressure:
		return trimFloat(v) + " Pa"
	case KindTemperature:
		return trimFloat(v) + " K"
	case KindCurrent:
		return trimFloat(v) + " A"
	}
	return trimFloat(v) + " W"
}

func siDiff(p Place, v float64) string {
	if p.Kind() == KindTemperature {
		return trimFloat(v) + " K"
	}
	return siText(p, v)
}
