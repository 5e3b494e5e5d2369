package diagnose

import (
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// prior of the nuisances: z = mean + L·ξ with ξ standard normal; L lower triangular, row-major, in units of each nuisance.
type prior struct {
	mean [plant.NumNuisances]float64
	l    [plant.NumNuisances * plant.NumNuisances]float64
}

// statedShrink narrows TD and split when somebody states them: a stated value is nominal, not measured at today's temperatures. Judgement.
const statedShrink = 0.75

func basePrior(m reading.Resolved, e *evidence) prior {
	var p prior
	for i, n := range plant.Nuisances() {
		sd := n.Sd
		switch i {
		case plant.NBox:
			sd = e.boxU
		case plant.NAmbient:
			sd = e.ambU
		case plant.NTD:
			if m.TDKnown {
				sd *= statedShrink
			}
		case plant.NSplit:
			if m.SplitKnown {
				sd *= statedShrink
			}
		}
		p.l[i*plant.NumNuisances+i] = sd
	}
	return p
}
