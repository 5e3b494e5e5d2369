package templog

import (
	"math"
	"testing"

	"coldwright/units"
)

// Every limit on file has a source, a section, a label and a date, and its two temperatures are one (definition).
func TestFoodLimits(t *testing.T) {
	for _, l := range FoodLimits() {
		if l.Source == "" || l.Section == "" || l.Read == "" || l.Evidence != "SEEN" && l.Evidence != "MEMORY" {
			t.Errorf("%+v", l)
		}
		if l.LimitF != nil && math.Abs(float64(l.Limit()-units.Fahrenheit(*l.LimitF))) > 0.3 {
			t.Errorf("%s: %g °C is not %g °F", l.Key, l.LimitC, *l.LimitF)
		}
	}
	// Food Code 4-203.12: ambient air ±1.5 °C; 4-203.11: food ±1 °C.
	if RequiredTolerance("air") != 1.5 || RequiredTolerance("product") != 1 {
		t.Error("thermometer tolerances")
	}
}
