package water_test

import (
	"fmt"

	"coldwright/water"
)

// How far must a vacuum go before ice in a coil at -20 °C boils off, and how much water do 20 litres of that vapour hold?
func Example() {
	p, err := water.VapourPressure(253.15)
	if err != nil {
		fmt.Println(err)
		return
	}
	m, err := water.Mass(p, 0.020, 293.15)
	fmt.Printf("%.1f Pa; %.1f mg (%v)\n", p, 1e6*m, err)
	// Output: 103.2 Pa; 15.3 mg (<nil>)
}
