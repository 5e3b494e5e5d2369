package diagnose

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sync"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

// Kind is the sort of machine a simulated visit goes to.
type Kind int

// The kinds.
const (
	KindUnknown  Kind = iota
	WalkIn            // freezer with R-404A (60 %) or cooler with R-134a: valve, receiver, no head control
	NoReceiver        // cooler with R-134a, valve
	FixedOrifice      // cooler with R-134a, no receiver
	CapillaryBox      // reach-in cooler with R-134a, no receiver
	FloodedHead       // freezer with R-404A, valve, receiver, flooding head control, any season
	CycledFan         // the same with a cycling condenser fan
	GlidingBlend      // freezer with R-448A: valve, receiver
)

func (k Kind) String() string {
	return [...]string{
		"unknown", "walk-ins", "no receiver", "fixed orifice", "capillary", "flooding head control", "cycling condenser fan",
		"blend with glide",
	}[k]
}

// Kinds lists them.
func Kinds() []Kind {
	return []Kind{WalkIn, NoReceiver, FixedOrifice, CapillaryBox, FloodedHead, CycledFan, GlidingBlend}
}

// machine draws one: its description and the box air and ambient it may be met at, °F.
func (k Kind) machine(rng *rand.Rand) (mc reading.Machine, box, ambLow, ambHigh float64) {
	yes, no, one := true, false, 1.0
	frozen := rng.Float64() < 0.6
	mc = reading.Machine{
		Refrigerant: "R-134a",
		Application: reading.WalkInCooler,
		Expansion:   reading.Valve,
		Receiver:    &yes,
		RatedAmps:   &one,
	}
	box, ambLow, ambHigh = 36, 60, 100
	freezer := func() { mc.Refrigerant, mc.Application, box = "R-404A", reading.WalkInFreezer, -5 }
	switch k {
	case WalkIn:
		if frozen {
			freezer()
		}
	case NoReceiver:
		mc.Receiver = &no
	case FixedOrifice:
		mc.Receiver, mc.Expansion = &no, reading.Orifice
	case CapillaryBox:
		mc.Receiver, mc.Expansion, mc.Application = &no, reading.Capillary, reading.ReachInCooler
		ambLow, ambHigh = 65, 90
	case FloodedHead:
		freezer()
		mc.HeadControl, ambLow = reading.Flooding, 0
	case CycledFan:
		freezer()
		mc.HeadControl, ambLow = reading.FanCycling, 0
	case GlidingBlend:
		freezer()
		mc.Refrigerant = "R-448A"
	}
	return mc, box, ambLow, ambHigh
}

// Law is what the simulated machine obeys.
type Law int

// The laws.
const (
	LawUnknown Law = iota
	// the diagnosis's own model with structural spread it does not know: valve band 30 %, line loss 40 %, lift 60 %,
	// NTU 10 %, clearance 20 %, shell loss 30 %
	Spread
	Exact     // the diagnosis's own model, nothing hidden
	Different // the spread, and other laws on top; see different
)

// World is where simulated visits happen.
type World struct {
	Kind Kind
	Law  Law
}

// Cause is a fault with its severity, Z in standard normals.
type Cause struct {
	Code     fault.Code
	Z        float64
	Severity float64
}

// Draw draws a severity from the prior.
func Draw(rng *rand.Rand, row *fault.Fault) Cause {
	z := rng.NormFloat64()
	return Cause{row.Code, z, row.Severity(z)}
}

// Visit is a simulated visit with its truth, and an earlier one to the same machine when it was healthy.
type Visit struct {
	Causes         []Cause // none: healthy
	Fit            *refrigerant.Fit
	displayOnly    bool // the box's own thermometer lies and nobody brought another
	today, earlier reading.Sheet
}

// Truth is the first cause, or healthy.
func (v *Visit) Truth() fault.Code {
	if len(v.Causes) == 0 {
		return fault.Healthy
	}
	return v.Causes[0].Code
}

