package ledger

import (
	"cmp"
	"slices"

	"coldwright/fail"
	"coldwright/units"
)

// Reason says why refrigerant was added; only Leak counts as lost.
type Reason string

// The reasons. An empty reason is Leak.
const (
	Leak         Reason = "leak"
	Recharge     Reason = "recharge"     // put back what was taken out; what goes beyond that counts as lost
	Seasonal     Reason = "seasonal"     // seasonal variance
	Installation Reason = "installation" // the first charge
	Retrofit     Reason = "retrofit"     // the charge right after a change of refrigerant
)

// Reasons lists them.
func Reasons() []Reason { return []Reason{Leak, Recharge, Seasonal, Installation, Retrofit} }

// SameLeak says whether an addition makes up the loss of the same leak as the addition before it.
type SameLeak string

// The answers. An empty one is nobody's word: [LeakRate] takes yes for what follows within [sameLeakDays].
const (
	SameLeakYes SameLeak = "yes"
	SameLeakNo  SameLeak = "no"
)

// SameLeaks lists them.
func SameLeaks() []SameLeak { return []SameLeak{SameLeakYes, SameLeakNo} }

// Move is refrigerant into and out of one machine on one day.
type Move struct {
	Date           Date
	Added, Removed units.Mass
	Reason         Reason
	SameLeak       SameLeak
}

// RateInput is what a leak rate is made from.
type RateInput struct {
	FullCharge units.Mass // normal operating charge; for a range its midpoint
	Moves      []Move     // any order
	AsOf       Date       // later moves are not looked at
	Verified   []Date     // follow-up verification tests that showed all identified leaks repaired
	Since      Date       // moves before it do not exist for the rule; zero: all do
}

// Addition is a day on which refrigerant was added, with the rates the rule asks to calculate on that day.
type Addition struct {
	Date        Date
	Added       units.Mass // all that went in
	Counted     units.Mass // what counts as lost
	Calculate   bool       // the rule asks for a calculation: something counts
	Continues   bool       // it and the additions before it make up the loss of one leak, and count together
	Assumed     bool       // nobody said whether it continues; it is taken to
	Leak        units.Mass // what counts as lost through that leak so far
	Days        int        // since the addition before that leak's first, at most 365
	First       bool       // there is no addition before it: 365 days are taken
	Annualizing float64    // share of the full charge a year
	Alone       float64    // the same, had this addition been a leak by itself
	Rolling     float64    // share of the full charge in the window
	Window      Date       // first day of the rolling window
	// Weights of the day, of the leak and of the window, each rounded to a gram once.
	n, leak, window int
}

// Rate is the leak rate on a day.
type Rate struct {
	FullCharge units.Mass
	Additions  []Addition // oldest first
	Rolling    float64    // share, as of the day asked
	Window     Date       // first day of that window
}

// Last returns the last addition that asked for a calculation, nil when there is none.
func (r Rate) Last() *Addition {
	for i := range slices.Backward(r.Additions) {
		if r.Additions[i].Calculate {
			return &r.Additions[i]
		}
	}
	return nil
}

const year = 365

// sameLeakDays is how many days after a leak's first addition a further one is taken to finish it where nobody said
// so: over a weekend. Judgement, ours: a charge is finished on the next working day; what is added later is as likely a
// loss of its own, and then counting it by itself is on the safe side.
const sameLeakDays = 3

// ContinuesByDate is the proposal where nobody said whether an addition continues the leak whose first addition was on
// another day.
func ContinuesByDate(first, day Date) bool {
	return !day.Before(first) && day.Days(first) <= sameLeakDays
}

