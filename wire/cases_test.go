package wire

import (
	"encoding/json"
	"errors"
	"io"
	"math"
	"strings"
	"testing"

	"coldwright/fail"
	"coldwright/machine/reading"
)

func TestOpenCases_BadRowsNamed(t *testing.T) {
	table := "case_id,refrigerant,application,receiver,suction_pressure_kpa,box_air_c,glass,healthy_case\n" +
		"a,R-404A,walk-in freezer,yes,184,-16,bubbling,\n" +
		"b,R-404A,walk-in freezer,perhaps,184,-16,bubbling,\n" +
		"c,R-404A,walk-in freezer,yes,x,-16,,\n" +
		"d,R-404A,walk-in freezer,yes,260,-18,clear,a\n" +
		"e,R-404A,walk-in freezer,yes,99999,-18,clear,zz\n"
	cases, err := allCases(strings.NewReader(table))
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
	if _, err := allCases(strings.NewReader("case_id,nonsense\n")); err == nil {
		t.Error("an unknown column was accepted")
	}
}

func FuzzOpenCases(f *testing.F) {
	f.Add("case_id,refrigerant,box_air_c\na,R-22,-5\n")
	f.Fuzz(func(t *testing.T, s string) {
		cases, _ := allCases(strings.NewReader(s))
		for _, c := range cases {
			for _, r := range c.Sheet.Readings {
				if math.IsNaN(r.Value) || math.IsInf(r.Value, 0) {
					t.Errorf("%v", r)
				}
			}
		}
	})
}

// A table holds whatever a sheet holds: a row with every column filled reads as the sheet that says the same, and its keys are all there.
func TestOpenCases_Everything(t *testing.T) {
	sheet := `{"machine": {"refrigerant": "R-448A", "application": "walk-in freezer", "expansion": "valve", "receiver": false, "accumulator": true,
		"head_control": "flooding", "head_set_c": 32, "altitude_m": 300,
		"design": {"box_c": -18, "ambient_c": 35, "td_k": 5.6, "split_k": 14, "superheat_k": 4, "subcooling_k": 3},
		"barometer_kpa": 97, "rated_amps": 11.5, "locked_rotor_amps": 61, "rated_power_w": 3100, "rated_capacity_w": 4200, "line_length_m": 22, "lift_m": -4, "exchanger_effectiveness": 0.4,
		"crankcase_regulator_kpa": 250, "evaporator_regulator_kpa": 180},
		"readings": [], "running_min": 45, "since_defrost_min": 90, "room_load": {"share": 1.2, "u": 0.15},
		"seen": {"glass": "bubbling", "condenser_dirt": "some", "coil_ice": "none", "coil_fans": 0.5,
		"condenser_fans": 1, "receiver_level": 0.3, "oil_marks": "seen", "frost_on_compressor": "none", "bypass_frost": "seen", "door": "used"}}`
	want, err := ReadSheet([]byte(sheet))
	if err != nil {
		t.Fatal(err)
	}
	row := map[string]string{
		"case_id":                  "a",
		"refrigerant":              "R-448A",
		"application":              "walk-in freezer",
		"expansion":                "valve",
		"receiver":                 "no",
		"accumulator":              "yes",
		"line_length_m":            "22",
		"lift_m":                   "-4",
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
		"locked_rotor_amps":        "61",
		"rated_power_w":            "3100",
		"rated_capacity_w":         "4200",
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
	for _, p := range reading.Places() {
		r := reading.Reading{At: p, Instrument: reading.ByHand}
		switch p.Kind() {
		case reading.KindPressure:
			r.Value, r.U = 400e3, 5e3
			row[p.String()+"_kpa"], row[p.String()+"_u"] = "400", "5"
		case reading.KindTemperature:
			r.Value, r.U = 283.15, 0.5
			row[p.String()+"_c"], row[p.String()+"_u"] = "10", "0.5"
		case reading.KindCurrent:
			r.Value, r.U = 9, 0.2
			row[p.String()+"_a"], row[p.String()+"_u"] = "9", "0.2"
		case reading.KindPower:
			r.Value, r.U = 2000, 50
			row[p.String()+"_w"], row[p.String()+"_u"] = "2000", "50"
		case reading.KindShare:
			r.Value, r.U = 0.5, 0.02
			row[p.String()+"_pct"], row[p.String()+"_u"] = "50", "2"
		}
		row[p.String()+"_instrument"] = reading.ByHand.String()
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
	cases, err := allCases(strings.NewReader(strings.Join(head, ",") + "\n" + strings.Join(cells, ",") + "\n"))
	if err != nil || len(cases) != 1 || cases[0].Err != nil {
		t.Fatalf("%v %+v", err, cases)
	}
	a, err := json.Marshal(written(&want))
	if err != nil {
		t.Fatal(err)
	}
	if b, err := json.Marshal(written(&cases[0].Sheet)); err != nil || string(a) != string(b) {
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
		cases, err := allCases(strings.NewReader(table))
		var e *fail.Error
		if err != nil || len(cases) != 1 || !errors.As(cases[0].Err, &e) || !strings.HasPrefix(e.Field, field) {
			t.Errorf("%q: %v, %+v", table, err, cases)
		}
	}
}

// allCases reads a whole table.
func allCases(r io.Reader) ([]Case, error) {
	c, err := OpenCases(r)
	if err != nil {
		return nil, err
	}
	var out []Case
	for {
		k, err := c.Next()
		if errors.Is(err, io.EOF) {
			return out, nil
		}
		if err != nil {
			return nil, err
		}
		out = append(out, k)
	}
}
