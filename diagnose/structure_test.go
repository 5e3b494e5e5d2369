package diagnose

import (
	"slices"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/units"
)

// inTheCold is a freezer outdoors at −8 °C whose head stands at 31 °C, liquid and glass as they should be: a head
// control holds it, or most of the condenser's air is missing.
func inTheCold(head reading.HeadControl) reading.Sheet {
	c := func(v float64) float64 { return float64(units.Celsius(v)) }
	return reading.Sheet{
		Machine: reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, HeadControl: head},
		Seen:    reading.Seen{Glass: reading.Clear},
		Readings: []reading.Reading{
			{At: reading.BoxAir, Value: c(-20)},
			{At: reading.Ambient, Value: c(-8)},
			{At: reading.SuctionPressure, Value: 2.2e5},
			{At: reading.DischargePressure, Value: 14.4e5},
			{At: reading.LiquidLine, Value: c(28)},
		},
	}
}

// TestRun_HeadControlNotSaid: a machine that runs in the cold with its head held up is not called dirty because nobody
// said that it has a head control; where somebody says that there is none, it is not called well. Definition of the
// controls.
func TestRun_HeadControlNotSaid(t *testing.T) {
	f := testkit.Fit(t, "R-404A")
	p := run(t, inTheCold(reading.HeadUnknown), f, Options{})
	if p.Ranked[0].Name() != "healthy" || p.Marginal(fault.CondenserAir) > 0.25 {
		t.Errorf("not said: first %s, nothing wrong %.2f, condenser %.2f", p.Ranked[0].Name(), p.PHealthy, p.Marginal(fault.CondenserAir))
	}
	if !slices.ContainsFunc(p.Warnings, func(w reading.Finding) bool { return w.Code == HeadControlNotSaid }) {
		t.Error("nobody is asked whether there is a head control")
	}
	if none := run(t, inTheCold(reading.HeadNone), f, Options{}); none.PHealthy > 0.1 {
		t.Errorf("said that there is none: nothing wrong with %.2f", none.PHealthy)
	}
}
