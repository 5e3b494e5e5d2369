package charge

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"

	"coldwright/fail"
	"coldwright/machine/plant"
	"coldwright/refrigerant"
	"coldwright/units"
)

//go:embed copper.csv
var copperCSV string

// Tube is a size of copper tube, m and kg/m.
type Tube struct {
	Size                  string
	Outside, Wall, Weight float64
}

// Inside returns the inside diameter, m.
func (t Tube) Inside() float64 { return t.Outside - 2*t.Wall }

// Bore returns the volume per length, m³/m.
func (t Tube) Bore() float64 { return math.Pi / 4 * t.Inside() * t.Inside() }

// Tubes reads the sizes on file.
func Tubes() ([]Tube, error) {
	r := csv.NewReader(strings.NewReader(copperCSV))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		return nil, err
	}
	var out []Tube
	for _, row := range rows[1:] {
		var v [3]float64
		for i := range v {
			if v[i], err = strconv.ParseFloat(row[1+i], 64); err != nil {
				return nil, fmt.Errorf("charge: copper.csv: %s: %w", row[0], err)
			}
		}
		out = append(out, Tube{row[0], v[0] * units.Inch, v[1] * units.Inch, v[2] * units.Pound / units.Foot})
	}
	return out, nil
}

// TubeOf returns the tube of an outside diameter in m, within a quarter of a millimetre.
func TubeOf(outside float64) (Tube, bool) {
	list, err := Tubes()
	if err != nil {
		return Tube{}, false
	}
	for _, t := range list {
		if math.Abs(t.Outside-outside) < 0.25e-3 {
			return t, true
		}
	}
	return Tube{}, false
}

// Kind is what a part is.
type Kind int

// The kinds.
const (
	KindUnknown Kind = iota
	LiquidLine
	SuctionLine
	DischargeLine
	Evaporator
	Condenser
	Receiver
	Drier
	Accumulator
)

var kindWords = []string{"", "liquid line", "suction line", "discharge line", "evaporator", "condenser", "receiver", "drier", "accumulator"}

func (k Kind) String() string { return kindWords[k] }

// KindWords lists the kinds.
func KindWords() []string { return kindWords[1:] }

// Part is a piece of the circuit and its inner volume.
type Part struct {
	Kind   Kind
	Name   string
	Volume float64 // m³
}

// State is where the circuit runs.
type State struct {
	Ambient             units.Temp
	Suction, Condensing units.Temp // dew at the coil outlet and in the condenser
	Liquid              units.Temp // liquid line
	SuctionGas          units.Temp
	Discharge           units.Temp
	Flooded             float64 // share of the condenser that holds liquid
}

// Densities are what fills the parts in a state, kg/m³.
type Densities struct {
	Liquid, LiquidU         float64 // in liquid line and drier
	SuctionGas, Discharge   float64
	Evaporator, EvaporatorU float64 // mean of the whole coil
	Condenser, CondenserU   float64 // mean of the part that condenses
	Bubble                  float64 // liquid that backs up in the condenser, and stands in the receiver
	Vapour                  float64 // over the liquid in the receiver
}

// evaporatorLiquid is the share of an evaporator's volume the trade takes as liquid: 25 to 30 %, from memory.
const evaporatorLiquid = 0.275

