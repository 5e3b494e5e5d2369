package casebook

import (
	"math"
	"math/rand/v2"

	"coldwright/machine/plant"
	"coldwright/machine/reading"
	"coldwright/units"
)

// The populations.
const (
	// Catalogue spreads machines narrowly about what the diagnosis expected of their application when these numbers were
	// frozen: TD by 2 °F and split by 5 °F, whatever the application. Instruments err as unknown ones were taken to.
	Catalogue Population = iota
	// Field spreads them as machines in the field: TD, split, superheat and subcooling log-normal, compressors of several kinds,
	// one error a gauge, clamps that read toward the air around them, temperatures with heavy tails.
	Field
	// WrongPlate is Catalogue with a plate that says TD, split and superheat a third too large or too small.
	WrongPlate
)

// Population says how the machines of a world differ from what is expected of their application. Its numbers are its
// own, frozen here: none is read from what the diagnosis assumes, so that a change there changes no visit.
type Population int

func (p Population) String() string { return [...]string{"catalogue", "field", "wrong plate"}[p] }

// Populations lists them.
func Populations() []Population { return []Population{Catalogue, Field, WrongPlate} }

// What floats from machine to machine, in the order of their random numbers.
const (
	floatBox = iota
	floatAmbient
	floatTD
	floatSplit
	floatSuperheat
	floatSuctionGain
	floatLiquidCool
	floatEta
	floatValveMax
	floatSuctionDrop
	floatGamma
	floatNTUe
	floatNTUc
	floats
)

// typical is the middle of a population for an application, and how far its machines spread.
type typical struct {
	field                         bool
	box, ambient                  float64         // K, what a machine is sized for
	td, split, superheat, subcool float64         // K; subcool 0: the plant's own
	floats                        [floats]float64 // standard deviations; of logarithms where values are positive
	kinds                         []compressor    // of the compressor, each as often
	receiver                      bool
}

// compressor is a kind of it: median and standard deviation of the logarithm.
type compressor struct{ eta, etaLn, clearance, clearanceLn, shell, shellLn float64 }

// Efficiencies and clearances: medians and spreads over ten-coefficient maps of one maker's machines (in the form of AHRI 540; the
// coefficients are those of the public EnergyPlus data set RefrigerationCompressorCurves), widened by 0.05 for other
// makers. Shell losses are from memory: no measurement was at hand.
var (
	semiHermetic  = compressor{0.69, 0.07, 0.05, 0.35, 0.09, 0.35}
	scroll        = compressor{0.655, 0.07, 0.008, 0.6, 0.06, 0.35}
	smallHermetic = compressor{0.44, 0.17, 0.085, 0.3, 0.40, 0.20}
)

// catalogue are the spreads of 2026 that the diagnosis then drew its machines from: judgement, ours, frozen so that the population stays
// the same whatever the diagnosis assumes later.
var catalogue = [floats]float64{
	0.6, 1.1, 2 * units.Fahr, 5 * units.Fahr, 0.4, 0.5, 0.5, 0.04, 0.4, 0.4, 0.15, 0.2, 0.2,
}

