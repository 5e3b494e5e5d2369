package diagnose

import (
	"math"
	"slices"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// How the spread of a shipped population is shared out: a fifth of its variance lies between houses, a tenth between the
// sites of one house, the rest between the machines of a site. Judgement, ours: who buys from few makers, builds in one
// way and keeps machines for the same years has machines alike, but a walk-in of one room differs more from that of the
// next than one house from another. No survey of installed machines by owner is known to us. So one machine moves what
// is expected of the next at its site by less than a third of what it is off, thirty by almost all of it.
const (
	betweenHouses = 0.2
	betweenSites  = 0.1
)

// wrongLesson is how often a visit kept as healthy was not, or was misread: then its lesson lies anywhere within
// wrongSpread of the shipped spread. Judgement, ours.
const (
	wrongLesson = 0.05
	wrongSpread = 3
)

// A grid of middles, in shipped standard deviations, and of spreads between the machines of a site, as factors on the
// shipped one with their probabilities before anybody taught anything: log-normal, standard deviation 0.4, in steps of
// 0.3. Judgement, ours: houses have machines more and less alike.
const (
	gridHalf = 25 // steps to either side of the middle
	gridStep = 0.1
	middles  = 2*gridHalf + 1
	spreads  = 7
)

// tally is a log density over spread and middle.
type tally [spreads][middles]float64

// alike are the spreads, in shipped standard deviations, with their weights; passes is how likely a site's middle is
// given that of its house. The rows of passes add up to one.
var (
	alike, weight = likeness()
	passes        = passing()
)

// likeness makes the spreads so that without any lesson the machines spread as shipped.
func likeness() (s, w [spreads]float64) {
	sum, square := 0.0, 0.0
	for k := range s {
		ln := 0.3 * float64(k-spreads/2)
		s[k], w[k] = math.Exp(ln), math.Exp(-0.5*ln*ln/(0.4*0.4))
		sum += w[k]
		square += w[k] * s[k] * s[k]
	}
	within := math.Sqrt((1 - betweenHouses - betweenSites) * sum / square)
	for k := range s {
		s[k] *= within
		w[k] /= sum
	}
	return s, w
}

func passing() (k [middles][middles]float64) {
	for house := range k {
		sum := 0.0
		for site := range k[house] {
			d := gridStep * float64(site-house)
			k[house][site] = math.Exp(-0.5 * d * d / betweenSites)
			sum += k[house][site]
		}
		for site := range k[house] {
			k[house][site] /= sum
		}
	}
	return k
}

// Teacher is one machine that teaches: its lesson as a density over the middle of its site and the spread there.
type Teacher struct {
	says [reading.Traits]bool
	told [reading.Traits]tally
}

// NewTeacher prepares a machine's lesson for its [Site].
//
//   - in: the application; the lesson
//   - out: the teacher
//   - assumes: a lesson is normal about the machine's value, the machine about its site's middle; one in twenty lessons
//     is wrong and says nothing of it
//   - source: [NewHouse]
//   - cost: about 20 µs
func NewTeacher(a reading.Application, lesson Lesson) *Teacher {
	out := &Teacher{}
	for t, x := range lesson {
		if x.Sd == 0 {
			continue
		}
		out.says[t] = true
		shipped := populations[a][nuisanceOf[t]].spread
		out.told[t] = likelihood(x.Mean/shipped, x.Sd/shipped)
	}
	return out
}

// likelihood of a lesson, in shipped standard deviations.
func likelihood(mean, sd float64) (l tally) {
	far := wrongLesson * normal(mean, math.Hypot(wrongSpread, sd))
	for k := range l {
		wide := math.Hypot(alike[k], sd)
		for u := range l[k] {
			l[k][u] = math.Log((1-wrongLesson)*normal(mean-gridStep*float64(u-gridHalf), wide) + far)
		}
	}
	return l
}

func normal(x, sd float64) float64 { return math.Exp(-0.5*x*x/(sd*sd)) / (sd * math.Sqrt(2*math.Pi)) }

// Site is the machines of one application at one site that teach, and what they say of the house's middle. It is only read.
type Site struct {
	teachers []*Teacher
	says     [reading.Traits]tally
}

// NewSite adds up the lessons of a site.
//
//   - in: its machines that teach, in any order that stays the same
//   - out: the site
//   - source: [NewHouse]
//   - cost: about 0.5 ms
func NewSite(teachers []*Teacher) *Site {
	s := &Site{teachers: teachers}
	for t := range s.says {
		if sum, any := s.middle(t, nil); any {
			s.says[t] = sum.toHouse()
		}
	}
	return s
}

// House is what the machines of one application in one house taught. It is only read.
type House struct {
	application reading.Application
	sites       []*Site
}

// NewHouse puts sites together: three levels, house, sites and machines, each normal about the one above with a variance
// that is its share of the shipped one; the spread between the machines of a site is itself learned. Every sum is over
// a grid, so that lessons may be wrong (see [NewTeacher]) and nothing is approximated by a mode.
//
//		u_house ~ N(0, 0.2), u_site ~ N(u_house, 0.1), machine ~ N(u_site, s²), lesson ~ 0.95 N(machine, v) + 0.05 N(0, 9 + v)
//
//	  - in: the application; the sites whose machines teach, in any order that stays the same
//	  - out: the house
//	  - assumes: houses differ as machines do, only less; sites and machines of a house are exchangeable
//	  - source: hierarchical normal model: Gelman et al., Bayesian Data Analysis, 3rd ed. (2013), section 5.4 (from memory);
//	    the same idea with estimated shrinkage: Efron and Morris (1975), J. Am. Stat. Assoc. 70:311-319, which the test reckons
//	  - cost: nothing until it is asked
func NewHouse(a reading.Application, sites []*Site) *House { return &House{a, sites} }

// middle adds up what the machines of a site say of its middle, but for one.
func (s *Site) middle(t int, but *Teacher) (sum tally, any bool) {
	for _, x := range s.teachers {
		if x == but || !x.says[t] {
			continue
		}
		any = true
		for k := range sum {
			for u := range sum[k] {
				sum[k][u] += x.told[t][k][u]
			}
		}
	}
	return sum, any
}

// toHouse turns what is said of a site's middle into what that says of its house's.
func (l *tally) toHouse() (out tally) {
	for k := range l {
		most := math.Inf(-1)
		for _, x := range l[k] {
			most = math.Max(most, x)
		}
		var p [middles]float64
		for u, x := range l[k] {
			p[u] = math.Exp(x - most)
		}
		for house := range out[k] {
			sum := 0.0
			for site, x := range passes[house] {
				sum += x * p[site]
			}
			out[k][house] = most + math.Log(sum)
		}
	}
	return out
}

// Learned is what is to be expected of another machine of the house at a site; of a machine that teaches itself, without
// its own lesson: that enters its judgement by its own healthy visits.
//
//   - in: the site, nil where none of its machines teaches; the machine's own teacher, nil where it is none
//   - out: middle and spread of each trait; nil where nobody else teaches
//   - assumes: as [NewHouse]
//   - source: mean and variance of the predictive distribution, by the same sums
//   - cost: about 0.5 ms
func (h *House) Learned(at *Site, own *Teacher) *reading.Learned {
	out := &reading.Learned{}
	for _, s := range h.sites {
		for _, x := range s.teachers {
			if x == own {
				continue
			}
			out.Machines++
			if s == at {
				out.Here++
			}
		}
	}
	if out.Machines == 0 {
		return nil
	}
	for t := range out.Of {
		var house, here tally
		taught := false
		for _, s := range h.sites {
			if s == at {
				sum, any := s.middle(t, own)
				here, taught = sum, taught || any
				continue
			}
			for k := range house {
				for u := range house[k] {
					house[k][u] += s.says[t][k][u]
				}
			}
			taught = taught || slices.ContainsFunc(s.teachers, func(x *Teacher) bool { return x.says[t] })
		}
		if !taught {
			continue
		}
		mean, sd := predict(&house, &here)
		shipped := populations[h.application][nuisanceOf[t]].spread
		out.Of[t] = reading.Usual{Shift: mean * shipped, Spread: sd * shipped}
	}
	return out
}

// predict is mean and standard deviation of the next machine at a site, in shipped standard deviations, from what the
// other sites say of the house and the machines of this one of its middle.
func predict(house, here *tally) (mean, sd float64) {
	most := math.Inf(-1)
	var joint tally
	for k := range joint {
		top := math.Inf(-1)
		for u := range house[k] {
			z := gridStep * float64(u-gridHalf)
			joint[k][u] = house[k][u] - 0.5*z*z/betweenHouses
			top = math.Max(top, joint[k][u])
		}
		var p, site [middles]float64
		for u, x := range joint[k] {
			p[u] = math.Exp(x - top)
		}
		for h := range p {
			for u := range site {
				site[u] += p[h] * passes[h][u]
			}
		}
		for u := range site {
			joint[k][u] = top + math.Log(site[u]) + here[k][u] + math.Log(weight[k])
			most = math.Max(most, joint[k][u])
		}
	}
	var sum, first, second float64
	for k := range joint {
		for u, x := range joint[k] {
			p, z := math.Exp(x-most), gridStep*float64(u-gridHalf)
			sum += p
			first += p * z
			second += p * (z*z + alike[k]*alike[k])
		}
	}
	mean = first / sum
	return mean, math.Sqrt(second/sum - mean*mean)
}

// Middle is the middle of the shipped population for a trait of an application's machine as shifted by what was
// learned: K of TD and split, superheat over TD, share of liquid cooling, efficiency.
//
//   - in: the application; a trait; a shift in the space of [reading.Learned]
//   - out: the value
//   - source: population.json and [plant.FromMachine]
func Middle(a reading.Application, t reading.Trait, by float64) float64 {
	m, _ := reading.Machine{Application: a}.Resolve()
	d := plant.FromMachine(m)
	x := populations[a][nuisanceOf[t]]
	switch t {
	case reading.TraitTD:
		mean, _ := x.prior(d.TD, false)
		return d.TD * math.Exp(mean+by)
	case reading.TraitSplit:
		mean, _ := x.prior(d.Split, false)
		return d.Split * math.Exp(mean+by)
	case reading.TraitSuperheat:
		return 1 / (1 + (1-d.SHRatio)/d.SHRatio*math.Exp(-by))
	case reading.TraitLiquidCooling:
		return d.LiquidCool * math.Exp(by)
	}
	mean, _ := x.prior(d.Eta, false)
	return d.Eta * math.Exp(mean+by)
}
