package diagnose_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"coldwright/diagnose"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// Answers of a thing seen exclude each other and one is always given: their probabilities add up to 1 in any state.
func TestChances_AddUp(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		share := rapid.Float64Range(0, 0.95)
		var out plant.Outputs
		out[plant.GlassQuality] = rapid.Float64Range(-0.2, 0.5).Draw(r, "glass")
		out[plant.SuctionLineT] = rapid.Float64Range(230, 300).Draw(r, "suction line")
		out[plant.SuctionDew] = 250
		ch := plant.Change{CondenserAir: share.Draw(r, "dirt"), CoilAir: share.Draw(r, "ice"), LowCharge: share.Draw(r, "short")}
		for _, key := range []string{"glass", "condenser_dirt", "coil_ice", "oil_marks", "frost_on_compressor"} {
			sum := 0.0
			var seen reading.Seen
			for _, c := range diagnose.Chances(key, &out, ch) {
				if c.P < 0 || c.P > 1 {
					r.Fatalf("%s %s: %v", key, c.Word, c.P)
				}
				if err := seen.Set(key, c.Word); err != nil {
					r.Fatalf("%s: %v", key, err)
				}
				sum += c.P
			}
			if math.Abs(sum-1) > 1e-12 {
				r.Fatalf("%s adds up to %v", key, sum)
			}
		}
	})
	if got := diagnose.Chances("coil_fans", &plant.Outputs{}, plant.Change{}); got != nil {
		t.Errorf("the model says nothing about fans, and %v", got)
	}
}

// Gauges cost once; what cannot be read in practice costs nothing because it is not offered.
func TestCost_GaugesOnce(t *testing.T) {
	off, risk, ok := diagnose.Cost("suction_pressure", false)
	on, none, ok2 := diagnose.Cost("suction_pressure", true)
	if !ok || !ok2 || risk != diagnose.RiskOpens || none != "" || off <= on {
		t.Errorf("gauges off %v min %q, on %v min %q", off, risk, on, none)
	}
	for _, p := range reading.Places() {
		m, _, ok := diagnose.Cost(p.String(), false)
		if ok != (m > 0) {
			t.Errorf("%s: %v min, %v", p, m, ok)
		}
	}
	for _, key := range []string{"coil_fans", "power", "nothing"} {
		if _, _, ok := diagnose.Cost(key, false); ok {
			t.Errorf("%s has a cost", key)
		}
	}
}
