package casebook

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync"

	"coldwright/air"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Fits holds the fits of the refrigerants simulated; the zero value is ready and safe for concurrent use.
type Fits struct {
	mu  sync.Mutex
	got map[string]*refrigerant.Fit
}

// Get returns the fit of a refrigerant.
func (x *Fits) Get(name string) (*refrigerant.Fit, error) {
	x.mu.Lock()
	defer x.mu.Unlock()
	if f, ok := x.got[name]; ok {
		return f, nil
	}
	r, err := refrigerant.Load(name)
	if err != nil {
		return nil, err
	}
	f, err := r.Fit()
	if err != nil {
		return nil, err
	}
	if x.got == nil {
		x.got = map[string]*refrigerant.Fit{}
	}
	x.got[name] = f
	return f, nil
}

const (
	lastingShare = 0.7 // of a reading's discrepancy variance that stays with the machine
	driftShare   = 0.2 // of a design value's standard deviation between two visits
)

// Simulate draws one visit to a machine with these causes, and one before when it was healthy. Design values come
// from the world's population; every reading has measuring noise and a discrepancy no model tells, 70 % of whose
// variance stays with the machine; design values drift by 0.2 standard deviations between the visits, which differ in
// box and ambient temperature.
//
//   - in: a seeded generator; the causes, none for healthy
//   - out: the visit; false when this machine would trip
//   - errors: a refrigerant cannot be loaded
//   - source: our own model, with a different structure by the world's law: not field data
//   - cost: about 0.2 ms
func (w World) Simulate(rng *rand.Rand, fits *Fits, causes ...Cause) (v Visit, ok bool, err error) {
	mc, box, ambLow, ambHigh := w.Kind.machine(rng)
	f, err := fits.Get(mc.Refrigerant)
	if err != nil {
		return v, false, fmt.Errorf("simulated visit: %w", err)
	}
	m, _ := mc.Resolve()
	v = Visit{Causes: causes, Fit: f}
	typical := typicalOf(w.Population, mc)
	display := 0.0
	for _, c := range causes {
		if c.Code == fault.BoxThermometer {
			v.displayOnly, display = true, c.Severity
		}
	}
	var z, drift [floats]float64
	for i := range z {
		z[i], drift[i] = rng.NormFloat64(), driftShare*rng.NormFloat64()
		z[i] = w.house.apart[i] + (1-w.house.less)*z[i]
	}
	own := w.Population.own(rng)
	base := typical.design(plant.FromMachine(m), own)
	if w.Law != Exact {
		spread := func(x *float64, sd float64) { *x *= math.Exp(sd * rng.NormFloat64()) }
		spread(&base.Band, 0.3)
		spread(&base.LiquidDrop, 0.4)
		spread(&base.Lift, 0.6)
		spread(&base.NTUe, 0.1)
		spread(&base.NTUc, 0.1)
		spread(&base.Clearance, 0.2)
		spread(&base.ShellLoss, 0.3)
	}
	size := math.Exp(0.5 * rng.NormFloat64()) // kW the machine draws at design, which nobody knows
	if w.Population == WrongPlate {
		d, in := base, plant.Inputs{}
		for i := floatTD; i < floats; i++ {
			typical.move(&d, &in, i, z[i], own)
		}
		w.Population.plate(&mc, d.TD, d.Split, d.SHRatio*d.TD, own)
	}
	var habit habits
	for i := range habit {
		habit[i] = math.Sqrt(lastingShare) * rng.NormFloat64()
	}
	// visit reads the machine once, with the errors in box and ambient of the day.
	visit := func(drift *[floats]float64, causes []Cause, display float64) (reading.Sheet, bool) {
		d := base
		in := plant.Inputs{
			BoxT:     float64(units.Fahrenheit(box + 10*rng.Float64())),
			AmbientT: float64(units.Fahrenheit(ambLow + (ambHigh-ambLow)*rng.Float64())),
		}
		in.Humidity = humidity(base.Humidity, in.BoxT)
		said := in
		for i := range z {
			zi := z[i] + drift[i]
			if i <= floatAmbient {
				zi = rng.NormFloat64()
			}
			if i == floatBox && v.displayOnly {
				in.BoxT += measuring(reading.BoxDisplay) * zi
				continue
			}
			typical.move(&d, &in, i, zi, own)
		}
		wet := 0.0
		if mc.Application == reading.AirConditioning {
			wet = math.Min(float64(units.Fahrenheit(60+10*rng.Float64())), in.BoxT-2)
			a, err := air.FromWetBulb(in.BoxT, wet, float64(units.Atm))
			if err != nil {
				return reading.Sheet{}, false
			}
			in.Humidity = a.RH
		}
		p, ch, err := w.build(d, f, causes)
		if err != nil {
			return reading.Sheet{}, false
		}
		out, ok := Steady(&p, in, ch)
		if !ok {
			return reading.Sheet{}, false
		}
		s := reading.Sheet{Machine: mc}
		probe := said.BoxT
		if v.displayOnly { // the probe nobody brought, for the view that asks for it
			probe = in.BoxT + measuring(reading.BoxAir)*rng.NormFloat64()
		} else {
			said.BoxT = in.BoxT + measuring(reading.BoxDisplay)*rng.NormFloat64()
		}
		s.Readings = append(
			s.Readings,
			reading.Reading{At: reading.BoxAir, Value: probe},
			reading.Reading{At: reading.BoxDisplay, Value: said.BoxT + display},
			reading.Reading{At: reading.Ambient, Value: said.AmbientT},
		)
		state := state{in: in, wet: wet, out: out, change: ch, discrepancy: 1, habit: &habit, kW: size, errs: own.gauges(w.Population)}
		return s, state.read(rng, f, &s, causes)
	}
	var none [floats]float64
	if v.today, ok = visit(&none, causes, display); !ok {
		return v, false, nil
	}
	v.earlier, ok = visit(&drift, nil, 0)
	return v, ok, nil
}

