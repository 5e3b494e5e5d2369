package diagnose

import (
	"math"
	"slices"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// withLines is a sound walk-in freezer with lines of a length and an accumulator, read at its compressor and its coil.
func withLines(t *testing.T, length float64, said bool) reading.Sheet {
	t.Helper()
	mc := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, Expansion: reading.Valve, LineLength: &length}
	f := testkit.Fit(t, mc.Refrigerant)
	m, _ := mc.Resolve()
	p, err := plant.New(plant.FromMachine(m), f)
	if err != nil {
		t.Fatal(err)
	}
	r := p.Solve(plant.Inputs{BoxT: float64(m.Box), AmbientT: degF(85)}, plant.Change{}, plant.Options{})
	if r.Trip != plant.TripNone {
		t.Fatal(r.Trip)
	}
	if !said {
		mc.LineLength = nil
	}
	s := reading.Sheet{Machine: mc, Readings: []reading.Reading{
		{At: reading.BoxAir, Value: float64(m.Box)}, {At: reading.Ambient, Value: degF(85)},
	}}
	for _, at := range []reading.Place{
		reading.SuctionPressure, reading.CoilPressure, reading.DischargePressure, reading.SuctionLine, reading.CoilOutletLine,
		reading.LiquidLine, reading.DischargeLine,
	} {
		v := r.Out[channels[at].out]
		if at.Kind() == reading.KindPressure {
			v = f.DewT(v)
		}
		s.Readings = append(s.Readings, reading.Reading{At: at, Value: v})
	}
	return s
}

// healthyBand is what a healthy machine shows at a place today.
func healthyBand(t *testing.T, p Posterior, at reading.Place) Band {
	t.Helper()
	i := slices.IndexFunc(p.Expected, func(e Expectation) bool { return e.At == at })
	if i < 0 {
		t.Fatalf("nothing is expected at %s", at)
	}
	return p.Expected[i].Band
}

// TestRun_LongLines: a sound machine with 60 m of line warms its suction gas and loses pressure on the way, as less
// refrigerant and a blocked suction line would. Untold, the suction line is expected 10 K and more too cold, and the wide
// prior of lines nobody described still keeps it from being alarmed; told, it stands in the middle of a narrower band, and
// is as likely sound as a machine of the usual length.
func TestRun_LongLines(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	for _, length := range []float64{60, 12.5} {
		s := withLines(t, length, true)
		line, _ := s.Find(reading.SuctionLine)
		told := run(t, s, f, Options{NoPairs: true})
		untold := run(t, withLines(t, length, false), f, Options{NoPairs: true})
		a, b := healthyBand(t, told, reading.SuctionLine), healthyBand(t, untold, reading.SuctionLine)
		t.Logf("%g m: healthy %.3f told, %.3f untold; suction line %.1f K: expected %.1f ± %.1f told, %.1f ± %.1f untold", length,
			told.PHealthy, untold.PHealthy, line.Value, a.Mid, (a.High-a.Low)/2, b.Mid, (b.High-b.Low)/2)
		if told.PHealthy < untold.PHealthy-0.01 {
			t.Errorf("%g m: healthy %.3f told, %.3f untold", length, told.PHealthy, untold.PHealthy)
		}
		if math.Abs(a.Mid-line.Value) > 1 || length > 20 && math.Abs(b.Mid-line.Value) < 5 {
			t.Errorf("%g m: suction line %.1f K, expected %.1f told, %.1f untold", length, line.Value, a.Mid, b.Mid)
		}
	}
}

// TestRun_Accumulator: liquid that an accumulator caught keeps its outlet saturated for a while, so that the suction line
// at the compressor says less of the coil soon after a start, and more again later; frost on the compressor is seldomer.
func TestRun_Accumulator(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	width := func(fitted bool, minutes float64) float64 {
		s := withLines(t, 12.5, true)
		s.Machine.Accumulator, s.RunningMin = &fitted, &minutes
		b := healthyBand(t, run(t, s, f, Options{NoPairs: true}), reading.SuctionLine)
		return b.High - b.Low
	}
	early, late, none := width(true, 16), width(true, 240), width(false, 16)
	if !(early > late && early > none) {
		t.Errorf("band of the suction line %.1f K wide after 16 min with an accumulator, %.1f after 4 h, %.1f without one", early, late, none)
	}
	if a, b := pFrost(true, reading.LevelUnknown, true), pFrost(true, reading.LevelUnknown, false); a >= b {
		t.Errorf("frost on the compressor %.2f with an accumulator, %.2f without", a, b)
	}
}
