package main

import (
	"coldwright/proof/casebook"
)

// proofSection writes how often the tests against the clock are right on simulated tests.
func proofSection(w func(string, ...any), seed uint64) error {
	const n = 1000
	q, err := casebook.Evaluate(seed, n)
	if err != nil {
		return err
	}
	w("\n## Standing pressure, vacuum rise, cold record\n")
	w(
		"%d simulated tests of each, with noise, drift and structure that the judgement does not know in full (proof/casebook). "+
			"Simulated, not field data.\n",
		n,
	)
	h := q.Standing
	w(
		"**Standing pressure**, 300 psig, 1 to 24 h, 2 to 21 looks, temperature swinging up to ±6 K, weather on the gauge. Asked about: 5 %% " +
			"of the gas in a day.\n",
	)
	w("| truth | called tight | undecided | called leaking |\n| --- | --- | --- | --- |")
	for _, row := range []struct {
		name string
		v    [3]int
	}{
		{"tight", h.Tight},
		{"loses less than asked about", h.Small},
		{"loses that or more", h.Large},
		{"tight, held 12 h or more", h.Long},
		{"loses that or more, held 12 h or more", h.LongLeak},
	} {
		w("| %s | %d | %d | %d |", row.name, row.v[0], row.v[1], row.v[2])
	}
	w(
		"\n90 %% intervals of the corrected change hold the truth %.0f times of 100. A loss as large as the smallest that the test says it "+
			"could see is called leaking %.0f times of 100.\n",
		100*h.Coverage,
		100*h.Seen,
	)
	r := q.Vacuum
	w(
		"**Vacuum rise**, 10 to 90 minutes, a look every half to five minutes; leaks of 1.5 to 100 micron a minute, moisture of more than " +
			"250 micron with a time constant of 2 to 60 minutes, up to 40 micron given off by any volume. \"One found\": of leak and moisture one " +
			"is called and the other named as open.\n",
	)
	w(
		"| truth | right | one found | undecided | wrong | held 40 min and three time constants: right | one found | undecided | wrong |\n| " +
			"--- | --- | --- | --- | --- | --- | --- | --- | --- |",
	)
	for k, name := range []string{"tight", "leak", "moisture", "both"} {
		a, l := r.All[k], r.Long[k]
		w(
			"| %s | %d | %d | %d | %d | %d | %d | %d | %d |",
			name,
			a.Right,
			a.Part,
			a.Undecided,
			a.Wrong,
			l.Right,
			l.Part,
			l.Undecided,
			l.Wrong,
		)
	}
	w("\n90 %% intervals hold the true straight part %.0f and the true levelling part %.0f times of 100.\n", 100*r.LeakIn, 100*r.MoistureIn)
	c := q.Log
	w(
		"**Cold record**, three days, a reading every 1 to 15 minutes, one excursion of 1 to 12 h, doors, defrosts by the clock in two of "+
			"three. With a logger off by up to 1 K the bracket with tolerance holds the true start %.0f and the true end %.0f times of 100; with a "+
			"perfect logger the plain bracket holds the start %.0f times of 100. Excursions missed that such a logger must show: %d. The 90 %% "+
			"interval of the product's minutes above the limit holds the truth %.0f times of 100. Of the true defrosts %.0f %% are recognised; in "+
			"records without any, %d were seen.",
		100*c.StartIn,
		100*c.EndIn,
		100*c.PlainIn,
		c.Missed,
		100*c.ProductIn,
		100*c.DefrostFound,
		c.DefrostFalse,
	)
	return nil
}
