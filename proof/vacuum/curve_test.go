package vacuum

import (
	"math"
	"testing"

	"coldwright/units"
)

// A leak without moisture is all straight part: p = p0 + a t (the model's own equation, see doc.go). What levels off
// has a straight part that stays low.
func TestCurve(t *testing.T) {
	var line, level []Point
	for i := range 16 {
		m := 2 * float64(i)
		line = append(line, Point{m, units.Pressure(40 + 1.5*m)})
		level = append(level, Point{m, units.Pressure(40 + 60*(1-math.Exp(-m/6)))})
	}
	c := Curve(line, Options{}, 30)
	if len(c) != 41 || c[40].Minute != 30 {
		t.Fatalf("%d moments", len(c))
	}
	for _, x := range c {
		if want := 40 + 1.5*x.Minute; math.Abs(float64(x.Whole)-want) > 1.5 || math.Abs(float64(x.Leak-x.Whole)) > 2 {
			t.Errorf("line at %g min: %g and %g Pa, want %g", x.Minute, x.Whole, x.Leak, want)
		}
	}
	c = Curve(level, Options{Coldest: 300}, 30)
	if end := c[40]; math.Abs(float64(end.Whole)-100) > 3 || float64(end.Leak) > 50 {
		t.Errorf("levelling at 30 min: %g of which straight to %g Pa, want 100 and about 40", end.Whole, end.Leak)
	}
	if Curve(line[:3], Options{}, 30) != nil || Curve(line, Options{}, 0) != nil {
		t.Error("a curve without enough readings")
	}
}
