package wire

import (
	"testing"

	"coldwright/refrigerant"
)

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
