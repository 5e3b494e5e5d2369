package main

import (
	"coldwright/gasflow"
	"coldwright/leak"
	"coldwright/refrigerant"
)

var planText = map[leak.Plan]string{
	leak.FixedOrder:  "place after place, probe and bubbles in turn",
	leak.WeightOrder: "the same, likeliest places first",
	leak.BestNext:    "best next place and tool, chance per minute",
	leak.WithHistory: "the same, four earlier leaks of the machine known",
}

// leakSection simulates leak searches and writes how long each way of searching takes.
func leakSection(w func(string, ...any), seed uint64) error {
	c, err := leak.Shipped()
	if err != nil {
		return err
	}
	r, err := refrigerant.Load("R-404A")
	if err != nil {
		return err
	}
	gas, err := gasflow.Vapour(r, gasflow.Room)
	if err != nil {
		return err
	}
	const n = 2000
	w("\n## Finding the leak\n")
	w(
		"%d **simulated** machines with one leak each: 4 kg of R-404A, running, half of them in a draught. Each machine has its own habit of "+
			"leaking, which the search does not know but for what earlier leaks tell; sizes come from the prior. Chances of detection are those of "+
			"the catalogue, mostly judgement: the table compares orders of search, not probes. Not found within 240 minutes counts as 240.\n",
		n,
	)
	w("| way | mean minutes | median | found within an hour | found at all | false alarms a search |")
	w("| --- | --- | --- | --- | --- | --- |")
	for _, s := range c.Evaluate(seed, n, gas) {
		w("| %s | %.0f | %.0f | %s | %s | %.2f |", planText[s.Plan], s.MeanMinutes, s.Median, pc(s.Within60), pc(s.Within), s.FalseAlarms)
	}
	return nil
}