// typicalOf is the middle of the population for the kind of machine.
//
// Catalogue: the defaults of the applications when they were frozen: common practice, no source.
//
// Field, TD: walk-ins 6.0 and 5.8 K, spread 0.28 (EN 328 rates unit coolers at 8 K cooling and 7 K freezing, the trade's
// normal range is 10 to 20 °F: from memory; the spread: judgement, ours, two thirds within a third). Reach-ins 10 K (common practice, no
// source). Air conditioners 15.7 K, spread 0.10: return air less evaporating temperature of twelve healthy packaged units at 80 °F over
// 67 °F and 95 °F outside, by one maker's installation text, widened for other makers and ages. Split: walk-ins 12 K (condensers of one
// duty are sold with 15 to 30 °F), reach-ins 16 K (25 to 35 °F), spread 0.28: common practice, no source. Air conditioners 10.2 K by the
// same maker's text, spread 0.28 for older ones of 14 to 17 K (from memory). Superheat of valves 5.5 K, spread 0.35: static setting
// 4 K and part of the opening, with what California's Residential Appendices of 2008, RA3.2.2, accept: 4 to 25 °F. Of
// other devices 5.5 K as well. Subcooling 1.5 K, spread 0.7, behind a receiver, 5.6 K, spread 0.35, without (plates say
// 8 to 12 °F; RA3.2.2: ±3 °F). Valves open 1.35 times as far as needed, spread 0.20 and no less than 1.05: catalogue
// steps of 1.3 to 1.5, rounded up: judgement, ours.
func typicalOf(p Population, mc reading.Machine) typical {
	f := func(x float64) float64 { return float64(units.Fahrenheit(x)) }
	d := func(x float64) float64 { return x * units.Fahr }
	out := typical{
		box: f(36), ambient: f(90), td: d(10), split: d(25), superheat: d(7), floats: catalogue,
		receiver: mc.Receiver == nil || *mc.Receiver,
	}
	switch mc.Application {
	case reading.WalkInFreezer:
		out.box, out.split = f(-5), d(30)
	case reading.ReachInCooler:
		out.box, out.td, out.split, out.superheat = f(37), d(17.5), d(30), d(10)
	case reading.AirConditioning:
		out.box, out.ambient, out.td, out.superheat, out.subcool = f(80), f(95), d(35), d(10), d(10)
	}
	if p != Field {
		return out
	}
	out.field = true
	out.td, out.split, out.superheat, out.kinds = 6.0, 12, 5.5, []compressor{semiHermetic, scroll}
	out.floats[floatTD], out.floats[floatSplit], out.floats[floatSuperheat] = 0.28, 0.28, 0.35
	out.floats[floatEta], out.floats[floatValveMax] = 1, 0.20 // the first in units of the compressor's own
	switch mc.Application {
	case reading.WalkInFreezer:
		out.td = 5.8
	case reading.ReachInCooler:
		out.td, out.split, out.kinds = 10, 16, []compressor{smallHermetic}
	case reading.AirConditioning:
		out.td, out.split, out.kinds = 15.7, 10.2, []compressor{scroll}
		out.floats[floatTD] = 0.10
	}
	if out.receiver {
		out.subcool, out.floats[floatLiquidCool] = 1.5, 0.7
	} else if mc.Expansion != reading.Capillary {
		out.subcool = 5.6
	}
	return out
}

// machineOf is what a population other than the catalogue draws of one machine besides.
type machineOf struct {
	rng        *rand.Rand
	compressor compressor
}

// own begins the random numbers of one machine that only its population needs; none in the catalogue's.
func (p Population) own(rng *rand.Rand) *machineOf {
	if p == Catalogue {
		return nil
	}
	return &machineOf{rng: rand.New(rand.NewPCG(rng.Uint64(), uint64(p)))}
}

// design puts the middle of the population into a design.
func (t *typical) design(d plant.Design, own *machineOf) plant.Design {
	d.BoxT, d.AmbientT, d.TD, d.Split = t.box, t.ambient, t.td, t.split
	d.SHRatio = math.Min(0.9, math.Max(0.15, t.superheat/t.td))
	if !t.receiver {
		d.Subcool = t.subcool
	}
	if !t.field {
		d.Eta, d.ShellLoss, d.Clearance = 0.62, 0.10, 0.04
		return d
	}
	c := t.kinds[own.rng.IntN(len(t.kinds))]
	d.Eta = c.eta
	d.Clearance = c.clearance * math.Exp(c.clearanceLn*own.rng.NormFloat64())
	d.ShellLoss = math.Min(0.7, c.shell*math.Exp(c.shellLn*own.rng.NormFloat64()))
	if !t.receiver && t.subcool > 0 {
		d.Subcool = t.subcool * math.Exp(0.35*own.rng.NormFloat64())
	}
	own.compressor = c
	return d
}

