package fault

import (
	"bytes"
	"math"
	"strings"
	"testing"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

func TestShipped_Complete(t *testing.T) {
	c, err := Shipped()
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for _, code := range Singles() {
		f, ok := c.Find(code)
		if !ok {
			t.Errorf("%s is not in the catalogue", code)
			continue
		}
		sum += f.BaseRate
		back, err := Parse(code.String())
		if err != nil || back != code {
			t.Errorf("%s does not parse back", code)
		}
	}
	// The suggested rates among complaints add up to one with 0.03 for a machine without fault (design reference on base rates).
	if math.Abs(sum+0.03-1) > 1e-9 {
		t.Errorf("rates add up to %g", sum)
	}
}

func TestApply_ZeroIsHealthy(t *testing.T) {
	c, _ := Shipped()
	for _, f := range c.Faults {
		if got := Apply(plant.Change{}, f.Code, 0); got != (plant.Change{}) {
			t.Errorf("%s at severity 0 changes the plant: %+v", f.Code, got)
		}
		if got := Apply(plant.Change{}, f.Code, f.Severity(0.3)); (got != plant.Change{}) != f.Code.Circuit() {
			t.Errorf("%s: changes the circuit %v, says %v", f.Code, got != plant.Change{}, f.Code.Circuit())
		}
		// The median of the severity is the stated one, and it rises with z (definition).
		if math.Abs(f.Severity(0)-f.Median) > 1e-12*math.Max(1, math.Abs(f.Median)) || f.Severity(1) <= f.Severity(-1) {
			t.Errorf("%s: severity at z = 0 is %g, want %g", f.Code, f.Severity(0), f.Median)
		}
	}
}

func TestParseCatalogue_Refused(t *testing.T) {
	for _, c := range []struct{ old, new, says string }{
		{`"base_rate": 0.24`, `"base_rate": 4`, "base rate"},
		{`"code": "low_charge"`, `"code": "coil_air"`, "twice"},
		{`"code": "low_charge"`, `"code": "gremlins"`, "no fault code"},
		{`"transform": "log"`, `"transform": "cube"`, "transform"},
		{`"healthy_rate": 0.35`, `"healthy_rat": 0.35`, "unknown field"},
	} {
		text := bytes.Replace(shipped, []byte(c.old), []byte(c.new), 1)
		if bytes.Equal(text, shipped) {
			t.Fatalf("%q is not in the file", c.old)
		}
		if _, err := ParseCatalogue(text); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want %q", c.new, err, c.says)
		}
	}
}

func TestApplies(t *testing.T) {
	m, _ := reading.Machine{Refrigerant: "R-404A"}.Resolve()
	if HeadControlLow.Applies(m, 0) || CompositionShift.Applies(m, 0.5) || !CompositionShift.Applies(m, 5) || !LowCharge.Applies(m, 0) {
		t.Error("what applies is wrong")
	}
}
