package diagnose

import (
	"context"
	"fmt"
	"testing"
	"time"

	"coldwright/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

func fit(tb testing.TB, name string) *refrigerant.Fit {
	tb.Helper()
	r, err := refrigerant.Load(name)
	if err != nil {
		tb.Fatal(err)
	}
	f, err := r.Fit()
	if err != nil {
		tb.Fatal(err)
	}
	return f
}

func freezer(boxF, ambF, ps, pd float64, g reading.Glass) reading.Sheet {
	td, split, yes := units.FahrenheitDiff(10), units.FahrenheitDiff(30), true
	m := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, Expansion: reading.Valve, Receiver: &yes, Design: reading.Design{TD: &td, Split: &split}}
	F := func(v float64) float64 { return float64(units.Fahrenheit(v)) }
	P := func(v float64) float64 { return float64(units.Psig(v).Absolute(units.Atm)) }
	return reading.Sheet{Machine: m, Seen: reading.Seen{Glass: g}, Readings: []reading.Reading{{At: reading.BoxAir, Value: F(boxF)}, {At: reading.Ambient, Value: F(ambF)},
		{At: reading.SuctionPressure, Value: P(ps)}, {At: reading.DischargePressure, Value: P(pd)}}}
}

func TestQuick(t *testing.T) {
	f := fit(t, "R-404A")
	for _, s := range []reading.Sheet{freezer(3, 73, 12, 203, reading.Bubbling), freezer(1, 76, 24, 252, reading.Clear)} {
		t0 := time.Now()
		p, err := Run(context.Background(), Evidence{s, f}, Options{})
		if err != nil {
			t.Fatal(err)
		}
		fmt.Println(time.Since(t0), "solves", p.Solves, "healthy", p.PHealthy, "none", p.PNone, "lof", p.LackOfFit)
		for _, h := range p.Ranked[:min(8, len(p.Ranked))] {
			fmt.Printf("  %-45s %.3f marg %.3f sev %v\n", h.Name(), h.Probability, h.Marginal, h.Severity)
		}
		for _, n := range p.Next {
			fmt.Printf("  next %s %.3f bits %v\n", n.At, n.Bits, n.Why)
		}
		for _, m := range p.Marginals[:4] {
			fmt.Println("   m", m.Fault, m.Probability)
		}
	}
}
