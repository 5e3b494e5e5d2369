package diagnose

import (
	"context"
	"fmt"
	"sort"
	"testing"

	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

func degF(v float64) float64 { return float64(units.Fahrenheit(v)) }

func psig(v float64) float64 { return float64(units.Psig(v).Absolute(units.Atm)) }

// freezer is a walk-in freezer with R-404A, valve and receiver, TD 10 °F, split 30 °F.
func freezer(boxF, ambientF, suction, head float64, g reading.Glass) reading.Sheet {
	td, split, yes := units.FahrenheitDiff(10), units.FahrenheitDiff(30), true
	m := reading.Machine{
		Refrigerant: "R-404A",
		Application: reading.WalkInFreezer,
		Expansion:   reading.Valve,
		Receiver:    &yes,
		Design:      reading.Design{TD: &td, Split: &split},
	}
	return reading.Sheet{Machine: m, Seen: reading.Seen{Glass: g}, Readings: []reading.Reading{
		{At: reading.BoxAir, Value: degF(boxF)},
		{At: reading.Ambient, Value: degF(ambientF)},
		{At: reading.SuctionPressure, Value: psig(suction)},
		{At: reading.DischargePressure, Value: psig(head)},
	}}
}

func run(tb testing.TB, s reading.Sheet, f *refrigerant.Fit, o Options) Posterior {
	tb.Helper()
	p, err := Run(context.Background(), Evidence{s, f}, o)
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

// printed is everything an answer says, what it points to included.
func printed(p Posterior) string {
	pointed := fmt.Sprintf("%+v %+v %+v", p.Together, p.Missing, p.Advice.Also)
	p.Together, p.Missing, p.Advice.Also = nil, nil, nil
	return fmt.Sprintf("%s %+v", pointed, p)
}

func benchSheet() reading.Sheet {
	s := freezer(3, 73, 12, 203, reading.Bubbling)
	s.Seen.CondenserDirt, s.Seen.CoilIce = reading.None, reading.None
	s.Readings = append(
		s.Readings,
		reading.Reading{At: reading.CoilOutletLine, Value: degF(0)},
		reading.Reading{At: reading.LiquidLine, Value: degF(93)},
		reading.Reading{
			At:    reading.SuctionLine,
			Value: degF(40),
		},
		reading.Reading{At: reading.DischargeLine, Value: degF(195)},
		reading.Reading{At: reading.CoilAirOff, Value: degF(-2)},
		reading.Reading{At: reading.CondenserAirOff, Value: degF(86)},
	)
	return s
}

// judged is a sheet with its hypotheses weighed and ranked.
func judged(tb testing.TB, s reading.Sheet, f *refrigerant.Fit) (*problem, []*hypothesis) {
	tb.Helper()
	cat, err := fault.Shipped()
	if err != nil {
		tb.Fatal(err)
	}
	m, _ := s.Machine.Resolve()
	q, err := setUp(s, m, f, &cat)
	if err != nil {
		tb.Fatal(err)
	}
	all, err := q.weigh(context.Background(), Options{})
	if err != nil {
		tb.Fatal(err)
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].posterior > all[j].posterior })
	return q, all
}
