package ledger

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"coldwright/refrigerant"
	"coldwright/units"
)

// Check values: arithmetic on the formulas of 40 CFR 82.152 (read): full charge, added, days since the last addition,
// other additions within 365 days.
func TestLeakRate_CheckValues(t *testing.T) {
	for _, c := range []struct {
		full, added          float64
		days                 int
		others               float64
		annualizing, rolling float64 // %
	}{
		{100, 10, 73, 0, 50, 10},
		{100, 10, 365, 0, 10, 10},
		{100, 10, 500, 0, 10, 10},
		{60, 5, 120, 6, 25.347, 18.333},
		{200, 30, 120, 0, 45.625, 15},
		{50, 1, 1, 0, 730, 2},
	} {
		day := date("2026-11-25")
		prior := Move{Date: day.AddDays(-c.days), Added: lb(c.others), Reason: Leak}
		if c.others == 0 {
			// An addition that is no loss still is "the last addition".
			prior = Move{Date: day.AddDays(-c.days), Added: lb(3), Reason: Seasonal}
		}
		r, err := LeakRate(RateInput{FullCharge: lb(c.full), AsOf: day, Moves: []Move{{Date: day, Added: lb(c.added)}, prior}})
		if err != nil {
			t.Fatal(err)
		}
		a := r.Last()
		if math.Abs(100*a.Annualizing-c.annualizing) > 5e-4 || math.Abs(100*a.Rolling-c.rolling) > 5e-4 ||
			math.Abs(100*r.Rolling-c.rolling) > 5e-4 {
			t.Errorf("%+v: annualizing %.3f %%, rolling %.3f %% and %.3f %%", c, 100*a.Annualizing, 100*a.Rolling, 100*r.Rolling)
		}
	}
}

func TestLeakRate_Rules(t *testing.T) {
	day := date("2026-11-25")
	run := func(in RateInput) Rate {
		if in.FullCharge == 0 {
			in.FullCharge = lb(100)
		}
		if in.AsOf.IsZero() {
			in.AsOf = day
		}
		r, err := LeakRate(in)
		if err != nil {
			t.Fatal(err)
		}
		return r
	}
	near := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: got %v, want %v", what, got, want)
		}
	}
	// Two additions on one day are one (the text has no rule for zero days).
	r := run(
		RateInput{
			Moves: []Move{{Date: day, Added: lb(4)}, {Date: day, Added: lb(6)}, {Date: day.AddDays(-73), Added: lb(1), Reason: Seasonal}},
		},
	)
	near("same day", r.Last().Annualizing, 0.5)
	// Out and in again on one day: only the difference is lost.
	r = run(RateInput{Moves: []Move{{Date: day, Removed: lb(9), Added: lb(10)}}})
	near("recovered and recharged", r.Last().Rolling, 0.01)
	// Put back on a later day, said to be so.
	r = run(RateInput{Moves: []Move{{Date: day.AddDays(-2), Removed: lb(9)}, {Date: day, Added: lb(10), Reason: Recharge}}})
	near("recharged later", r.Last().Rolling, 0.01)
	if r.Last().First != true {
		t.Error("a removal is no addition")
	}
	// Put back on a later day without a word: a leak, to be safe.
	r = run(RateInput{Moves: []Move{{Date: day.AddDays(-2), Removed: lb(9)}, {Date: day, Added: lb(10)}}})
	near("not said", r.Last().Rolling, 0.1)
	// Installation, retrofit, seasonal variance ask for no calculation (82.157(b)).
	for _, why := range []Reason{Installation, Retrofit, Seasonal} {
		if r := run(RateInput{Moves: []Move{{Date: day, Added: lb(50), Reason: why}}}); r.Last() != nil || r.Rolling != 0 {
			t.Errorf("%s counts as lost", why)
		}
	}
	// The window: 365 days back still counts, 366 not. A successful follow-up test starts a shorter window on the day after it.
	old := []Move{
		{Date: day.AddDays(-365), Added: lb(3)},
		{Date: day.AddDays(-366), Added: lb(5)},
		{Date: day.AddDays(-20), Added: lb(7)},
		{Date: day, Added: lb(2)},
	}
	r = run(RateInput{Moves: old})
	near("365 days", r.Rolling, 0.12)
	r = run(RateInput{Moves: old, Verified: []Date{day.AddDays(-400), day.AddDays(-20)}})
	near("since the test", r.Rolling, 0.02)
	near("on the day of the test", r.Additions[2].Rolling, 0.15) // 5 + 3 + 7: 366 days back from 25 November is 346 back from 5 November
	// A rule that starts on a day sees nothing before it, and takes 365 days for the first addition (84.106(b), second hand).
	r = run(RateInput{Since: day.AddDays(-19), Moves: old})
	near("since the rule", r.Rolling, 0.02)
	if a := r.Last(); !a.First || a.Days != 365 || math.Abs(a.Annualizing-0.02) > 1e-12 {
		t.Errorf("%+v", a)
	}
	// What happens after the day asked is not known yet.
	if r := run(RateInput{Moves: []Move{{Date: day.AddDays(1), Added: lb(9)}}}); len(r.Additions) != 0 || r.Rolling != 0 {
		t.Errorf("%+v", r)
	}
}

