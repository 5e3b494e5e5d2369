package wire

import (
	"encoding/json"
	"strings"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/proof/standing"
	"coldwright/units"
)

func TestReadStanding(t *testing.T) {
	p, gauge, err := ReadStanding(strings.NewReader("# two looks\nminute,pressure_psig,gas_f\n0,300,75\n60,299,74\n"), 90e3)
	if err != nil || !gauge || len(p) != 2 {
		t.Fatal(p, gauge, err)
	}
	testkit.Near(t, "absolute", float64(p[0].Pressure), 300*units.Psi+90e3, 1e-6, "definition")
	p, gauge, err = ReadStanding(strings.NewReader("minute,pressure_psig,barometer_kpa,gas_1_c,gas_2_f\n0,300,95,20,68\n"), 90e3)
	if err != nil || gauge || len(p[0].Gas) != 2 {
		t.Fatal(p, gauge, err)
	}
	testkit.Near(t, "absolute", float64(p[0].Pressure), 300*units.Psi+95e3, 1e-6, "definition")
	testkit.Near(t, "same temperature", float64(p[0].Gas[0]-p[0].Gas[1]), 0, 1e-9, "definition")
	for text, says := range map[string]string{
		"": "header", "minute,pressure_kpa\n0,3\n": "standing.no_gas", "minute,pressure_kpa,pressure_psig,gas_c\n": "table.exactly_one",
		"minute,pressure_kpa,gas_c\n0,x,3\n":      "line 2, column pressure_kpa",
		"minute,pressure_kpa,gas_c\n0,2000,900\n": "standing.gas_cannot_be", "minute,pressure_kpa,gas_c\n0,2,20\n": "standing.pressure",
		"minute,pressure_kpa,gas_2_c,gas_c\n": "standing.gas_hole",
		"minute,pressure_kpa,gas_c,gas_f\n":   "standing.gas_twice", "minute,pressure_kpa,gas_c\n0,2000\n": "line 2",
		"time,pressure_kpa,gas_c\nnoon,2000,20\n": "line 2, column time", "minute,pressure,gas_c\n": "table.no_column",
		"minute,pressure_kpa,gas_c\n,2000,20\n":                  "line 2, column minute",
		"minute,pressure_psig,barometer_kpa,gas_c\n0,300,9,20\n": "standing.barometer",
	} {
		if _, _, err := ReadStanding(strings.NewReader(text), units.Atm); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v, want %q", text, err, says)
		}
	}
}

func FuzzReadStanding(f *testing.F) {
	f.Add("minute,pressure_psig,gas_f\n0,300,75\n60,299,74\n120,300,76\n")
	f.Add("time,pressure_kpa,gas_1_c,gas_2_c\n2026-06-01T08:00:00Z,2000,20,5\n2026-06-01T09:00:00Z,1990,21,4\n")
	f.Fuzz(func(t *testing.T, s string) {
		p, gauge, err := ReadStanding(strings.NewReader(s), units.Atm)
		if err != nil || len(p) > 50 {
			return
		}
		h, err := standing.Judge(p, standing.Options{Gauge: gauge})
		if err != nil {
			return
		}
		if _, err := json.Marshal(Standing(h)); err != nil {
			t.Errorf("%q: %v", s, err)
		}
	})
}
