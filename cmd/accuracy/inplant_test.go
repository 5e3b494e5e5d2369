package main

import (
	"math"
	"slices"
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/reading"
)

// TestInPlant_Rooftops: no healthy packaged air conditioner of a maker's installation text is alarmed anywhere in the
// range that is printed, 65 to 115 °F outside, a stranger or with its state at 95 °F on file; and the stated 90 % bands
// hold what is printed at least nine times of ten in every part of that range (they are wider: one maker's text strays
// less than machines of all makers may).
func TestInPlant_Rooftops(t *testing.T) {
	r, err := newRun(1, 1)
	if err != nil {
		t.Fatal(err)
	}
	rated, others, err := rooftopStates()
	if err != nil {
		t.Fatal(err)
	}
	if len(rated) != 12 {
		t.Fatalf("%d models", len(rated))
	}
	fit, err := r.fits.Get("R-410A")
	if err != nil {
		t.Fatal(err)
	}
	var all []*comparison
	least, states := 1.0, 0
	for name, on := range rated {
		list := others[name]
		if len(list) != 11 {
			t.Fatalf("%s: %d states", name, len(list))
		}
		// A stranger at both ends and in between.
		for i := 0; i < len(list); i += 5 {
			p, err := diagnose.Run(t.Context(), diagnose.Evidence{Sheet: list[i].sheet, Fit: fit}, diagnose.Options{NoPairs: true})
			if err != nil {
				t.Fatal(err)
			}
			least, states = math.Min(least, p.PHealthy), states+1
		}
		if testing.Short() {
			list = []state{list[0], list[5], list[10]}
		}
		if all, err = r.compare(on, list, "", all); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d strangers, healthy with %.2f at the least", states, least)
	if least < 0.1 {
		t.Errorf("a stranger is healthy with %.3f only", least)
	}
	for _, c := range all {
		if c.alarms > 0 {
			t.Errorf("%s: %d of %d alarmed", c.group, c.alarms, c.n)
		}
		for at, o := range c.at {
			t.Logf("%s, %s: %.2f K, %d of %d in band", c.group, at, math.Sqrt(o.square/float64(o.n)), o.in, o.n)
			if float64(o.in) < 0.9*float64(o.n) {
				t.Errorf("%s, %s: %d of %d in band", c.group, at, o.in, o.n)
			}
		}
	}
}

// TestMeasuredSheet: a row becomes a sheet of the kind of machine it says; a machine that draws nothing did not run, and
// the room is what a condenser in air meets, not one in water. Definition.
func TestMeasuredSheet(t *testing.T) {
	row := map[string]string{
		"source": "reach-in freezer", "application": "3-door reach-in cabinet", "refrigerant": "R-290", "cond_medium": "air",
		"cond_fluid_in_c": "26", "ambient_c": "30", "evaporator_air_in_c": "13", "suction_pressure_kpa_abs": "390", "power_w": "965",
	}
	s, ran := measuredSheet(row)
	face, ok := s.Find(reading.CondenserFaceAir)
	if !ran || s.Machine.Application != reading.ReachInFreezer || !ok || math.Abs(face.Value-303.15) > 1e-9 {
		t.Errorf("%v %+v", ran, s)
	}
	row["power_w"], row["cond_medium"], row["source"] = "0.0", "water", "case"
	s, ran = measuredSheet(row)
	if ran || s.Machine.Application != reading.DisplayCase || slices.ContainsFunc(s.Readings, func(r reading.Reading) bool {
		return r.At == reading.CondenserFaceAir
	}) {
		t.Errorf("%v %+v", ran, s)
	}
	row["power_w"] = "500"
	on, rest := calibrated([]map[string]string{row, row, row})
	if len(rest) != 2 || len(on.Readings) == 0 {
		t.Errorf("%d others", len(rest))
	}
	row["fault"] = "undercharge"
	if _, rest := calibrated([]map[string]string{row, row}); rest != nil {
		t.Error("a faulted machine is taken for a sound one")
	}
}
