package fault

import (
	"math"
	"reflect"
	"testing"
)

func sum(c Catalogue) float64 {
	s := 0.0
	for _, f := range c.Faults {
		s += f.BaseRate
	}
	return s
}

func TestCatalogueLearn(t *testing.T) {
	c, err := Shipped()
	if err != nil {
		t.Fatal(err)
	}
	before, err := Shipped()
	if err != nil {
		t.Fatal(err)
	}
	for _, none := range []map[Code]float64{nil, {}, {Healthy: 9, NoneOfThese: 3}, {LowCharge: -4}, {LowCharge: math.NaN()}} {
		if got := c.Learn(none); !reflect.DeepEqual(got, before) {
			t.Errorf("nothing confirmed (%v) changes the catalogue", none)
		}
	}
	// By hand: shipped 0.24 of 0.97 in all; 30 of 60 repairs: (40·0.24 + 0.97·30)/(40 + 60) = (9.6 + 29.1)/100. Of a
	// cause that was never confirmed: 40·0.01/100.
	got := c.Learn(map[Code]float64{LowCharge: 30, CoilAir: 30, Healthy: 500})
	for code, want := range map[Code]float64{LowCharge: 0.387, Noncondensables: 0.004} {
		if f, _ := got.Find(code); math.Abs(f.BaseRate-want) > 1e-12 {
			t.Errorf("%s: %g, want %g", code, f.BaseRate, want)
		}
	}
	if math.Abs(sum(got)-sum(c)) > 1e-12 || got.HealthyRate != c.HealthyRate || got.NoneRate != c.NoneRate {
		t.Errorf("the sum of the rates is %g, was %g", sum(got), sum(c))
	}
	if !reflect.DeepEqual(c, before) {
		t.Error("the catalogue it was learned from has changed")
	}
	// Many counts: the frequencies (limit of the posterior mean), and no rate ever reaches 0.
	got = c.Learn(map[Code]float64{LowCharge: 3e6, CompressorValves: 1e6})
	for code, share := range map[Code]float64{LowCharge: 0.75, CompressorValves: 0.25} {
		if f, _ := got.Find(code); math.Abs(f.BaseRate/sum(got)-share) > 1e-4 {
			t.Errorf("%s: share %g, want %g", code, f.BaseRate/sum(got), share)
		}
	}
	for _, f := range got.Faults {
		if !(f.BaseRate > 0) {
			t.Errorf("%s: rate %g", f.Code, f.BaseRate)
		}
	}
}
