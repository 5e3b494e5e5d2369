package gasflow_test

import (
	"fmt"

	"coldwright/gasflow"
)

// A leak that loses 30 g of propane a year at 9 bar: what a bubble test sees of it with nitrogen at 20 bar.
func Example() {
	propane := gasflow.Gas{MolarMass: 0.0441, Viscosity: 8.0e-6}
	leak := gasflow.PerYear(30, propane.MolarMass)
	running := gasflow.Drive{Gas: propane, Inside: 9e5, Outside: 1e5}
	testing := gasflow.Drive{Gas: gasflow.Nitrogen(gasflow.Room), Inside: 20e5, Outside: 1e5}
	found := leak * gasflow.Flow(gasflow.Ratio(running, testing, 0))
	fmt.Printf("%.2g std cm³/s of propane, %.2g of nitrogen\n", leak.StandardCC(), found.StandardCC())
	// Output: 0.00048 std cm³/s of propane, 0.0011 of nitrogen
}
