package verdict_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"coldwright/diagnose"
	"coldwright/machine/fault"
	"coldwright/machine/reading"
	"coldwright/verdict"
	"coldwright/verdict/threshold"
)

func suspects(pairs ...any) []verdict.Answer {
	var out []verdict.Answer
	for i := 0; i < len(pairs); i += 2 {
		out = append(out, verdict.Answer{Code: pairs[i].(fault.Code), Probability: pairs[i+1].(float64)})
	}
	return out
}

func TestForm(t *testing.T) {
	const none = fault.Unknown
	for _, c := range []struct {
		name          string
		f             verdict.Facts
		kind          verdict.Kind
		first, second fault.Code
		both          bool
		healthy       verdict.Status
	}{
		{"one reading", verdict.Facts{Readings: 1, PHealthy: 1}, verdict.TooLittle, none, none, false, verdict.Unknown},
		{
			"certain",
			verdict.Facts{Readings: 8, Suspects: suspects(fault.LowCharge, 0.96, fault.ValveUnderfeeding, 0.06)},
			verdict.Sure, fault.LowCharge, none, false, verdict.No,
		},
		{
			"both certain",
			verdict.Facts{Readings: 8, Suspects: suspects(fault.LowCharge, 0.97, fault.CondenserAir, 0.9)},
			verdict.Sure, fault.LowCharge, fault.CondenserAir, true, verdict.No,
		},
		{
			"likely, with a rival",
			verdict.Facts{Readings: 8, Suspects: suspects(fault.RestrictionBeforeGlass, 0.16, fault.LowCharge, 0.79)},
			verdict.Probable, fault.LowCharge, fault.RestrictionBeforeGlass, false, verdict.No,
		},
		{
			"60 to 40 is even",
			verdict.Facts{Readings: 8, Suspects: suspects(fault.CoilAir, 0.6, fault.LowCharge, 0.4)},
			verdict.Even, fault.CoilAir, fault.LowCharge, false, verdict.Unknown,
		},
		{
			"61 to 39 is not",
			verdict.Facts{Readings: 8, Suspects: suspects(fault.CoilAir, 0.61, fault.LowCharge, 0.39)},
			verdict.Leaning, fault.CoilAir, fault.LowCharge, false, verdict.Unknown,
		},
		{
			"67 to 33 is not",
			verdict.Facts{Readings: 8, Suspects: suspects(fault.CoilAir, 0.67, fault.LowCharge, 0.33)},
			verdict.Leaning, fault.CoilAir, fault.LowCharge, false, verdict.Unknown,
		},
		{
			"45 to 20 is not, low as the first is",
			verdict.Facts{Readings: 8, Suspects: suspects(fault.CoilAir, 0.45, fault.LowCharge, 0.2)},
			verdict.Leaning, fault.CoilAir, fault.LowCharge, false, verdict.Unknown,
		},
		{
			"even with nothing wrong",
			verdict.Facts{Readings: 8, PHealthy: 0.45, Suspects: suspects(fault.CoilAir, 0.5, fault.LowCharge, 0.05)},
			verdict.Even, fault.CoilAir, fault.Healthy, false, verdict.Unknown,
		},
		{
			"nothing wrong, even",
			verdict.Facts{Readings: 8, PHealthy: 0.5, Suspects: suspects(fault.CoilAir, 0.45)},
			verdict.Even, fault.Healthy, fault.CoilAir, false, verdict.Unknown,
		},
		{
			"nothing wrong ahead",
			verdict.Facts{Readings: 8, PHealthy: 0.6, Suspects: suspects(fault.CoilAir, 0.2)},
			verdict.Leaning, fault.Healthy, fault.CoilAir, false, verdict.Unknown,
		},
		{
			"nothing wrong likely",
			verdict.Facts{Readings: 8, PHealthy: 0.7, Suspects: suspects(fault.CoilAir, 0.2)},
			verdict.NothingWrong, fault.Healthy, none, false, verdict.Yes,
		},
		{
			"unclear",
			verdict.Facts{Readings: 8, Suspects: suspects(fault.CoilAir, 0.3, fault.LowCharge, 0.25)},
			verdict.Unclear, fault.CoilAir, fault.LowCharge, false, verdict.Unknown,
		},
		{
			"none first",
			verdict.Facts{Readings: 8, PNone: 0.42, Suspects: suspects(fault.CoilAir, 0.3)},
			verdict.DoesNotFit, none, none, false, verdict.No,
		},
		{
			"none behind a cause",
			verdict.Facts{Readings: 8, PNone: 0.42, Suspects: suspects(fault.CoilAir, 0.43)},
			verdict.Leaning, fault.CoilAir, none, false, verdict.Unknown,
		},
	} {
		j := verdict.Form(c.f)
		got := j.Cause
		if got.Kind != c.kind || got.First.Code != c.first || got.Second.Code != c.second || got.Both != c.both || j.Healthy != c.healthy {
			t.Errorf("%s: %+v, healthy %v", c.name, got, j.Healthy)
		}
	}
}

