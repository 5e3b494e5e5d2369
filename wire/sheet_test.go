package wire

import (
	"encoding/json"
	"errors"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"coldwright/fail"
	"coldwright/machine/reading"
	"coldwright/units"
)

const example = `{
  "machine": {"refrigerant": "R-448A", "application": "walk-in freezer", "expansion": "valve", "receiver": true, "head_control": "none",
              "design": {"box_c": -18, "ambient_c": 35, "td_k": 5.6, "split_k": 14, "superheat_k": 4}, "altitude_m": 0},
  "readings": [{"at": "suction_pressure", "value": "12 psig"}, {"at": "box_air", "value": "3 F", "u": "1 F"}],
  "seen": {"glass": "bubbling", "condenser_dirt": "some", "coil_ice": "none", "coil_fans": 0.5},
  "running_min": 45,
  "healthy_visits": [{"readings": [{"at": "box_air", "value": "-18 C"}]}]
}`

func TestReadSheet_Example(t *testing.T) {
	s, err := ReadSheet([]byte(example))
	if err != nil {
		t.Fatal(err)
	}
	p, _ := s.Find(reading.SuctionPressure)
	b, _ := s.Find(reading.BoxAir)
	// 12 psig at sea level is 26.696 psia; a difference of 1 °F is 5/9 K (definitions).
	if math.Abs(p.Value-(12*units.Psi+101325)) > 1e-6 || math.Abs(b.U-5.0/9) > 1e-12 || s.Seen.Glass != reading.Bubbling ||
		*s.Seen.CoilFans != 0.5 ||
		len(s.HealthyVisits) != 1 {
		t.Errorf("%+v", s)
	}
	if s.HealthyVisits[0].Machine.Refrigerant != "R-448A" {
		t.Error("an earlier visit without machine takes the sheet's")
	}
	out, err := json.Marshal(written(&s))
	if err != nil {
		t.Fatal(err)
	}
	again, err := ReadSheet(out)
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	q, _ := again.Find(reading.SuctionPressure)
	if math.Abs(q.Value-p.Value) > 1e-6 || again.Seen.Get("coil_fans") != "0.5" || *again.Machine.Design.TD != 5.6 {
		t.Errorf("round trip: %+v", again)
	}
}

