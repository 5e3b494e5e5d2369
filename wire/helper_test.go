package wire

import (
	"math"
	"testing"

	"coldwright/refrigerant"
)

func near(t *testing.T, what string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.6g, want %.6g ± %.2g (%s)", what, got, want, tol, source)
	}
}

func fit(tb testing.TB, name string) *refrigerant.Fit {
	tb.Helper()
	r, err := refrigerant.Load(name)
	if err != nil {
		tb.Fatal(err)
	}
	f, err := r.Fit()
	if err != nil {
		tb.Fatal(err)
	}
	return f
}