// drawn are facts of any kind. Causes may be there together, so that their figures may add up to more than one.
func drawn(t *rapid.T) verdict.Facts {
	p := rapid.Float64Range(0, 1)
	f := verdict.Facts{Readings: rapid.IntRange(0, 12).Draw(t, "readings"), LackOfFit: rapid.Float64Range(0, 6).Draw(t, "sigma")}
	f.PNone = p.Draw(t, "none")
	f.PHealthy = (1 - f.PNone) * p.Draw(t, "healthy")
	for _, c := range []fault.Code{fault.LowCharge, fault.CoilAir, fault.CondenserAir, fault.SuctionGauge} {
		f.Suspects = append(f.Suspects, verdict.Answer{Code: c, Probability: (1 - f.PNone - f.PHealthy) * p.Draw(t, c.String())})
	}
	return f
}

func TestForm_Properties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawn(t)
		j := verdict.Form(f)
		c := j.Cause
		if c.Kind == verdict.Even {
			if c.Second.Code == fault.Unknown || c.First.Probability > threshold.EvenRatio*c.Second.Probability {
				t.Fatalf("about even at %v to %v", c.First, c.Second)
			}
		}
		if c.Second.Code != fault.Unknown && c.Second.Probability > c.First.Probability {
			t.Fatalf("the second before the first: %+v", c)
		}
		if (c.Kind == verdict.NothingWrong) != (j.Healthy == verdict.Yes) {
			t.Fatalf("%s and healthy %v", c.Kind, j.Healthy)
		}
		if (c.Kind == verdict.DoesNotFit) != (j.Fit.Rule == verdict.NoneIsFirst) {
			t.Fatalf("%s and fit %s", c.Kind, j.Fit.Rule)
		}
		if j.HealthyRule == "" || j.Fit.Rule == "" {
			t.Fatalf("a status without a rule: %+v", j)
		}
		if lead, ok := j.Leading(); ok && c.First.Code != lead.Code {
			t.Fatalf("%v leads, the headline names %v", lead.Code, c.First.Code)
		}
	})
}

func TestLevelOf_AgreesWithTheFigure(t *testing.T) {
	least := map[verdict.Level]int{
		verdict.AlmostCertain: 95, verdict.Likely: 70, verdict.MoreLikelyThanNot: 61, verdict.AboutEven: 40, verdict.Possible: 15,
		verdict.Unlikely: 5, verdict.VeryUnlikely: 0,
	}
	for n := range 10001 {
		p := float64(n) / 10000
		want := verdict.VeryUnlikely
		for _, l := range verdict.Levels() {
			if int(math.Round(100*p)) >= least[l] {
				want = l
				break
			}
		}
		if got := verdict.LevelOf(p); got != want {
			t.Fatalf("%v: %v, want %v", p, got, want)
		}
	}
	// What is called about even is within the ratio of its own contrary.
	if r := 0.605 / 0.395; r > threshold.EvenRatio+0.05 {
		t.Errorf("about even reaches to %v to 1", r)
	}
}

// cooler is a sheet with four readings, so that a posterior of our making can be judged with it.
func cooler(display float64) reading.Sheet {
	s := reading.Sheet{Readings: []reading.Reading{
		{At: reading.BoxAir, Value: 277},
		{At: reading.Ambient, Value: 300},
		{At: reading.SuctionPressure, Value: 300e3},
		{At: reading.DischargePressure, Value: 1000e3},
	}}
	if display != 0 {
		s.Readings = append(s.Readings, reading.Reading{At: reading.BoxDisplay, Value: display})
	}
	return s
}

func hypothesis(p float64, items []diagnose.Item, faults ...fault.Code) diagnose.Hypothesis {
	return diagnose.Hypothesis{Faults: faults, Probability: p, Marginal: p, Evidence: items}
}

