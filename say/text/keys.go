package text

import (
	"cmp"
	"slices"
)

// keysOf returns the keys of a map, sorted.
func keysOf[K cmp.Ordered, V any](m map[K]V) []K {
	out := make([]K, 0, len(m))
	for k := range m {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}
