package text_test

import (
	"strings"
	"testing"
	"time"

	"coldwright/proof/size"
	"coldwright/proof/standing"
	"coldwright/proof/templog"
	"coldwright/proof/vacuum"
	"coldwright/say/text"
	"coldwright/units"
	"coldwright/verdict"
)

// A vacuum in the units of who reads it: 1 micron is 1 µm of mercury, 0.133322 Pa (NIST SP 811, conventional millimetre of mercury).
func TestVacuum(t *testing.T) {
	for _, c := range []struct {
		d    units.Display
		pa   float64
		want string
	}{{units.US(), 66.661, "500 micron"}, {units.Metric(), 66.661, "66.7 Pa"}, {units.Metric(), 266.6, "267 Pa"}} {
		if got := text.Vacuum(units.Pressure(c.pa), c.d); got != c.want {
			t.Errorf("%g Pa: %q, want %q", c.pa, got, c.want)
		}
	}
	for minutes, want := range map[float64]string{90: "90 min", 300: "5.0 h", 4320: "3.0 days"} {
		if got := text.Span(minutes); got != want {
			t.Errorf("%g: %q, want %q", minutes, got, want)
		}
	}
}

// Every verdict is short, and what stands below it is well said in both systems of units.
func TestProof_Verdicts(t *testing.T) {
	limit := units.Pressure(70)
	leak := []size.Leak{{Refrigerant: "R-404A", GramsPerYear: 1200}}
	for _, d := range []units.Display{units.US(), units.Metric()} {
		short := func(s string) {
			t.Helper()
			if n := len(strings.Fields(s)); n == 0 || n > 3 {
				t.Errorf("%q has %d words", s, n)
			}
		}
		said := func(lines ...string) {
			t.Helper()
			for _, s := range lines {
				if bad := wellSaid(s); bad != "" || strings.Contains(s, "NaN") {
					t.Errorf("%s: %q", bad, s)
				}
			}
		}
		for _, v := range []standing.Verdict{standing.TightWithin, standing.NoLeakSeen, standing.Leaking, standing.Undecided} {
			h := standing.Result{
				Verdict:       v,
				N:             3,
				Span:          240,
				First:         1.1e6,
				Last:          1.09e6,
				Expected:      1.095e6,
				Change:        standing.Uncertain{Value: -5e3, U: 2e3},
				Low:           -9e3,
				High:          -1e3,
				SmallestShare: 0.031,
				AskedShare:    0.05,
				Leaks:         leak,
			}
			if v == standing.Undecided {
				h.Reason = standing.TooShort
			}
			short(text.HoldVerdict(&h))
			said(append(text.HoldLines(&h, d, units.Atm), text.HoldSentence(&h, d, text.English), text.HoldCriterion(&h))...)
		}
		for _, v := range []vacuum.Verdict{
			vacuum.DryAndTight, vacuum.DryNoLeakSeen, vacuum.Leak, vacuum.Moisture, vacuum.Both, vacuum.CannotProveDry,
			vacuum.Undecided,
		} {
			r := vacuum.Result{
				Verdict:     v,
				N:           9,
				Span:        16,
				First:       30,
				Last:        80,
				Horizon:     60,
				Leak:        vacuum.Part{Uncertain: vacuum.Uncertain{Value: 2, U: 1}, High: 4},
				AllowedLeak: 1,
				AllowedRise: 200,
				PLeak:       0.9,
				DryLimit:    &limit,
				Leaks:       leak,
				LeaksHigh:   leak,
				Profile:     vacuum.DefaultProfile(),
			}
			short(text.RiseVerdict(&r))
			said(append(text.RiseLines(&r, d), text.RiseCriterion(&r, d), text.RiseSentence(&r, d, text.English))...)
		}
		for _, p := range append(vacuum.Profiles(), vacuum.DefaultProfile()) {
			if s := text.Criterion(p, d); !strings.Contains(s, "at most") {
				t.Errorf("%q", s)
			}
		}
		for _, l := range templog.FoodLimits() {
			if s := text.FoodLimit(l, d); !strings.Contains(s, "°") || !strings.Contains(s, l.Source) {
				t.Errorf("%q", s)
			}
		}
	}
}

// What a record says first: never, once, twice, only in defrosts, or within what the logger may be off.
func TestColdVerdict(t *testing.T) {
	day := time.Date(2026, 6, 13, 12, 0, 0, 0, time.UTC)
	e := func(defrost, sure bool) templog.Excursion {
		return templog.Excursion{
			Low:     30,
			High:    50,
			Defrost: defrost,
			Sure:    sure,
			Peak:    units.Celsius(9),
			Start:   templog.Bracket{After: day, Before: day.Add(10 * time.Minute)},
		}
	}
	for want, list := range map[string][]templog.Excursion{
		"Never above 41 °F.":                                        nil,
		"Above 41 °F once, 30 to 50 min in all.":                    {e(false, true)},
		"Above 41 °F twice, 60 to 100 min in all.":                  {e(false, true), e(false, true), e(true, true)},
		"Above 41 °F only in 1 defrost.":                            {e(true, true)},
		"Above 41 °F once, each within what the logger may be off.": {e(false, false)},
	} {
		r := templog.Record{Excursions: list, Count: len(list), Limit: units.Celsius(5), First: day, Last: day.Add(24 * time.Hour)}
		if got := text.ColdVerdict(&r, units.US()); got != want {
			t.Errorf("%q, want %q", got, want)
		}
		if failed := verdict.OfRecord(&r).State == verdict.Failed; failed != strings.Contains(want, "in all") {
			t.Errorf("%q: failed %v", want, failed)
		}
	}
	r := templog.Record{First: day, Last: day.Add(time.Hour)}
	row := text.ColdRow(&r, e(false, true), units.US())
	if strings.Join(row, "|") != "13 Jun 12:00 to 13 Jun 12:10|still above at the end|30 to 50 min|48.2 °F" {
		t.Errorf("%q", row)
	}
}