// A thermometer that a probe beside it contradicts says nothing about the machine: not a suspect, not evidence, not to
// be proved again, and what remains is the machine as it would be judged without it.
func TestOf_ProvenInstrument(t *testing.T) {
	post := &diagnose.Posterior{
		Ranked: []diagnose.Hypothesis{
			hypothesis(0.78, []diagnose.Item{{At: "box_display", NatsAgainstHealthy: 9}}, fault.BoxThermometer),
			hypothesis(0.2, []diagnose.Item{
				{At: "box_display", NatsAgainstHealthy: 9}, {At: "suction_pressure", NatsAgainstHealthy: 2},
			}, fault.BoxThermometer, fault.LowCharge),
			hypothesis(0.02, nil, fault.Healthy),
		},
		Marginals: []diagnose.Marginal{{Fault: fault.BoxThermometer, Probability: 0.98}, {Fault: fault.LowCharge, Probability: 0.2}},
		PHealthy:  0.02,
		Advice:    diagnose.Advice{Code: diagnose.AdviseAct, Prove: fault.BoxThermometer},
	}
	j := verdict.Of(post, cooler(282))
	if len(j.Instruments) != 1 || j.Instruments[0].Rule != verdict.TwoInOneAir || j.Instruments[0].Off != 5 {
		t.Fatalf("proven: %+v", j.Instruments)
	}
	if math.Abs(j.PHealthy-0.8) > 1e-12 || j.Cause.Kind != verdict.NothingWrong {
		t.Errorf("healthy %v, %+v", j.PHealthy, j.Cause)
	}
	if j.Next.Kind != verdict.Stop || j.Next.Instrument != fault.Unknown {
		t.Errorf("next %+v", j.Next)
	}
	for _, s := range j.Suspects {
		if s.Code == fault.BoxThermometer {
			t.Error("a proven instrument among the suspects")
		}
		for _, e := range append(s.Pro, s.Con...) {
			if e.At == "box_display" {
				t.Errorf("%v: the proven instrument is evidence", s.Code)
			}
		}
	}
	// Not proven, it is a suspect like any other, and is to be proved.
	j = verdict.Of(post, cooler(0))
	if len(j.Instruments) != 0 || j.Cause.First.Code != fault.BoxThermometer || j.Next.Kind != verdict.Prove {
		t.Errorf("%+v %+v %+v", j.Instruments, j.Cause, j.Next)
	}
}

func TestOf_InsideTheBandSpeaksNotAgainstHealthy(t *testing.T) {
	items := []diagnose.Item{
		{At: "suction_pressure", NatsAgainstHealthy: 4, NatsAgainstRunner: -4},
		{At: "discharge_pressure", NatsAgainstHealthy: 4, NatsAgainstRunner: -4},
		{At: "liquid_line", NatsAgainstHealthy: -2, NatsAgainstRunner: 2},
	}
	post := &diagnose.Posterior{
		Ranked: []diagnose.Hypothesis{
			hypothesis(0.6, items, fault.LowCharge), hypothesis(0.4, items, fault.Healthy),
		},
		Marginals: []diagnose.Marginal{{Fault: fault.LowCharge, Probability: 0.6}},
		PHealthy:  0.4,
		Expected: []diagnose.Expectation{
			{At: reading.SuctionPressure, Read: true, In: true},
			{At: reading.DischargePressure, Read: true, Off: 5},
			{At: reading.LiquidLine, Read: true, In: true},
		},
	}
	j := verdict.Of(post, cooler(0))
	if len(j.Suspects) != 2 {
		t.Fatalf("%+v", j.Suspects)
	}
	for _, s := range j.Suspects {
		against := s.Pro
		if s.Code == fault.Healthy {
			against = s.Con
		}
		if len(against) != 1 || against[0].At != "discharge_pressure" || against[0].Strength != 3 {
			t.Errorf("%v: against nothing wrong speaks %+v", s.Code, against)
		}
		if n := len(s.Pro) + len(s.Con); n != 2 {
			t.Errorf("%v: %d readings speak", s.Code, n)
		}
	}
}

