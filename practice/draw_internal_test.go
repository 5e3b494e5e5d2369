package practice

import (
	"math"
	"slices"
	"testing"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
)

func fitsOf(t *testing.T) Fits {
	kept := map[string]*refrigerant.Fit{}
	return func(name string) (*refrigerant.Fit, error) {
		t.Helper()
		if f := kept[name]; f != nil {
			return f, nil
		}
		r, err := refrigerant.Load(name)
		if err != nil {
			return nil, err
		}
		f, err := r.Fit()
		kept[name] = f
		return f, err
	}
}

// outputs of the plant behind each reading, written down apart from the package under test.
var outputs = map[reading.Place]plant.Output{
	reading.SuctionPressure:   plant.SuctionDew,
	reading.CoilPressure:      plant.CoilDew,
	reading.DischargePressure: plant.DischargeDew,
	reading.LiquidPressure:    plant.LiquidDew,
	reading.StandingPressure:  plant.StandingT,
	reading.CoilOutletLine:    plant.CoilOutletT,
	reading.SuctionLine:       plant.SuctionLineT,
	reading.LiquidLine:        plant.LiquidLineT,
	reading.DischargeLine:     plant.DischargeLineT,
	reading.CoilAirOff:        plant.AirOffT,
	reading.CondenserFaceAir:  plant.CondenserFaceT,
	reading.CondenserAirOff:   plant.CondenserOffT,
	reading.DrierIn:           plant.LiquidLineT,
	reading.Amps:              plant.AmpsRatio,
}

// Identity: a reading is the plant solved anew with the faults of the catalogue, plus a lying instrument's lie, plus
// noise of the instrument's standard uncertainty. Over many exercises the deviations in units of it have mean 0 and
// variance 1 (five standard errors allowed: below 1e-6 by chance).
func TestTake_IsThePlantWithNoise(t *testing.T) {
	fits := fitsOf(t)
	var n, sum, squares, dn, dsquares float64
	lied := 0
	for level := LevelClear; level <= LevelTrust; level++ {
		for seed := uint64(1); seed <= 40; seed++ {
			e, err := New(seed, level, "", fits)
			if err != nil {
				t.Fatal(err)
			}
			var ch plant.Change
			lie := map[reading.Place]float64{}
			for _, tr := range e.truths {
				ch = fault.Apply(ch, tr.Fault, tr.Severity)
				switch tr.Fault {
				case fault.SuctionGauge:
					lie[reading.SuctionPressure], lie[reading.CoilPressure] = tr.Severity, tr.Severity
				case fault.DischargeGauge:
					lie[reading.DischargePressure], lie[reading.LiquidPressure], lie[reading.StandingPressure] = tr.Severity, tr.Severity, tr.Severity
				case fault.BoxThermometer:
					lie[reading.BoxDisplay] = tr.Severity
				}
			}
			if len(lie) > 0 {
				lied++
			}
			r := e.plant.Solve(e.in, ch, plant.Options{})
			s, err := e.Replay(e.Keys())
			if err != nil {
				t.Fatal(err)
			}
			for _, x := range s.Sheet().Readings {
				if x.At == reading.DrierOut || x.At == reading.CoilPressure {
					continue // read against the inlet, against suction: below
				}
				want := r.Out[outputs[x.At]]
				switch {
				case x.At == reading.BoxAir || x.At == reading.BoxDisplay:
					want = e.in.BoxT
				case x.At == reading.Ambient:
					want = e.in.AmbientT
				case x.At.Kind() == reading.KindPressure:
					want = e.fit.DewT(want)
				case x.At.Kind() == reading.KindCurrent:
					want *= *e.Plate.RatedAmps
				}
				want += lie[x.At]
				u := (reading.Reading{At: x.At, Value: want}).Uncertainty()
				z := (x.Value - want) / u
				if math.Abs(z) > 5 {
					t.Errorf("level %d seed %d %s: read %.5g, the plant says %.5g ± %.2g", level, seed, x.At, x.Value, want, u)
				}
				n, sum, squares = n+1, sum+z, squares+z*z
			}
			if coil, ok := s.Sheet().Find(reading.CoilPressure); ok {
				suction, _ := s.Sheet().Find(reading.SuctionPressure)
				top := e.fit.DewT(r.Out[plant.CoilDew])
				drop := top - e.fit.DewT(r.Out[plant.SuctionDew])
				z := (coil.Value - suction.Value - drop) / (diagnose.MovedGauge * e.fit.DewSlope(e.fit.DewP(top)))
				if math.Abs(z) > 5 {
					t.Errorf(
						"level %d seed %d: the suction line drops %.4g Pa, the plant says %.4g",
						level,
						seed,
						coil.Value-suction.Value,
						drop,
					)
				}
				dn, dsquares = dn+1, dsquares+z*z
			}
			in, _ := s.Sheet().Find(reading.DrierIn)
			out, ok := s.Sheet().Find(reading.DrierOut)
			if z := (in.Value - out.Value - r.Out[plant.DrierDrop]) / diagnose.MovedClamp; !ok || math.Abs(z) > 5 {
				t.Errorf(
					"level %d seed %d: the drier drops %.2f K, the plant says %.2f",
					level,
					seed,
					in.Value-out.Value,
					r.Out[plant.DrierDrop],
				)
			}
		}
	}
	mean, variance := sum/n, squares/n
	if math.Abs(mean) > 5/math.Sqrt(n) || math.Abs(variance-1) > 5*math.Sqrt(2/n) {
		t.Errorf("noise of %v readings: mean %.4f, variance %.4f, want 0 and 1", n, mean, variance)
	}
	if v := dsquares / dn; dn < 20 || math.Abs(v-1) > 5*math.Sqrt(2/dn) {
		t.Errorf("noise of %v drops: variance %.4f, want 1", dn, v)
	}
	if lied == 0 {
		t.Error("no instrument lied in 160 exercises")
	}
}

