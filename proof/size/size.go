package size

import (
	"math"

	"coldwright/gasflow"
	"coldwright/num"
	"coldwright/refrigerant"
	"coldwright/units"
	"coldwright/verdict/threshold"
)

// Leak is a leak in the ways a mechanic meets it.
type Leak struct {
	Refrigerant  string         // designation
	Working      units.Pressure // absolute, at which the refrigerant stands at the hole
	GramsPerYear float64        // through the same hole
	Viscous      float64        // g/year, were the hole so long that friction alone holds it back
	Molecular    float64        // g/year, if the hole passed gas molecule by molecule
}

// warmDay is the saturation at which the refrigerant is taken to stand: 40 °C (104 °F), the condensing side on a warm
// day; judgement, ours: leaks there lose most. A refrigerant with a lower critical point is taken belowCritical under it.
const (
	warmDay       = num.ZeroCelsius + 40
	belowCritical = 5 // K
)

// Of expresses the flow of a test gas as a refrigerant's leak through the same hole.
//
//   - in: the refrigerant and the pressure at which it stands, Pa absolute, 0 for its dew pressure at 40 °C; the flow of
//     the test gas and how it was driven; the atmosphere outside, Pa
//   - out: the leak through the same hole, with its bounds
//   - errors: those of the refrigerant's dew and bubble point
//   - assumes: one hole, gas at the hole, 20 °C both times
//   - source: [gasflow.HoleOf], [gasflow.Hole.Flow]; bounds: [gasflow.Ratio]
//   - cost: two saturation points
func Of(r *refrigerant.Refrigerant, working units.Pressure, flow gasflow.Flow, test gasflow.Drive, outside units.Pressure) (Leak, error) {
	if working <= 0 {
		e, err := r.DewT(math.Min(warmDay, r.Limits().TCrit-belowCritical), refrigerant.Options{})
		if err != nil {
			return Leak{}, err
		}
		working = units.Pressure(e.P)
	}
	vapour, err := gasflow.Vapour(r, gasflow.Room)
	if err != nil {
		return Leak{}, err
	}
	running := gasflow.Drive{Gas: vapour, Inside: float64(working), Outside: float64(outside)}
	year := func(f gasflow.Flow) float64 { return f.GramsPerYear(vapour.MolarMass) }
	bound := func(molecular float64) float64 {
		return year(flow * gasflow.Flow(gasflow.Ratio(test, running, molecular)))
	}
	return Leak{r.Designation(), working, year(gasflow.HoleOf(flow, test).Flow(running)), bound(0), bound(1)}, nil
}

// Largest is the largest of leaks, g/year; nil of none.
func Largest(all []Leak) *float64 {
	if len(all) == 0 {
		return nil
	}
	g := all[0].GramsPerYear
	for _, l := range all[1:] {
		g = math.Max(g, l.GramsPerYear)
	}
	return &g
}

// TightBelow is the loss in a year, g, below which what a test could not have seen does not matter; nil for a charge that
// is not known.
//
//   - source: [threshold.TightPerYear]
func TightBelow(charge units.Mass) *float64 {
	if !(charge > 0) {
		return nil
	}
	g := threshold.TightPerYear * float64(charge) * units.Kilo
	return &g
}

// Tight reports whether a test that excludes a leak may say tight: what it could not have seen is known and does not matter.
func Tight(unseen, below *float64) bool { return unseen != nil && below != nil && *unseen < *below }