// TestOf_OutsideItsIntervalSpeaksNotForIt: the interval printed beside a reading is what the suspect would show; a reading
// outside it may be nearer to it than to a healthy machine, and still does not speak for it.
func TestOf_OutsideItsIntervalSpeaksNotForIt(t *testing.T) {
	item := func(at string, v float64) diagnose.Item {
		return diagnose.Item{
			At: at, Measured: v, IfHealthy: diagnose.Band{Low: 1, Mid: 2, High: 3}, IfThis: diagnose.Band{Low: 5, Mid: 6, High: 7},
			NatsAgainstHealthy: 4,
		}
	}
	p := diagnose.Posterior{
		PHealthy: 0.2, Marginals: []diagnose.Marginal{{Fault: fault.LowCharge, Probability: 0.7}},
		Ranked: []diagnose.Hypothesis{{
			Faults: []fault.Code{fault.LowCharge}, Probability: 0.7,
			Evidence: []diagnose.Item{item("suction_pressure", 6.5), item("liquid_line", 9), {At: "glass", Word: "bubbling", NatsAgainstHealthy: 1}},
		}},
	}
	j := verdict.Of(&p, reading.Sheet{Readings: make([]reading.Reading, 4)})
	var pro []string
	for _, e := range j.Suspects[0].Pro {
		pro = append(pro, e.At)
	}
	if !slices.Equal(pro, []string{"suction_pressure", "glass"}) {
		t.Errorf("speaks for it: %v", pro)
	}
}

// TestOf_CurrentOutsideItsBand: a current or a power that stands outside its band is on the list of what is off, as a
// share of full.
func TestOf_CurrentOutsideItsBand(t *testing.T) {
	p := diagnose.Posterior{
		PHealthy: 0.9,
		Expected: []diagnose.Expectation{
			{At: reading.Amps, Read: true, Off: 0.4},
			{At: reading.Power, Read: true, In: true, Off: 0.1},
			{At: reading.HeaterAmps, Read: true, Off: 0.8},
		},
	}
	j := verdict.Of(&p, reading.Sheet{Readings: make([]reading.Reading, 4)})
	want := []verdict.Gap{{At: "amps", Share: 0.4}, {At: "heater_amps", Share: 0.8}}
	if !slices.Equal(j.Off, want) {
		t.Errorf("off: %+v, want %+v", j.Off, want)
	}
}

func TestOf_NextStep(t *testing.T) {
	reads := []diagnose.Next{{At: "liquid_line", Bits: 0.3}, {At: "glass", Bits: 0.1}}
	dull := []diagnose.Next{{At: "liquid_line", Bits: 0.03}}
	for _, c := range []struct {
		name    string
		low     float64
		healthy float64
		none    float64
		advice  string
		prove   fault.Code
		next    []diagnose.Next
		kind    verdict.StepKind
		cause   fault.Code
	}{
		{"reads on", 0.6, 0.1, 0, diagnose.AdviseRead, 0, reads, verdict.Read, fault.LowCharge},
		{"acts when certain", 0.95, 0.02, 0, diagnose.AdviseRead, 0, reads, verdict.Act, fault.LowCharge},
		{"acts when advised", 0.85, 0.1, 0, diagnose.AdviseAct, 0, reads, verdict.Act, fault.LowCharge},
		{"nothing tells", 0.6, 0.1, 0, diagnose.AdviseRead, 0, dull, verdict.Act, fault.LowCharge},
		{"by hand", 0.6, 0.3, 0, diagnose.AdviseHands, 0, dull, verdict.Hands, fault.LowCharge},
		{"stops", 0.05, 0.95, 0, diagnose.AdviseRead, 0, reads, verdict.Stop, fault.Unknown},
		{"nothing left, not clear", 0.3, 0.5, 0, diagnose.AdviseRead, 0, nil, verdict.Hands, fault.Unknown},
		{"proves first", 0.95, 0.02, 0, diagnose.AdviseAct, fault.SuctionGauge, reads, verdict.Prove, fault.LowCharge},
		{"none fits: reads, never acts", 0.1, 0.05, 0.85, diagnose.AdviseAct, 0, reads, verdict.Read, fault.Unknown},
		{"none fits, nothing to read", 0.1, 0.05, 0.85, diagnose.AdviseAct, 0, nil, verdict.Hands, fault.Unknown},
	} {
		post := &diagnose.Posterior{
			Ranked:    []diagnose.Hypothesis{hypothesis(c.low, nil, fault.LowCharge), hypothesis(c.healthy, nil, fault.Healthy)},
			Marginals: []diagnose.Marginal{{Fault: fault.LowCharge, Probability: c.low}},
			PHealthy:  c.healthy, PNone: c.none, Next: c.next,
			Advice: diagnose.Advice{Code: c.advice, Prove: c.prove},
		}
		got := verdict.Of(post, cooler(0)).Next
		if got.Kind != c.kind || got.Cause != c.cause || got.Rule == "" {
			t.Errorf("%s: %+v", c.name, got)
		}
		if (got.Kind == verdict.Read) != (got.Reading != nil) {
			t.Errorf("%s: a reading without the step, or the step without one", c.name)
		}
	}
}
