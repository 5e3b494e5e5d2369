package practice

import (
	"math"
	"math/rand/v2"
	"slices"

	"coldwright/diagnose"
	"coldwright/diagnose/casebook"
	"coldwright/fail"
	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Levels of difficulty.
const (
	LevelClear = 1 + iota // one fault, worse than the middle of what is met
	LevelAny              // one fault of any size
	LevelTwo              // two faults, each worse than the middle
	LevelTrust            // one, two or none, and an instrument may lie
)

// Levels lists them.
func Levels() []int { return []int{LevelClear, LevelAny, LevelTwo, LevelTrust} }

// Fits hands out the fit of a refrigerant's designation.
type Fits func(designation string) (*refrigerant.Fit, error)

// scenario is a machine of the bench. Currents, charges and the span of outside temperatures are common practice, no source.
type scenario struct {
	key        string
	mc         reading.Machine
	amps       float64
	charge     units.Mass
	cold, warm float64 // outside air, °F
}

var scenarios = func() []scenario {
	yes, no := true, false
	return []scenario{
		{
			"walk-in-freezer",
			reading.Machine{Refrigerant: "R-404A", Application: reading.WalkInFreezer, Expansion: reading.Valve, Receiver: &yes},
			11,
			4.5,
			60,
			100,
		},
		{
			"walk-in-cooler",
			reading.Machine{Refrigerant: "R-134a", Application: reading.WalkInCooler, Expansion: reading.Valve, Receiver: &yes},
			8,
			3.2,
			60,
			100,
		},
		{
			"outdoor-cooler",
			reading.Machine{
				Refrigerant: "R-448A",
				Application: reading.WalkInCooler,
				Expansion:   reading.Valve,
				Receiver:    &yes,
				HeadControl: reading.Flooding,
			},
			9,
			5.4,
			35,
			100,
		},
		{
			"reach-in-cooler",
			reading.Machine{Refrigerant: "R-134a", Application: reading.ReachInCooler, Expansion: reading.Valve, Receiver: &no},
			6,
			0.6,
			65,
			95,
		},
		{
			"reach-in-freezer",
			reading.Machine{Refrigerant: "R-404A", Application: reading.ReachInFreezer, Expansion: reading.Valve, Receiver: &no},
			7,
			0.8,
			65,
			95,
		},
		{
			"prep-table",
			reading.Machine{Refrigerant: "R-290", Application: reading.PrepTable, Expansion: reading.Capillary, Receiver: &no},
			3,
			0.12,
			65,
			95,
		},
	}
}()

// Machines lists the keys of the bench's machines.
func Machines() []string {
	out := make([]string, 0, len(scenarios))
	for _, s := range scenarios {
		out = append(out, s.key)
	}
	return out
}

// Truth is something that is wrong, and how badly.
type Truth struct {
	Fault    fault.Code `json:"fault"`
	Severity float64    `json:"severity"`
	Unit     string     `json:"unit"`
}

// Exercise is a drawn machine with what is hidden in it. Immutable; safe for concurrent use.
type Exercise struct {
	Seed  uint64
	Level int
	Key   string // of the machine
	// Plate is what the apprentice knows from the start; Charge the refrigerant it holds.
	Plate  reading.Machine
	Charge units.Mass

	fit            *refrigerant.Fit
	catalogue      fault.Catalogue
	truths         []Truth
	plant          plant.Plant
	in             plant.Inputs
	change         plant.Change
	healthy, state plant.Outputs
	lies           map[reading.Place]float64 // what a lying instrument adds, SI
}

// tries is how often a machine is drawn anew because it would trip on its fault, or not show it. A few are enough; this many never happens.
const tries = 400

// New draws an exercise.
//
//   - in: seed; level 1 to 4; key of the machine, empty to draw one too; the fits of the refrigerants
//   - out: the exercise, the same for the same three and the same program
//   - errors: [*fail.Error] for a level or machine that does not exist; a refrigerant that cannot be loaded
//   - assumes: steady running; design values spread as a judgement assumes them
//   - source: our own model; severities and spreads of packages fault and plant
//   - cost: about 1 ms
func New(seed uint64, level int, machine string, fits Fits) (*Exercise, error) {
	if !slices.Contains(Levels(), level) {
		return nil, fail.Of(fail.BadValue, "level", "practice.level", fail.Args{"level": level})
	}
	cat, err := fault.Shipped()
	if err != nil {
		return nil, err
	}
	rng := rand.New(rand.NewPCG(seed, uint64(level)))
	at := rng.IntN(len(scenarios)) // drawn in any case, so that a picked machine that equals the drawn one is the same exercise
	if machine != "" {
		if at = slices.Index(Machines(), machine); at < 0 {
			return nil, fail.Of(fail.BadValue, "machine", "practice.machine",
				fail.Args{"machine": machine, "machines": Machines()})
		}
	}
	s := scenarios[at]
	e := &Exercise{Seed: seed, Level: level, Key: s.key, Plate: s.mc, Charge: s.charge, catalogue: cat}
	e.Plate.RatedAmps = &s.amps
	if e.fit, err = fits(s.mc.Refrigerant); err != nil {
		return nil, err
	}
	for range tries {
		if e.draw(rng, s) {
			return e, nil
		}
	}
	return nil, fail.Of(fail.NoAnswer, "seed", "practice.seed_fails", fail.Args{"seed": seed, "level": level})
}

func (e *Exercise) draw(rng *rand.Rand, s scenario) bool {
	m, _ := e.Plate.Resolve()
	d := plant.FromMachine(m)
	e.in = plant.Inputs{
		BoxT:     float64(m.Box + units.Temp(units.FahrenheitDiff(-1+10*rng.Float64()))),
		AmbientT: float64(units.Fahrenheit(s.cold + (s.warm-s.cold)*rng.Float64())),
	}
	in := e.in
	for i, n := range plant.Nuisances() {
		if i == plant.NHeadSet || i == plant.NHumidity {
			continue // a head control is set as its plate says, the air as humid as at design
		}
		if dz := n.Sd * rng.NormFloat64(); i != plant.NBox &&
			i != plant.NAmbient { // what the two thermometers miss is the noise of reading them
			plant.Shift(&d, &in, i, dz)
		}
	}
	var err error
	if e.plant, err = plant.New(d, e.fit); err != nil {
		return false
	}
	e.truths, e.change = nil, plant.Change{}
	var causes []casebook.Cause
	for _, c := range e.faults(rng) {
		row, ok := e.catalogue.Find(c)
		if !ok {
			return false
		}
		z := rng.NormFloat64()
		if e.Level == LevelClear || e.Level == LevelTwo {
			z = math.Abs(z)
		}
		t := Truth{c, row.Severity(z), row.Unit}
		e.truths = append(e.truths, t)
		e.change = fault.Apply(e.change, c, t.Severity)
		causes = append(causes, casebook.Cause{Code: c, Z: z, Severity: t.Severity})
	}
	e.lies = casebook.Lies(causes...)
	var runs, runsSo bool
	e.healthy, runs = casebook.Steady(&e.plant, e.in, plant.Change{})
	e.state, runsSo = casebook.Steady(&e.plant, e.in, e.change)
	if !runs || !runsSo {
		return false
	}
	// A value no gauge or clamp can show is no exercise.
	for _, p := range reading.Places() {
		if v, ok := e.shown(p); ok {
			if lo, hi := p.Range(); v < lo || v > hi {
				return false
			}
		}
	}
	for _, t := range e.truths {
		if !e.shows(t) {
			return false
		}
	}
	suction, _ := e.shown(reading.SuctionPressure)
	head, _ := e.shown(reading.DischargePressure)
	return suction < head
}

// showsFrom is how many standard uncertainties a fault must move some reading, were it alone, to be worth an
// exercise: head control too low on a warm day shows nowhere. Judgement.
const showsFrom = 2

func (e *Exercise) shows(t Truth) bool {
	out := e.healthy
	if t.Fault.Circuit() {
		var runs bool
		if out, runs = casebook.Steady(&e.plant, e.in, fault.Apply(plant.Change{}, t.Fault, t.Severity)); !runs {
			return true // with the other fault it runs
		}
	}
	for _, k := range e.Keys() {
		p, err := reading.ParsePlace(k)
		if err != nil {
			continue
		}
		was, _ := diagnose.Shown(p, e.in, &e.healthy, *e.Plate.RatedAmps, e.fit)
		is, _ := diagnose.Shown(p, e.in, &out, *e.Plate.RatedAmps, e.fit)
		if slices.Contains(t.Fault.ReadsWrong(), p) {
			is += t.Severity
		}
		if math.Abs(is-was) >= showsFrom*(reading.Reading{At: p, Value: was}).Uncertainty() {
			return true
		}
	}
	return false
}

// Candidates lists what can be wrong on this machine at this level, in the order of the catalogue's codes; healthy
// comes last, where it can be drawn.
func (e *Exercise) Candidates() []fault.Code {
	out := e.circuitFaults()
	if e.Level == LevelTrust {
		out = append(append(out, instruments...), fault.Healthy)
	}
	return out
}

var instruments = slices.DeleteFunc(fault.Singles(), func(c fault.Code) bool { return !c.Instrument() })

func (e *Exercise) circuitFaults() []fault.Code {
	m, _ := e.Plate.Resolve()
	var out []fault.Code
	for _, c := range fault.Singles() {
		switch {
		case !c.Circuit() || !c.Applies(m, 0) || c == fault.RestrictionAfterGlass:
		case c == fault.DefrostHeater: // the bench has no heater to clamp, which alone tells it
		case m.Expansion == reading.Capillary && (c == fault.ValveOverfeeding || c == fault.ValveUnderfeeding): // there is no valve
		default:
			out = append(out, c)
		}
	}
	return out
}

func (e *Exercise) faults(rng *rand.Rand) []fault.Code {
	all := e.circuitFaults()
	first := all[rng.IntN(len(all))]
	second := first
	for !diagnose.Together(first, second) {
		second = all[rng.IntN(len(all))]
	}
	lies := instruments[rng.IntN(len(instruments))]
	kind := rng.IntN(5)
	switch {
	case e.Level == LevelTwo:
		return []fault.Code{first, second}
	case e.Level != LevelTrust:
		return []fault.Code{first}
	case kind == 0:
		return nil
	case kind == 1:
		return []fault.Code{lies}
	case kind == 2:
		return []fault.Code{first, lies}
	case kind == 3:
		return []fault.Code{first, second}
	}
	return []fault.Code{first}
}

// shown is what the instrument at a place shows without its noise, a lie included.
func (e *Exercise) shown(p reading.Place) (float64, bool) {
	v, ok := diagnose.Shown(p, e.in, &e.state, *e.Plate.RatedAmps, e.fit)
	return v + e.lies[p], ok
}
