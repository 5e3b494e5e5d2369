package diagnose

import (
	"math"
	"testing"

	"coldwright/air"
	"coldwright/internal/testkit"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/units"
)

// dryRoom is a sound air conditioner of its plate in air of a wet bulb, °C, at 80 °F.
func dryRoom(t *testing.T, wet float64, said bool) reading.Sheet {
	t.Helper()
	no := false
	mc := reading.Machine{Refrigerant: "R-410A", Application: reading.AirConditioning, Expansion: reading.Orifice, Receiver: &no}
	m, _ := mc.Resolve()
	f := testkit.Fit(t, "R-410A")
	p, err := plant.New(plant.FromMachine(m), f)
	if err != nil {
		t.Fatal(err)
	}
	a, err := air.FromWetBulb(float64(m.Box), units.ZeroC+wet, float64(units.Atm))
	if err != nil {
		t.Fatal(err)
	}
	in := plant.Inputs{BoxT: float64(m.Box), AmbientT: degF(85), Humidity: a.RH}
	r := p.Solve(in, plant.Change{}, plant.Options{})
	if r.Trip != plant.TripNone {
		t.Fatal(r.Trip)
	}
	s := reading.Sheet{Machine: mc, Readings: []reading.Reading{
		{At: reading.BoxAir, Value: in.BoxT},
		{At: reading.Ambient, Value: in.AmbientT},
	}}
	if said {
		s.Readings = append(s.Readings, reading.Reading{At: reading.BoxWetBulb, Value: units.ZeroC + wet})
	}
	for _, at := range []reading.Place{
		reading.SuctionPressure, reading.DischargePressure, reading.CoilOutletLine, reading.LiquidLine, reading.CoilAirOff,
	} {
		v := r.Out[channels[at].out]
		if at.Kind() == reading.KindPressure {
			v = f.DewT(v)
		}
		s.Readings = append(s.Readings, reading.Reading{At: at, Value: v})
	}
	return s
}

// TestHumidity_WetBulb: dry air lowers the suction of a sound machine as dirt on its coil would. Told the wet bulb, the
// answer is that nothing is wrong, far more surely than untold where the air is dry and about as surely elsewhere; a wick
// that reads a kelvin warm does not turn it.
func TestHumidity_WetBulb(t *testing.T) {
	f := testkit.Fit(t, "R-410A")
	for _, wet := range []float64{13, 19.4, 23} {
		told := run(t, dryRoom(t, wet, true), f, Options{NoPairs: true}).PHealthy
		untold := run(t, dryRoom(t, wet, false), f, Options{NoPairs: true}).PHealthy
		slip := dryRoom(t, wet, true)
		slip.Readings[2].Value++
		slipped := run(t, slip, f, Options{NoPairs: true}).PHealthy
		t.Logf("%g °C wet bulb: healthy %.2f told, %.2f untold, %.2f with a wick 1 K warm", wet, told, untold, slipped)
		if told < untold-0.08 || wet == 13 && told < untold+0.2 {
			t.Errorf("%g °C wet bulb: healthy %.3f told, %.3f untold", wet, told, untold)
		}
		if math.Abs(slipped-told) > 0.15 {
			t.Errorf("%g °C wet bulb: healthy %.3f, %.3f with a wick 1 K warm", wet, told, slipped)
		}
	}
}

// TestHumidity_Limits: a wet bulb is not used for a coil that counts as dry, without the box air, or above it.
func TestHumidity_Limits(t *testing.T) {
	s := dryRoom(t, 16, true)
	m, _ := s.Machine.Resolve()
	e := evidence{boxT: float64(m.Box), boxU: 0.6, boxRead: true}
	mid, u := humidity(s, m, &e)
	if mid > -0.4 || u < 0.05 || u > 0.6 {
		t.Errorf("16 °C in a room: %.2f ± %.2f", mid, u)
	}
	e.boxRead = false
	if _, u := humidity(s, m, &e); u != 0 {
		t.Error("used without the box air")
	}
	e.boxRead = true
	s.Readings[2].Value = e.boxT + 4
	if _, u := humidity(s, m, &e); u != 0 {
		t.Error("used 4 K above the box air")
	}
	found := false
	for _, x := range s.Check() {
		found = found || x.Code == reading.WetBulbAbove
	}
	if !found {
		t.Error("a wet bulb above the box air is not said")
	}
	frozen, _ := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer}.Resolve()
	s.Readings[2].Value = e.boxT - 4
	if _, u := humidity(s, frozen, &e); u != 0 {
		t.Error("used for a freezer")
	}
}
