package casebook

import (
	"slices"

	"coldwright/diagnose"
	"coldwright/machine/fault"
)

// InstrumentScore is how a lying instrument is found, alone or beside a fault of the circuit.
type InstrumentScore struct {
	N               int
	First, FirstTwo float64
	CircuitFirst    float64 // the true fault of the circuit has the highest probability of all faults of the circuit
	Misled          float64 // a fault of the circuit that is not there has more than one half
	Probability     float64 // mean, of the instrument
}

// RateInstrument scores answers to visits whose first cause is a lying instrument and whose second, if any, is a fault of the circuit.
//
//   - in: visits and their answers
//   - out: the score
//   - source: definition
func RateInstrument(visits []Visit, answers []diagnose.Posterior) InstrumentScore {
	sc := InstrumentScore{N: len(visits)}
	each := 1 / float64(len(visits))
	for i := range visits {
		order, probs := ranked(&answers[i])
		causes := visits[i].Causes
		instrument, circuit := causes[0].Code, fault.Unknown
		if len(causes) > 1 {
			circuit = causes[1].Code.Inseparable()
		}
		top := slices.IndexFunc(order, func(c fault.Code) bool { return c.Circuit() })
		misled := slices.ContainsFunc(order, func(c fault.Code) bool { return c.Circuit() && c != circuit && probs[c] > 0.5 })
		sc.First += each * indicator(order[0] == instrument)
		sc.FirstTwo += each * indicator(slices.Contains(order[:2], instrument))
		sc.CircuitFirst += each * indicator(top >= 0 && order[top] == circuit)
		sc.Misled += each * indicator(misled)
		sc.Probability += each * probs[instrument]
	}
	return sc
}
