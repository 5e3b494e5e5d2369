package templog

import (
	"fmt"
	"io"
	"math"
	"strings"
	"testing"

	"coldwright/units"
)

// The trace is short whatever the record, begins with it, and holds its coldest and warmest reading (property of its making).
func TestRecord_Trace(t *testing.T) {
	for _, n := range []int{5, 600, 601, 20000} {
		var b strings.Builder
		b.WriteString("minute,box_c\n")
		for i := range n {
			fmt.Fprintf(&b, "%d,%.2f\n", 5*i, 2+3*math.Sin(float64(i)/40))
		}
		r, err := Judge(func() (io.ReadCloser, error) { return io.NopCloser(strings.NewReader(b.String())), nil }, Options{})
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
