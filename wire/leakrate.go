package wire

import (
	"coldwright/rules/law"
	"coldwright/rules/ledger"
)

// LeakRateAddition is one addition with the rates it gives.
type LeakRateAddition struct {
	Date        ledger.Date `json:"date"`
	Added       float64     `json:"added_kg"`
	Counted     float64     `json:"counted_kg"`
	Days        int         `json:"days_since_addition"`
	First       bool        `json:"first"`
	Continues   bool        `json:"same_leak"`
	Assumed     bool        `json:"same_leak_assumed"`
	Annualizing *float64    `json:"annualizing_percent"`
	Alone       *float64    `json:"annualizing_percent_alone"`
	Rolling     *float64    `json:"rolling_percent"`
	Window      ledger.Date `json:"rolling_from"`
	Reason      string      `json:"reason,omitempty"`
}

// LeakRateAnswer is the answer of `leakrate`.
type LeakRateAnswer struct {
	AsOf        ledger.Date        `json:"as_of"`
	FullCharge  float64            `json:"full_charge_kg"`
	Annualizing *float64           `json:"annualizing_percent"`
	Rolling     float64            `json:"rolling_percent"`
	Window      ledger.Date        `json:"rolling_from"`
	Reason      string             `json:"reason,omitempty"`
	Additions   []LeakRateAddition `json:"additions"`
}

// NewLeakRate is the document of a leak rate.
func NewLeakRate(asOf ledger.Date, r *ledger.Rate) LeakRateAnswer {
	out := LeakRateAnswer{
		AsOf:       asOf,
		FullCharge: float64(r.FullCharge),
		Rolling:    100 * r.Rolling,
		Window:     r.Window,
		Additions:  []LeakRateAddition{},
	}
	for _, a := range r.Additions {
		x := LeakRateAddition{
			Date:      a.Date,
			Added:     float64(a.Added),
			Counted:   float64(a.Counted),
			Days:      a.Days,
			First:     a.First,
			Continues: a.Continues,
			Assumed:   a.Assumed,
			Window:    a.Window,
			Reason:    "nothing_lost",
		}
		if a.Calculate {
			annual, rolling := 100*a.Annualizing, 100*a.Rolling
			alone := 100 * a.Alone
			x.Annualizing, x.Alone, x.Rolling, x.Reason = &annual, &alone, &rolling, ""
		}
		out.Additions = append(out.Additions, x)
	}
	if a := r.Last(); a != nil {
		annual := 100 * a.Annualizing
		out.Annualizing = &annual
	} else {
		out.Reason = law.ReasonNoAddition
	}
	return out
}
