package diagnose

import (
	"context"
	"errors"
	"testing"

	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// TestRun_EveryMachine: whatever a machine is built of, a grave fault read without noise is found first or second,
// and a healthy machine is not accused. The readings are our own model's (no field data): this shows that the way
// from plate to judgement carries the option, not how often it is right.
func TestRun_EveryMachine(t *testing.T) {
	one, no, share, held := 1.0, false, 0.4, units.Fahrenheit(90)
	kpa := func(v float64) *units.Pressure { p := units.Pressure(v * units.Kilo); return &p }
	fits := map[string]*refrigerant.Fit{}
	for _, c := range []struct {
		name   string
		m      reading.Machine
		faults map[fault.Code]float64
	}{
		{
			"exchanger",
			reading.Machine{Refrigerant: "R-448A", Application: reading.WalkInFreezer, Exchanger: &share},
			map[fault.Code]float64{fault.LowCharge: 0.3, fault.CoilAir: 0.65, fault.ValveUnderfeeding: 0.45},
		},
		{
			"crankcase regulator",
			reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, CrankcaseRegulator: kpa(240)},
			map[fault.Code]float64{fault.LowCharge: 0.3, fault.CondenserAir: 0.55, fault.SuctionRestriction: 8},
		},
		{
			"evaporator regulator",
			reading.Machine{Refrigerant: "R-134a", Application: reading.WalkInCooler, EvaporatorRegulator: kpa(240)},
			map[fault.Code]float64{fault.CondenserAir: 0.55, fault.LowCharge: 0.3, fault.SuctionRestriction: 8},
		},
		{
			"electronic valve",
			reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, Expansion: reading.ElectronicValve},
			map[fault.Code]float64{fault.LowCharge: 0.35, fault.ValveUnderfeeding: 0.5, fault.ValveOverfeeding: 0.8},
		},
		{
			"capillary",
			reading.Machine{Refrigerant: "R-134a", Application: reading.ReachInCooler},
			map[fault.Code]float64{fault.CondenserAir: 0.55, fault.LowCharge: 0.25, fault.CoilAir: 0.6},
		},
		{
			"air conditioning",
			reading.Machine{Refrigerant: "R-410A", Application: reading.AirConditioning},
			map[fault.Code]float64{fault.LowCharge: 0.25, fault.OverCharge: 0.3, fault.CondenserAir: 0.5},
		},
		{
			"ice machine",
			reading.Machine{Refrigerant: "R-404A", Application: reading.IceMachine},
			map[fault.Code]float64{fault.LowCharge: 0.25, fault.CondenserAir: 0.5},
		},
		{
			"variable fan",
			// What the head should be held at is stated: of an unknown setting 10 K is within what machines are set to.
			reading.Machine{
				Refrigerant: "R-134a", Application: reading.WalkInCooler, HeadControl: reading.VariableFan, HeadSet: &held, Receiver: &no,
			},
			map[fault.Code]float64{fault.LowCharge: 0.25, fault.HeadControlHigh: 10},
		},
	} {
		c.m.RatedAmps = &one
		f := fits[c.m.Refrigerant]
		if f == nil {
			r, err := refrigerant.Load(c.m.Refrigerant)
			if err != nil {
				t.Fatal(err)
			}
			if f, err = r.Fit(); err != nil {
				t.Fatal(err)
			}
			fits[c.m.Refrigerant] = f
		}
		rm, _ := c.m.Resolve()
		p, err := plant.New(plant.FromMachine(rm), f)
		if err != nil {
			t.Fatalf("%s: %v", c.name, err)
		}
		in := plant.Inputs{BoxT: float64(rm.Box) + 2, AmbientT: float64(rm.Ambient) - 5}
		if rm.HeadControl != reading.HeadNone {
			in.AmbientT -= 20
		}
		judge := func(ch plant.Change) Posterior {
			r := p.Solve(in, ch, plant.Options{})
			if !r.Status.OK() || r.Trip != plant.TripNone {
				t.Fatalf("%s %+v: %v", c.name, ch, r.Trip)
			}
			s := reading.Sheet{
				Machine:  c.m,
				Readings: []reading.Reading{{At: reading.BoxAir, Value: in.BoxT}, {At: reading.Ambient, Value: in.AmbientT}},
			}
			for _, at := range []reading.Place{
				reading.SuctionPressure, reading.CoilPressure, reading.DischargePressure, reading.CoilOutletLine, reading.SuctionLine,
				reading.LiquidLine,
				reading.DischargeLine, reading.CoilAirOff, reading.CondenserAirOff, reading.Amps,
			} {
				v := r.Out[channels[at].out]
				if at.Kind() == reading.KindPressure {
					v = f.DewT(v)
				}
				s.Readings = append(s.Readings, reading.Reading{At: at, Value: v})
			}
			liquid := r.Out[plant.LiquidLineT]
			s.Readings = append(
				s.Readings,
				reading.Reading{At: reading.DrierIn, Value: liquid},
				reading.Reading{At: reading.DrierOut, Value: liquid - r.Out[plant.DrierDrop]},
			)
			s.Seen.Glass = reading.Clear
			if r.Out[plant.GlassQuality] > 0.005 {
				s.Seen.Glass = reading.Bubbling
			}
			if ch.CoilAir > 0.4 {
				s.Seen.CoilIce = reading.Heavy
			}
			post, err := Run(context.Background(), Evidence{s, f}, Options{NoPairs: true})
			if err != nil {
				t.Fatalf("%s: %v", c.name, err)
			}
			return post
		}
		if post := judge(plant.Change{}); post.PHealthy < 0.3 {
			t.Errorf("%s: a healthy machine is healthy with %.2f only; first %s", c.name, post.PHealthy, post.Ranked[0].Name())
		}
		for code, s := range c.faults {
			post := judge(fault.Apply(plant.Change{}, code, s))
			if post.Ranked[0].Name() != code.String() && post.Ranked[1].Name() != code.String() {
				t.Errorf(
					"%s with %s %g: %s %.2f, %s %.2f, itself %.2f",
					c.name,
					code,
					s,
					post.Ranked[0].Name(),
					post.Ranked[0].Probability,
					post.Ranked[1].Name(),
					post.Ranked[1].Probability,
					post.Marginal(code),
				)
			}
			if post.PHealthy > 0.3 {
				t.Errorf("%s with %s %g: healthy with %.2f", c.name, code, s, post.PHealthy)
			}
		}
	}
}

// TestRun_Transcritical: a CO₂ machine in air that it cannot condense in is refused with the reason.
func TestRun_Transcritical(t *testing.T) {
	r, err := refrigerant.Load("R-744")
	if err != nil {
		t.Fatal(err)
	}
	f, err := r.Fit()
	if err != nil {
		t.Fatal(err)
	}
	s := reading.Sheet{Machine: reading.Machine{Refrigerant: "R-744", Application: reading.WalkInFreezer}, Readings: []reading.Reading{
		{
			At:    reading.BoxAir,
			Value: float64(units.Celsius(-18)),
		},
		{At: reading.SuctionPressure, Value: 15e5},
		{At: reading.DischargePressure, Value: 80e5},
	}}
	_, err = Run(context.Background(), Evidence{s, f}, Options{})
	var e *fail.Error
	if !errors.As(err, &e) || e.Key != "machine.transcritical" {
		t.Errorf("%v", err)
	}
}
