package fault

import "slices"

// PriorStrength is how many confirmed repairs the shipped base rates weigh as much as. Judgement: the ranges the
// catalogue gives for the four most common causes, read as 90 % intervals, are as wide as those of 29 to 45 repairs
// seen; the rarer ones would allow about 130, which would learn more slowly.
const PriorStrength = 40

// Learn returns the catalogue with its base rates brought up to what repairs have confirmed: the posterior mean of a
// Dirichlet distribution whose prior mean is the catalogue's and whose prior counts for [PriorStrength] repairs.
//
//   - in: confirmed repairs by cause; causes that are not in the catalogue and counts that are not above 0 are left out
//   - out: a catalogue of its own; the sum of its rates, the rates of healthy and none, and the ranges stay as they are
//   - assumes: every repair confirms one cause, and which repairs are confirmed does not depend on the cause
//   - source: Dirichlet–multinomial conjugacy, Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), section 3.4 (from memory)
//   - cost: a copy of the catalogue's rows
func (c Catalogue) Learn(counts map[Code]float64) Catalogue {
	c.Faults = slices.Clone(c.Faults)
	rates, seen := 0.0, 0.0
	for _, f := range c.Faults {
		rates += f.BaseRate
		seen += above(counts[f.Code])
	}
	if !(seen > 0) {
		return c
	}
	for i := range c.Faults {
		f := &c.Faults[i]
		f.BaseRate = (PriorStrength*f.BaseRate + rates*above(counts[f.Code])) / (PriorStrength + seen)
	}
	return c
}

// above is n where it is above 0, else 0; not a number is 0 as well.
func above(n float64) float64 {
	if n > 0 {
		return n
	}
	return 0
}
