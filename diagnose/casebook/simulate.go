package casebook

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"

	"coldwright/diagnose"
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
// from their priors; every reading has the measuring noise and the discrepancy the diagnosis assumes, 70 % of whose
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
	display := 0.0
	for _, c := range causes {
		if c.Code == fault.BoxThermometer {
			v.displayOnly, display = true, c.Severity
		}
	}
	var z, drift [plant.NumNuisances]float64
	for i := range z {
		z[i], drift[i] = rng.NormFloat64(), driftShare*rng.NormFloat64()
	}
	base := plant.FromMachine(m)
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
	var habit habits
	for i := range habit {
		habit[i] = math.Sqrt(lastingShare) * rng.NormFloat64()
	}
	// visit reads the machine once; with is the box and ambient error of the day.
	visit := func(drift *[plant.NumNuisances]float64, causes []Cause, display float64) (reading.Sheet, bool) {
		d := base
		in := plant.Inputs{
			BoxT:     float64(units.Fahrenheit(box + 10*rng.Float64())),
			AmbientT: float64(units.Fahrenheit(ambLow + (ambHigh-ambLow)*rng.Float64())),
		}
		said := in
		for i, n := range plant.Nuisances() {
			zi := z[i] + drift[i]
			sd := n.Sd
			switch {
			case i == plant.NBox:
				zi = rng.NormFloat64()
				if v.displayOnly {
					sd = reading.InstrumentUnknown.U(reading.BoxDisplay)
				}
			case i == plant.NAmbient:
				zi = rng.NormFloat64()
			}
			plant.Shift(&d, &in, i, sd*zi)
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
			probe = in.BoxT + reading.InstrumentUnknown.U(reading.BoxAir)*rng.NormFloat64()
		} else {
			said.BoxT = in.BoxT + reading.InstrumentUnknown.U(reading.BoxDisplay)*rng.NormFloat64()
		}
		s.Readings = append(
			s.Readings,
			reading.Reading{At: reading.BoxAir, Value: probe},
			reading.Reading{At: reading.BoxDisplay, Value: said.BoxT + display},
			reading.Reading{At: reading.Ambient, Value: said.AmbientT},
		)
		return s, w.read(rng, f, &s, &out, &ch, causes, &habit, size)
	}
	var none [plant.NumNuisances]float64
	if v.today, ok = visit(&none, causes, display); !ok {
		return v, false, nil
	}
	v.earlier, ok = visit(&drift, nil, 0)
	return v, ok, nil
}

// habits are the lasting shares of the discrepancies of one machine, by place, in standard deviations.
type habits [int(reading.Power) + 1]float64

// read adds the readings and what is seen; false when a pressure falls out of the world.
func (w World) read(
	rng *rand.Rand,
	f *refrigerant.Fit,
	s *reading.Sheet,
	out *plant.Outputs,
	ch *plant.Change,
	causes []Cause,
	habit *habits,
	size float64,
) bool {
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
			shows, discrepancy, _ := diagnose.Modelled(at)
			off := discrepancy * (habit[at] + math.Sqrt(1-lastingShare)*rng.NormFloat64())
			noise := rng.NormFloat64()
			u := reading.InstrumentUnknown.U(at)
			y := out[shows]
			switch at {
			case reading.DrierIn:
				liquid = out[plant.LiquidLineT] + 0.7*noise
				put(at, liquid)
			case reading.DrierOut:
				put(at, liquid-y-off-0.5*noise)
			case reading.Amps:
				put(at, math.Max(0.1, y+off+u*y*noise))
			case reading.Power:
				put(at, math.Max(0.1, y+off+u*y*noise)*size*units.Kilo)
			default:
				if at.Kind() != reading.KindPressure {
					put(at, y+off+u*noise)
					break
				}
				p := f.DewT(y+off+both) + u*noise + lies[at]
				put(at, p)
				if lo, _ := at.Range(); p < 2*lo {
					return false
				}
			}
		}
	}
	look := func(key string) int {
		answers := diagnose.Chances(key, out, *ch)
		x := rng.Float64()
		for i, a := range answers {
			if x -= a.P; x < 0 {
				return i + 1
			}
		}
		return len(answers)
	}
	s.Seen.Glass = reading.Glass(look("glass"))
	s.Seen.CondenserDirt, s.Seen.CoilIce = reading.Level(look("condenser_dirt")), reading.Level(look("coil_ice"))
	return true
}
