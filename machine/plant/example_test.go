package plant_test

import (
	"fmt"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// A walk-in freezer with R-404A: what it shows in sound condition, and with its condenser half blocked.
func ExampleNew() {
	r, err := refrigerant.Load("R-404A")
	if err != nil {
		fmt.Println(err)
		return
	}
	fit, err := r.Fit()
	if err != nil {
		fmt.Println(err)
		return
	}
	machine, _ := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer}.Resolve()
	p, err := plant.New(plant.FromMachine(machine), fit)
	if err != nil {
		fmt.Println(err)
		return
	}
	in := plant.Inputs{BoxT: float64(units.Fahrenheit(0)), AmbientT: float64(units.Fahrenheit(80))}
	for _, lost := range []float64{0, 0.5} {
		state := p.Solve(in, plant.Change{CondenserAir: lost}, plant.Options{})
		fmt.Printf("%.0f %% of the condenser's air lost: evaporating %.1f °F, condensing %.1f °F, capacity %.2f, power %.2f\n",
			100*lost, units.Temp(state.Out[plant.SuctionDew]).F(), units.Temp(state.Out[plant.DischargeDew]).F(),
			state.Out[plant.Capacity], state.Out[plant.PowerRatio])
	}
	// Output:
	// 0 % of the condenser's air lost: evaporating -14.2 °F, condensing 114.5 °F, capacity 1.21, power 1.02
	// 50 % of the condenser's air lost: evaporating -11.4 °F, condensing 136.9 °F, capacity 0.92, power 1.14
}