// LeakRate calculates the leak rate by both formulas, for every day on which refrigerant was added and as of the day asked.
//
//		annualizing = (added to return to full charge / full charge) / (min(days since last addition, 365) / 365);
//		additions for one leak are added up, and the days are those before the first of them
//		rolling     = (added over the previous 365 days, or since the last successful follow-up verification if that is shorter) / full charge
//
//	  - in: masses in kg; full charge above zero
//	  - out: shares (0.2 is 20 %); additions of one day are one; an addition exactly 365 days back still counts in the rolling window
//	  - errors: [*fail.Error] for a full charge of zero, a day that is missing, a negative mass or an unknown reason
//	  - assumes: an addition within three days of a leak's first, with no successful follow-up test between, belongs to
//	    that leak unless it is said not to; Addition.Alone says what it would be by itself. What was removed on the same
//	    day, or earlier and put back with reason recharge, is not lost. Without an addition before, 365 days are taken (the
//	    text has no rule; 40 CFR 84.106(b) is said to do so, second hand). "Since the last test" starts on the day after it
//	  - source: 40 CFR 82.152, leak rate
func LeakRate(in RateInput) (Rate, error) {
	if !(in.FullCharge > 0) {
		return Rate{}, fail.Of(fail.Required, "full_charge", "ledger.full_charge_missing", nil)
	}
	if in.AsOf.IsZero() {
		return Rate{}, fail.Of(fail.Required, "as_of", "ledger.as_of_missing", nil)
	}
	moves := slices.Clone(in.Moves)
	slices.SortStableFunc(moves, func(a, b Move) int { return a.Date.Compare(b.Date) })
	r := Rate{FullCharge: in.FullCharge}
	var credit units.Mass // taken out earlier, not yet put back
	for i := 0; i < len(moves); {
		day := moves[i].Date
		if day.IsZero() {
			return Rate{}, fail.Of(fail.Required, "date", "field.missing", nil)
		}
		a := Addition{Date: day}
		var counted, recharge, removed units.Mass
		var said SameLeak
		for ; i < len(moves) && moves[i].Date == day; i++ {
			m := moves[i]
			if m.Added < 0 || m.Removed < 0 {
				return Rate{}, fail.Of(fail.Range, "mass", "ledger.negative", fail.Args{"day": day})
			}
			if day.After(in.AsOf) || day.Before(in.Since) {
				continue
			}
			switch m.SameLeak {
			case "":
			case SameLeakYes, SameLeakNo:
				if said != SameLeakNo { // one word that it is another leak is enough: the safe side
					said = m.SameLeak
				}
			default:
				return Rate{}, fail.Of(fail.BadValue, "same_leak", "ledger.same_leak", fail.Args{"text": m.SameLeak})
			}
			a.Added += m.Added
			removed += m.Removed
			switch cmp.Or(m.Reason, Leak) {
			case Leak:
				counted += m.Added
			case Recharge:
				recharge += m.Added
			case Seasonal, Installation, Retrofit:
			default:
				return Rate{}, fail.Of(fail.BadValue, "reason", "ledger.reason",
					fail.Args{"reason": m.Reason, "reasons": Reasons()})
			}
			a.n++
		}
		// Put back first what came out: on the same day whatever the reason, from earlier days only as recharge.
		back := min(counted, removed)
		counted, removed = counted-back, removed-back
		credit += removed
		back = min(recharge, credit)
		credit -= back
		a.Counted = counted + recharge - back
		if a.Added == 0 {
			continue
		}
		a.Calculate = a.Counted > 0
		a.Days, a.First = year, len(r.Additions) == 0
		if !a.First {
			a.Days = min(day.Days(r.Additions[len(r.Additions)-1].Date), year)
		}
		a.Leak, a.leak = a.Counted, a.n
		a.Alone = float64(a.Counted/in.FullCharge) * year / float64(a.Days)
		if a.Calculate && said != SameLeakNo {
			r.join(&a, said, in.Verified)
		}
		a.Annualizing = float64(a.Leak/in.FullCharge) * year / float64(a.Days)
		r.Additions = append(r.Additions, a)
		last := &r.Additions[len(r.Additions)-1]
		last.Rolling, last.Window, last.window = r.rolling(in, day)
	}
	r.Rolling, r.Window, _ = r.rolling(in, in.AsOf)
	return r, nil
}

// join adds an addition to the leak that the last one that counts belongs to, where it was said to or follows closely.
func (r Rate) join(a *Addition, said SameLeak, verified []Date) {
	k := len(r.Additions) - 1
	for k >= 0 && !r.Additions[k].Calculate {
		k--
	}
	if k < 0 {
		return
	}
	before, first := r.Additions[k], k
	for r.Additions[first].Continues {
		first--
	}
	ended := slices.ContainsFunc(verified, func(v Date) bool { return !v.Before(before.Date) && v.Before(a.Date) })
	if said == "" && (ended || !ContinuesByDate(r.Additions[first].Date, a.Date)) {
		return
	}
	a.Continues, a.Assumed = true, said == ""
	a.Leak, a.leak = before.Leak+a.Counted, before.leak+a.n
	a.Days, a.First = before.Days, before.First
}

func (r Rate) rolling(in RateInput, day Date) (share float64, window Date, n int) {
	window = day.AddDays(-year)
	for _, v := range in.Verified {
		if next := v.AddDays(1); v.Before(day) && next.After(window) {
			window = next
		}
	}
	var total units.Mass
	for _, a := range r.Additions {
		if !a.Date.Before(window) && !a.Date.After(day) {
			total += a.Counted
			n += a.n
		}
	}
	return float64(total / in.FullCharge), window, n
}

// Method is one of the two formulas; a facility uses one for all its covered machines.
type Method string

// The methods.
const (
	Annualizing Method = "annualizing"
	Rolling     Method = "rolling"
)

// Over reports whether the rate on the day of the addition is over a limit. Weights are kept in whole grams, so a
// rate that lies over the limit by no more than half a gram for each weight in it is not over.
func (a Addition) Over(m Method, limit float64, full units.Mass) bool {
	half := 0.5 / (units.Kilo * float64(full))
	if m == Rolling {
		return a.Rolling-limit > half*(float64(a.window)+limit)
	}
	scale := year / float64(a.Days)
	return a.Annualizing-limit > half*(float64(a.leak)*scale+limit)
}
