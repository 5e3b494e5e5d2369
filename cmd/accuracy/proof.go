package main

import (
	"coldwright/proof/casebook"
	"coldwright/proof/pulldown"
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
	return pullSection(w, seed)
}

// pullSection writes how often the bands of a pull-down hold, box by box.
func pullSection(w func(string, ...any), seed uint64) error {
	const n = 200
	w("\n## Pull-down\n")
	w(
		"%d boxes of each kind, stepped in heat flows by a simulator of its own structure (proof/casebook): bodies, a machine that loses "+
			"capacity as the box cools, walls against the day, a thermometer that lags and drifts; read three times in half an hour up to "+
			"every 12 seconds for hours. 90 %% bands at 1, 2 and 6 h. Stalling: boxes that end 5 to 10 °F above their set point. Seed %d. "+
			"Simulated, not field data.\n",
		n, seed,
	)
	w("| box | air in the band at 1, 2, 6 h | width, K | called falling, of them there in 6 h | stalling boxes called falling |\n" +
		"| --- | --- | --- | --- | --- |")
	names := map[casebook.Box]string{
		casebook.OneBody: "one body", casebook.TwoBodies: "two bodies", casebook.ThreeBodies: "three bodies", casebook.FourBodies: "four bodies",
		casebook.WithControl: "three bodies, control", casebook.WithDoors: "control, doors opened", casebook.WithDefrost: "control, defrosts",
	}
	for _, b := range casebook.Boxes() {
		q, err := casebook.EvaluatePull(seed, n, b)
		if err != nil {
			return err
		}
		f := q.Verdicts[pulldown.Falling]
		w("| %s | %.0f, %.0f, %.0f %% | %.1f, %.1f, %.1f | %d, %d | %d of %d |", names[b], 100*q.In[0], 100*q.In[1], 100*q.In[2],
			q.Wide[0], q.Wide[1], q.Wide[2], f[0], f[1], q.Falling, q.Stalling)
	}
	return nil
}