func TestReadSheet_Options(t *testing.T) {
	text := `{"machine": {"refrigerant": "R-404A", "application": "walk-in freezer", "exchanger_effectiveness": 0.4,
	  "crankcase_regulator_kpa": 250, "evaporator_regulator_kpa": 180, "receiver": false, "design": {"subcooling_k": 6}}, "readings": []}`
	s, err := ReadSheet([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	out, err := json.Marshal(written(&s))
	if err != nil {
		t.Fatal(err)
	}
	again, err := ReadSheet(out)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []reading.Sheet{s, again} {
		if r, _ := v.Machine.Resolve(); r.Exchanger != 0.4 || r.CrankcaseRegulator != 250e3 || r.EvaporatorRegulator != 180e3 ||
			r.Subcooling != 6 {
			t.Errorf("%+v", r)
		}
	}
}

// placeOf is the place in the file before a key; package strictjson proves that it is the right one.
var placeOf = regexp.MustCompile(`^line \d+, column \d+(, )?`)

func TestReadSheet_Refused(t *testing.T) {
	for _, c := range []struct{ sheet, field, says string }{
		{`{"machine":{},"readings":[]}`, "machine.refrigerant", "machine.refrigerant_missing"},
		{`{"machine":{"refrigerant":"R-22"},"readings":[{"at":"box_air","value":"12"}]}`, "readings[0].value", "units.no_unit"},
		{`{"machine":{"refrigerant":"R-22"},"readings":[{"at":"box_air","value":"900 F"}]}`, "readings[0].value.box_air", "reading.outside"},
		{`{"machine":{"refrigerant":"R-22"},"readings":[{"at":"nose","value":"9 F"}]}`, "readings[0].at", "reading.no_place"},
		{`{"machine":{"refrigerant":"R-22","application":"barn"},"readings":[]}`, "machine.application", "reading.no_answer"},
		{`{"machine":{"refrigerant":"R-22","design":{"td_k":90}},"readings":[]}`, "machine.design.td_k", "reading.outside_si"},
		{
			`{"machine":{"refrigerant":"R-22","exchanger_effectiveness":40},"readings":[]}`,
			"machine.exchanger_effectiveness", "reading.outside_si",
		},
		{`{"machine":{"refrigerant":"R-22","crankcase_regulator_kpa":2},"readings":[]}`, "machine.crankcase_regulator_kpa", "reading.outside_si"},
		{`{"machine":{"refrigerant":"R-22"},"readings":[],"glass":"clear"}`, "glass", "json.no_key"},
		{`{"machine":{"refrigerant":"R-22"},"readings":[],"seen":{"glass":"dirty"}}`, "seen.glass", "reading.no_answer"},
		{`{"machine":{"refrigerant":"R-22"},"readings":[],"running_min":-4}`, "running_min", "reading.minutes"},
		{`{"machine":{"refrigerant":"R-22"},"readings":[{"at":"box_air","value":"9 F","u":"1e30 F"}]}`, "readings[0].u", "reading.uncertainty"},
		{
			`{"machine":{"refrigerant":"R-22"},"readings":[],"healthy_visits":[{"readings":[],"healthy_visits":[{"readings":[]}]}]}`,
			"healthy_visits[0].healthy_visits", "sheet.nested_visits",
		},
		{`{"machine":`, "", "json.early"},
		{"{\n\"machine\": nonsense}", "", "json.syntax"},
	} {
		_, err := ReadSheet([]byte(c.sheet))
		var e *fail.Error
		if !errors.As(err, &e) || strings.TrimPrefix(e.Field, placeOf.FindString(e.Field)) != c.field || placeOf.FindString(e.Field) == "" ||
			e.Key != c.says || strings.Contains(e.Error(), "\n") {
			t.Errorf("%s:\n got %v (%T)\nwant %s saying %q", c.sheet, err, err, c.field, c.says)
		}
	}
}

func FuzzReadSheet(f *testing.F) {
	f.Add([]byte(example))
	f.Add([]byte(`{"machine":{"refrigerant":"R-22"},"readings":[{"at":"amps","value":"9 A"}]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		s, err := ReadSheet(b)
		if err != nil {
			return
		}
		out, err := json.Marshal(written(&s))
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ReadSheet(out); err != nil {
			t.Fatalf("what was accepted is refused when written again: %v\n%s", err, out)
		}
		s.Check()
	})
}

// What other machines taught is read strictly and written back to the last bit.
func TestSheet_Learned(t *testing.T) {
	text := func(learned string) []byte {
		return []byte(`{"machine":{"refrigerant":"R-404A"},"readings":[],"learned":` + learned + `}`)
	}
	s, err := ReadSheet(text(`{"machines":12,"here":3,"usual":[{"trait":"split","shift":-0.3141592653589793,"spread":0.1}]}`))
	want := reading.Learned{Machines: 12, Here: 3}
	want.Of[reading.TraitSplit] = reading.Usual{Shift: -0.3141592653589793, Spread: 0.1}
	if err != nil || s.Learned == nil || *s.Learned != want {
		t.Fatalf("%+v %v", s.Learned, err)
	}
	out, err := json.Marshal(written(&s))
	if err != nil {
		t.Fatal(err)
	}
	if again, err := ReadSheet(out); err != nil || again.Learned == nil || *again.Learned != want {
		t.Errorf("%s: %v", out, err)
	}
	for learned, field := range map[string]string{
		`{"machines":0}`:          "learned.machines",
		`{"machines":2,"here":3}`: "learned.here",
		`{"machines":2,"usual":[{"trait":"colour","shift":0,"spread":1}]}`: "learned.usual[0].trait",
		`{"machines":2,"usual":[{"trait":"td","spread":1}]}`:               "learned.usual[0].shift",
		`{"machines":2,"usual":[{"trait":"td","shift":0,"spread":0}]}`:     "learned.usual[0].spread",
	} {
		_, err := ReadSheet(text(learned))
		var e *fail.Error
		if !errors.As(err, &e) || strings.TrimPrefix(e.Field, placeOf.FindString(e.Field)) != field {
			t.Errorf("%s: %v", learned, err)
		}
	}
}

// The room's load is read strictly and written back as it was.
func TestSheet_RoomLoad(t *testing.T) {
	text := func(load string) []byte {
		return []byte(`{"machine":{"refrigerant":"R-404A"},"readings":[],"room_load":` + load + `}`)
	}
	s, err := ReadSheet(text(`{"share":1.2,"u":0.15}`))
	if err != nil || s.RoomLoad == nil || *s.RoomLoad != (reading.RoomLoad{Share: 1.2, U: 0.15}) {
		t.Fatalf("%+v %v", s.RoomLoad, err)
	}
	out, err := json.Marshal(written(&s))
	if err != nil {
		t.Fatal(err)
	}
	if again, err := ReadSheet(out); err != nil || again.RoomLoad == nil || *again.RoomLoad != *s.RoomLoad {
		t.Errorf("%s: %v", out, err)
	}
	for load, field := range map[string]string{
		`{"share":5.1,"u":0.1}`: "room_load.share", `{"share":-0.1,"u":0.1}`: "room_load.share", `{"share":1}`: "room_load.u",
		`{"u":0.1}`: "room_load.share", `{"share":1,"u":0}`: "room_load.u", `{"share":1,"u":6}`: "room_load.u",
		`{"share":1,"u":0.1,"of":1}`: "room_load.of", `{"share":"1","u":0.1}`: "room_load.share",
	} {
		_, err := ReadSheet(text(load))
		var e *fail.Error
		if !errors.As(err, &e) || strings.TrimPrefix(e.Field, placeOf.FindString(e.Field)) != field {
			t.Errorf("%s: %v", load, err)
		}
	}
}

// written is a sheet as [ReadSheet] reads the same values back.
func written(s *reading.Sheet) jsonSheet {
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
	j := jsonSheet{Reason: s.Reason.String(), RunningMin: s.RunningMin, SinceDefrostMin: s.SinceDefrostMin, Readings: []jsonReading{}}
	if l := s.RoomLoad; l != nil {
		j.RoomLoad = &jsonRoomLoad{&l.Share, &l.U}
	}
	if l := s.Learned; l != nil {
		j.Learned = &jsonLearned{Machines: l.Machines, Here: l.Here}
		for t, u := range l.Of {
			if u.Spread > 0 {
				j.Learned.Usual = append(j.Learned.Usual, jsonUsual{reading.Trait(t).String(), &u.Shift, &u.Spread})
			}
		}
	}
	j.Machine = &jsonMachine{
		Refrigerant: m.Refrigerant, Application: m.Application.String(), Expansion: m.Expansion.String(), Receiver: m.Receiver,
		HeadControl: m.HeadControl.String(), HeadSetC: c(m.HeadSet), RatedAmps: m.RatedAmps,
		LockedAmps: m.LockedAmps, RatedPower: m.RatedPower, RatedCold: m.RatedCapacity,
		LineLength: m.LineLength, Lift: m.Lift, Accumulator: m.Accumulator,
	}
	if m.Design != (reading.Design{}) {
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
		if r.Instrument != reading.InstrumentUnknown {
			q.Instrument = r.Instrument.String()
		}
		if r.U > 0 {
			q.U = siDiff(r.At, r.U)
		}
		j.Readings = append(j.Readings, q)
	}
	for _, key := range reading.SeenKeys() {
		if w := s.Seen.Get(key); w != "" {
			if j.Seen == nil {
				j.Seen = map[string]any{}
			}
			j.Seen[key] = w
		}
	}
	for _, h := range s.HealthyVisits {
		h.HealthyVisits = nil
		j.HealthyVisits = append(j.HealthyVisits, written(&h))
	}
	return j
}

func siText(p reading.Place, v float64) string {
	switch p.Kind() {
	case reading.KindPressure:
		return shortest(v) + " Pa"
	case reading.KindTemperature:
		return shortest(v) + " K"
	case reading.KindCurrent:
		return shortest(v) + " A"
	case reading.KindShare:
		return shortest(v)
	}
	return shortest(v) + " W"
}

func siDiff(p reading.Place, v float64) string {
	if p.Kind() == reading.KindTemperature {
		return shortest(v) + " K"
	}
	return siText(p, v)
}

func shortest(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }
