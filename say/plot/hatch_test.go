package plot

import (
	"math"
	"testing"
)

// Lines at distance s cover a shape of area A with a total length of A/s, exactly in the limit of small s (identity:
// area as the integral of chords).
func TestHatchLines_LengthIsAreaOverStep(t *testing.T) {
	square := D("M0 0h100v100h-100z")
	ring := D("M0 0h100v100h-100zM20 20v60h60v-60z")
	disc := D("M0 50a50 50 0 0 1 100 0a50 50 0 0 1 -100 0z")
	for _, c := range []struct {
		name string
		d    []Cmd
		area float64
	}{{"square", square, 1e4}, {"ring by the even-odd rule", ring, 1e4 - 3600}, {"disc", disc, math.Pi * 2500}} {
		const step = 0.5
		sum := 0.0
		for _, l := range hatchLines(flatten(c.d), step) {
			sum += math.Hypot(l[2]-l[0], l[3]-l[1])
			if math.Abs((l[2]-l[3])-(l[0]-l[1])) > 1e-9 {
				t.Fatalf("%s: a line is not at 45 degrees: %v", c.name, l)
			}
		}
		// 1 %: 12 chords per quarter of the disc lose 0.3 %, the edge lines the rest.
		if got := sum * step; math.Abs(got-c.area) > 0.01*c.area {
			t.Errorf("%s: hatched area %.0f, want %.0f", c.name, got, c.area)
		}
	}
}
