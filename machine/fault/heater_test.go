package fault

import (
	"math"
	"testing"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

// TestDefrostHeater_Energy: what the coil takes from the air is what the heater gives it and what the box does (energy
// balance, first law), so the heater's heat is missing from the box; suction rises, as the refrigerant takes more heat
// from warmer air; and a heater that takes all the coil can give leaves air no colder than it came.
func TestDefrostHeater_Energy(t *testing.T) {
	ref, err := refrigerant.Load("R-448A")
	if err != nil {
		t.Fatal(err)
	}
	f, err := ref.Fit()
	if err != nil {
		t.Fatal(err)
	}
	rm, _ := reading.Machine{Refrigerant: "R-448A", Application: reading.WalkInFreezer}.Resolve()
	p, err := plant.New(plant.FromMachine(rm), f)
	if err != nil {
		t.Fatal(err)
	}
	in := plant.Inputs{BoxT: p.Design().BoxT, AmbientT: p.Design().AmbientT - 8}
	solve := func(ch plant.Change) plant.Outputs {
		r := p.Solve(in, ch, plant.Options{})
		if !r.Status.OK() || r.Trip != plant.TripNone {
			t.Fatalf("%+v: %v", ch, r.Trip)
		}
		return r.Out
	}
	for _, lost := range []float64{0, 0.4} {
		sound := solve(plant.Change{CoilAir: lost})
		air := sound[plant.Capacity] / (in.BoxT - sound[plant.AirOffT]) // share of design capacity per K
		last := sound
		for _, s := range []float64{0.1, 0.3, 0.6, 1, 1.5} {
			o := solve(Apply(plant.Change{CoilAir: lost}, DefrostHeater, s))
			if toBox, want := air*(in.BoxT-o[plant.AirOffT]), o[plant.Capacity]-s; math.Abs(toBox-want) > 1e-9 {
				t.Errorf("air lost %.1f, heater %.1f: the box gives %.6f, coil less heater %.6f", lost, s, toBox, want)
			}
			if o[plant.SuctionDew] <= last[plant.SuctionDew] || o[plant.AirOffT] <= last[plant.AirOffT] ||
				o[plant.Capacity] <= last[plant.Capacity] {
				t.Errorf("air lost %.1f, heater %.1f: suction %.2f, air off %.2f, capacity %.3f do not rise", lost, s, o[plant.SuctionDew],
					o[plant.AirOffT], o[plant.Capacity])
			}
			if warmer := o[plant.AirOffT] > in.BoxT; warmer != (s > o[plant.Capacity]) {
				t.Errorf("air lost %.1f, heater %.1f of %.2f: air off %.1f K over the box", lost, s, o[plant.Capacity], o[plant.AirOffT]-in.BoxT)
			}
			last = o
		}
	}
}

// TestDefrostHeater_Applies: only where frozen goods need an electric defrost.
func TestDefrostHeater_Applies(t *testing.T) {
	for _, a := range []reading.Application{
		reading.WalkInFreezer, reading.ReachInFreezer, reading.WalkInCooler, reading.AirConditioning, reading.Other,
	} {
		m, _ := reading.Machine{Refrigerant: "R-404A", Application: a}.Resolve()
		if got, want := DefrostHeater.Applies(m, 0), a.Frozen(); got != want {
			t.Errorf("%s: %v", a, got)
		}
	}
}