// move shifts what floats by a number of standard deviations.
func (t *typical) move(d *plant.Design, in *plant.Inputs, i int, z float64, own *machineOf) {
	by := t.floats[i] * z
	logit := func(x float64) float64 { return 1 / (1 + (1-x)/x*math.Exp(-by)) }
	switch i {
	case floatBox:
		in.BoxT += by
	case floatAmbient:
		in.AmbientT += by
	case floatTD:
		if t.field {
			d.TD = math.Max(1.5, d.TD*math.Exp(by))
		} else {
			d.TD = math.Max(1, d.TD+by)
		}
	case floatSplit:
		if t.field {
			d.Split = math.Max(3, d.Split*math.Exp(by))
			d.Subcool = math.Min(d.Subcool, 0.7*d.Split)
		} else {
			d.Split = math.Max(2, d.Split+by)
		}
	case floatSuperheat:
		if t.field {
			d.SHRatio = math.Min(0.9, math.Max(0.1, t.superheat*math.Exp(by)/d.TD))
		} else {
			d.SHRatio = logit(d.SHRatio)
		}
	case floatSuctionGain:
		d.SuctionNTU *= math.Exp(by)
		if d.Exchanger > 0 { // how warm the suction gas gets is one thing not known
			d.Exchanger = logit(d.Exchanger)
		}
	case floatLiquidCool:
		if t.field && t.receiver {
			d.LiquidCool = math.Min(0.8, math.Max(0.01, t.subcool*math.Exp(by)/d.Split))
		} else {
			d.LiquidCool = math.Min(0.9, d.LiquidCool*math.Exp(by))
		}
	case floatEta:
		if t.field {
			d.Eta = math.Min(0.85, d.Eta*math.Exp(own.compressor.etaLn*by))
		} else {
			d.Eta = math.Max(0.3, d.Eta+by)
		}
	case floatValveMax:
		if t.field {
			d.ValveMax = math.Max(1.05, d.ValveMax*math.Exp(by))
		} else {
			d.ValveMax = 1.03 + (d.ValveMax-1.03)*math.Exp(by)
		}
	case floatSuctionDrop:
		d.SuctionDrop *= math.Exp(by)
	case floatGamma:
		d.Gamma = math.Max(0.2, d.Gamma+by)
	case floatNTUe:
		d.NTUe *= math.Exp(by)
	case floatNTUc:
		d.NTUc *= math.Exp(by)
	}
}

// mostSplit is the largest a plate says, K: 40 °F. Judgement, ours: above it nobody would believe the plate.
const mostSplit = 40 * units.Fahr

// plate says of a machine of a wrong plate what is not so.
func (p Population) plate(mc *reading.Machine, td, split, superheat float64, own *machineOf) {
	if p != WrongPlate {
		return
	}
	told := func(x float64) *units.TempDiff {
		sign := float64(2*own.rng.IntN(2) - 1)
		t := units.TempDiff(x * (1 + sign/3))
		return &t
	}
	split = math.Min(split, mostSplit*3/4)
	mc.Design.TD, mc.Design.Split, mc.Design.Superheat = told(td), told(split), told(superheat)
}

// errs is how instruments err at one visit.
type errs struct {
	low, high float64 // Pa, the whole of each gauge
	clamp     float64 // share of the way to the air around that a clamp reads
	tails     *rand.Rand
}

// gauges draws the instruments of a visit. Field: two sorts of gauges, each as often, digital ones (0.6 and 1.5 psi)
// and dial ones of grade B of ASME B40.100 (1.6 and 5.8 psi: 2 % of span, from memory); a clamp under insulation is 2 %
// of the way to the air around it, a bare one 10 % with a spread of 0.6 (a trade author reports 5 °F on cold suction lines);
// temperatures have the tails of Student's t with four degrees of freedom: judgement, ours, for the gross errors among them.
func (m *machineOf) gauges(p Population) errs {
	if p != Field {
		return errs{}
	}
	low, high := 0.6*units.Psi, 1.5*units.Psi
	if m.rng.IntN(2) == 0 {
		low, high = 1.6*units.Psi, 5.8*units.Psi
	}
	clamp := 0.02
	if m.rng.IntN(2) == 0 {
		clamp = math.Min(0.4, 0.10*math.Exp(0.6*m.rng.NormFloat64()))
	}
	return errs{low * m.rng.NormFloat64(), high * m.rng.NormFloat64(), clamp, m.rng}
}

