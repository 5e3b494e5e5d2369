package vacuum

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

func load(tb testing.TB, names ...string) (out []*refrigerant.Refrigerant) {
	tb.Helper()
	for _, n := range names {
		r, err := refrigerant.Load(n)
		if err != nil {
			tb.Fatal(err)
		}
		out = append(out, r)
	}
	return out
}
