package verdict

import (
	"reflect"
	"slices"
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/reading"
	"coldwright/units"
)

// A sum is the same for the same sheet however it was typed and ordered, and another for anything that is judged.
func TestSumOf(t *testing.T) {
	sheet := func() reading.Sheet {
		box := units.Celsius(-18)
		minutes := 40.0
		return reading.Sheet{
			Machine: reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, Design: reading.Design{Box: &box}},
			Readings: []reading.Reading{
				{At: reading.SuctionPressure, Value: 2e5, Text: "14.3 psig"}, {At: reading.BoxAir, Value: 255, U: 0.5},
			},
			RunningMin:    &minutes,
			HealthyVisits: []reading.Sheet{{Readings: []reading.Reading{{At: reading.BoxAir, Value: 250}}}},
			RoomLoad:      &reading.RoomLoad{Share: 0.6, U: 0.1},
			Learned:       &reading.Learned{Machines: 4, Here: 1, Of: [reading.Traits]reading.Usual{reading.TraitSplit: {Shift: -0.1, Spread: 0.2}}},
		}
	}
	want := SumOf(sheet())
	same := sheet()
	slices.Reverse(same.Readings)
	same.Readings[1].Text = "98.6 kPa(g)"
	if got := SumOf(same); got != want || len(got) != 64 {
		t.Errorf("in another order: %s, want %s", got, want)
	}
	for what, change := range map[string]func(*reading.Sheet){
		"refrigerant":   func(s *reading.Sheet) { s.Machine.Refrigerant = "R-448A" },
		"application":   func(s *reading.Sheet) { s.Machine.Application = reading.WalkInCooler },
		"altitude":      func(s *reading.Sheet) { s.Machine.AltitudeM = 1600 },
		"receiver":      func(s *reading.Sheet) { s.Machine.Receiver = new(bool) },
		"design":        func(s *reading.Sheet) { s.Machine.Design.Box = nil },
		"value":         func(s *reading.Sheet) { s.Readings[0].Value++ },
		"uncertainty":   func(s *reading.Sheet) { s.Readings[1].U = 0.6 },
		"instrument":    func(s *reading.Sheet) { s.Readings[1].Instrument = reading.BareClamp },
		"place":         func(s *reading.Sheet) { s.Readings[1].At = reading.BoxDisplay },
		"one less":      func(s *reading.Sheet) { s.Readings = s.Readings[:1] },
		"seen":          func(s *reading.Sheet) { _ = s.Seen.Set("glass", "bubbling") },
		"running":       func(s *reading.Sheet) { s.RunningMin = nil },
		"defrost":       func(s *reading.Sheet) { s.SinceDefrostMin = new(float64) },
		"one more":      func(s *reading.Sheet) { s.Learned.Machines = 5 },
		"usual split":   func(s *reading.Sheet) { s.Learned.Of[reading.TraitSplit].Shift = -0.1000000001 },
		"none taught":   func(s *reading.Sheet) { s.Learned = nil },
		"room":          func(s *reading.Sheet) { s.RoomLoad = nil },
		"healthy visit": func(s *reading.Sheet) { s.HealthyVisits[0].Readings[0].Value++ },
		"no history":    func(s *reading.Sheet) { s.HealthyVisits = nil },
	} {
		s := sheet()
		change(&s)
		if SumOf(s) == want {
			t.Errorf("another %s has the same sum", what)
		}
	}
}

// No field of a sheet or of a machine is forgotten: whichever is said, the sum is another one.
func TestSumOf_EveryField(t *testing.T) {
	var s reading.Sheet
	want := SumOf(s)
	var walk func(at string, v reflect.Value)
	walk = func(at string, v reflect.Value) {
		for i := range v.NumField() {
			f, name := v.Field(i), at+"."+v.Type().Field(i).Name
			switch f.Kind() {
			case reflect.Struct:
				if f.Type() != reflect.TypeFor[reading.Seen]() { // its keys are walked by what it calls them
					walk(name, f)
				}
				continue
			case reflect.Pointer:
				f.Set(reflect.New(f.Type().Elem()))
			case reflect.String:
				f.SetString("x")
			case reflect.Int:
				f.SetInt(1)
			case reflect.Float64:
				f.SetFloat(1)
			case reflect.Slice:
				f.Set(reflect.MakeSlice(f.Type(), 1, 1))
				if e := f.Index(0); e.Type() == reflect.TypeFor[reading.Reading]() {
					e.Set(reflect.ValueOf(reading.Reading{At: reading.BoxAir}))
				}
			default:
				t.Fatalf("%s: a %s is not tried", name, f.Kind())
			}
			if got := SumOf(s); got == want {
				t.Errorf("%s does not change the sum", name)
			} else {
				want = got // fields add up; each must change what was there before
			}
		}
	}
	walk("sheet", reflect.ValueOf(&s).Elem())
}

// Every reading counts or is left out by a rule, once.
func TestBasis(t *testing.T) {
	s := reading.Sheet{Readings: []reading.Reading{
		{At: reading.SuctionPressure, Value: 2e5},
		{At: reading.SuctionPressure, Value: 2.1e5},
		{At: reading.Amps, Value: 9},
		{At: reading.BoxDisplay, Value: 260},
		{At: reading.BoxAir, Value: 255},
		{At: reading.DrierIn, Value: 300},
	}}
	p := &diagnose.Posterior{
		Used:     []reading.Place{reading.SuctionPressure, reading.BoxAir, reading.BoxDisplay},
		Warnings: []reading.Finding{{Code: diagnose.NotCompared, At: []string{reading.Amps.String()}}},
	}
	b := basis(p, s, []Instrument{{At: reading.BoxDisplay}})
	if want := []string{"suction_pressure", "box_air"}; !slices.Equal(b.Used, want) {
		t.Errorf("used %v, want %v", b.Used, want)
	}
	want := []LeftOut{
		{"suction_pressure", LeftOlder},
		{reading.Amps.String(), LeftAlone},
		{reading.BoxDisplay.String(), LeftWrong},
		{reading.DrierIn.String(), LeftNoPlace},
	}
	if !slices.Equal(b.LeftOut, want) {
		t.Errorf("left out %v, want %v", b.LeftOut, want)
	}
}

// TestBasis_HumidityLeftOut: a humidity that does not count is left out for the reason that holds, and for no other.
func TestBasis_HumidityLeftOut(t *testing.T) {
	s := reading.Sheet{Readings: []reading.Reading{{At: reading.BoxHumidity, Value: 0.8}}}
	for _, x := range []struct {
		args map[string]float64
		want LeftOutRule
	}{{map[string]float64{"coil_dry": 1}, LeftDry}, {map[string]float64{"box_missing": 1}, LeftNoBox}, {nil, LeftAlone}} {
		p := &diagnose.Posterior{Warnings: []reading.Finding{{Code: diagnose.NotCompared, At: []string{s.Readings[0].At.String()}, Args: x.args}}}
		if b := basis(p, s, nil); len(b.LeftOut) != 1 || b.LeftOut[0].Why != x.want {
			t.Errorf("%v: %+v, want %s", x.args, b.LeftOut, x.want)
		}
	}
}
