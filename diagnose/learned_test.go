package diagnose

import (
	"math"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
)

// rooftop is an air conditioner with an orifice whose condenser runs split K over 33 °C outside.
func rooftop(tb testing.TB, split float64) reading.Sheet {
	tb.Helper()
	f := testkit.Fit(tb, "R-410A")
	no := false
	box, ambient := degF(78), float64(units.Celsius(33))
	evap := box - 17
	return reading.Sheet{
		Machine: reading.Machine{
			Refrigerant: "R-410A", Application: reading.AirConditioning, Expansion: reading.Orifice, Receiver: &no, HeadControl: reading.HeadNone,
		},
		Seen: reading.Seen{CondenserDirt: reading.None, CoilIce: reading.None},
		Readings: []reading.Reading{
			{At: reading.BoxAir, Value: box},
			{At: reading.Ambient, Value: ambient},
			{At: reading.SuctionPressure, Value: f.DewT(evap)},
			{At: reading.DischargePressure, Value: f.DewT(ambient + split)},
			{At: reading.CoilOutletLine, Value: evap + 5.5},
			{At: reading.LiquidLine, Value: ambient + 0.45*split},
		},
	}
}

// A lesson says what was read: of a larger split a larger one, of what the readings do not show nothing; a value the
// plate states is counted from the population's middle all the same (definitions). Twice the same visit says it more surely.
func TestLessonOf(t *testing.T) {
	f := testkit.Fit(t, "R-410A")
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	lesson := func(visits ...reading.Sheet) Lesson {
		t.Helper()
		l, ok := LessonOf(visits, f, &cat)
		if !ok {
			t.Fatal("no lesson")
		}
		return l
	}
	small, large := lesson(rooftop(t, 8)), lesson(rooftop(t, 16))
	s, l := small[reading.TraitSplit], large[reading.TraitSplit]
	// By definition ln(16/8) = 0.69 apart, less what errors of the model and of the readings explain.
	if !(s.Sd > 0 && l.Sd > 0) || math.Abs(l.Mean-s.Mean-math.Log(2)) > 2*math.Hypot(s.Sd, l.Sd) {
		t.Errorf("splits of 8 and 16 K taught %+v and %+v", s, l)
	}
	two := lesson(rooftop(t, 8), rooftop(t, 8))
	if x := two[reading.TraitSplit]; !(x.Sd < s.Sd) || math.Abs(x.Mean-s.Mean) > s.Sd {
		t.Errorf("twice the same visit taught %+v, once %+v", x, s)
	}
	td, split := units.TempDiff(17), units.TempDiff(9)
	stated := rooftop(t, 8)
	stated.Machine.Design.TD, stated.Machine.Design.Split = &td, &split
	if x := lesson(stated)[reading.TraitSplit]; math.Abs(x.Mean-s.Mean) > s.Sd {
		t.Errorf("with a plate the split taught %+v, without %+v", x, s)
	}
	if _, ok := LessonOf(nil, f, &cat); ok {
		t.Error("no visit taught something")
	}
	twenty := rooftop(t, 8)
	twenty.Readings = twenty.Readings[:2]
	if x := lesson(twenty); x[reading.TraitSplit].Sd != 0 {
		t.Errorf("two airs taught %+v of the split", x[reading.TraitSplit])
	}
}

// Where machines like this one have large splits, a large one is no sign; where they have small ones, a usual one is a
// sign of dirt or air. The band moves with what was learned; a plate's own value goes first, and nothing taught changes
// no bit.
func TestRun_Learned(t *testing.T) {
	f := testkit.Fit(t, "R-410A")
	learned := func(shift float64) *reading.Learned {
		l := &reading.Learned{Machines: 20, Here: 4}
		l.Of[reading.TraitSplit] = reading.Usual{Shift: shift, Spread: 0.15}
		return l
	}
	head := func(p Posterior) Band {
		for _, e := range p.Expected {
			if e.At == reading.DischargePressure {
				return e.Dew
			}
		}
		return Band{}
	}
	s := rooftop(t, 19)
	before := run(t, s, f, Options{NoPairs: true})
	s.Learned = learned(0.45)
	after := run(t, s, f, Options{NoPairs: true})
	if b, a := head(before), head(after); !(a.Mid > b.Mid+3 && a.High-a.Low < b.High-b.Low+3) {
		t.Errorf("head expected at %.1f to %.1f K, before anybody taught %.1f to %.1f", a.Low, a.High, b.Low, b.High)
	}
	if !(after.PHealthy > 1.1*before.PHealthy) {
		t.Errorf("a large split among large ones: healthy %.3f, before %.3f", after.PHealthy, before.PHealthy)
	}
	usual := rooftop(t, 12)
	without := run(t, usual, f, Options{NoPairs: true})
	usual.Learned = learned(-0.4)
	with := run(t, usual, f, Options{NoPairs: true})
	if !(with.PHealthy < without.PHealthy) {
		t.Errorf("a usual split among small ones: healthy %.3f, before %.3f", with.PHealthy, without.PHealthy)
	}
	usual.Learned = &reading.Learned{Machines: 3}
	if printed(run(t, usual, f, Options{NoPairs: true})) != printed(without) {
		t.Error("machines that taught nothing changed the answer")
	}
	split := units.TempDiff(12)
	usual.Machine.Design.Split, usual.Learned = &split, nil
	plate := run(t, usual, f, Options{NoPairs: true})
	usual.Learned = learned(-0.4)
	if printed(run(t, usual, f, Options{NoPairs: true})) != printed(plate) {
		t.Error("what others taught moved a split that the plate states")
	}
}
