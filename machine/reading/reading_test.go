package reading

import (
	"errors"
	"math"
	"testing"

	"coldwright/fail"
	"coldwright/units"
)

// A capillary soldered to the suction line is assumed where reach-ins are built so, and said; with a valve there is none.
func TestResolve_Exchanger(t *testing.T) {
	r, as := Machine{Refrigerant: "R-134a", Application: ReachInCooler}.Resolve()
	said := false
	for _, a := range as {
		said = said || a.Field == "exchanger_effectiveness"
	}
	if r.Exchanger == 0 || !said || r.Receiver {
		t.Errorf("reach-in: %+v, said %v", r, said)
	}
	none := 0.0
	if r, _ := (Machine{Refrigerant: "R-134a", Application: ReachInCooler, Exchanger: &none}).Resolve(); r.Exchanger != 0 {
		t.Error("an exchanger that is not there was assumed")
	}
	if r, _ := (Machine{Refrigerant: "R-134a", Application: ReachInCooler, Expansion: Valve}).Resolve(); r.Exchanger != 0 {
		t.Error("a valve is not soldered to the suction line")
	}
}

func TestCheck_Findings(t *testing.T) {
	f := func(v float64) float64 { return float64(units.Fahrenheit(v)) }
	has := func(s Sheet, code string) bool {
		for _, x := range s.Check() {
			if x.Code == code {
				return true
			}
		}
		return false
	}
	// The box's own thermometer shows 3 °F, a probe 8 °F in the same air (common practice, no source): the disagreement is reported.
	s := Sheet{Readings: []Reading{{At: BoxDisplay, Value: f(3)}, {At: BoxAir, Value: f(8), Instrument: AirProbe}}}
	if !has(s, BoxDisagrees) {
		t.Error("3 °F against 8 °F is not reported")
	}
	s.Readings[0].Value = f(7)
	if has(s, BoxDisagrees) {
		t.Error("one degree is reported")
	}
	two := 2.0
	s = Sheet{Readings: []Reading{
		{At: SuctionPressure, Value: 1e6},
		{At: DischargePressure, Value: 4e5},
		{At: BoxAir, Value: f(0)},
		{At: BoxAir, Value: f(1)},
		{At: CoilAirOff, Value: f(20)},
	}, RunningMin: &two, SinceDefrostMin: &two}
	for _, code := range []string{SuctionAbove, ReadTwice, TooEarly, AfterDefrost, AirOffWarmer} {
		if !has(s, code) {
			t.Errorf("%s is not reported", code)
		}
	}
}

func TestResolve_Assumed(t *testing.T) {
	r, as := Machine{Refrigerant: "R-404A", Application: WalkInFreezer}.Resolve()
	// TD 10 °F, split 30 °F for a walk-in freezer: common practice, no source.
	if math.Abs(r.TD.F()-10) > 1e-9 || math.Abs(r.Split.F()-30) > 1e-9 || !r.Receiver || r.Expansion != Valve || len(as) < 6 {
		t.Errorf("%+v\n%+v", r, as)
	}
	td := units.TempDiff(5)
	r, _ = Machine{Refrigerant: "R-404A", Application: WalkInFreezer, Design: Design{TD: &td}}.Resolve()
	if r.TD != 5 || !r.TDKnown || r.SplitKnown {
		t.Errorf("%+v", r)
	}
}

// Every place is offered what it can be read with, and nothing else: no gauge in the air, no clamp meter on a pipe.
func TestPlace_Instruments(t *testing.T) {
	for _, p := range Places() {
		list := p.Instruments()
		if len(list) == 0 {
			t.Errorf("%s: nothing to read it with", p)
		}
		for _, i := range list {
			gauge, meter := i == DialGauge || i == DigitalGauge, i == ClampMeter
			if gauge != (p.Kind() == KindPressure && i != ByHand) || meter != (p.Kind() == KindCurrent || p.Kind() == KindPower) {
				t.Errorf("%s is offered a %s", p, i)
			}
			if pipe := i == Clamp || i == BareClamp; pipe && laneAir(p) {
				t.Errorf("%s is offered a %s", p, i)
			}
		}
	}
}

func laneAir(p Place) bool {
	switch p {
	case BoxAir, CoilAirOff, BoxDisplay, BoxWetBulb, BoxHumidity, Ambient, CondenserFaceAir, CondenserAirOff:
		return true
	}
	return false
}

// TestParse_OutsideSaysWhatWasTyped: a number outside its place is said back with its unit, and so is the range.
func TestParse_OutsideSaysWhatWasTyped(t *testing.T) {
	for _, x := range []struct {
		at                     Place
		typed, unit            string
		value, least, greatest string
	}{
		{Power, "1800", "kW", "1800 kW", "0 kW", "1000 kW"},
		{Power, "1800000 W", "kW", "1800000 W", "0 W", "1000000 W"},
		{Amps, "90000", "A", "90000 A", "0 A", "2000 A"},
	} {
		_, err := x.at.Parse(x.typed, x.unit, 0)
		var f *fail.Error
		if !errors.As(err, &f) || f.Key != "reading.outside" || f.Field != x.at.String() {
			t.Fatalf("%s %s: %v", x.at, x.typed, err)
		}
		if f.Args["value"] != x.value || f.Args["min"] != x.least || f.Args["max"] != x.greatest {
			t.Errorf("%s %s %s: %v", x.at, x.typed, x.unit, f.Args)
		}
	}
}
