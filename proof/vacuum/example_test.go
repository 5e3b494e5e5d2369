package vacuum_test

import (
	"fmt"
	"math"

	"coldwright/proof/vacuum"
	"coldwright/units"
)

// The gauge climbs by 1500 micron and levels off within minutes, far below what water at 18 °C could stand at.
func Example() {
	var points []vacuum.Point
	for m := 0.0; m <= 40; m++ {
		micron := math.Round(200 + 1500*(1-math.Exp(-m/8)))
		points = append(points, vacuum.Point{Minute: m, Pressure: units.Pressure(micron * units.Micron)})
	}
	r, err := vacuum.Judge(points, vacuum.Options{Coldest: units.Celsius(18)})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%v, levels off in about %.0f minutes\n", r.Verdict, r.Tau)
	// Output: moisture, levels off in about 8 minutes
}
