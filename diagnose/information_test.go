package diagnose

import (
	"math"
	"testing"
)

// Two equally likely causes with normal readings carry the bits of a two-level signal in Gaussian noise: 0.486 at
// levels ±1 in noise of 1 (from memory, tables of channel capacity), one bit far apart, none where both predict the
// same.
func TestBitsOnSide(t *testing.T) {
	for _, c := range []struct{ mu, want float64 }{{0, 0}, {1, 0.486}, {20, 1}} {
		w, has := []float64{0.5, 0.5}, []bool{true, false}
		if got := bitsOnSide(w, []float64{c.mu, -c.mu}, []float64{1, 1}, has); math.Abs(got-c.want) > 0.002 {
			t.Errorf("levels ±%g: %.4f bits, want %.3f", c.mu, got, c.want)
		}
	}
}