// What a level promises is what is drawn, and everything that can be named is drawn sometimes.
func TestNew_LevelsKeepTheirPromise(t *testing.T) {
	fits := fitsOf(t)
	cat, err := fault.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	drawn := map[fault.Code]int{}
	for level := LevelClear; level <= LevelTrust; level++ {
		for seed := uint64(1); seed <= 150; seed++ {
			e, err := New(seed, level, "", fits)
			if err != nil {
				t.Fatal(err)
			}
			if want := map[int]int{LevelClear: 1, LevelAny: 1, LevelTwo: 2}[level]; want > 0 && len(e.truths) != want {
				t.Fatalf("level %d seed %d: %d faults", level, seed, len(e.truths))
			}
			if len(e.truths) == 2 && !diagnose.Together(e.truths[0].Fault, e.truths[1].Fault) {
				t.Errorf("level %d seed %d: %v cannot be there at once", level, seed, e.truths)
			}
			for _, tr := range e.truths {
				drawn[tr.Fault]++
				row, _ := cat.Find(tr.Fault)
				if (level == LevelClear || level == LevelTwo) && tr.Severity < row.Median {
					t.Errorf("level %d seed %d: %s is %g, milder than the middle %g", level, seed, tr.Fault, tr.Severity, row.Median)
				}
				if !slices.Contains(e.Candidates(), tr.Fault) {
					t.Errorf("level %d seed %d: %s cannot be named", level, seed, tr.Fault)
				}
				if !e.shows(tr) {
					t.Errorf("level %d seed %d: %v shows nowhere", level, seed, tr)
				}
			}
			if len(e.truths) == 0 {
				drawn[fault.Healthy]++
			}
			for _, c := range e.Candidates() {
				if r := e.Remedy(c); !slices.Contains(e.Repairs(), r) {
					t.Errorf("%s has repair %s, which is not on the list", c, r)
				}
			}
		}
	}
	for _, c := range append(casebook.Truths(casebook.FloodedHead), fault.Healthy) {
		if c == fault.ExcessLoad || c == fault.WrongRefrigerant || c == fault.DefrostHeater { // no reading on the bench shows them
			continue
		}
		if drawn[c] == 0 {
			t.Errorf("%s was never drawn in 600 exercises", c)
		}
	}
}

// The ladder's columns: healthy is the plant with nothing wrong, the truth the plant as it is; a gauge's lie is in what was read only.
func TestName_LadderTellsALieFromTheMachine(t *testing.T) {
	fits := fitsOf(t)
	for seed := uint64(1); seed < 60; seed++ {
		e, err := New(seed, LevelTrust, "", fits)
		if err != nil {
			t.Fatal(err)
		}
		if len(e.truths) != 1 || e.truths[0].Fault != fault.DischargeGauge {
			continue
		}
		s, err := e.Replay([]string{"discharge_pressure", "ambient"})
		if err != nil {
			t.Fatal(err)
		}
		l := s.against()[0]
		if l.Healthy != l.Truth {
			t.Errorf("seed %d: a lying gauge moved the machine from %g to %g Pa", seed, l.Healthy, l.Truth)
		}
		if math.Abs(l.Read-l.Truth-e.truths[0].Severity) > 5*l.U {
			t.Errorf("seed %d: reads %g, stands at %g, lies by %g", seed, l.Read, l.Truth, e.truths[0].Severity)
		}
		return
	}
	t.Error("no head gauge lied alone in 60 exercises")
}