// Severe reports whether the first cause is of above-median severity; of a lying instrument, in either direction.
func (v *Visit) Severe() bool {
	const quartile = 0.6744897501960817 // half of all normal draws lie further out
	if len(v.Causes) == 0 {
		return false
	}
	if lying(v.Causes[0].Code) {
		return math.Abs(v.Causes[0].Z) > quartile
	}
	return v.Causes[0].Z > 0
}

// Full names the largest reading set.
const Full byte = 'f'

// setPlaces: what each reading set adds to those before it. Dirt and ice seen come with d.
var setPlaces = map[byte][]reading.Place{
	'a':  {reading.SuctionPressure, reading.DischargePressure},
	'b':  {reading.CoilOutletLine, reading.LiquidLine},
	'c':  {reading.DischargeLine, reading.CoilAirOff},
	'd':  {reading.CondenserAirOff, reading.DrierIn, reading.DrierOut, reading.SuctionLine, reading.Amps},
	Full: {reading.CondenserFaceAir, reading.StandingPressure, reading.Power},
}

const setOrder = "abcdf"

// View is what of a visit the diagnosis gets to see.
type View struct {
	Set    byte     // a, b, c, d or Full; box air, ambient and glass are always there
	OnFile bool     // the healthy visit, read with the same set
	Second bool     // box display and a probe beside it
	With   []string // places or things seen read besides
	Drop   []string // places or things seen left out
}

// Readings lists the places and things seen of a set.
func (w View) Readings() []string {
	out := []string{reading.BoxAir.String(), reading.Ambient.String(), "glass"}
	for i := range len(setOrder) {
		if s := setOrder[i]; s <= w.Set {
			for _, p := range setPlaces[s] {
				out = append(out, p.String())
			}
			if s == 'd' {
				out = append(out, "condenser_dirt", "coil_ice")
			}
		}
	}
	return out
}

// Sheet returns what a view holds of the visit.
func (v *Visit) Sheet(w View) reading.Sheet {
	keep := map[string]bool{}
	for _, k := range append(w.Readings(), w.With...) {
		keep[k] = true
	}
	for _, k := range w.Drop {
		keep[k] = false
	}
	cut := func(full reading.Sheet) reading.Sheet {
		s := full
		s.Readings = nil
		for _, r := range full.Readings {
			ok := keep[r.At.String()]
			switch r.At {
			case reading.BoxDisplay:
				ok = w.Second || v.displayOnly && keep[reading.BoxAir.String()]
			case reading.BoxAir:
				ok = ok && (w.Second || !v.displayOnly)
			}
			if ok {
				s.Readings = append(s.Readings, r)
			}
		}
		if !keep["glass"] {
			s.Seen.Glass = 0
		}
		if !keep["condenser_dirt"] {
			s.Seen.CondenserDirt = 0
		}
		if !keep["coil_ice"] {
			s.Seen.CoilIce = 0
		}
		return s
	}
	s := cut(v.today)
	if w.OnFile {
		s.HealthyVisits = []reading.Sheet{cut(v.earlier)}
	}
	return s
}

