package text_test

import (
	"slices"
	"testing"

	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/say/text"
)

// A danger that is not known is danger: without a class the cautions of what burns and of what poisons stand, after the
// one that says why. Classes of ASHRAE 34 / ISO 817 decide otherwise (from memory: R-717 B2L, R-123 B1, R-744 A1, R-290 A3).
func TestCautions_Danger(t *testing.T) {
	class := func(name string) string {
		r, err := refrigerant.Load(name)
		if err != nil {
			t.Fatal(err)
		}
		c, _ := r.Safety()
		return c.Class
	}
	for _, c := range []struct {
		name, class string
		want        []string
	}{
		{"R-717", "B2L", []string{"flammable", "toxic"}},
		{"R-123", "B1", []string{"toxic"}},
		{"R-744", "A1", []string{"carbon_dioxide"}},
		{"R-290", "A3", []string{"flammable"}},
		{"R-134a", "A1", nil},
		{"R-143a", "A2L", []string{"flammable"}},
		{"R-1123", "", []string{"class_unknown", "flammable", "toxic"}},
	} {
		if got := class(c.name); got != c.class {
			t.Errorf("%s: class %q, want %q", c.name, got, c.class)
		}
		for _, l := range text.Languages() {
			all := text.Cautions("repair", text.Danger{Refrigerant: c.name, Safety: c.class, Application: reading.WalkInCooler}, l)
			var got []string
			for _, x := range all[:len(c.want)] {
				got = append(got, x.Code)
			}
			if !slices.Equal(got, c.want) || all[len(c.want)].Code != "open" {
				t.Errorf("%s in %s: %q, want %q before all others", c.name, l, got, c.want)
			}
		}
	}
	// Nothing that no class is on file for goes without them.
	for _, name := range refrigerant.Designations() {
		if class(name) == "" && !(text.Danger{Refrigerant: name}).Toxic() {
			t.Errorf("%s: no class, no caution", name)
		}
	}
}

// Designations stand in the order of their numbers, and what people call them stands beside.
func TestRefrigerant_Order(t *testing.T) {
	got := []string{"R-1234yf", "R-404A", "R-22", "R-134a", "R-C318", "R-407C", "R-32", "R-407A"}
	slices.SortFunc(got, refrigerant.ByNumber)
	if want := []string{"R-22", "R-32", "R-134a", "R-404A", "R-407A", "R-407C", "R-1234yf", "R-C318"}; !slices.Equal(got, want) {
		t.Errorf("%q", got)
	}
	if text.Refrigerant("R-290") != "R-290, propane" || text.RefrigerantName("R-717", text.Spanish) != "amoníaco" ||
		text.Refrigerant("R-404A") != "R-404A" {
		t.Error("names")
	}
}
