package standing

import (
	"math"
	"testing"

	"coldwright/units"
)

// With the temperature steady there is nothing to take out: what is corrected is what was read, and a line through a
// straight loss begins at its first reading (identity).
func TestJudge_Corrected(t *testing.T) {
	var pts []Point
	for i := range 6 {
		pts = append(pts, Point{Minute: 10 + 20*float64(i), Pressure: units.Pressure(1.1e6 - 2e3*float64(i)), Gas: []units.Temp{295}})
	}
	h, err := Judge(pts, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(h.Corrected) != 6 || h.Corrected[5].Minute != 100 {
		t.Fatalf("%+v", h.Corrected)
	}
	for i, c := range h.Corrected {
		if d := float64(c.Pressure - pts[i].Pressure); math.Abs(d) > 1 {
			t.Errorf("point %d is %g Pa off what was read", i, d)
		}
	}
	if d := float64(h.Start) - 1.1e6; math.Abs(d) > 5 {
		t.Errorf("the line begins %g Pa off", d)
	}
	if d := h.Change.Value + 10e3; math.Abs(d) > 10 {
		t.Errorf("the line falls by %g Pa, 10,000 were taken off", h.Change.Value)
	}
}
