package trial

import (
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"coldwright/units"
)

// With the temperature steady there is nothing to take out: what is corrected is what was read, and a line through a
// straight loss begins at its first reading (identity).
func TestRunHold_Corrected(t *testing.T) {
	var pts []HoldPoint
	for i := range 6 {
		pts = append(pts, HoldPoint{Minute: 10 + 20*float64(i), Pressure: units.Pressure(1.1e6 - 2e3*float64(i)), Gas: []units.Temp{295}})
	}
	h, err := RunHold(pts, HoldOptions{})
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

// A leak without moisture is all straight part: p = p0 + a t (the model's own equation, see doc.go). What levels off
// has a straight part that stays low.
func TestRiseCurve(t *testing.T) {
	var line, level []RisePoint
	for i := range 16 {
		m := 2 * float64(i)
		line = append(line, RisePoint{m, units.Pressure(40 + 1.5*m)})
		level = append(level, RisePoint{m, units.Pressure(40 + 60*(1-math.Exp(-m/6)))})
	}
	c := RiseCurve(line, RiseOptions{}, 30)
	if len(c) != 41 || c[40].Minute != 30 {
		t.Fatalf("%d moments", len(c))
	}
	for _, x := range c {
		if want := 40 + 1.5*x.Minute; math.Abs(float64(x.Whole)-want) > 1.5 || math.Abs(float64(x.Leak-x.Whole)) > 2 {
			t.Errorf("line at %g min: %g and %g Pa, want %g", x.Minute, x.Whole, x.Leak, want)
		}
	}
	c = RiseCurve(level, RiseOptions{Coldest: 300}, 30)
	if end := c[40]; math.Abs(float64(end.Whole)-100) > 3 || float64(end.Leak) > 50 {
		t.Errorf("levelling at 30 min: %g of which straight to %g Pa, want 100 and about 40", end.Whole, end.Leak)
	}
	if RiseCurve(line[:3], RiseOptions{}, 30) != nil || RiseCurve(line, RiseOptions{}, 0) != nil {
		t.Error("a curve without enough readings")
	}
}

// The trace is short whatever the record, begins with it, and holds its coldest and warmest reading (property of its making).
func TestColdRecord_Trace(t *testing.T) {
	for _, n := range []int{5, 600, 601, 20000} {
		var b strings.Builder
		b.WriteString("minute,box_c\n")
		for i := range n {
			fmt.Fprintf(&b, "%d,%.2f\n", 5*i, 2+3*math.Sin(float64(i)/40))
		}
		r, err := RunColdRecord(func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(b.String())), nil }, ColdOptions{})
		if err != nil {
			t.Fatal(err)
		}
		lo, hi := units.Temp(1e9), units.Temp(0)
		for i, x := range r.Trace {
			lo, hi = min(lo, x.Low), max(hi, x.High)
			if x.Low > x.High || i > 0 && !x.At.After(r.Trace[i-1].At) {
				t.Fatalf("%d readings: stretch %d is %+v", n, i, x)
			}
		}
		if len(r.Trace) > 600 || !r.Trace[0].At.Equal(r.First) || lo != r.Min || hi != r.Max {
			t.Errorf("%d readings: %d stretches, %v to %v, record %v to %v", n, len(r.Trace), lo, hi, r.Min, r.Max)
		}
	}
}
