package diagnose

import (
	"math"
	"slices"
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
	mid, u, _ := humidity(s, m, &e)
	if mid > -0.4 || u < 0.05 || u > 0.6 {
		t.Errorf("16 °C in a room: %.2f ± %.2f", mid, u)
	}
	e.boxRead = false
	if _, u, _ := humidity(s, m, &e); u != 0 {
		t.Error("used without the box air")
	}
	e.boxRead = true
	s.Readings[2].Value = e.boxT + 4
	if _, u, _ := humidity(s, m, &e); u != 0 {
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
	if _, u, _ := humidity(s, frozen, &e); u != 0 {
		t.Error("used for a freezer")
	}
}

// TestHumidity_Hygrometer: a hygrometer in the same air says what the wick says, at any height (relative humidity needs
// no barometer, the wick does); both together are known better than one; where they contradict each other that is said
// and little is known; neither counts in silence where the coil is dry.
func TestHumidity_Hygrometer(t *testing.T) {
	f := testkit.Fit(t, "R-410A")
	wet := dryRoom(t, 13, true)
	m, _ := wet.Machine.Resolve()
	a, err := air.FromWetBulb(float64(m.Box), units.ZeroC+13, float64(units.Atm))
	if err != nil {
		t.Fatal(err)
	}
	dry := dryRoom(t, 13, true)
	dry.Readings[2] = reading.Reading{At: reading.BoxHumidity, Value: a.RH}
	e := evidence{boxT: float64(m.Box), boxU: 0.6, boxRead: true}
	one, u1, _ := humidity(wet, m, &e)
	two, u2, _ := humidity(dry, m, &e)
	if math.Abs(one-two) > 1e-6 {
		t.Errorf("wick %.4f, hygrometer %.4f", one, two)
	}
	byWick, byHygrometer := run(t, wet, f, Options{NoPairs: true}), run(t, dry, f, Options{NoPairs: true})
	if d := math.Abs(byWick.PHealthy - byHygrometer.PHealthy); d > 0.03 {
		t.Errorf("healthy %.3f by the wick, %.3f by the hygrometer", byWick.PHealthy, byHygrometer.PHealthy)
	}
	for _, p := range []Posterior{byWick, byHygrometer} {
		if !slices.Contains(p.Used, reading.BoxWetBulb) && !slices.Contains(p.Used, reading.BoxHumidity) {
			t.Errorf("the humidity counts and is not said to: %v", p.Used)
		}
	}
	both := dryRoom(t, 13, true)
	both.Readings = append(both.Readings, dry.Readings[2])
	if mid, u, apart := humidity(both, m, &e); u >= math.Min(u1, u2) || math.Abs(mid-one) > 1e-6 || apart > 1e-6 {
		t.Errorf("together %.3f ± %.3f, apart by %.2f; alone ± %.3f and ± %.3f", mid, u, apart, u1, u2)
	}
	both.Readings[len(both.Readings)-1].Value = 0.85
	if _, u, apart := humidity(both, m, &e); apart < 3.5 || u < 0.5 {
		t.Errorf("13 °C wet bulb and 85 %%: ± %.3f, apart by %.2f", u, apart)
	}
	if !warned(run(t, both, f, Options{NoPairs: true}), HumidityDisagrees) {
		t.Error("that wick and hygrometer disagree is not said")
	}
	frozen := freezer(-5, 80, 12, 200, reading.Clear)
	frozen.Readings = append(frozen.Readings, reading.Reading{At: reading.BoxHumidity, Value: 0.6})
	if p := run(t, frozen, testkit.Fit(t, "R-404A"), Options{NoPairs: true}); !notCompared(p, reading.BoxHumidity) {
		t.Errorf("a freezer's humidity is left out in silence: %+v", p.Warnings)
	}
}

// TestHumidity_AskedFor: in a room nobody said to be dry the wet bulb is a candidate of the next reading and tells a good
// part of a bit; it is none where the coil is dry, the box was not read, or a hygrometer said it.
func TestHumidity_AskedFor(t *testing.T) {
	f := testkit.Fit(t, "R-410A")
	bits := func(s reading.Sheet) float64 {
		p := run(t, s, f, Options{NoPairs: true})
		for i, n := range p.Next {
			if n.At == reading.BoxWetBulb.String() {
				t.Logf("asked for at place %d, %.2f bits, %+v", i+1, n.Bits, n.Shows)
				for _, x := range n.Shows {
					if x.Band.Low < float64(units.Celsius(5)) || x.Band.High > float64(units.Celsius(26.7)) {
						t.Errorf("%s would show %v K at 26.7 °C", x.Name, x.Band)
					}
				}
				return n.Bits
			}
		}
		return 0
	}
	s := dryRoom(t, 13, false)
	if b := bits(s); b < 0.02 {
		t.Errorf("the wet bulb tells %.3f bits in a dry room", b)
	}
	s.Readings = append(s.Readings, reading.Reading{At: reading.BoxHumidity, Value: 0.2})
	if b := bits(s); b > 0 {
		t.Errorf("the wet bulb is asked for where a hygrometer was read: %.3f bits", b)
	}
}
