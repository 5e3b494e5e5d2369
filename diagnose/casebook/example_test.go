package casebook_test

import (
	"context"
	"fmt"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
)

// Ten visits to walk-ins whose condensers are dirty, worse than the median, read fully and judged.
func ExampleWorld_VisitsOf() {
	cat, err := fault.Shipped()
	if err != nil {
		fmt.Println(err)
		return
	}
	dirty, _ := cat.Find(fault.CondenserAir)
	walkIns := casebook.World{Kind: casebook.WalkIn, Law: casebook.Spread}
	var fits casebook.Fits
	visits, err := walkIns.VisitsOf(1, 10, &fits, 0, dirty)
	if err != nil {
		fmt.Println(err)
		return
	}
	answers, err := casebook.Judge(context.Background(), visits, casebook.View{Set: casebook.Full}, diagnose.Options{NoPairs: true})
	if err != nil {
		fmt.Println(err)
		return
	}
	found := 0
	for _, a := range answers {
		if a.Ranked[0].Name() == "condenser_air" {
			found++
		}
	}
	fmt.Println(found, "of", len(visits))
	// Output:
	// 9 of 10
}
