package wire

import (
	"sync"
	"testing"

	"coldwright/refrigerant"
)

// fits hands out fits by designation, each loaded once; safe for concurrent use.
func fits(tb testing.TB) func(string) (*refrigerant.Fit, error) {
	tb.Helper()
	var mu sync.Mutex
	kept := map[string]*refrigerant.Fit{}
	return func(name string) (*refrigerant.Fit, error) {
		mu.Lock()
		defer mu.Unlock()
		if f := kept[name]; f != nil {
			return f, nil
		}
		r, err := refrigerant.Load(name)
		if err != nil {
			return nil, err
		}
		f, err := r.Fit()
		kept[name] = f
		return f, err
	}
}
