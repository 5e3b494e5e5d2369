package diagnose

import (
	"math"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

// nuisanceOf says which nuisance of the plant a trait is.
var nuisanceOf = [reading.Traits]int{
	reading.TraitTD: plant.NTD, reading.TraitSplit: plant.NSplit, reading.TraitSuperheat: plant.NSHRatio,
	reading.TraitLiquidCooling: plant.NLiquidCool, reading.TraitEfficiency: plant.NEta,
}

// takes puts what other machines taught in the place of what was shipped, where nobody stated the value of this one: a
// plate speaks of its own machine.
func (p *prior) takes(l *reading.Learned, said reading.Machine, m reading.Resolved) {
	if l == nil {
		return
	}
	stated := [reading.Traits]bool{
		reading.TraitTD: m.TDKnown, reading.TraitSplit: m.SplitKnown, reading.TraitSuperheat: said.Design.Superheat != nil,
	}
	for t, u := range l.Of {
		if u.Spread > 0 && !stated[t] {
			i := nuisanceOf[t]
			p.mean[i] += u.Shift
			p.l[i*plant.NumNuisances+i] = u.Spread
		}
	}
}

// Lesson is what the healthy visits of one machine say of its design by themselves: each trait against the middle of
// the shipped population, as if it had been measured with this standard deviation. Sd 0: they say nothing of it.
type Lesson [reading.Traits]struct{ Mean, Sd float64 }

// leastTold is the least by which visits must narrow a trait before they count as having said something of it: a
// twentieth of what was known. Judgement, ours: less is noise of the fit.
const leastTold = 0.05

// LessonOf reads a lesson from the healthy visits of one machine.
//
// The visits' posterior, started from the shipped population N(m₀, s₀²), is N(m₁, s₁²) in each trait; what they say
// without it is the normal that makes the one out of the other: 1/v = 1/s₁² − 1/s₀², y = v (m₁/s₁² − m₀/s₀²). Where the
// plate states a value, y is counted from the population's middle all the same.
//
//   - in: sheets of one machine, the oldest first, its plate the same in all; the fit of its refrigerant; the catalogue
//   - out: the lesson; false without a visit, or with one that cannot be judged
//   - assumes: nothing was wrong at these visits; the traits' errors do not hang together
//   - source: Bayes' rule for normal densities; the posterior is that of [Run] for healthy visits on file
//   - cost: about 2 ms a visit
func LessonOf(visits []reading.Sheet, f *refrigerant.Fit, cat *fault.Catalogue) (out Lesson, ok bool) {
	if len(visits) == 0 {
		return out, false
	}
	s := visits[len(visits)-1]
	s.HealthyVisits, s.Learned, s.RoomLoad = visits, nil, nil
	m, _ := s.Machine.Resolve()
	first, err := setUp(s, m, f, cat)
	if err != nil {
		return out, false
	}
	// Of the machines this may be the one that explains the visits best speaks.
	var q *problem
	best := math.Inf(-1)
	for _, v := range first.structures(f) {
		if at := v.learnVisits() + math.Log(v.weight); q == nil || at > best {
			q, best = v, at
		}
	}
	started := basePrior(q.sheet.Machine, q.m, &q.e)
	return q.told(&started), true
}

// told is what turned the prior it started from into what is known now of the machine at its design point.
func (q *problem) told(started *prior) (out Lesson) {
	bare := q.sheet.Machine
	bare.Design.TD, bare.Design.Split, bare.Design.Superheat = nil, nil, nil
	usual, _ := bare.Resolve()
	usual.Expansion, usual.Receiver = q.m.Expansion, q.m.Receiver
	d, d0 := q.design, plant.FromMachine(usual)
	logit := func(x float64) float64 { return math.Log(x / (1 - x)) }
	from := [reading.Traits]float64{
		reading.TraitTD:            math.Log(d.TD / d0.TD),
		reading.TraitSplit:         math.Log(d.Split / d0.Split),
		reading.TraitSuperheat:     logit(d.SHRatio) - logit(d0.SHRatio),
		reading.TraitLiquidCooling: math.Log(d.LiquidCool / d0.LiquidCool),
		reading.TraitEfficiency:    math.Log(d.Eta / d0.Eta),
	}
	of := populations[q.m.Application]
	middle := [reading.Traits]float64{}
	middle[reading.TraitTD], _ = of[plant.NTD].prior(d0.TD, false)
	middle[reading.TraitSplit], _ = of[plant.NSplit].prior(d0.Split, false)
	middle[reading.TraitEfficiency], _ = of[plant.NEta].prior(d0.Eta, false)
	for t := range out {
		i := nuisanceOf[t]
		was, is := started.l[i*plant.NumNuisances+i], q.of.cov[i*numHidden+i]
		was *= was
		told := 1/is - 1/was
		if !(told > leastTold/was) {
			continue
		}
		out[t].Mean = (q.of.mean[i]/is-started.mean[i]/was)/told + from[t] - middle[t]
		out[t].Sd = math.Sqrt(1 / told)
	}
	return out
}
