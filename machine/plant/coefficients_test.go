package plant

import (
	"bytes"
	"math"
	"strings"
	"testing"
)

// TestCoefficients_Strict: the file holds every coefficient once, with unit, meaning and source; what is missing,
// unknown or without a source is refused.
func TestCoefficients_Strict(t *testing.T) {
	c, err := parseCoefficients(coefficientsFile)
	if err != nil {
		t.Fatal(err)
	}
	if c != coef {
		t.Error("the model does not use what the file says")
	}
	if c.liquidLine.beforeGlass+c.liquidLine.afterGlass != 1 {
		t.Errorf("shares of the liquid line add up to %g", c.liquidLine.beforeGlass+c.liquidLine.afterGlass)
	}
	for block, keys := range c.places() {
		for key, at := range keys {
			if !(*at > 0 || signed[block] && *at < 0) || math.IsInf(*at, 0) {
				t.Errorf("%s: %s is %g", block, key, *at)
			}
		}
	}
	for _, x := range []struct{ old, new, says string }{
		{`"exponent"`, `"exponents"`, "not one of the model's"},
		{`"unit": "1"`, `"unit": "ton"`, "unit"},
		{`"evidence": "judgement"`, `"evidence": "heard"`, "evidence"},
		{`"value": 0.25`, `"value": -0.25`, "above zero"},
		{`"schema": "coldwright-plant-1"`, `"schema": "2"`, "schema"},
		{`"means": "air side of the coil"`, `"means": ""`, "required"},
		{`"means": "air side of the coil"`, `"mean": "air side of the coil"`, "json.no_key"},
		{`"blocks": {`, `"blocks": {"x": {"y": {"evidence": "judgement", "means": "m", "source": "s", "unit": "1", "value": 1}},`, "not one of"},
	} {
		text := bytes.Replace(coefficientsFile, []byte(x.old), []byte(x.new), 1)
		if bytes.Equal(text, coefficientsFile) {
			t.Errorf("%q is not in the file", x.old)
			continue
		}
		if _, err := parseCoefficients(text); err == nil || !strings.Contains(err.Error(), x.says) {
			t.Errorf("%s: %v, want %q", x.new, err, x.says)
		}
	}
	_, err = parseCoefficients([]byte(`{"schema": "coldwright-plant-1", "blocks": {}}`))
	if err == nil || !strings.Contains(err.Error(), "missing") {
		t.Errorf("an empty file: %v", err)
	}
	if _, err := parseCoefficients(append(bytes.Clone(coefficientsFile), "{}"...)); err == nil {
		t.Error("two documents were accepted")
	}
}