// Additions related to the same leak count together (82.152, read). By hand: full charge 48 lb, the addition before 147
// days back.
func TestLeakRate_SameLeak(t *testing.T) {
	then := func(day string, same SameLeak) []Move {
		return []Move{{Date: date("2026-06-30"), Added: lb(2.5)}, {Date: date(day), Added: lb(0.5), SameLeak: same}}
	}
	for _, c := range []struct {
		name     string
		moves    []Move
		verified []Date
		want     float64 // %
		together bool
		assumed  bool
	}{
		{"the next day", then("2026-07-01", ""), nil, 15.519, true, true},
		{"three days later", then("2026-07-03", ""), nil, 15.519, true, true},
		{"four days later", then("2026-07-04", ""), nil, 95.052, false, false}, // 0.5/48·365/4
		{"four days later, said", then("2026-07-04", SameLeakYes), nil, 15.519, true, false},
		{"shown tight between", then("2026-07-02", ""), []Date{date("2026-07-01")}, 190.104, false, false}, // 0.5/48·365/2
		{"said to be another", then("2026-07-01", SameLeakNo), nil, 380.208, false, false},
		// A day at a time for a week does not hang together without end: the fifth day begins anew. 0.5/48·365/1.
		{
			"day after day", []Move{
				{Date: date("2026-06-30"), Added: lb(0.5)},
				{Date: date("2026-07-01"), Added: lb(0.5)},
				{Date: date("2026-07-02"), Added: lb(0.5)},
				{Date: date("2026-07-03"), Added: lb(0.5)},
				{Date: date("2026-07-04"), Added: lb(0.5)},
			}, nil, 380.208, false, false,
		},
		{"nothing before it", []Move{{Date: date("2026-02-01"), Added: lb(0.5), SameLeak: SameLeakYes}}, nil, 0.5 / 48 * 100, false, false},
	} {
		moves := append([]Move{}, c.moves...)
		if c.name != "nothing before it" {
			moves = append(moves, Move{Date: date("2026-02-03"), Added: lb(2)})
		}
		r, err := LeakRate(RateInput{FullCharge: lb(48), AsOf: date("2026-07-31"), Moves: moves, Verified: c.verified})
		if err != nil {
			t.Fatal(err)
		}
		a := r.Last()
		if math.Abs(100*a.Annualizing-c.want) > 5e-4 || a.Continues != c.together || a.Assumed != c.assumed {
			t.Errorf("%s: %.3f %%, together %v, assumed %v; want %.3f %%", c.name, 100*a.Annualizing, a.Continues, a.Assumed, c.want)
		}
	}
	if _, err := LeakRate(
		RateInput{FullCharge: 1, AsOf: date("2026-07-31"), Moves: []Move{{Date: date("2026-07-01"), Added: 1, SameLeak: "maybe"}}},
	); err == nil {
		t.Error("a word that is none was accepted")
	}
}

// Over the limit, not at it (82.157(c)(2), read); whole grams must not push a machine over it.
func TestAddition_Over(t *testing.T) {
	day := date("2026-11-25")
	gram := func(v float64) units.Mass { return units.Mass(math.Round(v*units.Pound*units.Kilo) / units.Kilo) }
	for _, round := range []func(float64) units.Mass{lb, gram} {
		for full := 15.0; full < 2000; full *= 1.37 {
			for _, limit := range []float64{0.1, 0.2, 0.3} {
				for days := 5; days <= 400; days += 13 {
					at := full * limit * math.Min(float64(days), 365) / 365
					for _, c := range []struct {
						add  float64
						over bool
					}{{at, false}, {at + 0.02, true}, {at - 0.02, false}} {
						if c.add <= 0.01 { // less than a few grams is nothing to weigh
							continue
						}
						r, err := LeakRate(
							RateInput{
								FullCharge: round(full),
								AsOf:       day,
								Moves: []Move{
									{Date: day, Added: round(c.add)},
									{Date: day.AddDays(-days), Added: 1, Reason: Seasonal},
								},
							},
						)
						if err != nil {
							t.Fatal(err)
						}
						if got := r.Last().Over(Annualizing, limit, round(full)); got != c.over {
							t.Fatalf("%v lb of %v lb in %d days against %v: over %v", c.add, full, days, limit, got)
						}
						if got, want := r.Last().Over(Rolling, limit, round(full)), c.add > full*limit+0.01; got != want {
							t.Fatalf("rolling: %v lb of %v lb against %v: over %v", c.add, full, limit, got)
						}
					}
				}
			}
		}
	}
}

