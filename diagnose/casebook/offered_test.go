package casebook

import (
	"context"
	"slices"
	"testing"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
)

// TestNext_Offered: what alone decides a cause is offered in time: read as advised from two gauges, the air and the
// glass, the coil's pressure is on the list for a restricted suction line, and the standing pressure for gas that does not
// condense. Steps are readings taken after the first four.
func TestNext_Offered(t *testing.T) {
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	var fits Fits
	w := World{Kind: WalkIn, Law: Spread}
	visits, most := 24, 8
	if testing.Short() {
		visits = 4
	}
	for _, c := range []struct {
		cause  fault.Code
		at     reading.Place
		latest int
	}{{fault.SuctionRestriction, reading.CoilPressure, 3}, {fault.Noncondensables, reading.StandingPressure, 6}} {
		row, _ := cat.Find(c.cause)
		list, err := w.VisitsOf(11, visits, &fits, 0, row)
		if err != nil {
			t.Fatal(err)
		}
		var offered []int
		never := 0
		for i := range list {
			see := View{Set: 'a'}
			first := most
			for step := range most {
				ev := diagnose.Evidence{Sheet: list[i].Sheet(see), Fit: list[i].Fit}
				p, err := diagnose.Run(context.Background(), ev, diagnose.Options{NoPairs: true})
				if err != nil {
					t.Fatal(err)
				}
				if slices.ContainsFunc(p.Next, func(n diagnose.Next) bool { return n.At == c.at.String() }) {
					first = step
					break
				}
				next := ""
				for _, n := range p.Next {
					if !slices.Contains(see.With, n.At) {
						next = n.At
						break
					}
				}
				if next == "" || p.Advice.Code != diagnose.AdviseRead {
					break
				}
				see.With = append(see.With, next)
				if next == reading.DrierOut.String() {
					see.With = append(see.With, reading.DrierIn.String())
				}
			}
			if first == most {
				never++
				continue
			}
			offered = append(offered, first)
		}
		slices.Sort(offered)
		t.Logf("%s: %s offered after %v readings, never in %d of %d", c.cause, c.at, offered, never, visits)
		// Of 24 visits each: the coil's pressure after 2 readings at the latest, the standing pressure after 5, half of them
		// after 2. Three little amounts of gas are read as a sound machine or a condenser short of air, and no reading parts
		// them from it by enough to be worth its time.
		if never > visits/8 || offered[len(offered)-1] > c.latest || offered[len(offered)/2] > 3 {
			t.Errorf("%s: %s offered after %v readings, never in %d of %d", c.cause, c.at, offered, never, visits)
		}
	}
}
