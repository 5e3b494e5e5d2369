package circuit_test

import (
	"fmt"

	"coldwright/machine/circuit"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Two gauges and three thermometers on a walk-in cooler: what follows from them, each with its standard uncertainty.
func ExampleAnalyze() {
	r, err := refrigerant.Load("R-134a")
	if err != nil {
		fmt.Println(err)
		return
	}
	fit, err := r.Fit()
	if err != nil {
		fmt.Println(err)
		return
	}
	psia := func(psig float64) float64 { return float64(units.Psig(psig).Absolute(units.Atm)) }
	f := func(t float64) float64 { return float64(units.Fahrenheit(t)) }
	a := circuit.Analyze(reading.Sheet{
		Machine: reading.Machine{Refrigerant: "R-134a", Application: reading.WalkInCooler},
		Readings: []reading.Reading{
			{At: reading.BoxAir, Value: f(36)},
			{At: reading.Ambient, Value: f(85)},
			{At: reading.SuctionPressure, Value: psia(21)},
			{At: reading.DischargePressure, Value: psia(140)},
			{At: reading.CoilOutletLine, Value: f(33)},
			{At: reading.LiquidLine, Value: f(101)},
		},
	}, fit)
	for _, key := range []string{circuit.Superheat, circuit.Subcooling, circuit.TD, circuit.Split} {
		if q, ok := a.Find(key); ok {
			fmt.Printf("%s %.1f ± %.1f\n", key, q.Value, q.U)
		}
	}
	// Output:
	// superheat_k 5.3 ± 1.2
	// subcooling_k 3.5 ± 1.3
	// td_k 6.9 ± 1.1
	// split_k 12.4 ± 1.5
}
