package reading

import (
	"encoding/json"
	"errors"
	"math"
	"regexp"
	"strings"
	"testing"

	"coldwright/fail"
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

func TestParseSheet_Example(t *testing.T) {
	s, err := ParseSheet([]byte(example))
	if err != nil {
		t.Fatal(err)
	}
	p, _ := s.Find(SuctionPressure)
	b, _ := s.Find(BoxAir)
	// 12 psig at sea level is 26.696 psia; a difference of 1 °F is 5/9 K (definitions).
	if math.Abs(p.Value-(12*units.Psi+101325)) > 1e-6 || math.Abs(b.U-5.0/9) > 1e-12 || s.Seen.Glass != Bubbling ||
		*s.Seen.CoilFans != 0.5 ||
		len(s.HealthyVisits) != 1 {
		t.Errorf("%+v", s)
	}
	if s.HealthyVisits[0].Machine.Refrigerant != "R-448A" {
		t.Error("an earlier visit without machine takes the sheet's")
	}
	out, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	again, err := ParseSheet(out)
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	q, _ := again.Find(SuctionPressure)
	if math.Abs(q.Value-p.Value) > 1e-6 || again.Seen.Get("coil_fans") != "0.5" || *again.Machine.Design.TD != 5.6 {
		t.Errorf("round trip: %+v", again)
	}
}

func TestParseSheet_Options(t *testing.T) {
	text := `{"machine": {"refrigerant": "R-404A", "application": "walk-in freezer", "exchanger_effectiveness": 0.4,
	  "crankcase_regulator_kpa": 250, "evaporator_regulator_kpa": 180, "receiver": false, "design": {"subcooling_k": 6}}, "readings": []}`
	s, err := ParseSheet([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	out, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	again, err := ParseSheet(out)
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []Sheet{s, again} {
		if r, _ := v.Machine.Resolve(); r.Exchanger != 0.4 || r.CrankcaseRegulator != 250e3 || r.EvaporatorRegulator != 180e3 ||
			r.Subcooling != 6 {
			t.Errorf("%+v", r)
		}
	}
	// A capillary soldered to the suction line is assumed where reach-ins are built so, and said; with a valve there is none.
	r, as := Machine{Refrigerant: "R-134a", Application: ReachInCooler}.Resolve()
	said := false
	for _, a := range as {
		said = said || a.Field == "exchanger_effectiveness"
	}
	if r.Exchanger == 0 || !said || r.Receiver {
		t.Errorf("reach-in: %+v, said %v", r, said)
	}
	none := 0.0
	if r, _ := (Machine{Refrigerant: "R-134a", Application: ReachInCooler, Exchanger: &none}).Resolve(); r.Exchanger != 0 {
		t.Error("an exchanger that is not there was assumed")
	}
	if r, _ := (Machine{Refrigerant: "R-134a", Application: ReachInCooler, Expansion: Valve}).Resolve(); r.Exchanger != 0 {
		t.Error("a valve is not soldered to the suction line")
	}
}

// placeOf is the place in the file before a key; package strictjson proves that it is the right one.
var placeOf = regexp.MustCompile(`^line \d+, column \d+(, )?`)

func TestParseSheet_Refused(t *testing.T) {
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
		_, err := ParseSheet([]byte(c.sheet))
		var e *fail.Error
		if !errors.As(err, &e) || strings.TrimPrefix(e.Field, placeOf.FindString(e.Field)) != c.field || placeOf.FindString(e.Field) == "" ||
			e.Key != c.says || strings.Contains(e.Error(), "\n") {
			t.Errorf("%s:\n got %v (%T)\nwant %s saying %q", c.sheet, err, err, c.field, c.says)
		}
	}
}

func TestCheck_Findings(t *testing.T) {
	f := func(v float64) float64 { return float64(units.Fahrenheit(v)) }
	has := func(s Sheet, code string) bool {
		for _, x := range s.Check() {
			if x.Code == code {
				return true
			}
		}
		return false
	}
	// The box's own thermometer shows 3 °F, a probe 8 °F in the same air (common practice, no source): the disagreement is reported.
	s := Sheet{Readings: []Reading{{At: BoxDisplay, Value: f(3)}, {At: BoxAir, Value: f(8), Instrument: AirProbe}}}
	if !has(s, BoxDisagrees) {
		t.Error("3 °F against 8 °F is not reported")
	}
	s.Readings[0].Value = f(7)
	if has(s, BoxDisagrees) {
		t.Error("one degree is reported")
	}
	two := 2.0
	s = Sheet{Readings: []Reading{
		{At: SuctionPressure, Value: 1e6},
		{At: DischargePressure, Value: 4e5},
		{At: BoxAir, Value: f(0)},
		{At: BoxAir, Value: f(1)},
		{At: CoilAirOff, Value: f(20)},
	}, RunningMin: &two, SinceDefrostMin: &two}
	for _, code := range []string{SuctionAbove, ReadTwice, TooEarly, AfterDefrost, AirOffWarmer} {
		if !has(s, code) {
			t.Errorf("%s is not reported", code)
		}
	}
}

func TestResolve_Assumed(t *testing.T) {
	r, as := Machine{Refrigerant: "R-404A", Application: WalkInFreezer}.Resolve()
	// TD 10 °F, split 30 °F for a walk-in freezer: common practice, no source.
	if math.Abs(r.TD.F()-10) > 1e-9 || math.Abs(r.Split.F()-30) > 1e-9 || !r.Receiver || r.Expansion != Valve || len(as) < 6 {
		t.Errorf("%+v\n%+v", r, as)
	}
	td := units.TempDiff(5)
	r, _ = Machine{Refrigerant: "R-404A", Application: WalkInFreezer, Design: Design{TD: &td}}.Resolve()
	if r.TD != 5 || !r.TDKnown || r.SplitKnown {
		t.Errorf("%+v", r)
	}
}

func TestReadCases_BadRowsNamed(t *testing.T) {
	table := "case_id,refrigerant,application,receiver,suction_pressure_kpa,box_air_c,glass,healthy_case\n" +
		"a,R-404A,walk-in freezer,yes,184,-16,bubbling,\n" +
		"b,R-404A,walk-in freezer,perhaps,184,-16,bubbling,\n" +
		"c,R-404A,walk-in freezer,yes,x,-16,,\n" +
		"d,R-404A,walk-in freezer,yes,260,-18,clear,a\n" +
		"e,R-404A,walk-in freezer,yes,99999,-18,clear,zz\n"
	cases, err := ReadCases(strings.NewReader(table))
	if err != nil || len(cases) != 5 {
		t.Fatal(err, len(cases))
	}
	for i, says := range []string{"", "line 3, column receiver", "line 4, column suction_pressure_kpa", "", "line 6"} {
		got := ""
		if cases[i].Err != nil {
			got = cases[i].Err.Error()
		}
		if (says == "") != (got == "") || !strings.Contains(got, says) {
			t.Errorf("row %d: %q, want %q", i, got, says)
		}
	}
	if len(cases[3].Sheet.HealthyVisits) != 1 {
		t.Error("the healthy case is not linked")
	}
	if _, err := ReadCases(strings.NewReader("case_id,nonsense\n")); err == nil {
		t.Error("an unknown column was accepted")
	}
}

func FuzzParseSheet(f *testing.F) {
	f.Add([]byte(example))
	f.Add([]byte(`{"machine":{"refrigerant":"R-22"},"readings":[{"at":"amps","value":"9 A"}]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		s, err := ParseSheet(b)
		if err != nil {
			return
		}
		out, err := json.Marshal(s)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := ParseSheet(out); err != nil {
			t.Fatalf("what was accepted is refused when written again: %v\n%s", err, out)
		}
		s.Check()
	})
}

func FuzzReadCases(f *testing.F) {
	f.Add("case_id,refrigerant,box_air_c\na,R-22,-5\n")
	f.Fuzz(func(t *testing.T, s string) {
		cases, _ := ReadCases(strings.NewReader(s))
		for _, c := range cases {
			for _, r := range c.Sheet.Readings {
				if math.IsNaN(r.Value) || math.IsInf(r.Value, 0) {
					t.Errorf("%v", r)
				}
			}
		}
	})
}

// The room's load is read strictly and written back as it was.
func TestSheet_RoomLoad(t *testing.T) {
	text := func(load string) []byte {
		return []byte(`{"machine":{"refrigerant":"R-404A"},"readings":[],"room_load":` + load + `}`)
	}
	s, err := ParseSheet(text(`{"share":1.2,"u":0.15}`))
	if err != nil || s.RoomLoad == nil || *s.RoomLoad != (RoomLoad{1.2, 0.15}) {
		t.Fatalf("%+v %v", s.RoomLoad, err)
	}
	out, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := ParseSheet(out); err != nil || again.RoomLoad == nil || *again.RoomLoad != *s.RoomLoad {
		t.Errorf("%s: %v", out, err)
	}
	for load, field := range map[string]string{
		`{"share":5.1,"u":0.1}`: "room_load.share", `{"share":-0.1,"u":0.1}`: "room_load.share", `{"share":1}`: "room_load.u",
		`{"u":0.1}`: "room_load.share", `{"share":1,"u":0}`: "room_load.u", `{"share":1,"u":6}`: "room_load.u",
		`{"share":1,"u":0.1,"of":1}`: "room_load.of", `{"share":"1","u":0.1}`: "room_load.share",
	} {
		_, err := ParseSheet(text(load))
		var e *fail.Error
		if !errors.As(err, &e) || strings.TrimPrefix(e.Field, placeOf.FindString(e.Field)) != field {
			t.Errorf("%s: %v", load, err)
		}
	}
}

// A table holds whatever a sheet holds: a row with every column filled reads as the sheet that says the same, and its keys are all there.
func TestReadCases_Everything(t *testing.T) {
	sheet := `{"machine": {"refrigerant": "R-448A", "application": "walk-in freezer", "expansion": "valve", "receiver": false,
		"head_control": "flooding", "head_set_c": 32, "altitude_m": 300,
		"design": {"box_c": -18, "ambient_c": 35, "td_k": 5.6, "split_k": 14, "superheat_k": 4, "subcooling_k": 3},
		"barometer_kpa": 97, "rated_amps": 11.5, "exchanger_effectiveness": 0.4,
		"crankcase_regulator_kpa": 250, "evaporator_regulator_kpa": 180},
		"readings": [], "running_min": 45, "since_defrost_min": 90, "room_load": {"share": 1.2, "u": 0.15},
		"seen": {"glass": "bubbling", "condenser_dirt": "some", "coil_ice": "none", "coil_fans": 0.5,
		"condenser_fans": 1, "receiver_level": 0.3, "oil_marks": "seen", "frost_on_compressor": "none", "bypass_frost": "seen", "door": "used"}}`
	want, err := ParseSheet([]byte(sheet))
	if err != nil {
		t.Fatal(err)
	}
	row := map[string]string{
		"case_id":                  "a",
		"refrigerant":              "R-448A",
		"application":              "walk-in freezer",
		"expansion":                "valve",
		"receiver":                 "no",
		"head_control":             "flooding",
		"head_set_c":               "32",
		"altitude_m":               "300",
		"design_box_c":             "-18",
		"design_ambient_c":         "35",
		"design_td_k":              "5.6",
		"design_split_k":           "14",
		"design_superheat_k":       "4",
		"design_subcooling_k":      "3",
		"barometer_kpa":            "97",
		"rated_amps":               "11.5",
		"exchanger_effectiveness":  "0.4",
		"crankcase_regulator_kpa":  "250",
		"evaporator_regulator_kpa": "180",
		"running_min":              "45",
		"since_defrost_min":        "90",
		"room_load_share":          "1.2",
		"room_load_u":              "0.15",
		"glass":                    "bubbling",
		"condenser_dirt":           "some",
		"coil_ice":                 "none",
		"coil_fans":                "0.5",
		"condenser_fans":           "1",
		"receiver_level":           "0.3",
		"oil_marks":                "seen",
		"frost_on_compressor":      "none",
		"bypass_frost":             "seen",
		"door":                     "used",
	}
	for _, p := range Places() {
		r := Reading{At: p, Instrument: ByHand}
		switch p.Kind() {
		case KindPressure:
			r.Value, r.U = 400e3, 5e3
			row[p.String()+"_kpa"], row[p.String()+"_u"] = "400", "5"
		case KindTemperature:
			r.Value, r.U = 283.15, 0.5
			row[p.String()+"_c"], row[p.String()+"_u"] = "10", "0.5"
		case KindCurrent:
			r.Value, r.U = 9, 0.2
			row[p.String()+"_a"], row[p.String()+"_u"] = "9", "0.2"
		case KindPower:
			r.Value, r.U = 2000, 50
			row[p.String()+"_w"], row[p.String()+"_u"] = "2000", "50"
		}
		row[p.String()+"_instrument"] = ByHand.String()
		want.Readings = append(want.Readings, r)
	}
	var head, cells []string
	for _, c := range CaseColumns() {
		if c == "healthy_case" || c == "amps_ratio" {
			continue
		}
		if row[c] == "" {
			t.Errorf("the column %s is not tried", c)
		}
		head, cells = append(head, c), append(cells, row[c])
	}
	cases, err := ReadCases(strings.NewReader(strings.Join(head, ",") + "\n" + strings.Join(cells, ",") + "\n"))
	if err != nil || len(cases) != 1 || cases[0].Err != nil {
		t.Fatalf("%v %+v", err, cases)
	}
	a, err := json.Marshal(want)
	if err != nil {
		t.Fatal(err)
	}
	if b, err := json.Marshal(cases[0].Sheet); err != nil || string(a) != string(b) {
		t.Errorf("a table:\n%s\na sheet:\n%s (%v)", b, a, err)
	}
	for table, field := range map[string]string{
		"refrigerant,room_load_share\nR-22,1.1\n":                "line 2.room_load_u",
		"refrigerant,room_load_share,room_load_u\nR-22,7,0.1\n":  "line 2.room_load_share",
		"refrigerant,since_defrost_min\nR-22,-3\n":               "line 2.since_defrost_min",
		"refrigerant,exchanger_effectiveness\nR-22,2\n":          "line 2.exchanger_effectiveness",
		"refrigerant,amps_ratio,rated_amps\nR-22,1,9\n":          "line 2.amps_ratio",
		"refrigerant,amps_ratio,amps_a\nR-22,1,9\n":              "line 2.amps_ratio",
		"refrigerant,box_air_u\nR-22,1\n":                        "line 2.box_air_u",
		"refrigerant,box_air_c,box_air_u\nR-22,1,-1\n":           "line 2, column box_air_u",
		"refrigerant,box_air_c,box_air_instrument\nR-22,1,ear\n": "line 2, column box_air_instrument",
		"refrigerant,door\nR-22,ajar\n":                          "line 2, column door",
	} {
		cases, err := ReadCases(strings.NewReader(table))
		var e *fail.Error
		if err != nil || len(cases) != 1 || !errors.As(cases[0].Err, &e) || !strings.HasPrefix(e.Field, field) {
			t.Errorf("%q: %v, %+v", table, err, cases)
		}
	}
}
