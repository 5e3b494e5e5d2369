package fault

import (
	"bytes"
	"math"
	"reflect"
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
	// Among complaints every machine has one of the causes or is sound: the shares add up to one with the least rate of
	// healthy, which is the one among complaints.
	if math.Abs(sum+c.HealthyLow-1) > 1e-9 {
		t.Errorf("rates add up to %g, with sound machines %g", sum, sum+c.HealthyLow)
	}
}

func TestApply_ZeroIsHealthy(t *testing.T) {
	c, _ := Shipped()
	for _, f := range c.Faults {
		if got := Apply(plant.Change{}, f.Code, 0); got != (plant.Change{}) {
			t.Errorf("%s at severity 0 changes the plant: %+v", f.Code, got)
		}
		// A fault of the circuit moves one value of the plant, by its severity, up or down; one elsewhere moves none.
		got, moved := reflect.ValueOf(Apply(plant.Change{}, f.Code, f.Severity(0.3))), 0
		for i := range got.NumField() {
			if v := got.Field(i).Float(); v != 0 {
				moved++
				if math.Abs(v) != f.Severity(0.3) {
					t.Errorf("%s at %g: %s is %g", f.Code, f.Severity(0.3), got.Type().Field(i).Name, v)
				}
			}
		}
		if want := map[bool]int{true: 1}[f.Code.Circuit()]; moved != want {
			t.Errorf("%s moves %d values of the plant, want %d", f.Code, moved, want)
		}
		// No share goes past all there is, however often it is added.
		for range 40 {
			got = reflect.ValueOf(Apply(got.Interface().(plant.Change), f.Code, f.Severity(2)))
		}
		if c := got.Interface().(plant.Change); math.Max(math.Max(c.LowCharge, c.OverCharge), math.Max(c.CondenserAir, c.CoilAir)) >= 1 ||
			math.Max(c.ValveUnder, c.CompressorLeak) >= 1 {
			t.Errorf("%s piled up: %+v", f.Code, c)
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
		{`"healthy_rate": 0.35`, `"healthy_rat": 0.35`, "json.no_key"},
		{`"evidence": "judgement"`, `"evidence": "hearsay"`, "evidence"},
		{`"evidence": "judgement"`, `"evidence": "published"`, "names its year"},
		{`"evidence": "published"`, `"evidence": "judgement"`, "gives its reason"},
		{`"severity_basis": "judgement, ours: `, `"severity_basis": "judgement: `, "gives its reason"},
		{`"none_basis": "judgement, ours: `, `"none_basis": "`, "none_basis"},
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
