package plant

import (
	"math"
	"math/rand/v2"
	"testing"

	"coldwright/internal/testkit"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// built is a machine of an application, changed by set.
func built(tb testing.TB, m reading.Machine, set func(*Design)) Plant {
	tb.Helper()
	rm, _ := m.Resolve()
	d := FromMachine(rm)
	if set != nil {
		set(&d)
	}
	p, err := New(d, testkit.Fit(tb, m.Refrigerant))
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

type option struct {
	name string
	p    Plant
}

// options lists one machine for each way of building that the model knows.
func options(tb testing.TB) []option {
	freezer := reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer}
	blend := reading.Machine{Refrigerant: "R-448A", Application: reading.WalkInFreezer}
	cooler := reading.Machine{Refrigerant: "R-134a", Application: reading.WalkInCooler}
	no := false
	bare := cooler
	bare.Receiver = &no
	p := func(f *refrigerant.Fit, T float64) float64 { return f.DewT(T) }
	f404, f134 := testkit.Fit(tb, "R-404A"), testkit.Fit(tb, "R-134a")
	return []option{
		{"exchanger", built(tb, freezer, func(d *Design) { d.Exchanger = 0.4 })},
		{"exchanger, blend", built(tb, blend, func(d *Design) { d.Exchanger = 0.4 })},
		{"exchanger, no receiver", built(tb, bare, func(d *Design) { d.Exchanger = 0.4 })},
		{"crankcase regulator", built(tb, freezer, func(d *Design) { d.CrankcaseP = p(f404, d.BoxT-d.TD+1) })},
		{"evaporator regulator", built(tb, cooler, func(d *Design) { d.CoilP = p(f134, d.BoxT-d.TD-0.5) })},
		{"both regulators and exchanger", built(tb, blend, func(d *Design) {
			d.Exchanger, d.CrankcaseP, d.CoilP = 0.3, p(testkit.Fit(tb, "R-448A"), d.BoxT-d.TD), p(testkit.Fit(tb, "R-448A"), d.BoxT-d.TD-0.5)
		})},
		{"electronic valve", built(tb, freezer, func(d *Design) { d.Expansion, d.ValveMax = reading.ElectronicValve, 2 })},
		{"electronic valve, no receiver", built(tb, bare, func(d *Design) { d.Expansion, d.ValveMax = reading.ElectronicValve, 2 })},
		{"capillary reach-in", built(tb, reading.Machine{Refrigerant: "R-134a", Application: reading.ReachInCooler}, nil)},
		{"capillary reach-in freezer", built(tb, reading.Machine{Refrigerant: "R-290", Application: reading.ReachInFreezer}, nil)},
		{"air conditioning", built(tb, reading.Machine{Refrigerant: "R-410A", Application: reading.AirConditioning}, nil)},
		{
			"air conditioning, orifice",
			built(tb, reading.Machine{Refrigerant: "R-410A", Application: reading.AirConditioning, Expansion: reading.Orifice}, nil),
		},
		{"ice machine", built(tb, reading.Machine{Refrigerant: "R-404A", Application: reading.IceMachine}, nil)},
		{"fan cycling", built(tb, freezer, func(d *Design) { d.Head, d.HeadSet = reading.FanCycling, float64(units.Fahrenheit(95)) })},
		{"variable fan", built(tb, freezer, func(d *Design) { d.Head, d.HeadSet = reading.VariableFan, float64(units.Fahrenheit(95)) })},
		{
			"variable fan, no receiver",
			built(tb, bare, func(d *Design) { d.Head, d.HeadSet = reading.VariableFan, float64(units.Fahrenheit(95)) }),
		},
		{"flooding", built(tb, freezer, func(d *Design) { d.Head, d.HeadSet = reading.Flooding, float64(units.Fahrenheit(95)) })},
	}
}

// machine builds a freezer (R-404A) or a cooler with a superheat of seven tenths of its TD.
func machine(tb testing.TB, name string, receiver bool, e reading.Expansion) Plant {
	tb.Helper()
	app, split := reading.WalkInCooler, 25.0
	if name == "R-404A" {
		app, split = reading.WalkInFreezer, 28
	}
	rm, _ := reading.Machine{Refrigerant: name, Application: app, Receiver: &receiver, Expansion: e}.Resolve()
	d := FromMachine(rm)
	d.Split, d.SHRatio = split*units.Fahr, 0.7
	p, err := New(d, testkit.Fit(tb, name))
	if err != nil {
		tb.Fatal(err)
	}
	return p
}

func at(boxF, ambientF float64) Inputs {
	return Inputs{BoxT: float64(units.Fahrenheit(boxF)), AmbientT: float64(units.Fahrenheit(ambientF))}
}

// random draws a plausible machine, its inputs and a change.
func random(rng *rand.Rand, d Design) (Design, Inputs, Change) {
	in := Inputs{BoxT: d.BoxT + 8*rng.Float64() - 2, AmbientT: d.AmbientT - 15 + 22*rng.Float64()}
	humid := rand.New(rand.NewPCG(math.Float64bits(in.BoxT), 89)) // of its own, so that the machines drawn before it was one stay
	for i, n := range Nuisances() {
		by := rng
		switch i {
		case NHeadSet: // a head control's setting belongs to its own tests
			continue
		case NHumidity:
			by = humid
		}
		Shift(&d, &in, i, n.Sd*by.NormFloat64())
	}
	var ch Change
	s := rng.Float64()
	for range 1 + rng.IntN(2) {
		switch rng.IntN(12) {
		case 0:
			ch.LowCharge = 0.4 * s
		case 1:
			ch.OverCharge = 0.35 * s
		case 2:
			ch.CondenserAir = 0.6 * s
		case 3:
			ch.Recirculation = 9 * s
		case 4:
			ch.CoilAir = 0.75 * s
		case 5:
			ch.RestrictionBefore = 5e5 * s
		case 6:
			ch.RestrictionAfter = 5e5 * s
		case 7:
			ch.ValveUnder = 0.55 * s
		case 8:
			ch.ValveOver = 1.2 * s
		case 9:
			ch.CompressorLeak = 0.4 * s
		case 10:
			ch.Noncondensables = 2.5e5 * s
		case 11:
			ch.SuctionRestriction = 7 * s
		}
	}
	return d, in, ch
}
