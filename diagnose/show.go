package diagnose

import (
	"slices"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

// Shown is what a perfect instrument shows at a place of a machine in a steady state.
//
//   - in: the place; where the machine stands; its outputs; rated current, A; the fit of its refrigerant
//   - out: Pa absolute, K or A; false where the model has no such reading
//   - source: definition; the same outputs a judgement compares with
func Shown(at reading.Place, in plant.Inputs, out *plant.Outputs, rated float64, f *refrigerant.Fit) (float64, bool) {
	switch at {
	case reading.BoxAir, reading.BoxDisplay:
		return in.BoxT, true
	case reading.Ambient:
		return in.AmbientT, true
	case reading.DrierIn:
		return out[plant.LiquidLineT], true
	case reading.DrierOut:
		return out[plant.LiquidLineT] - out[plant.DrierDrop], true
	}
	c, ok := channels[at]
	if !ok {
		return 0, false
	}
	switch at.Kind() {
	case reading.KindPressure:
		return f.DewT(out[c.out]), true
	case reading.KindCurrent:
		return rated * out[c.out], rated > 0
	}
	return out[c.out], true
}

// Modelled is what of the machine a place shows, and how far a judgement takes the model to be off there.
//
//   - in: the place
//   - out: the output; standard deviation in the output's unit; false for places that a judgement compares with nothing of the plant
//   - source: judgement, ours: see the table of places
func Modelled(at reading.Place) (out plant.Output, discrepancy float64, ok bool) {
	if at == reading.Power {
		return plant.PowerRatio, channels[reading.Amps].discrepancy, true // amps are a straight line of it
	}
	c, ok := channels[at]
	return c.out, c.discrepancy, ok
}

// Assumed is the text of the tables of machines that a judgement takes for granted.
//
//   - out: population.json and discrepancy.json
//   - source: the rows' own
func Assumed() []byte { return slices.Concat(populationFile, discrepancyFile) }

// Chance is an answer of something seen, with its probability.
type Chance struct {
	Word string
	P    float64
}

// Chances are the answers something seen can have on a machine in a steady state.
//
//   - in: key of the thing seen; outputs; what is wrong
//   - out: answers whose probabilities add up to 1; nil for what the model does not predict
//   - source: the probabilities a judgement weighs with
func Chances(key string, out *plant.Outputs, ch plant.Change) []Chance {
	var all []Chance
	levels := func(p func(reading.Level) float64) {
		for l := reading.None; l <= reading.Heavy; l++ {
			all = append(all, Chance{l.String(), p(l)})
		}
	}
	mark := func(p float64) {
		all = append(all, Chance{reading.NotSeen.String(), 1 - p}, Chance{reading.SeenMark.String(), p})
	}
	switch key {
	case "glass":
		for g := reading.Clear; g <= reading.Empty; g++ {
			all = append(all, Chance{g.String(), pGlass(g, out[plant.GlassQuality])})
		}
	case "condenser_dirt":
		levels(func(l reading.Level) float64 { return pDirt(l, ch.CondenserAir) })
	case "coil_ice":
		levels(func(l reading.Level) float64 { return pIce(l, ch.CoilAir) })
	case "oil_marks":
		mark(pOil(ch.LowCharge > 0))
	case "frost_on_compressor":
		mark(pFrost(wetSuction(out), reading.LevelUnknown, false))
	}
	return all
}

// Together reports whether two faults can be there at once.
func Together(a, b fault.Code) bool { return a != b && !opposite(a, b) }
