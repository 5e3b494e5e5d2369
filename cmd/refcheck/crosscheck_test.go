//go:build crosscheck

package main

import "testing"

// TestCrossCheck_CoolProp compares every designation with the independent property library CoolProp, run live: the
// same equations and mixing rules, another program. What may differ, why and by how much stands in compare.go and is
// printed in docs/refrigerants.md.
func TestCrossCheck_CoolProp(t *testing.T) {
	version, err := libraryVersion()
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("CoolProp %s", version)
	states, pure, blends, wrong := 0, 0, 0, 0
	for _, c := range compare(t.Output(), named(nil)) {
		if err := c.judge(); err != nil {
			t.Error(err)
		}
		states += c.States
		wrong += c.Wrong
		switch {
		case c.States < 200:
		case c.Pure:
			pure++
		default:
			blends++
		}
	}
	t.Logf("%d states of %d pure fluids and %d blends; %d saturation points of the library refuted", states, pure, blends, wrong)
	if states < 50000 || pure < 20 || blends < 25 {
		t.Error("fewer than 50,000 states, 20 pure fluids or 25 blends")
	}
}
