package figure_test

import (
	"math"
	"testing"

	"coldwright/machine/reading"
	"coldwright/practice"
	"coldwright/refrigerant"
	"coldwright/say/figure"
	"coldwright/units"
)

// Bands of an exercise: the healthy value with 9 of 10 readings of its instrument, pressures as saturation; box and outside air are given.
func TestBenchMarks(t *testing.T) {
	e, err := practice.New(1, 1, "walk-in-freezer", func(name string) (*refrigerant.Fit, error) {
		r, err := refrigerant.Load(name)
		if err != nil {
			return nil, err
		}
		return r.Fit()
	})
	if err != nil {
		t.Fatal(err)
	}
	// ASHRAE Fundamentals (2017), R-404A: dew at −20 °C is about 303 kPa (from memory); half a kelvin covers the last digit and the edition.
	list := []practice.Against{
		{At: reading.SuctionPressure, Read: 303e3, U: 7e3, Healthy: 303e3},
		{At: reading.LiquidLine, Read: 310, U: 0.8, Healthy: 305},
		{At: reading.BoxAir, Read: 255, U: 0.6, Healthy: 255},
		{At: reading.Amps, Read: 8, U: 0.2, Healthy: 8},
		{At: reading.StandingPressure, Read: 900e3, U: 20e3, Healthy: 900e3},
	}
	marks := figure.BenchMarks(e, list)
	if len(marks) != 3 || marks[2].Band != nil {
		t.Fatalf("marks %+v", marks)
	}
	if got := marks[0].Read.C(); math.Abs(got+20) > 0.5 {
		t.Errorf("303 kPa stands at %.2f °C, want −20 ± 0.5", got)
	}
	if b := marks[0].Band; !(b.Low < b.Mid && b.Mid < b.High) || b.Mid != marks[0].Read {
		t.Errorf("suction band %+v", b)
	}
	// 90 % of a normal lie within 1.645 standard deviations.
	if b := marks[1].Band; math.Abs(float64(b.High-b.Mid)-1.645*0.8) > 0.001 || math.Abs(float64(b.Mid-b.Low)-1.645*0.8) > 0.001 {
		t.Errorf("liquid band %+v", b)
	}
	if kind, n := figure.Verdict(marks[1].Read, *marks[1].Band, units.Metric()); kind != figure.Over || n != 5 {
		t.Errorf("310 K against 305 K: %s %d", kind, n)
	}
}
