package standing_test

import (
	"fmt"

	"coldwright/proof/standing"
	"coldwright/units"
)

// Nitrogen stood overnight and it got 20 °F colder: the pressure fell, but nothing was lost.
func Example() {
	look := func(minute, psig, gas float64) standing.Point {
		return standing.Point{
			Minute: minute, Pressure: units.Psig(psig).Absolute(units.Atm), Gas: []units.Temp{units.Fahrenheit(gas)},
		}
	}
	plate := units.Psig(250).Absolute(units.Atm)
	r, err := standing.Judge(
		[]standing.Point{look(0, 300, 75), look(1440, 287.5, 55)},
		standing.Options{Gauge: true, Nameplate: []units.Pressure{plate}},
	)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Verdict, r.Cautions[0])
	// Output: no_leak_seen above_lowest_nameplate
}
