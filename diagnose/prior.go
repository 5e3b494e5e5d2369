package diagnose

import (
	"math"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// prior of the nuisances: z = mean + L·ξ with ξ standard normal; L lower triangular, row-major, in units of each nuisance.
type prior struct {
	mean [plant.NumNuisances]float64
	l    [plant.NumNuisances * plant.NumNuisances]float64
}

// basePrior is what is known before anything is read: the machines of the application, narrowed by what was stated, and
// the two temperatures read today.
func basePrior(said reading.Machine, m reading.Resolved, e *evidence) prior {
	var p prior
	d := plant.FromMachine(m)
	of := populations[m.Application]
	for i, n := range plant.Nuisances() {
		sd := n.Sd
		x := of[i]
		switch i {
		case plant.NBox:
			sd = e.boxU
		case plant.NAmbient:
			sd = e.ambU
		case plant.NHumidity:
			if e.humidU > 0 {
				p.mean[i], sd = e.humid, math.Min(sd, e.humidU)
			}
		case plant.NTD:
			p.mean[i], sd = x.prior(d.TD, m.TDKnown)
		case plant.NSplit:
			p.mean[i], sd = x.prior(d.Split, m.SplitKnown)
		case plant.NEta:
			p.mean[i], sd = x.prior(d.Eta, false)
		case plant.NSHRatio:
			sd = x.spread
			if said.Design.Superheat != nil {
				sd = x.stated
			}
		case plant.NHeadSet:
			sd = x.spread
			if said.HeadSet != nil {
				sd = x.stated
			}
		case plant.NSuctionDrop, plant.NSuctionNTU:
			if x.spread > 0 {
				sd = x.spread
			}
			if said.LineLength != nil {
				sd = statedLines(i, sd)
			}
		default:
			if x.spread > 0 {
				sd = x.spread
			}
		}
		p.l[i*plant.NumNuisances+i] = sd
	}
	return p
}

// statedLines is what is not known of lines whose length is stated, of which sd is not known else.
func statedLines(i int, sd float64) float64 {
	drop, gain := plant.StatedLines()
	if i == plant.NSuctionDrop {
		return math.Min(sd, drop)
	}
	return math.Min(sd, gain)
}

// drift is the standard deviation by which a design value of one machine differs between two visits: a fifth of what is
// unknown of a machine whose values are stated. Judgement, ours: parts age, and a narrower prior than that would be sure
// of what it has seen once.
func drift(m reading.Resolved, i int) float64 {
	const share = 0.2
	if x := populations[m.Application][i]; x.spread > 0 {
		return share * x.stated
	}
	return share * plant.Nuisances()[i].Sd
}

// How often nothing is wrong with the machine, by why somebody came; where nobody says, the catalogue's mixture of both.
// Judgement, ours: of complaints about a box few find nothing at all; of visits that were due most do.
const (
	healthyOnComplaint = 0.05
	healthyWhenPlanned = 0.75
)

func (q *problem) healthyRate() float64 {
	switch q.sheet.Reason {
	case reading.Complaint:
		return math.Min(q.cat.HealthyRate, healthyOnComplaint)
	case reading.Planned:
		return math.Max(q.cat.HealthyRate, healthyWhenPlanned)
	}
	return q.cat.HealthyRate
}
