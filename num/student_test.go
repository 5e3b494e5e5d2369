package num

import (
	"math"
	"testing"
)

// Percentage points of Student's t: Abramowitz and Stegun (1964), table 26.10 (from memory, three decimals).
func TestStudentAbove(t *testing.T) {
	for _, c := range []struct{ nu, t, above float64 }{
		{5, 2.015, 0.05},
		{5, 4.032, 0.005},
		{30, 1.697, 0.05},
		{30, 2.750, 0.005},
		{1, 12.706, 0.025},
	} {
		if got := StudentAbove(c.nu, c.t); math.Abs(got-c.above) > 2e-3*c.above {
			t.Errorf("above %g with %g: %g, want %g", c.t, c.nu, got, c.above)
		}
	}
	// One degree of freedom is Cauchy's: 1/2 − arctan(t)/π. The two sides add up to one everywhere.
	for x := -60.0; x <= 60; x += 0.37 {
		if want := 0.5 - math.Atan(x)/math.Pi; math.Abs(StudentAbove(1, x)-want) > 1e-12 {
			t.Errorf("Cauchy above %g: %g, want %g", x, StudentAbove(1, x), want)
		}
		for _, nu := range []float64{2, 5, 30} {
			if s := StudentAbove(nu, x) + StudentAbove(nu, -x); math.Abs(s-1) > 1e-12 {
				t.Errorf("nu %g, %g: both sides add up to %g", nu, x, s)
			}
			if x > 0 && !(StudentAbove(nu, x) > StudentAbove(nu, x+1)) {
				t.Errorf("nu %g: the tail does not fall at %g", nu, x)
			}
		}
	}
}
