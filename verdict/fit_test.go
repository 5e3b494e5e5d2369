package verdict_test

import (
	"testing"

	"coldwright/machine/fault"
	"coldwright/verdict"
)

// The rule of the fit, at both sides of each of its limits: two readings; 3.5 standard deviations, which a normal residual
// passes once in two thousand (2·(1 − Φ(3.5)) = 4.7·10⁻⁴, the tables of the normal distribution); none of these the first
// answer, with 0.395 at least, which is rounded to 40 %.
func TestForm_Fit(t *testing.T) {
	for _, c := range []struct {
		name                        string
		readings                    int
		sigma, none, healthy, first float64
		status                      verdict.Status
		rule                        verdict.FitRule
	}{
		{"one reading, far off", 1, 9, 0.9, 0, 0.1, verdict.Unknown, verdict.FitUnknown},
		{"two readings", 2, 0, 0, 0, 0.9, verdict.Yes, verdict.AllWithin},
		{"just inside", 8, 3.49, 0, 0, 0.9, verdict.Yes, verdict.AllWithin},
		{"just outside", 8, 3.51, 0, 0, 0.9, verdict.No, verdict.ReadingFar},
		{"far off a healthy machine", 8, 4, 0, 0.9, 0.1, verdict.No, verdict.ReadingFar},
		{"none first", 8, 0, 0.40, 0.2, 0.3, verdict.No, verdict.NoneIsFirst},
		{"none first says more than a reading far off", 8, 9, 0.40, 0.2, 0.3, verdict.No, verdict.NoneIsFirst},
		{"none first with too little", 8, 0, 0.38, 0.3, 0.3, verdict.Yes, verdict.AllWithin},
		{"none behind a cause", 8, 0, 0.42, 0, 0.43, verdict.Yes, verdict.AllWithin},
		{"none behind a healthy machine", 8, 0, 0.42, 0.43, 0.1, verdict.Yes, verdict.AllWithin},
	} {
		got := verdict.Form(verdict.Facts{
			Readings: c.readings, LackOfFit: c.sigma, PNone: c.none, PHealthy: c.healthy, Suspects: suspects(fault.CoilAir, c.first),
		}).Fit
		if got.Status != c.status || got.Rule != c.rule || got.Sigma != c.sigma || got.PNone != c.none {
			t.Errorf("%s: %+v, want %v by %s", c.name, got, c.status, c.rule)
		}
	}
}