// Densities returns what fills the parts.
//
//   - in: r; a state with suction below condensing, both between the limits of r's saturation
//   - out: densities with standard uncertainties where they are models
//   - errors: what the refrigerant refuses
//   - assumes: evaporator: anywhere between Zivi's void fraction and the trade's 25 to 30 % of liquid, alike likely;
//     condenser: Zivi from dew to bubble, u 20 % of it; liquid line full
//   - source: Zivi (1964) through [plant.MeanVoid]; evaporator figure from memory. Rice (1987), ASHRAE Trans. 93(1),
//     no. 3035 (abstract read): ten void models differ by up to a factor of 10 in cold evaporators and 1.7 in
//     condensers, and those that give most agree best with measured charges
//   - cost: six states, about 3 ms for a blend
func (s State) Densities(r *refrigerant.Refrigerant) (d Densities, err error) {
	o := refrigerant.Options{}
	low, err := r.DewT(float64(s.Suction), o)
	if err != nil {
		return d, err
	}
	high, err := r.DewT(float64(s.Condensing), o)
	if err != nil {
		return d, err
	}
	bubble, err := r.BubbleP(high.P, o)
	if err != nil {
		return d, err
	}
	if !(low.P < high.P) {
		return d, fail.Of(fail.Range, "", "charge.condensing_below",
			fail.Args{"evaporating": s.Suction, "condensing": s.Condensing})
	}
	liquid, err := r.BubbleT(math.Min(float64(s.Liquid), bubble.T), o)
	if err != nil {
		return d, err
	}
	gas := func(p float64, dew refrigerant.Equilibrium, T units.Temp) (float64, error) {
		if float64(T) <= dew.T+1e-6 {
			return dew.RhoVapour, nil
		}
		x, err := r.StatePT(p, float64(T), o)
		return x.Rho, err
	}
	if d.SuctionGas, err = gas(low.P, low, s.SuctionGas); err != nil {
		return d, err
	}
	if d.Discharge, err = gas(high.P, high, s.Discharge); err != nil {
		return d, err
	}
	d.Liquid, d.LiquidU = liquid.RhoLiquid, 0.01*liquid.RhoLiquid
	d.Bubble, d.Vapour = bubble.RhoLiquid, high.RhoVapour
	cold, err := r.BubbleP(low.P, o)
	if err != nil {
		return d, err
	}
	x := math.Min(0.95, math.Max(0, (liquid.HLiquid-cold.HLiquid)/(low.HVapour-cold.HLiquid)))
	mean := func(alpha, v, l float64) float64 { return alpha*v + (1-alpha)*l }
	zivi := mean(plant.MeanVoid(low.RhoVapour, cold.RhoLiquid, x, 1), low.RhoVapour, cold.RhoLiquid)
	trade := mean(1-evaporatorLiquid, low.RhoVapour, cold.RhoLiquid)
	d.Evaporator, d.EvaporatorU = (zivi+trade)/2, math.Abs(trade-zivi)/math.Sqrt(12)
	d.Condenser = mean(plant.MeanVoid(high.RhoVapour, bubble.RhoLiquid, 0, 1), high.RhoVapour, bubble.RhoLiquid)
	d.CondenserU = 0.2 * d.Condenser
	return d, nil
}

// Content is what a part holds, kg.
type Content struct {
	Part    Part
	Mass, U float64
}

// volumeU is the relative standard uncertainty of a volume worked out from sizes: bends and fittings; judgement.
const volumeU = 0.05

// Holds returns what a part holds in a state; level is the liquid share of a receiver's volume.
//
//   - in: densities of [State.Densities]; the flooded share, 0 to 1; the level, 0 to 1
//   - out: kg and standard uncertainty
//   - source: definition
func (p Part) Holds(d Densities, flooded, level float64) Content {
	rho, u := 0.0, 0.0
	switch p.Kind {
	case LiquidLine, Drier:
		rho, u = d.Liquid, d.LiquidU
	case SuctionLine, Accumulator:
		rho, u = d.SuctionGas, 0.05*d.SuctionGas
	case DischargeLine:
		rho, u = d.Discharge, 0.05*d.Discharge
	case Evaporator:
		rho, u = d.Evaporator, d.EvaporatorU
	case Condenser:
		rho, u = flooded*d.Bubble+(1-flooded)*d.Condenser, (1-flooded)*d.CondenserU+0.05*flooded*d.Bubble
	case Receiver:
		rho = level*d.Bubble + (1-level)*d.Vapour
		u = 0.02 * rho
	}
	return Content{p, rho * p.Volume, math.Hypot(u, volumeU*rho) * p.Volume}
}

// FloodedShare returns the share of a condenser a flooding control fills: what is left dry gives off the same heat
// over a larger difference.
//
//		active = D/(T_set − T_ambient)
//
//	  - in: the condensing temperature held; ambient; D, the split at which the whole condenser gives off the heat of that state
//	  - out: 0 to 1
//	  - source: definition; a walk-in maker's table of flooded shares follows it within 5 points (rms under 2) with 90 °F held and
//	    one D per column (test)
func FloodedShare(set, ambient units.Temp, d units.TempDiff) float64 {
	if set-ambient <= units.Temp(d) {
		return 0
	}
	return 1 - float64(d)/float64(set-ambient)
}
