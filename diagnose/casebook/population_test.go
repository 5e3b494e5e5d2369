package casebook

import (
	"math"
	"math/rand/v2"
	"testing"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
)

// TestPopulations_Spread: what floats spreads as its population says, and the design values of the catalogue are those
// of 2026 whatever the program assumes of an application today. Definition; three standard errors over 2000 draws.
func TestPopulations_Spread(t *testing.T) {
	mc := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, Expansion: reading.Valve}
	for _, c := range []struct {
		p          Population
		of         func(d *plant.Design) float64
		i          int
		middle, sd float64
	}{
		{Catalogue, func(d *plant.Design) float64 { return d.TD }, floatTD, 10 / 1.8, 2 / 1.8},
		{Catalogue, func(d *plant.Design) float64 { return d.Split }, floatSplit, 30 / 1.8, 5 / 1.8},
		{WrongPlate, func(d *plant.Design) float64 { return d.TD }, floatTD, 10 / 1.8, 2 / 1.8},
		{Field, func(d *plant.Design) float64 { return math.Log(d.TD) }, floatTD, math.Log(5.8), 0.28},
		{Field, func(d *plant.Design) float64 { return math.Log(d.Split) }, floatSplit, math.Log(12), 0.28},
	} {
		typical := typicalOf(c.p, mc)
		m, _ := mc.Resolve()
		rng := seeded(3)
		const n = 2000
		sum, square := 0.0, 0.0
		for range n {
			own := c.p.own(rng)
			d, in := typical.design(plant.FromMachine(m), own), plant.Inputs{}
			typical.move(&d, &in, c.i, rng.NormFloat64(), own)
			x := c.of(&d)
			sum += x
			square += x * x
		}
		mean := sum / n
		sd := math.Sqrt(square/n - mean*mean)
		if math.Abs(mean-c.middle) > 3*c.sd/math.Sqrt(n) || math.Abs(sd/c.sd-1) > 3/math.Sqrt(2*n) {
			t.Errorf("%s, float %d: %.3f ± %.3f, want %.3f ± %.3f", c.p, c.i, mean, sd, c.middle, c.sd)
		}
	}
}

// TestPopulations_WrongPlate: a wrong plate is off by a third, either way, and the same machine read under a right one
// shows the same. Definition.
func TestPopulations_WrongPlate(t *testing.T) {
	cat, _ := fault.Shipped()
	var fits Fits
	visits, err := World{Kind: WalkIn, Law: Exact, Population: WrongPlate}.VisitsAnd(2, 60, 0, &cat, &fits)
	if err != nil {
		t.Fatal(err)
	}
	high := 0
	for i := range visits {
		d := visits[i].Sheet(View{Set: 'a'}).Machine.Design
		if d.TD == nil || d.Split == nil || d.Superheat == nil {
			t.Fatal("a plate says nothing")
		}
		if float64(*d.Split) > mostSplit+1e-9 {
			t.Errorf("a plate says a split of %.1f K", float64(*d.Split))
		}
		if float64(*d.TD) > 10/1.8 {
			high++
		}
	}
	// A third up is 13.3 ± 2.7 °F and a third down 6.7 ± 1.3: about half lie above 10.
	if high < 20 || high > 40 {
		t.Errorf("%d of %d plates say more than the typical TD", high, len(visits))
	}
}

// TestTruths_EveryFault: every fault a kind of machine can have is simulated there or stands for one that is; a new code
// needs no list here. Definition.
func TestTruths_EveryFault(t *testing.T) {
	there := map[fault.Code]bool{}
	for _, k := range Kinds() {
		for _, c := range Truths(k) {
			there[c] = true
		}
	}
	for _, c := range fault.Singles() {
		if !there[c.Inseparable()] {
			t.Errorf("%s is simulated nowhere", c)
		}
	}
}

func seeded(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0)) }
