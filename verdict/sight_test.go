package verdict_test

import (
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/verdict"
)

// TestOf_SightsComeFirst: what is certain by itself is said first and decides what to do, whatever the readings make of
// it; a machine is not called healthy beside it.
func TestOf_SightsComeFirst(t *testing.T) {
	sheet := reading.Sheet{Readings: make([]reading.Reading, 4)}
	for _, c := range []struct {
		code   string
		leads  fault.Code
		p      float64
		kind   verdict.StepKind
		rule   verdict.StepRule
		causes fault.Code
	}{
		{diagnose.CondenserDirtHeavy, fault.LowCharge, 0.1, verdict.Act, verdict.FaultSeen, fault.CondenserAir},
		{diagnose.CoilFansStopped, fault.LowCharge, 0.6, verdict.Act, verdict.FaultSeen, fault.CoilAir},
		{diagnose.CoilIceHeavy, fault.LowCharge, 0.97, verdict.Act, verdict.CauseCertain, fault.LowCharge},
		{diagnose.HeadAtCutOut, fault.OverCharge, 0.8, verdict.Act, verdict.StopFirst, fault.OverCharge},
		{diagnose.HeadAtCutOut, fault.OverCharge, 0.1, verdict.Hands, verdict.StopFirst, fault.Unknown},
	} {
		p := diagnose.Posterior{
			PHealthy: 0.97 - c.p, Marginals: []diagnose.Marginal{{Fault: c.leads, Probability: c.p}},
			Warnings: []reading.Finding{{Code: c.code}},
			Advice:   diagnose.Advice{Code: diagnose.AdviseAct},
		}
		j := verdict.Of(&p, sheet)
		if len(j.Sights) != 1 || j.Sights[0].Code != c.code {
			t.Fatalf("%s: %v", c.code, j.Sights)
		}
		if j.Healthy != verdict.No || j.HealthyRule != verdict.HealthySeen {
			t.Errorf("%s: healthy %s, %s", c.code, j.Healthy, j.HealthyRule)
		}
		if s := j.Next; s.Kind != c.kind || s.Rule != c.rule || s.Cause != c.causes {
			t.Errorf("%s, %s %.2f: %s, %s, %s", c.code, c.leads, c.p, s.Kind, s.Rule, s.Cause)
		}
		if seen := c.causes != fault.Unknown && diagnose.SightCause(c.code) == c.causes; seen != (j.Next.Seen == c.code) {
			t.Errorf("%s: acts on the sight %q", c.code, j.Next.Seen)
		}
		if j.MustStop() != (c.code == diagnose.HeadAtCutOut) {
			t.Errorf("%s: must stop %v", c.code, j.MustStop())
		}
	}
}
