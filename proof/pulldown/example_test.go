package pulldown_test

import (
	"fmt"

	"coldwright/proof/pulldown"
	"coldwright/units"
)

// A freezer read for half an hour after a repair: will it hold today?
func Example() {
	var points []pulldown.Point
	for _, x := range [][2]float64{{0, 9}, {18, 3}, {26, 1}} {
		points = append(points, pulldown.Point{Minute: x[0], Box: units.Fahrenheit(x[1])})
	}
	r, err := pulldown.Judge(points, pulldown.Options{SetPoint: units.Fahrenheit(0)})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(r.Verdict, "likelier than not at the set point within six hours:", r.PReaches6h > 0.5)
	// Output: falling likelier than not at the set point within six hours: true
}