// noise is a temperature's, in standard deviations, from a normal one.
func (e *errs) noise(z float64) float64 {
	if e.tails == nil {
		return z
	}
	chi := 0.0
	for range 4 {
		x := e.tails.NormFloat64()
		chi += x * x
	}
	return z / math.Sqrt(math.Max(chi, 0.1)/4)
}

// measuring is the noise of an unknown instrument: K, Pa, share of current and power. Frozen with the populations.
func measuring(at reading.Place) float64 {
	switch at {
	case reading.SuctionPressure, reading.CoilPressure:
		return 1 * units.Psi
	case reading.DischargePressure, reading.LiquidPressure, reading.StandingPressure:
		return 3 * units.Psi
	case reading.BoxAir:
		return 0.6
	case reading.Ambient:
		return 1.1
	case reading.BoxDisplay:
		return 1.7
	case reading.DischargeLine:
		return 1.5
	case reading.Amps, reading.Power:
		return 0.03
	}
	return 0.8
}

// shown is what of the plant a place shows, and by how much no model tells it even so, K or share: judgement, ours,
// frozen with the populations.
func shown(at reading.Place) (plant.Output, float64) {
	switch at {
	case reading.SuctionPressure:
		return plant.SuctionDew, 0.7
	case reading.DischargePressure:
		return plant.DischargeDew, 1.0
	case reading.StandingPressure:
		return plant.StandingT, 0.7
	case reading.CoilOutletLine:
		return plant.CoilOutletT, 0.8
	case reading.SuctionLine:
		return plant.SuctionLineT, 2.0
	case reading.LiquidLine, reading.DrierIn:
		return plant.LiquidLineT, 0.7
	case reading.DischargeLine:
		return plant.DischargeLineT, 4.0
	case reading.CoilAirOff:
		return plant.AirOffT, 0.8
	case reading.CondenserFaceAir:
		return plant.CondenserFaceT, 0.3
	case reading.CondenserAirOff:
		return plant.CondenserOffT, 1.2
	case reading.DrierOut:
		return plant.DrierDrop, 0.3
	case reading.Amps:
		return plant.AmpsRatio, 0.05
	case reading.Power:
		return plant.PowerRatio, 0.05
	}
	return plant.NumOutputs, 0
}

// The chances of what is seen: judgement, ours, frozen with the populations. A glass shows bubbles as soon as some thousandths of the
// mass are vapour, dirt and ice are seen from a quarter to a third of the air lost on.
func logistic(x float64) float64 { return 1 / (1 + math.Exp(-x)) }

func glassChances(quality float64) [3]float64 {
	bubbles := 0.04 + 0.92*logistic(quality/0.006)
	empty := 0.02 + 0.9*logistic((quality-0.15)/0.05)
	return [3]float64{1 - bubbles, bubbles * (1 - empty), bubbles * empty}
}

func levelChances(base, lost, centre, width float64) [3]float64 {
	some := base + 0.80*logistic((lost-centre)/width)
	heavy := 0.1 + 0.8*logistic((lost-0.5)/0.1)
	return [3]float64{1 - some, some * (1 - heavy), some * heavy}
}

func dirtChances(lost float64) [3]float64 { return levelChances(0.12, lost, 0.25, 0.08) }

func iceChances(lost float64) [3]float64 { return levelChances(0.06, lost, 0.35, 0.10) }

// lookAt draws an answer, 1 to 3.
func lookAt(rng *rand.Rand, chances [3]float64) int {
	x := rng.Float64()
	for i, p := range chances {
		if x -= p; x < 0 {
			return i + 1
		}
	}
	return len(chances)
}
