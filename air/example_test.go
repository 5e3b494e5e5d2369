package air_test

import (
	"fmt"

	"coldwright/air"
)

// What a cubic metre of kitchen air brings into a freezer: 25 °C at 50 % against -18 °C at 90 %, at sea level.
func Example() {
	out, err := air.FromRH(298.15, 0.5, 101325)
	if err != nil {
		fmt.Println(err)
		return
	}
	in, err := air.FromRH(255.15, 0.9, 101325)
	if err != nil {
		fmt.Println(err)
		return
	}
	dry := out.Rho / (1 + out.W)
	fmt.Printf("%.0f kJ and %.1f g of water\n", dry*(out.H-in.H)/1e3, 1e3*dry*(out.W-in.W))
	// Output: 78 kJ and 10.7 g of water
}
