package wire

import (
	"math"
	"testing"
)

func near(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.6g, want %.6g ± %.2g (%s)", what, got, want, tol, source)
	}
}
