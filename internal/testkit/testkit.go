package testkit

import (
	"math"
	"testing"

	"coldwright/refrigerant"
)

// Near holds a value against the one a source gives, within a tolerance in its own unit; not a number is never near.
func Near(t testing.TB, what string, got, want, tol float64, source string) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.7g, want %.7g ± %.3g (off %.3g); %s", what, got, want, tol, got-want, source)
	}
}

// Refrigerant is one that is on file.
func Refrigerant(t testing.TB, designation string) *refrigerant.Refrigerant {
	t.Helper()
	r, err := refrigerant.Load(designation)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// Refrigerants are several that are on file.
func Refrigerants(t testing.TB, designations ...string) (out []*refrigerant.Refrigerant) {
	t.Helper()
	for _, d := range designations {
		out = append(out, Refrigerant(t, d))
	}
	return out
}

// Fit is the fit of a refrigerant that is on file.
func Fit(t testing.TB, designation string) *refrigerant.Fit {
	t.Helper()
	f, err := Refrigerant(t, designation).Fit()
	if err != nil {
		t.Fatal(err)
	}
	return f
}