// lying tells instrument faults from those of the circuit.
func lying(c fault.Code) bool {
	return c == fault.BoxThermometer || c == fault.SuctionGauge || c == fault.DischargeGauge
}

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
//   - source: design paper 4, 7 and 7.4; our own model, with a different structure by the world's law: not field data
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
		var r plant.Result
		ok := err == nil
		if ok {
			r = p.Solve(in, ch, plant.Options{})
			ok = r.Status.OK() && r.Trip == plant.TripNone
		}
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
		return s, w.read(rng, f, &s, &r.Out, &ch, causes, &habit, size)
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
	var suction, head, both float64
	for _, c := range causes {
		switch c.Code {
		case fault.SuctionGauge:
			suction = c.Severity
		case fault.DischargeGauge:
			head = c.Severity
		case fault.WrongRefrigerant, fault.CompositionShift:
			both = c.Severity
		}
	}
	put := func(at reading.Place, x float64) {
		s.Readings = append(s.Readings, reading.Reading{At: at, Value: x})
	}
	liquid := 0.0
	for i := range len(setOrder) {
		for _, at := range setPlaces[setOrder[i]] {
			c := channels[at]
			if at == reading.Power {
				c.out, c.discrepancy = plant.PowerRatio, 0.05 // as amps
			}
			off := c.discrepancy * (habit[at] + math.Sqrt(1-lastingShare)*rng.NormFloat64())
			noise := rng.NormFloat64()
			u := reading.InstrumentUnknown.U(at)
			y := out[c.out]
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
				p := f.DewT(y+off+both) + u*noise
				switch at {
				case reading.SuctionPressure:
					p += suction
				case reading.DischargePressure, reading.StandingPressure: // one gauge, one error
					p += head
				}
				put(at, p)
				if lo, _ := at.Range(); p < 2*lo {
					return false
				}
			}
		}
	}
	draw := func(p ...float64) int {
		x := rng.Float64()
		for i, q := range p {
			if x -= q; x < 0 {
				return i + 1
			}
		}
		return len(p)
	}
	g := out[plant.GlassQuality]
	s.Seen.Glass = reading.Glass(draw(pGlass(1, g), pGlass(2, g), pGlass(3, g)))
	s.Seen.CondenserDirt = reading.Level(draw(pDirt(1, ch.CondenserAir), pDirt(2, ch.CondenserAir), pDirt(3, ch.CondenserAir)))
	s.Seen.CoilIce = reading.Level(draw(pIce(1, ch.CoilAir), pIce(2, ch.CoilAir), pIce(3, ch.CoilAir)))
	return true
}

// build sizes a machine and puts the causes into it by the world's law.
func (w World) build(d plant.Design, f *refrigerant.Fit, causes []Cause) (plant.Plant, plant.Change, error) {
	if w.Law == Different {
		d.UV, d.UD, d.US = 0.20, 0.55, 0.80
		d.VC, d.VE, d.VL, d.VS, d.VR = 1.45*d.VC, 0.75*d.VE, 1.30*d.VL, 0.80*d.VS, 1.20*d.VR
		d.Clearance *= 1.45 // the slope of the volumetric efficiency at a pressure ratio of 10 as with exponent 1 for 1/1.12
	}
	p, err := plant.New(d, f)
	if err != nil {
		return p, plant.Change{}, err
	}
	var ch plant.Change
	for _, c := range causes {
		if w.Law == Different {
			ch = different(&p, ch, c)
		} else {
			ch = fault.Apply(ch, c.Code, c.Severity)
		}
	}
	return p, ch, nil
}

// different puts a fault into a sized machine by other laws than the diagnosis assumes: air-side exponent −0.30 for
// −0.45 and more conductance lost to dirt and ice; a valve that lacks opening also strains; one that overfeeds has a
// wider band; leaking compressor valves lose less flow and more efficiency; gas in the condenser also covers surface.
// Sources: design paper section 9; the sizes are judgement, chosen before any result was seen.
func different(p *plant.Plant, ch plant.Change, c Cause) plant.Change {
	s := c.Severity
	air := func(ntu *float64) {
		s := math.Min(s, 0.97)
		*ntu *= math.Pow(1-s, 0.15) * (1 - 0.40*s) / (1 - 0.25*s)
	}
	switch c.Code {
	case fault.CoilAir:
		air(&p.D.NTUe)
	case fault.CondenserAir:
		air(&p.D.NTUc)
	case fault.ValveUnderfeeding:
		ch = fault.Apply(ch, fault.RestrictionAfterGlass, s*units.Bar)
		s *= 0.8
	case fault.ValveOverfeeding:
		p.D.Band *= 1 + 0.5*s
		s *= 0.8
	case fault.CompressorValves:
		p.D.Eta *= 1 - 0.2*s
		s *= 0.85
	case fault.Noncondensables:
		ch = fault.Apply(ch, fault.CondenserAir, 0.04*s/units.Bar)
	}
	return fault.Apply(ch, c.Code, s)
}