// habits are the lasting shares of the discrepancies of one machine, in standard deviations, by place as they were
// numbered when the populations were frozen: a new place moves no random number.
type habits [20]float64

func (h *habits) of(at reading.Place) float64 {
	return h[slices.Index([]reading.Place{
		reading.PlaceUnknown, reading.SuctionPressure, reading.CoilPressure, reading.DischargePressure, reading.LiquidPressure,
		reading.StandingPressure, reading.BoxAir, reading.CoilAirOff, reading.BoxDisplay, reading.Ambient, reading.CondenserFaceAir,
		reading.CondenserAirOff, reading.CoilOutletLine, reading.SuctionLine, reading.DischargeLine, reading.LiquidLine, reading.DrierIn,
		reading.DrierOut, reading.Amps, reading.Power,
	}, at)]
}

// state is a machine at a visit, and how it will be read.
type state struct {
	in          plant.Inputs
	wet         float64 // K, wet bulb of the air at the coil; 0: nobody takes it here
	out         plant.Outputs
	change      plant.Change
	discrepancy float64 // of those of the places, as a share
	habit       *habits
	kW          float64 // drawn at design
	errs        errs
}

// read adds the readings and what is seen; false when a pressure falls out of the world.
func (m *state) read(rng *rand.Rand, f *refrigerant.Fit, s *reading.Sheet, causes []Cause) bool {
	both, lies := 0.0, Lies(causes...)
	for _, c := range causes {
		if c.Code == fault.WrongRefrigerant || c.Code == fault.CompositionShift {
			both = c.Severity
		}
	}
	put := func(at reading.Place, x float64) {
		s.Readings = append(s.Readings, reading.Reading{At: at, Value: x})
	}
	liquid := 0.0
	for i := range len(setOrder) {
		for _, at := range setPlaces[setOrder[i]] {
			shows, discrepancy := shown(at)
			off := m.discrepancy * discrepancy * (m.habit.of(at) + math.Sqrt(1-lastingShare)*rng.NormFloat64())
			noise := rng.NormFloat64()
			u := measuring(at)
			y := m.out[shows]
			switch at {
			case reading.DrierIn:
				liquid = m.out[plant.LiquidLineT]
				liquid += 0.7*noise + m.errs.clamp*(m.in.AmbientT-liquid)
				put(at, liquid)
			case reading.DrierOut:
				put(at, liquid-y-off-0.5*noise)
			case reading.Amps:
				put(at, math.Max(0.1, y+off+u*y*noise))
			case reading.Power:
				put(at, math.Max(0.1, y+off+u*y*noise)*m.kW*units.Kilo)
			case reading.CoilOutletLine:
				put(at, y+off+u*m.errs.noise(noise)+m.errs.clamp*(m.in.BoxT-y))
			case reading.SuctionLine, reading.LiquidLine, reading.DischargeLine:
				put(at, y+off+u*m.errs.noise(noise)+m.errs.clamp*(m.in.AmbientT-y))
			case reading.SuctionPressure, reading.DischargePressure, reading.StandingPressure:
				gauge := m.errs.high
				if at == reading.SuctionPressure {
					gauge = m.errs.low
				}
				if m.errs.tails != nil {
					u *= needle
				}
				p := f.DewT(y+off+both) + u*noise + gauge + lies[at]
				put(at, p)
				if lo, _ := at.Range(); p < 2*lo {
					return false
				}
			default:
				put(at, y+off+u*m.errs.noise(noise))
			}
		}
	}
	s.Seen.Glass = reading.Glass(lookAt(rng, glassChances(m.out[plant.GlassQuality])))
	s.Seen.CondenserDirt = reading.Level(lookAt(rng, dirtChances(m.change.CondenserAir)))
	s.Seen.CoilIce = reading.Level(lookAt(rng, iceChances(m.change.CoilAir)))
	if m.wet > 0 {
		put(reading.BoxWetBulb, m.wet+wick*rng.NormFloat64())
	}
	return true
}

// wick is the noise of a wet bulb by a wetted sock, K: judgement, ours, between a thermometer's and what drying adds.
const wick = 0.6

// needle is the share of a pressure's noise left where the gauge's own error is drawn beside it: a needle that moves,
// an eye. Judgement, ours.
const needle = 0.3