func TestLeakRate_Refused(t *testing.T) {
	ok := RateInput{FullCharge: 1, AsOf: date("2026-11-25"), Moves: []Move{{Date: date("2026-11-01"), Added: 0.1}}}
	for what, change := range map[string]func(*RateInput){
		"no full charge": func(in *RateInput) { in.FullCharge = 0 },
		"not a number":   func(in *RateInput) { in.FullCharge = units.Mass(math.NaN()) },
		"no day":         func(in *RateInput) { in.AsOf = Date{} },
		"undated":        func(in *RateInput) { in.Moves = []Move{{Added: 1}} },
		"negative":       func(in *RateInput) { in.Moves = []Move{{Date: in.AsOf, Added: -1}} },
		"unknown reason": func(in *RateInput) { in.Moves = []Move{{Date: in.AsOf, Added: 1, Reason: "thirst"}} },
	} {
		in := ok
		change(&in)
		if _, err := LeakRate(in); err == nil {
			t.Errorf("%s was accepted", what)
		}
	}
	if _, err := LeakRate(ok); err != nil {
		t.Error(err)
	}
}

// Identity: whatever happened, rates are finite, not negative, and all that counts as lost is at most what went in.
func TestLeakRate_Any(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		day := date("2026-11-25")
		in := RateInput{FullCharge: units.Mass(rapid.Float64Range(0.001, 1000).Draw(t, "full")), AsOf: day}
		var added units.Mass
		for range rapid.IntRange(0, 12).Draw(t, "n") {
			m := Move{
				Date:    day.AddDays(-rapid.IntRange(-3, 900).Draw(t, "back")),
				Added:   units.Mass(rapid.Float64Range(0, 50).Draw(t, "in")),
				Removed: units.Mass(rapid.Float64Range(0, 50).Draw(t, "out")),
				Reason:  rapid.SampledFrom(append(Reasons(), "")).Draw(t, "why"),
			}
			added += m.Added
			in.Moves = append(in.Moves, m)
		}
		r, err := LeakRate(in)
		if err != nil {
			t.Fatal(err)
		}
		var counted units.Mass
		for _, a := range r.Additions {
			counted += a.Counted
			if a.Counted < 0 || math.IsNaN(a.Annualizing) || math.IsInf(a.Annualizing, 0) || a.Annualizing < 0 || a.Rolling < 0 ||
				a.Days < 1 ||
				a.Days > 365 {
				t.Fatalf("%+v", a)
			}
		}
		if counted > added+1e-9 {
			t.Fatalf("%v counted of %v added", counted, added)
		}
	})
}

// The blends on file against the weighing of their components (annex VI): within the rounding of what is on file, and
// R-448A within that of a maker's data sheet, 1,387 (AR4) and 1,273 (AR5).
func TestPotential_Mixture(t *testing.T) {
	n := 0
	for _, name := range refrigerant.Designations() {
		if parts, err := refrigerant.BlendOf(name); err != nil || len(parts) < 2 {
			continue // one substance
		}
		for _, edition := range []string{"AR4", "EU 2024/573", "AR5", "AR6"} {
			f, err := onFile(name, edition)
			if err != nil {
				t.Fatal(err)
			}
			if !f.Known {
				continue
			}
			parts, err := refrigerant.BlendOf(name)
			if err != nil {
				t.Fatal(err)
			}
			sum, known := 0.0, true
			for _, c := range parts {
				p, err := onFile(c.Designation, edition)
				if err != nil {
					t.Fatal(err)
				}
				sum, known = sum+c.MassFraction*p.GWP, known && p.Known
			}
			if !known {
				continue
			}
			n++
			tol := map[string]float64{"EU 2024/573": 0.06, "AR4": 0.51, "AR5": 0.51, "AR6": 0.51}[edition]
			if math.Abs(sum-f.GWP) > tol {
				t.Errorf("%s, %s: components give %.2f, on file %v", name, edition, sum, f.GWP)
			}
		}
	}
	if n < 60 {
		t.Errorf("only %d blends checked", n)
	}
	for edition, want := range map[string]float64{"AR4": 1387, "AR5": 1273} {
		if f, err := Potential("R-448A", edition); err != nil || math.Abs(f.GWP-want) > 0.5 {
			t.Errorf("R-448A, %s: %+v %v", edition, f, err)
		}
	}
	// Not on file itself: R-452B is 67/7/26 % R-32/R-125/R-1234yf; 0.67·675 + 0.07·3500 + 0.26·4 by hand.
	if f, err := Potential("R-452B", "AR4"); err != nil || !f.Known || !f.Mixed || math.Abs(f.GWP-698.29) > 0.01 {
		t.Errorf("R-452B: %+v %v", f, err)
	}
	if f, err := Potential("R-764", "AR4"); err != nil || f.Known {
		t.Errorf("R-764: %+v %v", f, err)
	}
}
