package casebook

import (
	"math"
	"math/rand/v2"
	"slices"

	"coldwright/machine/fault"
	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/refrigerant"
	"coldwright/units"
)

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
	Rooftop           // air conditioner with R-410A: fixed orifice, no receiver
)

// Kind is the sort of machine a simulated visit goes to.
type Kind int

func (k Kind) String() string {
	return [...]string{
		"unknown", "walk-ins", "no receiver", "fixed orifice", "capillary", "flooding head control", "cycling condenser fan",
		"blend with glide", "rooftop",
	}[k]
}

// Kinds lists them.
func Kinds() []Kind {
	return []Kind{WalkIn, NoReceiver, FixedOrifice, CapillaryBox, FloodedHead, CycledFan, GlidingBlend, Rooftop}
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
	case Rooftop:
		mc.Refrigerant, mc.Application = "R-410A", reading.AirConditioning
		mc.Receiver, mc.Expansion = &no, reading.Orifice
		box, ambLow, ambHigh = 75, 75, 105
	}
	return mc, box, ambLow, ambHigh
}

// The laws.
const (
	LawUnknown Law = iota
	// Spread is the diagnosis's own model with structural spread it does not know: valve band 30 %, line loss 40 %, lift 60 %,
	// NTU 10 %, clearance 20 %, shell loss 30 %
	Spread
	Exact     // the diagnosis's own model, nothing hidden
	Different // the spread, and other laws on top; see different
	// Independent is another model's: its machines are [States], not simulated here.
	Independent
)

// Law is what the simulated machine obeys.
type Law int

func (l Law) String() string {
	return [...]string{"unknown", "own physics", "exact", "other laws", "independent physics"}[l]
}

// World is where simulated visits happen.
type World struct {
	Kind       Kind
	Law        Law
	Population Population
	house      house
}

// house is how the machines of one owner differ from their population: how far their middle lies from its, and how much
// less they spread, both in its standard deviations. The zero value: they do not.
type house struct {
	apart [floats]float64
	less  float64 // 0.3: they spread 0.7 times as far
}

// House is a world whose machines all belong to one owner: TD, split and superheat lie apart from the population by up
// to 1.3 of its standard deviations, each way as likely (a uniform law, which the diagnosis does not assume), and
// spread 0.8 times as far.
func (w World) House(seed uint64) World {
	rng := rand.New(rand.NewPCG(seed, 0x686f757365))
	for _, i := range []int{floatTD, floatSplit, floatSuperheat} {
		w.house.apart[i] = 1.3 * (2*rng.Float64() - 1)
	}
	w.house.less = 0.2
	return w
}

// SmallSplit is a world whose machines all belong to one owner and have splits 1.5 standard deviations below the
// population's, half as spread.
func (w World) SmallSplit() World {
	w.house = house{less: 0.5}
	w.house.apart[floatSplit] = -1.5
	return w
}

// Truths lists the faults simulated on a kind of machine: every single fault it can have, in the order circuit,
// instruments, others, those only this kind can have. Of causes no circuit reading can tell apart one stands for both.
func Truths(k Kind) []fault.Code {
	mc, _, _, _ := k.machine(rand.New(rand.NewPCG(0, 0)))
	m, _ := mc.Resolve()
	glide := 0.0
	if k == GlidingBlend {
		glide = 5
	}
	rank := func(c fault.Code) int {
		switch {
		case !c.Applies(reading.Resolved{}, 0):
			return 3
		case c.Circuit():
			return 0
		case c.Instrument():
			return 1
		}
		return 2
	}
	out := slices.DeleteFunc(fault.Singles(), func(c fault.Code) bool { return c.Inseparable() != c || !c.Applies(m, glide) })
	slices.SortStableFunc(out, func(a, b fault.Code) int { return rank(a) - rank(b) })
	return out
}

// BaseRate is the share of all visits that have a cause, by the catalogue, among the causes simulated; inseparable ones together.
//
//   - in: catalogue; kind of machine; a cause of Truths, or healthy
//   - out: share of visits, 0 for a cause the catalogue lacks
//   - source: definition
func BaseRate(cat *fault.Catalogue, k Kind, c fault.Code) float64 {
	there := map[fault.Code]float64{fault.Healthy: 1}
	for _, t := range Truths(k) {
		there[t] = 1
	}
	return baseRates(cat, k, there)(c)
}

// baseRates is BaseRate where only some causes were simulated.
func baseRates(cat *fault.Catalogue, k Kind, there map[fault.Code]float64) func(fault.Code) float64 {
	of := func(c fault.Code) float64 {
		if row, ok := cat.Find(c); ok {
			return row.BaseRate
		}
		return 0
	}
	joined := func(c fault.Code) float64 {
		if c == fault.ValveUnderfeeding {
			return of(c) + of(fault.RestrictionAfterGlass)
		}
		return of(c)
	}
	sum := 0.0
	for _, t := range Truths(k) {
		if there[t] > 0 {
			sum += joined(t)
		}
	}
	return func(c fault.Code) float64 {
		if c == fault.Healthy {
			return cat.HealthyRate
		}
		return (1 - cat.HealthyRate) * share(joined(c), sum)
	}
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
			ch = different(&d, ch, c)
		} else {
			ch = fault.Apply(ch, c.Code, c.Severity)
		}
	}
	return p.Altered(d), ch, nil
}

// different puts a fault into what a sized machine is altered to, by other laws than the diagnosis assumes: air-side
// exponent −0.30 for −0.45 and more conductance lost to dirt and ice; a valve that lacks opening also strains; one that overfeeds has a
// wider band; leaking compressor valves lose less flow and more efficiency; gas in the condenser also covers surface.
// The sizes are judgement, ours, chosen before any result was seen.
func different(d *plant.Design, ch plant.Change, c Cause) plant.Change {
	s := c.Severity
	air := func(ntu *float64) {
		s := math.Min(s, 0.97)
		*ntu *= math.Pow(1-s, 0.15) * (1 - 0.40*s) / (1 - 0.25*s)
	}
	switch c.Code {
	case fault.CoilAir:
		air(&d.NTUe)
	case fault.CondenserAir:
		air(&d.NTUc)
	case fault.ValveUnderfeeding:
		ch = fault.Apply(ch, fault.RestrictionAfterGlass, s*units.Bar)
		s *= 0.8
	case fault.ValveOverfeeding:
		d.Band *= 1 + 0.5*s
		s *= 0.8
	case fault.CompressorValves:
		d.Eta *= 1 - 0.2*s
		s *= 0.85
	case fault.Noncondensables:
		ch = fault.Apply(ch, fault.CondenserAir, 0.04*s/units.Bar)
	}
	return fault.Apply(ch, c.Code, s)
}
